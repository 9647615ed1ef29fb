//! `limbledger restore`: the practice of a backup, in a folder that holds none.

use std::io::{IsTerminal, Read};

use anyhow::{Context, bail};
use sqlx::Connection;

use super::place;
use crate::{
    backup::{self, Unpacked},
    checkup::{self, Watch},
    clock::Clock,
    config::RestoreArgs,
    db::{self, Db},
    say,
};

/// A longer line than any passphrase is not read to its end.
const LONGEST_INPUT: u64 = 4096;

pub async fn run(args: RestoreArgs) -> anyhow::Result<()> {
    place::free(&args.data)?;
    let phrase = passphrase()?;
    let watch = Watch::new();
    let shown = super::bar::show(&watch);
    let restored = place::put(&args.data, async |folder| {
        let (file, to, watching) = (args.file.clone(), folder.to_owned(), watch.clone());
        let unpacked = tokio::task::spawn_blocking(move || backup::unpack(&file, &to, &watching)).await??;
        let keys = keys(&unpacked, &phrase, folder)?;
        let mut conn = db::reader(folder).await?;
        let found = checkup::look(folder, &mut conn, &watch).await?;
        conn.close().await?;
        if let Some(fault) = found.faults.first() {
            bail!("the backup is damaged: {fault}; use another one");
        }
        ready(folder).await?;
        Ok((unpacked.manifest, found, keys))
    });
    let restored = restored.await;
    shown.done();
    let (manifest, found, keys) = restored?;
    say::line(format_args!(
        "{}: {} as it was on {}; {} rows, {} entries of the record and {} files are as they were written",
        args.data.display(),
        manifest.practice,
        manifest.made_at,
        found.rows,
        found.entries,
        found.files
    ));
    say::aside(if keys {
        "The keys are back: tablets go on trusting the server and send what they kept. Everybody signs in anew."
    } else {
        "The keys of the practice were not restored: at its next start it makes a new certificate, and every tablet has to \
         trust it anew. What tablets kept and had not sent cannot be opened by this server."
    });
    Ok(())
}

/// Puts the keys back; whether there were any and they were wanted.
fn keys(unpacked: &Unpacked, phrase: &str, folder: &std::path::Path) -> anyhow::Result<bool> {
    match (&unpacked.keys, backup::plain(phrase).is_empty()) {
        (_, true) => Ok(false),
        (None, false) => bail!("this backup holds no keys; give an empty line in place of a passphrase"),
        (Some(sealed), false) => Ok(backup::open_keys(sealed, phrase, folder)? > 0),
    }
}

/// Ends the sessions of the day of the copy, some of which were ended since, and marks how far the record has grown.
async fn ready(folder: &std::path::Path) -> anyhow::Result<()> {
    let db = Db::open(folder, Clock::System.now()).await?;
    if let Some(found) = db.trouble() {
        bail!("the backup is damaged: {found}; use another one");
    }
    let mut tx = db.write().await?;
    for ended in ["delete from session where true", "delete from half_sign_in where true"] {
        sqlx::query(ended).execute(&mut *tx).await?;
    }
    tx.commit().await?;
    db.close().await;
    Ok(())
}

/// The first line of stdin.
fn passphrase() -> anyhow::Result<String> {
    let stdin = std::io::stdin();
    if stdin.is_terminal() {
        say::aside("Recovery passphrase (an empty line restores the record without the keys):");
        let mut line = String::new();
        stdin.read_line(&mut line).context("the passphrase cannot be read")?;
        return Ok(line.trim().to_owned());
    }
    let mut text = String::new();
    stdin.take(LONGEST_INPUT).read_to_string(&mut text).context("the passphrase cannot be read")?;
    Ok(text.lines().next().unwrap_or_default().trim().to_owned())
}
