//! Blocks of the same horse at other visits, whose drug counts with that of this one.

use std::sync::Arc;

use sqlx::SqlitePool;

use super::course::{Shot, millis, shots};
use crate::{catalogue::localise::Localising, clock::At, ids::VisitId, record, visits::Visit, web::Result};

/// Told a while after it was given, or by a clock that goes wrong.
const SLACK_MIN: i64 = 24 * 60;

/// A block of another visit.
pub(super) struct Elsewhere {
    pub visit: VisitId,
    pub shot: Shot,
}

/// The time in which local anaesthetic is summed: up to now, or up to the last block of a visit that was signed.
pub(super) fn window(visit: &Visit, shots: &[Shot], now: At, rows: &Localising) -> (At, At) {
    let last = shots.iter().map(|shot| shot.at).max();
    let end = if visit.signed_at.is_some() { last.unwrap_or(visit.starts_at) } else { now };
    (end.plus_millis(-millis(rows.number("dose_window_h") * 60.0)), end)
}

/// What was given at other visits between these instants, in the order of time.
pub(super) async fn load(
    db: &SqlitePool,
    visit: &Visit,
    (from, to): (At, At),
    rows: &Arc<Localising>,
) -> Result<Vec<Elsewhere>> {
    let since = from.plus_minutes(-SLACK_MIN);
    let visits = sqlx::query_scalar!(
        r#"select distinct v.id as "id: VisitId" from visit v join entry e on e.visit_id = v.id
           where v.horse_id = ? and v.id <> ? and e.kind = 'block' and e.seen_at >= ?"#,
        visit.horse_id,
        visit.id,
        since
    )
    .fetch_all(db)
    .await?;
    let mut all = Vec::new();
    for visit in visits {
        let given = shots(&record::current_of_visit(db, visit).await?, rows);
        let counts = given.into_iter().filter(|shot| shot.at >= from && shot.at <= to);
        all.extend(counts.map(|shot| Elsewhere { visit, shot }));
    }
    all.sort_by_key(|one| one.shot.at);
    Ok(all)
}
