//! The wrapping key: a file beside the database, without which the tablets' keys in it are noise.

use std::path::Path;

use crate::sealing::{Sealer, random};

const FILE: &str = "tablets.key";

/// The key of one account on one tablet, as the tablet gets it.
pub(super) type TabletKey = [u8; 32];

/// Wraps and unwraps the tablets' keys.
pub struct Keeper(Sealer);

impl Keeper {
    /// For this data folder; nothing is read yet.
    pub fn new(folder: &Path) -> Self {
        Keeper(Sealer::new(folder, FILE, "the tablets' keys"))
    }

    /// Reads the wrapping key, or makes it at the first start.
    pub fn open(&self) -> anyhow::Result<()> {
        self.0.open()
    }

    /// A new key, and how it is kept. `of` says whose it is: it opens for nobody else.
    pub(super) fn make(&self, of: &[u8]) -> anyhow::Result<(TabletKey, Vec<u8>)> {
        let key: TabletKey = random()?;
        Ok((key, self.0.seal(of, &key)?))
    }

    pub(super) fn unwrap(&self, of: &[u8], wrapped: &[u8]) -> anyhow::Result<TabletKey> {
        Ok(TabletKey::try_from(self.0.unseal(of, wrapped)?.as_slice())?)
    }
}
