//! The SQL of a horse's condition: its body and the crest of its neck, scored by hands.

use sqlx::SqliteExecutor;

use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{ConditionId, HorseId, StaffId},
};

/// One score; `code` is the vital sign `bcs` or `crest`, `how` is `whole` or `sites`.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    pub code: String,
    pub score: f64,
    pub how: String,
    pub scored_on: Day,
}

/// A horse's scores, the newest first.
pub async fn scores(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Score>> {
    sqlx::query_as!(
        Score,
        r#"select code, score, how, scored_on as "scored_on: Day" from horse_condition
           where horse_id = ? order by scored_on desc, created_at desc"#,
        horse
    )
    .fetch_all(db)
    .await
}

pub async fn add(tx: &mut Tx, horse: HorseId, new: &Score, by: StaffId, now: At) -> sqlx::Result<()> {
    let id = ConditionId::new();
    sqlx::query!(
        "insert into horse_condition (id, horse_id, code, score, how, scored_on, entered_by, created_at)
         values (?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        horse,
        new.code,
        new.score,
        new.how,
        new.scored_on,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
