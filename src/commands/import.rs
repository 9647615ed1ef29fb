//! `limbledger import archive`: makes the practice of an archive again, in a folder that holds none.

use std::{
    fs,
    path::{Path, PathBuf},
};

use anyhow::{Context, bail};

use super::serve;
use crate::{
    archive::{self, Found, Made},
    clock::Clock,
    config::ImportArchiveArgs,
    db,
    ids::SubmissionId,
    say,
};

/// Where the practice is made inside its folder. While it is there without a database beside it, an import was cut off.
const ASIDE: &str = "importing";
/// What an import puts into the folder, in this order: the database last.
const MOVED: [&str; 3] = ["attachments", "record.mark", db::FILE];

/// Whether an import into the folder was cut off: what lies there is no practice, and none is begun over it.
pub fn was_cut_off(data: &Path) -> bool {
    data.join(ASIDE).exists() && !data.join(db::FILE).exists()
}

pub async fn archive(args: ImportArchiveArgs) -> anyhow::Result<()> {
    free(&args.data)?;
    let file = args.file.clone();
    let mut found = tokio::task::spawn_blocking(move || Found::open(&file)).await??;
    let manifest = &found.manifest;
    say::aside(format_args!(
        "An archive of {}, made on {} by version {}: every file is as its manifest says.",
        manifest.practice, manifest.made_at, manifest.program
    ));
    if args.dry_run {
        let scratch = Scratch::new(std::env::temp_dir().join(format!("limbledger-{}", SubmissionId::new())))?;
        let made = archive::try_out(&mut found, &scratch.0).await?;
        say::line(format_args!("{}. Nothing was written.", words(&made)));
        return Ok(());
    }
    let fresh = !args.data.exists();
    let made = in_place(&mut found, &args.data).await;
    if made.is_err() && fresh {
        let _ = fs::remove_file(args.data.join("lock"));
        let _ = fs::remove_dir(&args.data);
    }
    let made = made?;
    say::line(format_args!("{}: {}", args.data.display(), words(&made)));
    say::aside(
        "Nobody has a password yet: an archive holds none. Give each a code that opens the account once, and they \
         choose a password with it:",
    );
    for name in &made.people {
        say::aside(format_args!("  limbledger staff code {name:?} --data {}", args.data.display()));
    }
    Ok(())
}

async fn in_place(found: &mut Found, data: &Path) -> anyhow::Result<Made> {
    let _lock = serve::lock(data)?;
    for left in [ASIDE, "attachments"] {
        clear(&data.join(left))?;
    }
    let aside = Scratch::new(data.join(ASIDE))?;
    let made = archive::make(found, &aside.0, Clock::System.now()).await?;
    for name in MOVED {
        let from = aside.0.join(name);
        if from.exists() {
            fs::rename(&from, data.join(name))
                .with_context(|| format!("{name} cannot be put in its place"))?;
        }
    }
    fs::File::open(data)?.sync_all()?;
    Ok(made)
}

/// A folder that is taken away again.
struct Scratch(PathBuf);

impl Scratch {
    fn new(folder: PathBuf) -> anyhow::Result<Self> {
        let mut builder = fs::DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&folder).with_context(|| format!("{} cannot be made", folder.display()))?;
        Ok(Scratch(folder))
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn clear(folder: &Path) -> anyhow::Result<()> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(error).with_context(|| format!("{} cannot be emptied", folder.display()))
        }
        _ => Ok(()),
    }
}

/// The folder is absent or empty, or holds what an import left that was cut off.
fn free(data: &Path) -> anyhow::Result<()> {
    if !data.exists() {
        return Ok(());
    }
    if data.join(db::FILE).exists() {
        bail!(
            "{} holds a practice already, and an archive is never mixed into one; give --data an empty folder",
            data.display()
        );
    }
    let left = was_cut_off(data);
    for one in fs::read_dir(data).with_context(|| format!("{} cannot be read", data.display()))? {
        let name = one?.file_name();
        let ours = name == "lock" || left && (name == ASIDE || MOVED.iter().any(|moved| name == *moved));
        if !ours {
            bail!("{} is not empty; give --data a folder that is empty or not there yet", data.display());
        }
    }
    Ok(())
}

fn words(made: &Made) -> String {
    let missing = match made.missing {
        0 => String::new(),
        many => format!(" ({many} more are missing, as the archive says)"),
    };
    format!(
        "{} rows in {} tables, {} files{missing}; the record holds {} entries and its chain holds",
        made.rows, made.tables, made.files, made.entries
    )
}
