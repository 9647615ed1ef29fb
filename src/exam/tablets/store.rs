//! The SQL of the tablets of an exam.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{DeviceId, StaffId, VisitId},
};

/// An open exam says every minute that it is there; after so many of silence nobody knows what was added.
const HEARD_MINUTES: i64 = 2;

/// What a tablet says of itself.
#[derive(Debug, Clone, Copy)]
pub(super) struct Report {
    pub visit: VisitId,
    pub device: DeviceId,
    pub staff: StaffId,
    pub open: bool,
    pub unsent: i64,
}

pub(super) async fn report(tx: &mut Tx, report: &Report, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into exam_tablet (visit_id, device_id, staff_id, opened_at, open, unsent, reported_at)
         values (?, ?, ?, ?, ?, ?, ?)
         on conflict (visit_id, device_id, staff_id) do update
         set open = excluded.open, unsent = excluded.unsent, reported_at = excluded.reported_at",
        report.visit,
        report.device,
        report.staff,
        now,
        report.open,
        report.unsent,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// A tablet that may hold entries of the visit.
#[derive(Debug, Clone)]
pub struct Tablet {
    /// Whose account it was used under.
    pub name: String,
    pub unsent: i64,
    pub heard_at: At,
}

/// The tablets that hold entries, or have the exam open and were not heard of for a while.
pub async fn not_known_empty(
    db: impl SqliteExecutor<'_>,
    visit: VisitId,
    now: At,
) -> sqlx::Result<Vec<Tablet>> {
    let heard = now.plus_minutes(-HEARD_MINUTES);
    sqlx::query_as!(
        Tablet,
        r#"select s.name, t.unsent, t.reported_at as "heard_at: At"
           from exam_tablet t join staff s on s.id = t.staff_id
           where t.visit_id = ? and (t.unsent > 0 or (t.open = 1 and t.reported_at < ?))
           order by t.reported_at desc"#,
        visit,
        heard
    )
    .fetch_all(db)
    .await
}
