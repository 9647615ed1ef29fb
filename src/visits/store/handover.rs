//! The SQL of hand-overs: offered with a line, then accepted, declined or taken back.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{HandoverId, StaffId, VisitId},
};

/// An offer that waits for its answer.
#[derive(Debug, Clone)]
pub struct Offer {
    pub id: HandoverId,
    pub from_id: StaffId,
    pub from: String,
    pub to_id: StaffId,
    pub to: String,
    pub line: String,
    pub offered_at: At,
}

pub async fn open(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Option<Offer>> {
    sqlx::query_as!(
        Offer,
        r#"select o.id as "id: HandoverId", o.from_id as "from_id: StaffId", f.name as "from", o.to_id as "to_id: StaffId",
                  t.name as "to", o.line, o.offered_at as "offered_at: At"
           from handover o join staff f on f.id = o.from_id join staff t on t.id = o.to_id
           where o.visit_id = ? and o.answered_at is null"#,
        visit
    )
    .fetch_optional(db)
    .await
}

/// Offers a case; the database holds one open offer a visit.
pub async fn offer(
    tx: &mut Tx,
    visit: VisitId,
    from: StaffId,
    to: StaffId,
    line: &str,
    now: At,
) -> sqlx::Result<()> {
    let id = HandoverId::new();
    sqlx::query!(
        "insert into handover (id, visit_id, from_id, to_id, line, offered_at) values (?, ?, ?, ?, ?, ?)",
        id,
        visit,
        from,
        to,
        line,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Answers an open offer; zero rows mean that it was answered already.
pub async fn answer(tx: &mut Tx, id: HandoverId, accepted: bool, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update handover set answered_at = ?, accepted = ? where id = ? and answered_at is null",
        now,
        accepted,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Gives the visit to the vet who accepted it.
pub async fn give(tx: &mut Tx, visit: VisitId, to: StaffId) -> sqlx::Result<()> {
    sqlx::query!("update visit set vet_id = ?, version = version + 1 where id = ?", to, visit)
        .execute(&mut **tx)
        .await?;
    Ok(())
}
