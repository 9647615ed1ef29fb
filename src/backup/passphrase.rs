//! The recovery passphrase: 125 random bits, shown once. What it becomes lies in the data folder, beside the keys that it
//! guards elsewhere, so that copies are made without anybody typing it.

use std::{fs, io::ErrorKind, path::Path};

use anyhow::{Context, anyhow};
use argon2::{Algorithm, Argon2, Params, Version};
use base64::{Engine, engine::general_purpose::STANDARD as BASE64};
use serde::{Deserialize, Serialize};

use crate::sealing;

/// In the data folder.
const FILE: &str = "recovery.key";
/// Letters that are hard to confuse when written down: no I, L, O or U (Crockford's base 32).
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const GROUPS: usize = 5;
const IN_A_GROUP: usize = 5;
/// 46 MiB, one pass, as for the passwords.
pub(super) const KIB: u32 = 47_104;
pub(super) const PASSES: u32 = 1;

/// What the passphrase becomes: the key of the keys.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Recovery {
    pub salt: Vec<u8>,
    pub key: [u8; 32],
}

#[derive(Serialize, Deserialize)]
struct Kept {
    salt: String,
    key: String,
}

/// Makes a new passphrase for the practice in `folder`. Copies from here on are opened by it; older ones by the one before.
///
/// # Errors
/// The disk cannot be written.
pub fn make(folder: &Path) -> anyhow::Result<String> {
    let bytes: [u8; GROUPS * IN_A_GROUP] = sealing::random()?;
    let letters: Vec<char> = bytes.iter().map(|b| char::from(LETTERS[usize::from(b % 32)])).collect();
    let phrase =
        letters.chunks(IN_A_GROUP).map(|c| c.iter().collect::<String>()).collect::<Vec<_>>().join("-");
    let salt: [u8; 16] = sealing::random()?;
    Recovery::of(&phrase, salt.to_vec(), KIB, PASSES)?.keep(folder)?;
    Ok(phrase)
}

impl Recovery {
    /// # Errors
    /// The parameters are none that argon2 knows.
    pub(super) fn of(phrase: &str, salt: Vec<u8>, kib: u32, passes: u32) -> anyhow::Result<Self> {
        let params = Params::new(kib, passes, 1, Some(32)).map_err(|e| anyhow!("argon2 parameters: {e}"))?;
        let mut key = [0; 32];
        Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
            .hash_password_into(plain(phrase).as_bytes(), &salt, &mut key)
            .map_err(|e| anyhow!("the passphrase could not be stretched: {e}"))?;
        Ok(Recovery { salt, key })
    }

    /// Puts it into the data folder, where copies are sealed with it from now on.
    ///
    /// # Errors
    /// The disk cannot be written.
    pub(super) fn keep(&self, folder: &Path) -> anyhow::Result<()> {
        let (path, kept) =
            (folder.join(FILE), Kept { salt: BASE64.encode(&self.salt), key: BASE64.encode(self.key) });
        sealing::keep(&path, &serde_json::to_vec(&kept)?)
            .with_context(|| format!("{} cannot be written", path.display()))
    }

    /// The one of this practice; `None` while there is none.
    ///
    /// # Errors
    /// Its file cannot be read.
    pub(super) fn open(folder: &Path) -> anyhow::Result<Option<Self>> {
        let path = folder.join(FILE);
        let text = match fs::read(&path) {
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(None),
            read => read.with_context(|| format!("{} cannot be read", path.display()))?,
        };
        let damaged = || format!("{} is damaged: make a new recovery passphrase", path.display());
        let kept: Kept = serde_json::from_slice(&text).with_context(damaged)?;
        let key = BASE64.decode(kept.key).ok().and_then(|key| key.try_into().ok()).with_context(damaged)?;
        Ok(Some(Recovery { salt: BASE64.decode(kept.salt).with_context(damaged)?, key }))
    }
}

/// Whether the practice has one.
pub fn is_made(folder: &Path) -> bool {
    folder.join(FILE).exists()
}

/// As it was meant: dashes, blanks and small letters are no mistake, nor what looks like a digit.
pub fn plain(typed: &str) -> String {
    let meant = |c: char| match c.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        other => other,
    };
    typed.chars().filter(char::is_ascii_alphanumeric).map(meant).collect()
}
