//! Secrets at rest: sealed with a key that lies as a file beside the database, without which they are noise in it.

use std::{
    fs,
    io::{ErrorKind, Write},
    path::{Path, PathBuf},
    sync::{Mutex, PoisonError},
};

use anyhow::{Context, anyhow};
use ring::aead::{AES_256_GCM, Aad, LessSafeKey, NONCE_LEN, Nonce, UnboundKey};

const KEY_LEN: usize = 32;

/// Seals and opens with the key of one file.
pub struct Sealer {
    path: PathBuf,
    /// What is sealed with it, as errors say: "the tablets' keys".
    what: &'static str,
    /// Read once, at the first need or at the start of the server.
    key: Mutex<Option<LessSafeKey>>,
}

impl Sealer {
    /// With the key in `file` of this data folder; nothing is read yet.
    pub fn new(folder: &Path, file: &str, what: &'static str) -> Self {
        Sealer { path: folder.join(file), what, key: Mutex::default() }
    }

    /// Reads the key, or makes it at the first start.
    ///
    /// # Errors
    /// The file is damaged, or cannot be read or written.
    pub fn open(&self) -> anyhow::Result<()> {
        self.with(|_| Ok(()))
    }

    /// How a secret is kept. `of` says whose it is: it opens for nobody else.
    pub fn seal(&self, of: &[u8], secret: &[u8]) -> anyhow::Result<Vec<u8>> {
        let nonce: [u8; NONCE_LEN] = random()?;
        let mut sealed = secret.to_vec();
        self.with(|key| {
            key.seal_in_place_append_tag(Nonce::assume_unique_for_key(nonce), Aad::from(of), &mut sealed)
                .map_err(|_| anyhow!("{} could not be sealed", self.what))
        })?;
        Ok([nonce.as_slice(), sealed.as_slice()].concat())
    }

    /// The secret again.
    ///
    /// # Errors
    /// It was sealed for somebody else or with another key, or is damaged.
    pub fn unseal(&self, of: &[u8], kept: &[u8]) -> anyhow::Result<Vec<u8>> {
        let (nonce, sealed) =
            kept.split_first_chunk().with_context(|| format!("{}: one is damaged", self.what))?;
        let (nonce, mut sealed) = (Nonce::assume_unique_for_key(*nonce), sealed.to_vec());
        self.with(|key| {
            let secret = key.open_in_place(nonce, Aad::from(of), &mut sealed).map_err(|_| {
                anyhow!("{} does not open {}: put it back from a backup", self.path.display(), self.what)
            })?;
            Ok(secret.to_vec())
        })
    }

    fn with<T>(&self, work: impl FnOnce(&LessSafeKey) -> anyhow::Result<T>) -> anyhow::Result<T> {
        let mut held = self.key.lock().unwrap_or_else(PoisonError::into_inner);
        let key = match held.take() {
            Some(key) => key,
            None => self.load()?,
        };
        work(held.insert(key))
    }

    fn load(&self) -> anyhow::Result<LessSafeKey> {
        let path = &self.path;
        let bytes = match fs::read(path) {
            Err(e) if e.kind() == ErrorKind::NotFound => make(path)
                .with_context(|| format!("the key of {} cannot be kept in {}", self.what, path.display()))?,
            read => read.with_context(|| format!("{} cannot be read", path.display()))?,
        };
        let damaged = || anyhow!("{} is damaged: put it back from a backup", path.display());
        let key = UnboundKey::new(&AES_256_GCM, &bytes).map_err(|_| damaged())?;
        Ok(LessSafeKey::new(key))
    }
}

fn make(path: &Path) -> anyhow::Result<Vec<u8>> {
    let key: [u8; KEY_LEN] = random()?;
    keep(path, &key)?;
    Ok(key.to_vec())
}

/// Keeps a secret in a file that only the owner of the process reads. Written aside, synced and renamed: a stop in the
/// middle leaves no half of it behind.
///
/// # Errors
/// The disk cannot be written.
pub fn keep(path: &Path, secret: &[u8]) -> anyhow::Result<()> {
    let mut aside = path.as_os_str().to_owned();
    aside.push(".new");
    let aside = PathBuf::from(aside);
    if aside.exists() {
        fs::remove_file(&aside)?;
    }
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&aside)?;
    file.write_all(secret)?;
    file.sync_all()?;
    fs::rename(&aside, path)?;
    if let Some(folder) = path.parent() {
        fs::File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// Bytes that nobody can guess.
pub fn random<const N: usize>() -> anyhow::Result<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|e| anyhow!("no random numbers to be had: {e}"))?;
    Ok(bytes)
}
