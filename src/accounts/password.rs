//! Passwords: hashed with argon2id off the async threads, two at a time, and refused when they are on every list.

use std::sync::Arc;

use anyhow::{Context, anyhow};
use argon2::{
    Algorithm, Argon2, Params, Version,
    password_hash::{PasswordHasher, PasswordVerifier, phc::PasswordHash},
};
use tokio::sync::Semaphore;

/// At most this many hashes at once: each takes tens of megabytes and a core.
const AT_ONCE: usize = 2;
const SHORTEST: usize = 15;
const LONGEST: usize = 256;
/// Signs that a password has beside what anybody knows of the practice.
const OF_ITS_OWN: usize = 8;

/// Words that anybody would try in a practice like this one, beside its name, its people and this program.
const OF_THE_TRADE: [&str; 14] = [
    "limbledger",
    "equine",
    "horse",
    "horses",
    "lameness",
    "vet",
    "vets",
    "veterinary",
    "veterinarian",
    "practice",
    "clinic",
    "owner",
    "technician",
    "desk",
];

#[derive(Clone)]
pub struct Hasher {
    argon2: Argon2<'static>,
    permits: Arc<Semaphore>,
    /// Verified when an account does not exist, so that the answer takes as long.
    nobody: Arc<str>,
}

impl Hasher {
    /// With the cost of a practice: 46 MiB, one pass (assured by the OWASP password storage sheet).
    pub fn new() -> anyhow::Result<Self> {
        Self::with_cost(47_104, 1)
    }

    pub fn with_cost(kib: u32, passes: u32) -> anyhow::Result<Self> {
        let params = Params::new(kib, passes, 1, None).map_err(|e| anyhow!("argon2 parameters: {e}"))?;
        let argon2 = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let nobody = hash_now(&argon2, "nobody has this password")?;
        Ok(Hasher { argon2, permits: Arc::new(Semaphore::new(AT_ONCE)), nobody: nobody.into() })
    }

    pub async fn hash(&self, secret: &str) -> anyhow::Result<String> {
        let (argon2, secret) = (self.argon2.clone(), secret.to_owned());
        let _permit = self.permits.acquire().await?;
        tokio::task::spawn_blocking(move || hash_now(&argon2, &secret)).await?
    }

    /// Whether `secret` is the one behind `hash`; `None` hashes all the same and says no.
    pub async fn verify(&self, secret: &str, hash: Option<&str>) -> anyhow::Result<bool> {
        let known = hash.is_some();
        let hash = hash.unwrap_or(&self.nobody).to_owned();
        let (argon2, secret) = (self.argon2.clone(), secret.to_owned());
        let _permit = self.permits.acquire().await?;
        tokio::task::spawn_blocking(move || {
            let parsed = PasswordHash::new(&hash)
                .map_err(|e| anyhow!("{e}"))
                .context("a stored hash cannot be read")?;
            Ok(argon2.verify_password(secret.as_bytes(), &parsed).is_ok() && known)
        })
        .await?
    }
}

fn hash_now(argon2: &Argon2<'_>, secret: &str) -> anyhow::Result<String> {
    let hash = argon2
        .hash_password(secret.as_bytes())
        .map_err(|e| anyhow!("a password could not be hashed: {e}"))?;
    Ok(hash.to_string())
}

/// What was typed, with an end to it: one character beyond the longest password, so that nothing longer is taken for one.
pub(super) fn bounded(typed: &str) -> String {
    typed.chars().take(LONGEST + 1).collect()
}

/// Why this password will not do, if it will not. `known` are words that anybody would try here.
pub fn weakness(password: &str, known: &[&str]) -> Option<&'static str> {
    let length = password.chars().count();
    if length < SHORTEST {
        return Some("Use at least 15 characters; four or five words that do not belong together are good.");
    }
    if length > LONGEST {
        return Some("Use 256 characters at most.");
    }
    if beside(password, known) < OF_ITS_OWN || zxcvbn::zxcvbn(password, known).score() < zxcvbn::Score::Three
    {
        return Some("This one is easy to guess. Use words that do not belong together.");
    }
    None
}

/// So many signs, blanks and points aside, are left of a password without the words of the trade and those that are known here.
fn beside(password: &str, known: &[&str]) -> usize {
    let mut words: Vec<String> = known
        .iter()
        .flat_map(|name| name.split_whitespace())
        .chain(OF_THE_TRADE)
        .map(str::to_lowercase)
        .filter(|word| word.chars().count() > 2)
        .collect();
    // The longest first: "veterinarian" goes before "vet".
    words.sort_by_key(|word| std::cmp::Reverse(word.len()));
    let left = words.iter().fold(password.to_lowercase(), |left, word| left.replace(word.as_str(), " "));
    left.chars().filter(|c| !c.is_whitespace() && !c.is_ascii_punctuation()).count()
}
