//! The SQL of these sections: earlier grades to compare with, and weights of the horse.

use sqlx::SqliteExecutor;

use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{EntryId, HorseId, StaffId, VisitId},
};

/// A grade of an earlier visit.
#[derive(Debug, Clone)]
pub(super) struct Earlier {
    pub(super) kind: String,
    pub(super) code: String,
    pub(super) limb: String,
    pub(super) grade: f64,
    pub(super) scale: String,
    pub(super) starts_at: At,
}

/// The newest grade of each gait condition and flexion test by limb that stands from this horse's visits before this
/// one.
pub(super) async fn earlier_grades(
    db: impl SqliteExecutor<'_>,
    horse: HorseId,
    visit: VisitId,
    before: At,
) -> sqlx::Result<Vec<Earlier>> {
    sqlx::query_as!(
        Earlier,
        r#"select kind as "kind!", code as "code!", limb as "limb!", grade as "grade!: f64", scale as "scale!: String",
                  starts_at as "starts_at!: At"
           from (select e.kind, e.code, e.limb, e.grade, coalesce(e.body ->> 'scale', '') as scale, v.starts_at,
                        row_number() over (partition by e.kind, e.code, e.limb order by v.starts_at desc, e.seq desc) as nth
                 from visit v join entry e on e.visit_id = v.id
                 where v.horse_id = ? and v.id <> ? and v.starts_at <= ? and e.kind in ('gait', 'flexion')
                   and e.code is not null and e.limb is not null and e.grade is not null and e.late = 0
                   and not exists (select 1 from entry s where s.supersedes = e.id and s.late = 0))
           where nth = 1"#,
        horse,
        visit,
        before
    )
    .fetch_all(db)
    .await
}

/// A weight taken at a visit, for the horse's own list. It carries the id of its entry, so that it can follow it.
pub(super) struct Weighed<'a> {
    pub(super) entry: EntryId,
    pub(super) horse: HorseId,
    pub(super) kg: f64,
    pub(super) method: &'a str,
    pub(super) on: Day,
    pub(super) by: StaffId,
    pub(super) now: At,
}

pub(super) async fn insert_weight(tx: &mut Tx, w: &Weighed<'_>) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into horse_weight (id, horse_id, kg, method, weighed_on, entered_by, created_at)
         values (?, ?, ?, ?, ?, ?, ?) on conflict (id) do nothing",
        w.entry,
        w.horse,
        w.kg,
        w.method,
        w.on,
        w.by,
        w.now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// A score of the horse's condition taken at a visit; like a weight it carries the id of its entry.
pub(super) async fn insert_condition(
    tx: &mut Tx,
    (entry, horse): (EntryId, HorseId),
    (code, score): (&str, f64),
    on: Day,
    (by, now): (StaffId, At),
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into horse_condition (id, horse_id, code, score, how, scored_on, entered_by, created_at)
         values (?, ?, ?, ?, 'whole', ?, ?, ?) on conflict (id) do nothing",
        entry,
        horse,
        code,
        score,
        on,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The weight or score of an entry that was corrected or taken back.
pub(super) async fn remove_measured(tx: &mut Tx, entry: EntryId) -> sqlx::Result<()> {
    sqlx::query!("delete from horse_weight where id = ?", entry).execute(&mut **tx).await?;
    sqlx::query!("delete from horse_condition where id = ?", entry).execute(&mut **tx).await?;
    Ok(())
}
