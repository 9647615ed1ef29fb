//! The look that nobody asks for: soon after the start, and every night.

use std::{path::PathBuf, time::Duration};

use tokio::task::JoinHandle;

use super::{Watch, look};
use crate::{App, clock::At, db};

/// The first look begins so long after the start, when the first pages are out.
const AFTER_START: Duration = Duration::from_secs(20);
/// At this hour of the practice's day everything is looked at again.
const HOUR: i8 = 3;
/// So often the clock is asked.
const TICK: Duration = Duration::from_mins(10);

/// Looks the practice over until it is aborted. What is found turns the practice read only.
pub fn keep(app: &App) -> JoinHandle<()> {
    let app = app.clone();
    tokio::spawn(async move {
        tokio::time::sleep(AFTER_START).await;
        let mut looked = once(&app).await;
        loop {
            tokio::time::sleep(TICK).await;
            if due(&app, looked).await {
                looked = once(&app).await;
            }
        }
    })
}

/// Whether a night has come since the look before.
async fn due(app: &App, looked: At) -> bool {
    let Ok(practice) = crate::practice::store::get(app.db.read()).await else { return false };
    let now = app.clock.now();
    let tonight = now.day(&practice.zone).at(HOUR, 0, &practice.zone);
    looked < tonight && tonight <= now
}

async fn once(app: &App) -> At {
    let began = app.clock.now();
    if app.db.trouble().is_some() {
        return began;
    }
    let folder: PathBuf = app.db.folder().to_owned();
    let found = async {
        let mut conn = db::summed_reader(&folder).await?;
        look(&folder, &mut conn, &Watch::gentle()).await
    };
    match found.await {
        Ok(found) => {
            for fault in &found.faults {
                tracing::error!(fault, "found while looking the practice over");
            }
            if let Some(first) = found.faults.first() {
                app.db.turn_read_only(first);
            }
        }
        Err(error) => app.db.turn_read_only(&format!("the database cannot be read: {error:#}")),
    }
    began
}
