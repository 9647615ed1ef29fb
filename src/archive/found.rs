//! An archive that comes from anywhere: nothing in it is believed before it was looked at. No name in it ever becomes a path,
//! nothing is read further than the manifest says and a limit allows, and every byte is digested.

use std::{
    collections::{BTreeMap, HashSet},
    fs::File as Disk,
    io::{self, BufRead, BufReader, Read},
    path::Path,
};

use anyhow::{Context, bail, ensure};
use sha2::{Digest, Sha256};
use zip::{CompressionMethod, ZipArchive};

use super::{
    attached,
    manifest::{self, File, Manifest},
};
use crate::record::hex;

/// The manifest of a million files is smaller.
const LARGEST_MANIFEST: u64 = 256 << 20;
/// The largest file of a record that is ever taken in.
const LARGEST_ATTACHMENT: u64 = 4 << 30;
/// All tables and texts together.
const LARGEST_TABLES: u64 = 64 << 30;
/// A row, in bytes.
const LONGEST_LINE: u64 = 64 << 20;
/// Rows hold numbers that chance made, which nothing packs: so many times smaller no table of ours becomes.
const MOST_PACKED: u64 = 300;
/// What is smaller than this may be packed however it is.
const SMALL: u64 = 1 << 20;

/// The files that every archive has besides its tables and attachments.
const TEXTS: [&str; 6] =
    ["README.txt", "tables.json", "record.csv", "horses.csv", "people.csv", "visits.csv"];

/// An archive whose names, sizes and digests are as its manifest says.
pub struct Found {
    zip: ZipArchive<BufReader<Disk>>,
    pub manifest: Manifest,
    files: BTreeMap<String, File>,
}

impl Found {
    /// Opens an archive and reads every byte of it once.
    ///
    /// # Errors
    /// It is no archive of ours, of a newer version, or anything in it is not as the manifest says; what, is named.
    pub fn open(path: &Path) -> anyhow::Result<Self> {
        let disk = Disk::open(path).with_context(|| format!("{} cannot be opened", path.display()))?;
        let mut zip = ZipArchive::new(BufReader::new(disk))
            .with_context(|| format!("{} is no zip, or was cut off", path.display()))?;
        ensure!(!zip.has_duplicate_names(), "a name stands twice in the archive");
        ensure!(!zip.has_overlapping_entries()?, "files of the archive lie over each other");
        let manifest = Manifest::read(&manifest_of(&mut zip)?)?;
        let mut files = BTreeMap::new();
        for file in &manifest.files {
            ensure!(is_name(&file.name), "manifest.json names {:?}, which no archive has", file.name);
            let before = files.insert(file.name.clone(), file.clone());
            ensure!(before.is_none(), "manifest.json names {} twice", file.name);
        }
        let mut found = Found { zip, manifest, files };
        found.same_names()?;
        found.bounded()?;
        let names: Vec<String> = found.files.keys().cloned().collect();
        for name in names {
            let mut reader = found.reader(&name)?;
            io::copy(&mut reader, &mut io::sink()).with_context(|| not_as_said(&name))?;
        }
        Ok(found)
    }

    /// Every file of the manifest is there, and no other one.
    fn same_names(&self) -> anyhow::Result<()> {
        let there: HashSet<String> =
            self.zip.file_names().map(|name| Ok(name?.into_owned())).collect::<anyhow::Result<_>>()?;
        if let Some(missing) = self.files.keys().find(|name| !there.contains(*name)) {
            bail!("{missing} is missing from the archive");
        }
        let extra = there.iter().find(|name| *name != manifest::NAME && !self.files.contains_key(*name));
        extra.map_or(Ok(()), |name| bail!("{name:?} is in the archive, and manifest.json does not name it"))
    }

    /// No file is larger than a limit, or than its packed bytes can honestly become.
    fn bounded(&mut self) -> anyhow::Result<()> {
        let mut tables = 0_u64;
        for (name, file) in &self.files {
            let entry = self.zip.by_name(name).with_context(|| format!("{name} cannot be read"))?;
            ensure!(entry.is_file() && !entry.encrypted(), "{name} is no plain file");
            ensure!(entry.size() == file.bytes, "{name} has not the size that manifest.json says");
            if name.starts_with(attached::FOLDER) {
                ensure!(
                    file.bytes <= LARGEST_ATTACHMENT,
                    "{name} is larger than any file of a record may be"
                );
                ensure!(
                    entry.compression() == CompressionMethod::Stored,
                    "{name} is packed, which ours never are"
                );
            } else {
                let honest = entry.compressed_size().saturating_mul(MOST_PACKED).max(SMALL);
                tables = tables.saturating_add(file.bytes);
                ensure!(file.bytes <= honest && tables <= LARGEST_TABLES, "{name} would become too large");
            }
        }
        Ok(())
    }

    /// A file's bytes; a byte too many or another digest is an error at the end of them.
    pub(super) fn reader(&mut self, name: &str) -> anyhow::Result<impl Read> {
        let file =
            self.files.get(name).with_context(|| format!("{name} is missing from the archive"))?.clone();
        let inner = self.zip.by_name(name).with_context(|| format!("{name} cannot be read"))?;
        Ok(Checked::new(inner, file.bytes, &file.sha256))
    }

    /// Hands each line of a table on.
    pub(super) fn lines(&mut self, name: &str) -> anyhow::Result<Lines<impl Read>> {
        Ok(Lines { inner: BufReader::new(self.reader(name)?), name: name.to_owned(), number: 0 })
    }

    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        self.files.keys().map(String::as_str)
    }
}

pub(super) fn not_as_said(name: &str) -> String {
    format!("{name} is not as manifest.json says; the archive was changed or damaged")
}

fn manifest_of(zip: &mut ZipArchive<BufReader<Disk>>) -> anyhow::Result<Vec<u8>> {
    let entry = zip
        .by_name(manifest::NAME)
        .context("there is no manifest.json, so it is no archive of a practice")?;
    let mut text = Vec::new();
    entry.take(LARGEST_MANIFEST + 1).read_to_end(&mut text).context("manifest.json cannot be read")?;
    ensure!(text.len() as u64 <= LARGEST_MANIFEST, "manifest.json is too large");
    Ok(text)
}

/// Whether an archive of ours has files of this name: no folder leads out, none is hidden.
fn is_name(name: &str) -> bool {
    let letters = |text: &str, more: &str| {
        !text.is_empty()
            && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || more.contains(c))
    };
    if let Some(table) = name.strip_prefix("tables/").and_then(|rest| rest.strip_suffix(".jsonl")) {
        return letters(table, "_");
    }
    if let Some(file) = name.strip_prefix(attached::FOLDER) {
        return file.split_once('.').is_some_and(|(digest, ending)| {
            digest.len() == 64
                && digest.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
                && letters(ending, "")
        });
    }
    TEXTS.contains(&name)
}

/// Reads so many bytes and no more, and looks at their digest when they are over.
pub struct Checked<R> {
    inner: R,
    left: u64,
    digest: Sha256,
    wanted: String,
}

impl<R: Read> Checked<R> {
    pub fn new(inner: R, bytes: u64, sha256: &str) -> Self {
        Checked { inner, left: bytes, digest: Sha256::new(), wanted: sha256.to_owned() }
    }
}

impl<R: Read> Read for Checked<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if into.is_empty() {
            return Ok(0);
        }
        let read = self.inner.read(into)?;
        let Some(left) = self.left.checked_sub(read as u64) else {
            return Err(io::Error::other("there are more bytes than there should be"));
        };
        self.left = left;
        self.digest.update(into.get(..read).unwrap_or_default());
        if read == 0 && (left > 0 || hex(&self.digest.clone().finalize()) != self.wanted) {
            return Err(io::Error::other("the SHA-256 of its bytes is another"));
        }
        Ok(read)
    }
}

/// The lines of a table, one at a time.
pub(super) struct Lines<R: Read> {
    inner: BufReader<R>,
    name: String,
    pub number: u64,
}

impl<R: Read> Lines<R> {
    /// The next line without its end; `None` after the last.
    pub(super) fn next(&mut self) -> anyhow::Result<Option<String>> {
        let mut line = Vec::new();
        let mut bounded = self.inner.by_ref().take(LONGEST_LINE);
        let read = bounded.read_until(b'\n', &mut line).with_context(|| not_as_said(&self.name))?;
        if read == 0 {
            return Ok(None);
        }
        self.number += 1;
        ensure!(
            line.pop() == Some(b'\n'),
            "line {} of {} is too long, or has no end",
            self.number,
            self.name
        );
        let text = String::from_utf8(line)
            .with_context(|| format!("line {} of {} is not in UTF-8", self.number, self.name))?;
        Ok(Some(text))
    }
}
