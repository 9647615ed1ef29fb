//! The wrapping key: a file beside the database, without which the tablets' keys in it are noise.

use std::{
    fs,
    io::{ErrorKind, Write},
    path::{Path, PathBuf},
    sync::{Mutex, PoisonError},
};

use anyhow::{Context, anyhow};
use ring::aead::{AES_256_GCM, Aad, LessSafeKey, NONCE_LEN, Nonce, UnboundKey};

const FILE: &str = "tablets.key";
const KEY_LEN: usize = 32;

/// The key of one account on one tablet, as the tablet gets it.
pub(super) type TabletKey = [u8; KEY_LEN];

/// Wraps and unwraps the tablets' keys.
pub struct Keeper {
    path: PathBuf,
    /// Read once, at the first need or at the start of the server.
    key: Mutex<Option<LessSafeKey>>,
}

impl Keeper {
    /// For this data folder; nothing is read yet.
    pub fn new(folder: &Path) -> Self {
        Keeper { path: folder.join(FILE), key: Mutex::default() }
    }

    /// Reads the wrapping key, or makes it at the first start.
    pub fn open(&self) -> anyhow::Result<()> {
        self.with(|_| Ok(()))
    }

    /// A new key, and how it is kept. `of` says whose it is: it opens for nobody else.
    pub(super) fn make(&self, of: &[u8]) -> anyhow::Result<(TabletKey, Vec<u8>)> {
        let (key, nonce): (TabletKey, [u8; NONCE_LEN]) = (random()?, random()?);
        let mut sealed = key.to_vec();
        self.with(|wrapping| {
            wrapping
                .seal_in_place_append_tag(Nonce::assume_unique_for_key(nonce), Aad::from(of), &mut sealed)
                .map_err(|_| anyhow!("a tablet's key could not be wrapped"))
        })?;
        Ok((key, [nonce.as_slice(), sealed.as_slice()].concat()))
    }

    pub(super) fn unwrap(&self, of: &[u8], wrapped: &[u8]) -> anyhow::Result<TabletKey> {
        let (nonce, sealed) = wrapped.split_first_chunk().context("a tablet's key is damaged")?;
        let (nonce, mut sealed) = (Nonce::assume_unique_for_key(*nonce), sealed.to_vec());
        self.with(|wrapping| {
            let key = wrapping.open_in_place(nonce, Aad::from(of), &mut sealed).map_err(|_| {
                anyhow!("{} does not open the tablets' keys: put it back from a backup", self.path.display())
            })?;
            Ok(TabletKey::try_from(&*key)?)
        })
    }

    fn with<T>(&self, work: impl FnOnce(&LessSafeKey) -> anyhow::Result<T>) -> anyhow::Result<T> {
        let mut held = self.key.lock().unwrap_or_else(PoisonError::into_inner);
        let key = match held.take() {
            Some(key) => key,
            None => load(&self.path)?,
        };
        work(held.insert(key))
    }
}

fn load(path: &Path) -> anyhow::Result<LessSafeKey> {
    let bytes = match fs::read(path) {
        Err(e) if e.kind() == ErrorKind::NotFound => make(path)
            .with_context(|| format!("the tablets' wrapping key cannot be kept in {}", path.display()))?,
        read => read.with_context(|| format!("{} cannot be read", path.display()))?,
    };
    let damaged = || anyhow!("{} is damaged: put it back from a backup", path.display());
    let key = UnboundKey::new(&AES_256_GCM, &bytes).map_err(|_| damaged())?;
    Ok(LessSafeKey::new(key))
}

/// Written aside, synced and renamed: a start cut short leaves no half key behind.
fn make(path: &Path) -> anyhow::Result<Vec<u8>> {
    let key: TabletKey = random()?;
    let aside = path.with_extension("key.new");
    if aside.exists() {
        fs::remove_file(&aside)?;
    }
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&aside)?;
    file.write_all(&key)?;
    file.sync_all()?;
    fs::rename(&aside, path)?;
    if let Some(folder) = path.parent() {
        fs::File::open(folder)?.sync_all()?;
    }
    Ok(key.to_vec())
}

fn random<const N: usize>() -> anyhow::Result<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|e| anyhow!("no random numbers to be had: {e}"))?;
    Ok(bytes)
}
