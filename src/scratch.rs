//! A folder that is there for a while.

use std::{
    fs::{self, DirBuilder},
    path::{Path, PathBuf},
};

use anyhow::Context;

/// Made for the owner of the process alone; taken away with everything in it when it is dropped.
#[derive(Debug)]
pub struct Scratch(PathBuf);

impl Scratch {
    /// # Errors
    /// It is there already, or cannot be made.
    pub fn new(folder: PathBuf) -> anyhow::Result<Self> {
        let mut builder = DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&folder).with_context(|| format!("{} cannot be made", folder.display()))?;
        Ok(Scratch(folder))
    }

    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}
