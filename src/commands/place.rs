//! A practice that comes from a file: made aside inside its folder and put in its place with the database last, so that a
//! stop in the middle leaves no half of one.

use std::{fs, path::Path};

use anyhow::{Context, bail};

use super::serve;
use crate::{db, record::MARK, scratch::Scratch};

/// Where it is made. While it is there without a database beside it, the making was cut off.
const ASIDE: &str = "importing";
/// What is put in its place, in this order.
const MOVED: [&str; 8] = [
    "attachments",
    "authority",
    "certificate",
    "second-factor.key",
    "tablets.key",
    "recovery.key",
    MARK,
    db::FILE,
];

/// Whether the making of a practice in the folder was cut off: what lies there is none, and none is begun over it.
pub(super) fn was_cut_off(data: &Path) -> bool {
    data.join(ASIDE).exists() && !data.join(db::FILE).exists()
}

/// Lets `work` make a practice in a folder of its own, and puts it into `data` when that ended well.
///
/// # Errors
/// The folder holds a practice or something else, a server has it, or it cannot be written; and what `work` says.
pub(super) async fn put<T>(
    data: &Path,
    work: impl AsyncFnOnce(&Path) -> anyhow::Result<T>,
) -> anyhow::Result<T> {
    free(data)?;
    let fresh = !data.exists();
    let made = locked(data, work).await;
    if made.is_err() && fresh {
        let _ = fs::remove_file(data.join("lock"));
        let _ = fs::remove_dir(data);
    }
    made
}

async fn locked<T>(data: &Path, work: impl AsyncFnOnce(&Path) -> anyhow::Result<T>) -> anyhow::Result<T> {
    let _lock = serve::lock(data)?;
    for left in [ASIDE, "attachments", "authority", "certificate"] {
        clear(&data.join(left))?;
    }
    let aside = Scratch::new(data.join(ASIDE))?;
    let made = work(aside.path()).await?;
    for name in MOVED {
        let from = aside.path().join(name);
        if from.exists() {
            fs::rename(&from, data.join(name))
                .with_context(|| format!("{name} cannot be put in its place"))?;
        }
    }
    fs::File::open(data)?.sync_all()?;
    Ok(made)
}

fn clear(folder: &Path) -> anyhow::Result<()> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(error).with_context(|| format!("{} cannot be emptied", folder.display()))
        }
        _ => Ok(()),
    }
}

/// The folder is absent or empty, or holds what was left by a making that was cut off.
///
/// # Errors
/// It holds a practice, or anything else.
pub(super) fn free(data: &Path) -> anyhow::Result<()> {
    if !data.exists() {
        return Ok(());
    }
    if data.join(db::FILE).exists() {
        bail!(
            "{} holds a practice already, and nothing is ever put over one; give --data an empty folder",
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
