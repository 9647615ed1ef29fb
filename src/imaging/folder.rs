//! The folder for equipment that knows no network: whole files are taken out of `dicom-in`, and what cannot be read is
//! moved aside there, with the reason beside it.

use std::{
    collections::HashMap,
    fs::{self, File, Metadata},
    io::Read,
    path::{Path, PathBuf},
    time::{Duration, SystemTime},
};

use anyhow::Context;
use tokio::{sync::watch, task::JoinHandle, time::timeout};

use super::{
    Source,
    store::settings,
    take::{self, Bringer, Coming, Refused},
};
use crate::{App, attachments::shown_name};

const FOLDER: &str = "dicom-in";
const UNREADABLE: &str = "unreadable";
/// The reason lies beside the file under its name and this.
const REASON: &str = ".reason.txt";
/// How often it is looked into. A file that has not changed between two looks is whole.
const LOOK: Duration = Duration::from_secs(2);
const PIECE: usize = 256 * 1024;

/// A file that was moved aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unreadable {
    pub name: String,
    pub reason: String,
}

/// The look-out over the folder.
pub struct Lookout {
    stop: watch::Sender<bool>,
    work: JoinHandle<()>,
}

impl Lookout {
    pub async fn stop(self) {
        let _ = self.stop.send(true);
        let _ = self.work.await;
    }
}

/// Makes the folder and looks into it until it is stopped.
///
/// # Errors
/// The folder cannot be made.
pub fn look_out(app: &App) -> anyhow::Result<Lookout> {
    let folder = app.db.folder().join(FOLDER);
    fs::create_dir_all(&folder).with_context(|| format!("{} cannot be made", folder.display()))?;
    let (stop, stopping) = watch::channel(false);
    Ok(Lookout { stop, work: tokio::spawn(watch_over(app.clone(), folder, stopping)) })
}

/// How large a file was and when it was written to: the same twice means that nobody is writing.
type Form = (u64, Option<SystemTime>);

async fn watch_over(app: App, folder: PathBuf, mut stopping: watch::Receiver<bool>) {
    let mut before: HashMap<PathBuf, Form> = HashMap::new();
    while timeout(LOOK, stopping.wait_for(|stop| *stop)).await.is_err() {
        let mut seen = HashMap::new();
        for (path, form) in files(&folder) {
            if before.get(&path) == Some(&form) {
                if let Err(error) = take_one(&app, &path).await {
                    tracing::error!(error = format!("{error:#}"), "a file of the folder stays there");
                }
                if *stopping.borrow() {
                    return;
                }
            }
            seen.insert(path, form);
        }
        before = seen;
    }
}

/// The files that lie there, but for hidden ones: some programs write under such a name first.
fn files(folder: &Path) -> Vec<(PathBuf, Form)> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let form = |about: Metadata| about.is_file().then(|| (about.len(), about.modified().ok()));
    let entries =
        entries.filter_map(Result::ok).filter(|e| !e.file_name().to_string_lossy().starts_with('.'));
    let mut files: Vec<(PathBuf, Form)> =
        entries.filter_map(|entry| Some((entry.path(), form(entry.metadata().ok()?)?))).collect();
    files.sort();
    files
}

async fn take_one(app: &App, path: &Path) -> anyhow::Result<()> {
    let largest = settings::get(app.db.read()).await?.largest_bytes.unsigned_abs();
    let (data, from) = (app.db.folder().to_owned(), path.to_owned());
    let read = tokio::task::spawn_blocking(move || read(&data, &from, largest)).await?;
    let name = shown_name(&path.to_string_lossy());
    let taken = match read {
        Ok(coming) => take::keep(app, coming, &Bringer { source: Source::Folder, name }).await,
        Err(refused) => Err(refused),
    };
    match taken {
        Ok(_) => Ok(fs::remove_file(path)?),
        // It is tried again: the disk may have room by then.
        Err(Refused::NoRoom(error)) => Err(error),
        Err(refused) => Ok(put_aside(path, &refused.to_string())?),
    }
}

fn read(data: &Path, from: &Path, largest: u64) -> Result<Coming, Refused> {
    let mut coming = Coming::file(data, largest);
    let mut file = File::open(from).map_err(|error| Refused::NoRoom(error.into()))?;
    let mut piece = vec![0; PIECE];
    loop {
        match file.read(&mut piece).map_err(|error| Refused::NoRoom(error.into()))? {
            0 => return Ok(coming),
            n => coming.push(piece.get(..n).unwrap_or_default())?,
        }
    }
}

/// Moves a file aside under a name that is free there.
fn put_aside(path: &Path, reason: &str) -> std::io::Result<()> {
    let aside = path.with_file_name(UNREADABLE);
    fs::create_dir_all(&aside)?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let numbered = (1..1000).map(|n| aside.join(format!("{n}-{name}")));
    let to = std::iter::once(aside.join(name.as_ref())).chain(numbered).find(|to| !to.exists());
    let to = to.ok_or_else(|| std::io::Error::other("too many files of this name lie aside"))?;
    let mut beside = to.clone().into_os_string();
    beside.push(REASON);
    fs::write(beside, reason)?;
    fs::rename(path, to)
}

/// What was moved aside, and why.
pub(super) async fn unreadable(data: &Path) -> Vec<Unreadable> {
    let aside = data.join(FOLDER).join(UNREADABLE);
    let looked = tokio::task::spawn_blocking(move || {
        let names = files(&aside).into_iter().filter_map(|(path, _)| {
            let name = path.file_name()?.to_string_lossy().into_owned();
            let reason = || fs::read_to_string(aside.join(format!("{name}{REASON}"))).unwrap_or_default();
            (!name.ends_with(REASON)).then(|| Unreadable { reason: reason(), name: name.clone() })
        });
        names.collect()
    });
    looked.await.unwrap_or_default()
}
