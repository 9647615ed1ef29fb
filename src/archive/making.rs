//! An archive on its way out: a zip whose bytes are passed on as soon as they are made, so that nothing of it has to be
//! held; what was written is digested for the manifest.

use std::{
    io::{self, Write},
    sync::{Arc, Mutex, PoisonError},
};

use anyhow::Context;
use axum::body::Bytes;
use sha2::{Digest, Sha256};
use tokio::sync::mpsc;
use zip::{
    CompressionMethod, ZipWriter,
    write::{SimpleFileOptions, StreamWriter},
};

use super::manifest::File;
use crate::record::hex;

/// So much is made before it is passed on.
const PIECE: usize = 256 * 1024;

pub type Sender = mpsc::Sender<io::Result<Bytes>>;

/// What the zip has written and nobody has taken yet.
#[derive(Clone, Default)]
struct Pending(Arc<Mutex<Vec<u8>>>);

impl Pending {
    fn len(&self) -> usize {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).len()
    }

    fn take(&self) -> Vec<u8> {
        std::mem::take(&mut *self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Write for Pending {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// The file inside that is being written.
struct Open {
    name: String,
    bytes: u64,
    rows: Option<u64>,
    digest: Sha256,
}

pub(super) struct Making {
    /// Its working room is too large to be handed about.
    zip: Box<ZipWriter<StreamWriter<Pending>>>,
    pending: Pending,
    out: Sender,
    open: Option<Open>,
    pub files: Vec<File>,
}

impl Making {
    pub(super) fn new(out: Sender) -> Self {
        let pending = Pending::default();
        let zip = Box::new(ZipWriter::new_stream(pending.clone()));
        Making { zip, pending, out, open: None, files: Vec::new() }
    }

    /// Begins a file; the one before it is ended. What is packed already is stored as it is.
    pub(super) fn begin(&mut self, name: &str, packed: bool) -> anyhow::Result<()> {
        self.end();
        let method = if packed { CompressionMethod::Stored } else { CompressionMethod::Deflated };
        let options = SimpleFileOptions::default().compression_method(method).large_file(true);
        self.zip.start_file(name, options)?;
        self.open = Some(Open { name: name.to_owned(), bytes: 0, rows: None, digest: Sha256::new() });
        Ok(())
    }

    pub(super) async fn write(&mut self, bytes: &[u8]) -> anyhow::Result<()> {
        self.zip.write_all(bytes)?;
        if let Some(open) = self.open.as_mut() {
            open.bytes += bytes.len() as u64;
            open.digest.update(bytes);
        }
        if self.pending.len() >= PIECE { self.pass_on().await } else { Ok(()) }
    }

    /// A row of a table, with the end of its line.
    pub(super) async fn row(&mut self, mut line: Vec<u8>) -> anyhow::Result<()> {
        line.push(b'\n');
        self.count(1);
        self.write(&line).await
    }

    /// That what is written has so many rows more.
    pub(super) fn count(&mut self, rows: u64) {
        if let Some(open) = self.open.as_mut() {
            open.rows = Some(open.rows.unwrap_or_default() + rows);
        }
    }

    /// A file that is at hand as a whole.
    pub(super) async fn whole(&mut self, name: &str, text: &str) -> anyhow::Result<()> {
        self.begin(name, false)?;
        self.write(text.as_bytes()).await
    }

    /// Ends the file that is being written and tells what it became.
    pub(super) fn end(&mut self) -> Option<&File> {
        let Open { name, bytes, rows, digest } = self.open.take()?;
        self.files.push(File { name, bytes, rows, sha256: hex(&digest.finalize()) });
        self.files.last()
    }

    async fn pass_on(&mut self) -> anyhow::Result<()> {
        self.out.send(Ok(self.pending.take().into())).await.context("nobody takes the archive any more")
    }

    pub(super) async fn finish(mut self) -> anyhow::Result<()> {
        self.end();
        let Making { zip, pending, out, .. } = self;
        zip.finish()?;
        out.send(Ok(pending.take().into())).await.context("nobody takes the archive any more")
    }
}
