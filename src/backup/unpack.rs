//! What is in a backup, put into a folder. Nothing in it is believed before it was looked at: no name in it leads out of
//! the folder, nothing is larger than it says, and every byte is digested.

use std::{
    fs::{self, File as Disk},
    io::{self, BufReader, Read},
    path::{Path, PathBuf},
    time::Instant,
};

use anyhow::{Context, bail, ensure};
use zip::ZipArchive;

use super::{
    keys,
    make::ATTACHMENTS,
    manifest::{self, File, Manifest},
};
use crate::{archive::Checked, attachments, checkup::Watch, db};

/// The manifest and the keys are smaller.
const LARGEST_TEXT: u64 = 256 << 20;

type Zip = ZipArchive<BufReader<Disk>>;

/// What came out of a backup beside its files.
#[derive(Debug, Clone)]
pub struct Unpacked {
    pub manifest: Manifest,
    /// The sealed keys, where it has any.
    pub keys: Option<Vec<u8>>,
}

/// Puts the database and the files of the backup `from` into the folder `to`, each as its manifest says.
///
/// # Errors
/// It is no backup, was made by a newer program, or anything in it is not as it says; what, is named.
pub fn unpack(from: &Path, to: &Path, watch: &Watch) -> anyhow::Result<Unpacked> {
    let disk = Disk::open(from).with_context(|| format!("{} cannot be opened", from.display()))?;
    let mut zip = ZipArchive::new(BufReader::new(disk))
        .with_context(|| format!("{} is no backup, or was cut off", from.display()))?;
    ensure!(!zip.has_duplicate_names(), "a name stands twice in the backup");
    let text = whole(&mut zip, manifest::NAME).context("it is no backup of a practice")?;
    let manifest = Manifest::read(&text)?;
    ensure!(
        manifest.schema <= db::newest_migration(),
        "the backup comes from a newer version of the program ({}); restore it with that one or a newer one",
        manifest.program
    );
    ensure!(manifest.file(db::FILE).is_some(), "there is no database in the backup");
    watch.begin("what is in the backup", manifest.files.len() as u64);
    let mut keys = None;
    for file in &manifest.files {
        let began = Instant::now();
        match place(&file.name, to)? {
            Some(path) => extract(&mut zip, file, &path)?,
            None if file.name == keys::NAME => keys = Some(whole(&mut zip, &file.name)?),
            None => {}
        }
        watch.advance(1);
        watch.rest_here(began);
    }
    Ok(Unpacked { manifest, keys })
}

/// Where a file of a backup belongs in a data folder; `None` for what is read and not put there.
fn place(name: &str, to: &Path) -> anyhow::Result<Option<PathBuf>> {
    if name == db::FILE {
        return Ok(Some(to.join(name)));
    }
    if name == keys::NAME || name == "README.txt" {
        return Ok(None);
    }
    let digest = name.strip_prefix(ATTACHMENTS).unwrap_or_default();
    let is_digest = digest.len() == 64 && digest.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
    if !is_digest {
        bail!("backup.json names {name:?}, which no backup has");
    }
    Ok(Some(attachments::path(to, digest)))
}

fn extract(zip: &mut Zip, file: &File, path: &Path) -> anyhow::Result<()> {
    let name = &file.name;
    let inner = zip.by_name(name).with_context(|| format!("{name} is missing from the backup"))?;
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
    }
    let mut disk = Disk::create_new(path).with_context(|| format!("{} cannot be written", path.display()))?;
    io::copy(&mut Checked::new(inner, file.bytes, &file.sha256), &mut disk).with_context(|| {
        format!("{name} cannot be brought back; the backup is damaged, or the disk is full")
    })?;
    Ok(disk.sync_all()?)
}

fn whole(zip: &mut Zip, name: &str) -> anyhow::Result<Vec<u8>> {
    let entry = zip.by_name(name).with_context(|| format!("there is no {name} in it"))?;
    let mut text = Vec::new();
    entry.take(LARGEST_TEXT + 1).read_to_end(&mut text).with_context(|| format!("{name} cannot be read"))?;
    ensure!(text.len() as u64 <= LARGEST_TEXT, "{name} is too large");
    Ok(text)
}
