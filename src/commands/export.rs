//! `limbledger export archive`: the practice, or the record of one horse, as one file; beside a running server or without.

use std::{
    fs::{self, File},
    io::Write,
    path::{Path, PathBuf},
};

use anyhow::{Context, bail, ensure};
use tokio::sync::mpsc;

use crate::{
    archive::{self, Asked, Told, Whose},
    clock::Clock,
    config::ExportArchiveArgs,
    db, horses, say,
};

/// Pieces that wait for the disk.
const WAITING: usize = 4;

pub async fn archive(args: ExportArchiveArgs) -> anyhow::Result<()> {
    let to = &args.to;
    ensure!(!to.exists(), "{} is there already; choose another --to", to.display());
    let mut conn = db::reader(&args.data).await?;
    let whose = match args.horse {
        None => Whose::Practice,
        Some(id) => {
            let reason = args.whole.unwrap_or_default();
            let since =
                if reason.is_empty() { horses::store::owned_since(&mut conn, id).await? } else { None };
            Whose::Horse { id, since, reason }
        }
    };
    let asked = Asked { whose, by: "the command line".into(), now: Clock::System.now() };
    let aside = aside(to)?;
    let told = match written(conn, &args.data, &asked, &aside).await {
        Ok(told) => told,
        Err(error) => {
            let _ = fs::remove_file(&aside);
            return Err(error);
        }
    };
    fs::rename(&aside, to).with_context(|| format!("{} cannot be written", to.display()))?;
    for one in &told.missing {
        say::aside(format_args!("Not as it was kept: {one}"));
    }
    say::line(format_args!("{}: {} files, {} rows", to.display(), told.files, told.rows));
    if !told.missing.is_empty() {
        say::aside("The archive is whole but for those files; a backup may have them.");
    }
    Ok(())
}

/// Where it is written until it is whole.
fn aside(to: &Path) -> anyhow::Result<PathBuf> {
    let Some(name) = to.file_name() else { bail!("{} is no name for a file", to.display()) };
    Ok(to.with_file_name(format!("{}.part", name.to_string_lossy())))
}

async fn written(
    conn: sqlx::SqliteConnection,
    data: &Path,
    asked: &Asked,
    aside: &Path,
) -> anyhow::Result<Told> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let file = options.open(aside).with_context(|| format!("{} cannot be written", aside.display()))?;
    let (out, mut pieces) = mpsc::channel(WAITING);
    let disk = tokio::task::spawn_blocking(move || -> anyhow::Result<File> {
        let mut file = file;
        while let Some(piece) = pieces.blocking_recv() {
            let piece: axum::body::Bytes = piece?;
            file.write_all(&piece)?;
        }
        file.sync_all()?;
        Ok(file)
    });
    let made = archive::write(conn, data, asked, out).await;
    // A full disk is the better reason than that nobody takes the pieces.
    disk.await?.with_context(|| format!("{} cannot be written; is the disk full?", aside.display()))?;
    made
}
