//! Copies that are made by themselves, one a day, and the one that an owner asks for.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};

use anyhow::Context;
use jiff::civil::DateTime;
use tokio::task::JoinHandle;

use super::{Line, log, make, plan, rotation};
use crate::{
    App,
    checkup::{Progress, Watch},
    ids::SessionId,
    practice,
};

/// So often the clock is asked.
const TICK: Duration = Duration::from_mins(5);
/// How the name of a copy says when it was made, in the practice's own time.
const NAME: &str = "limbledger-%Y-%m-%d-%H%M%S.zip";

/// The copy that is being made just now, if one is, and a passphrase that its owner has not seen yet.
#[derive(Debug, Default)]
pub struct Running {
    copy: Mutex<Option<Arc<Progress>>>,
    phrase: Mutex<Option<(SessionId, String)>>,
}

impl Running {
    pub fn now(&self) -> Option<Arc<Progress>> {
        self.copy.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Leaves a passphrase for the next page that this browser sees.
    pub(super) fn leave(&self, session: SessionId, phrase: String) {
        *self.phrase.lock().unwrap_or_else(PoisonError::into_inner) = Some((session, phrase));
    }

    /// The passphrase that was left for this browser; it is shown once.
    pub(super) fn take(&self, session: SessionId) -> Option<String> {
        let mut left = self.phrase.lock().unwrap_or_else(PoisonError::into_inner);
        left.take_if(|(of, _)| *of == session).map(|(_, phrase)| phrase)
    }

    /// Takes the place of the one that runs; `None` where one runs already.
    fn begin(self: &Arc<Self>, progress: Arc<Progress>) -> Option<Held> {
        let mut running = self.copy.lock().unwrap_or_else(PoisonError::into_inner);
        if running.is_some() {
            return None;
        }
        *running = Some(progress);
        Some(Held(Arc::clone(self)))
    }
}

/// Given back when it is dropped, however the copy ended.
struct Held(Arc<Running>);

impl Drop for Held {
    fn drop(&mut self) {
        *self.0.copy.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }
}

/// Makes a copy when one is due, until it is aborted.
pub fn keep(app: &App) -> JoinHandle<()> {
    let app = app.clone();
    tokio::spawn(async move {
        loop {
            tokio::time::sleep(TICK).await;
            if let Err(error) = when_due(&app).await {
                tracing::error!(error = format!("{error:#}"), "no copy was made");
            }
        }
    })
}

async fn when_due(app: &App) -> anyhow::Result<()> {
    if due(app).await? {
        begin(app, Watch::gentle()).await?;
    }
    Ok(())
}

/// Whether none was tried since today's hour.
async fn due(app: &App) -> anyhow::Result<bool> {
    let plan = plan::get(app.db.read()).await?;
    if plan.folder.is_empty() || app.db.trouble().is_some() {
        return Ok(false);
    }
    let practice = practice::store::get(app.db.read()).await?;
    let now = app.clock.now();
    let today = now.day(&practice.zone).at(i8::try_from(plan.hour)?, 0, &practice.zone);
    let last = log::lines(app.db.folder())?.first().map(|line| line.at);
    Ok(now >= today && last.is_none_or(|last| last < today))
}

/// Makes a copy in the folder of the plan and lets go of those that are superfluous; what became of it stands in the list.
/// `None` where one is being made already.
///
/// # Errors
/// There is no folder, or the list cannot be written.
pub(super) async fn begin(app: &App, watch: Watch) -> anyhow::Result<Option<Line>> {
    let Some(_held) = app.backups.begin(watch.progress()) else { return Ok(None) };
    let plan = plan::get(app.db.read()).await?;
    let practice = practice::store::get(app.db.read()).await?;
    let (now, folder) = (app.clock.now(), PathBuf::from(&plan.folder));
    anyhow::ensure!(!plan.folder.is_empty(), "there is no folder for copies");
    let to = folder.join(now.zoned(&practice.zone).strftime(NAME).to_string());
    let line = copied(app.db.folder(), &to, now, &watch).await?;
    if line.is_good()
        && let Err(error) = rotate(&folder, plan.kept())
    {
        tracing::error!(error = format!("{error:#}"), "older copies could not be taken away");
    }
    Ok(Some(line))
}

/// Makes a copy and notes what became of it.
///
/// # Errors
/// The list cannot be written.
pub(crate) async fn copied(
    data: &Path,
    to: &Path,
    now: crate::clock::At,
    watch: &Watch,
) -> anyhow::Result<Line> {
    let path = std::path::absolute(to).unwrap_or_else(|_| to.to_owned()).display().to_string();
    let mut line = Line { at: now, path, bytes: 0, entries: 0, fault: String::new() };
    match make(data, to, now, watch).await {
        Ok(made) => (line.bytes, line.entries) = (made.bytes, made.entries),
        Err(error) => line.fault = format!("{error:#}"),
    }
    log::append(data, &line)?;
    Ok(line)
}

/// Takes away the copies that need not be kept. Only files that bear a name of ours are looked at.
fn rotate(folder: &Path, kept: rotation::Kept) -> anyhow::Result<()> {
    let mut made: Vec<(DateTime, PathBuf)> = Vec::new();
    for file in std::fs::read_dir(folder).with_context(|| format!("{} cannot be read", folder.display()))? {
        let path = file?.path();
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        if let Ok(at) = DateTime::strptime(NAME, &name) {
            made.push((at, path));
        }
    }
    let times: Vec<DateTime> = made.iter().map(|(at, _)| *at).collect();
    let go = rotation::superfluous(&times, kept);
    for (_, path) in made.iter().filter(|(at, _)| go.contains(at)) {
        std::fs::remove_file(path).with_context(|| format!("{} cannot be taken away", path.display()))?;
    }
    Ok(())
}
