//! One copy of the practice as one file: a zip of the database at one moment, the files that it speaks of, and the sealed
//! keys. It gets its name when it was restored to a scratch folder and found whole.

use std::{
    fs::{self, File as Disk, OpenOptions},
    io::{self, BufWriter, Write},
    path::{Path, PathBuf},
    time::Instant,
};

use anyhow::{Context, bail, ensure};
use sha2::{Digest, Sha256};
use sqlx::Connection;
use zip::{CompressionMethod, ZipWriter, write::SimpleFileOptions};

use super::{
    keys,
    manifest::{self, File, Manifest},
    unpack,
};
use crate::{
    attachments,
    checkup::{self, Watch},
    clock::At,
    db, practice,
    record::hex,
    scratch::Scratch,
};

/// The folder of the record's files inside.
pub(super) const ATTACHMENTS: &str = "attachments/";

/// A copy that was tried.
#[derive(Debug, Clone)]
pub struct Made {
    pub bytes: u64,
    pub entries: i64,
    pub files: usize,
    /// The keys are in it.
    pub keys: bool,
}

/// Copies the practice in `data` to the file `to`, beside a server that runs or not.
///
/// # Errors
/// The file is there already, the disk is full, or what was copied is not whole; then there is no file of that name.
pub async fn make(data: &Path, to: &Path, now: At, watch: &Watch) -> anyhow::Result<Made> {
    ensure!(!to.exists(), "{} is there already; choose another name", to.display());
    let Some(name) = to.file_name().map(|name| name.to_string_lossy().into_owned()) else {
        bail!("{} is no name for a file", to.display());
    };
    let partial = to.with_file_name(format!("{name}.partial"));
    let aside = to.with_file_name(format!("{name}.scratch"));
    // Left by a copy that was cut off.
    let _ = fs::remove_dir_all(&aside);
    let scratch = Scratch::new(aside)?;
    let made = tried(data, &partial, &scratch, now, watch).await;
    let made = made.inspect_err(|_| drop(fs::remove_file(&partial)))?;
    fs::rename(&partial, to).with_context(|| format!("{} cannot be written", to.display()))?;
    let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    Disk::open(folder)?.sync_all()?;
    Ok(made)
}

async fn tried(
    data: &Path,
    partial: &Path,
    scratch: &Scratch,
    now: At,
    watch: &Watch,
) -> anyhow::Result<Made> {
    let copy = scratch.path().join(db::FILE);
    let (manifest, files) = database(data, &copy, now, watch).await?;
    let keys = keys::seal(data)?;
    let mut made = Made { bytes: 0, entries: manifest.entries, files: files.len(), keys: keys.is_some() };
    written(data, &copy, partial, Inside { manifest, files, keys }, watch).await?;
    fs::remove_file(&copy)?;
    let restored = Scratch::new(scratch.path().join("restored"))?;
    let found = {
        let (from, to, watching) = (partial.to_owned(), restored.path().to_owned(), watch.clone());
        tokio::task::spawn_blocking(move || unpack::unpack(&from, &to, &watching)).await??;
        let mut conn = db::reader(restored.path()).await?;
        let found = checkup::look(restored.path(), &mut conn, watch).await?;
        conn.close().await?;
        found
    };
    if let Some(fault) = found.faults.first() {
        bail!("the practice is damaged, and so would be its copy: {fault}");
    }
    ensure!(found.entries == made.entries, "the copy ends at another entry than the practice");
    made.bytes = fs::metadata(partial)?.len();
    Ok(made)
}

/// Copies the database as it is at one moment; what it says of itself, and the names of its files.
async fn database(
    data: &Path,
    copy: &Path,
    now: At,
    watch: &Watch,
) -> anyhow::Result<(Manifest, Vec<String>)> {
    watch.begin("the database", 0);
    let mut conn = db::summed_reader(data).await?;
    sqlx::query("vacuum into ?")
        .bind(copy.display().to_string())
        .execute(&mut conn)
        .await
        .context("the database could not be copied; is the disk full?")?;
    conn.close().await?;
    let folder = copy.parent().context("a copy lies in a folder")?;
    let mut conn = db::reader(folder).await?;
    let stands = db::stands(&mut conn).await?;
    let head = stands.head.as_ref();
    let manifest = Manifest {
        schema: sqlx::query_scalar("select max(version) from _sqlx_migrations").fetch_one(&mut conn).await?,
        practice: practice::store::get(&mut conn).await?.name,
        made_at: now.iso(),
        commits: stands.commits,
        entries: head.map_or(0, |head| head.seq),
        head: head.map(|head| hex(&head.chain)).unwrap_or_default(),
        ..Manifest::blank()
    };
    let files =
        sqlx::query_scalar("select sha256 from attachment order by rowid").fetch_all(&mut conn).await?;
    conn.close().await?;
    Ok((manifest, files))
}

/// What goes into the file.
struct Inside {
    manifest: Manifest,
    files: Vec<String>,
    keys: Option<String>,
}

async fn written(
    data: &Path,
    copy: &Path,
    partial: &Path,
    inside: Inside,
    watch: &Watch,
) -> anyhow::Result<()> {
    let (data, copy, watch) = (data.to_owned(), copy.to_owned(), watch.clone());
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let full = format!("{} cannot be written; is the disk full?", partial.display());
    let disk = options.open(partial).with_context(|| full.clone())?;
    let write = move || -> anyhow::Result<()> {
        let Inside { mut manifest, files, keys } = inside;
        let mut zip = Zip { zip: ZipWriter::new(BufWriter::new(disk)), files: Vec::new() };
        zip.whole("README.txt", include_bytes!("readme.txt"))?;
        zip.file(db::FILE, &copy, CompressionMethod::Deflated)?;
        watch.begin("the files of the record", files.len() as u64);
        for name in &files {
            let began = Instant::now();
            // What is an image or a video is packed already.
            zip.file(
                &format!("{ATTACHMENTS}{name}"),
                &attachments::path(&data, name),
                CompressionMethod::Stored,
            )?;
            watch.advance(1);
            watch.rest_here(began);
        }
        if let Some(keys) = keys {
            zip.whole(keys::NAME, keys.as_bytes())?;
        }
        manifest.files.clone_from(&zip.files);
        zip.whole(manifest::NAME, serde_json::to_string_pretty(&manifest)?.as_bytes())?;
        let disk = zip.zip.finish()?.into_inner().map_err(io::IntoInnerError::into_error)?;
        Ok(disk.sync_all()?)
    };
    tokio::task::spawn_blocking(write).await?.context(full)
}

/// The file on its way; what was written is digested for the manifest.
struct Zip {
    zip: ZipWriter<BufWriter<Disk>>,
    files: Vec<File>,
}

impl Zip {
    fn begin(&mut self, name: &str, method: CompressionMethod) -> anyhow::Result<()> {
        let options = SimpleFileOptions::default().compression_method(method).large_file(true);
        Ok(self.zip.start_file(name, options)?)
    }

    fn whole(&mut self, name: &str, bytes: &[u8]) -> anyhow::Result<()> {
        self.begin(name, CompressionMethod::Deflated)?;
        self.zip.write_all(bytes)?;
        self.files.push(File {
            name: name.to_owned(),
            bytes: bytes.len() as u64,
            sha256: hex(&Sha256::digest(bytes)),
        });
        Ok(())
    }

    fn file(&mut self, name: &str, path: &PathBuf, method: CompressionMethod) -> anyhow::Result<()> {
        self.begin(name, method)?;
        let mut from = Disk::open(path).with_context(|| format!("{} cannot be read", path.display()))?;
        let mut through = Digesting { into: &mut self.zip, digest: Sha256::new(), bytes: 0 };
        io::copy(&mut from, &mut through)?;
        let Digesting { digest, bytes, .. } = through;
        self.files.push(File { name: name.to_owned(), bytes, sha256: hex(&digest.finalize()) });
        Ok(())
    }
}

/// Passes bytes on and digests them.
struct Digesting<W> {
    into: W,
    digest: Sha256,
    bytes: u64,
}

impl<W: Write> Write for Digesting<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.into.write(bytes)?;
        self.digest.update(bytes.get(..written).unwrap_or_default());
        self.bytes += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.into.flush()
    }
}
