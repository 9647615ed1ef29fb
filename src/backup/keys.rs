//! The keys of the practice in a backup: its authority, which its tablets trust, and what wraps the keys of the tablets.
//! Without them the record can be restored all the same, and every tablet has to trust the server anew.

use std::{collections::BTreeMap, fs, path::Path};

use anyhow::{Context, anyhow, bail, ensure};
use base64::{Engine, engine::general_purpose::STANDARD as BASE64};
use ring::aead::{AES_256_GCM, Aad, LessSafeKey, NONCE_LEN, Nonce, UnboundKey};
use serde::{Deserialize, Serialize};

use super::passphrase::{KIB, PASSES, Recovery};
use crate::sealing;

/// Its name in a backup.
pub(super) const NAME: &str = "keys.json";
/// What is sealed, where a practice has it.
const FILES: [&str; 6] = [
    "authority/practice-authority.pem",
    "authority/practice-authority.key",
    "tablets.key",
    "second-factor.key",
    "certificate/chain.pem",
    "certificate/key.pem",
];
/// A key is smaller.
const LARGEST: u64 = 1 << 20;
/// A backup that asks for more was not made here.
const MOST_KIB: u32 = 1 << 20;
const MOST_PASSES: u32 = 10;

/// As it stands in a backup, so that any program with argon2id and AES-256-GCM can open it: the passphrase in capitals
/// without its dashes is stretched with the salt, and opens the sealed bytes, a JSON object of file names and Base64.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Keys {
    stretched_by: String,
    kib: u32,
    passes: u32,
    salt: String,
    sealed_by: String,
    nonce: String,
    sealed: String,
}

/// Seals the keys of the practice in `folder`; `None` where it has no recovery passphrase.
///
/// # Errors
/// A key cannot be read.
pub(super) fn seal(folder: &Path) -> anyhow::Result<Option<String>> {
    let Some(recovery) = Recovery::open(folder)? else { return Ok(None) };
    let mut files = BTreeMap::new();
    for name in FILES {
        let path = folder.join(name);
        if path.exists() {
            let bytes = fs::read(&path).with_context(|| format!("{} cannot be read", path.display()))?;
            files.insert(name, BASE64.encode(bytes));
        }
    }
    let mut bytes = serde_json::to_vec(&files)?;
    let nonce: [u8; NONCE_LEN] = sealing::random()?;
    key(&recovery)?
        .seal_in_place_append_tag(Nonce::assume_unique_for_key(nonce), Aad::empty(), &mut bytes)
        .map_err(|_| anyhow!("the keys could not be sealed"))?;
    let sealed = Keys {
        stretched_by: "argon2id".into(),
        kib: KIB,
        passes: PASSES,
        salt: BASE64.encode(&recovery.salt),
        sealed_by: "AES-256-GCM".into(),
        nonce: BASE64.encode(nonce),
        sealed: BASE64.encode(bytes),
    };
    Ok(Some(serde_json::to_string_pretty(&sealed)?))
}

/// Opens the keys of a backup with its passphrase and puts them into `folder`; how many there were.
///
/// # Errors
/// It is another passphrase, or the disk cannot be written.
pub fn open(sealed: &[u8], phrase: &str, folder: &Path) -> anyhow::Result<usize> {
    let damaged = || format!("{NAME} of the backup cannot be read");
    let sealed: Keys = serde_json::from_slice(sealed).with_context(damaged)?;
    ensure!(
        sealed.kib <= MOST_KIB && sealed.passes <= MOST_PASSES,
        "{NAME} of the backup asks for too much memory"
    );
    let recovery =
        Recovery::of(phrase, BASE64.decode(&sealed.salt).with_context(damaged)?, sealed.kib, sealed.passes)?;
    let nonce: [u8; NONCE_LEN] =
        BASE64.decode(&sealed.nonce).ok().and_then(|nonce| nonce.try_into().ok()).with_context(damaged)?;
    let mut bytes = BASE64.decode(&sealed.sealed).with_context(damaged)?;
    let opened = key(&recovery)?
        .open_in_place(Nonce::assume_unique_for_key(nonce), Aad::empty(), &mut bytes)
        .map_err(|_| anyhow!("this is not the recovery passphrase of the backup; nothing was restored"))?;
    let files: BTreeMap<String, String> = serde_json::from_slice(opened).with_context(damaged)?;
    for (name, bytes) in &files {
        if !FILES.contains(&name.as_str()) {
            bail!("{NAME} of the backup holds {name:?}, which is no key of a practice");
        }
        let bytes = BASE64.decode(bytes).with_context(damaged)?;
        ensure!(bytes.len() as u64 <= LARGEST, "{name} of the backup is too large for a key");
        if let Some(parent) = folder.join(name).parent() {
            fs::create_dir_all(parent)?;
        }
        let path = folder.join(name);
        sealing::keep(&path, &bytes).with_context(|| format!("{} cannot be written", path.display()))?;
    }
    // Copies of the restored practice are opened by the same passphrase.
    if (sealed.kib, sealed.passes) == (KIB, PASSES) {
        recovery.keep(folder)?;
    }
    Ok(files.len())
}

fn key(recovery: &Recovery) -> anyhow::Result<LessSafeKey> {
    let key = UnboundKey::new(&AES_256_GCM, &recovery.key)
        .map_err(|_| anyhow!("the recovery key has a wrong length"))?;
    Ok(LessSafeKey::new(key))
}
