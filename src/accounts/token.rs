//! Secrets that are made here: session tokens and one-time codes.

use sha2::{Digest, Sha256};

use crate::sealing;

/// 256 random bits that stand for a signed-in browser. Only its SHA-256 is kept.
pub struct Token(String);

impl Token {
    pub fn new() -> anyhow::Result<Self> {
        let bytes: [u8; 32] = sealing::random()?;
        Ok(Token(crate::record::hex(&bytes)))
    }

    /// The token as the browser sent it.
    pub fn presented(text: &str) -> Self {
        Token(text.to_owned())
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }

    pub fn hash(&self) -> Vec<u8> {
        Sha256::digest(self.0.as_bytes()).to_vec()
    }
}

/// Twelve characters that are hard to confuse when read off a screen, in groups of four.
pub fn one_time_code() -> anyhow::Result<String> {
    code_of::<12>()
}

/// So many of these characters: five random bits each.
pub(super) fn code_of<const N: usize>() -> anyhow::Result<String> {
    const LETTERS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
    let bytes: [u8; N] = sealing::random()?;
    let letters: Vec<char> = bytes.iter().map(|b| char::from(LETTERS[usize::from(b % 32)])).collect();
    Ok(letters.chunks(4).map(|c| c.iter().collect::<String>()).collect::<Vec<_>>().join("-"))
}
