//! The SQL that only a fill needs: rows whose past is made up, states and dates included.

use crate::{
    clock::{At, Day},
    db::Tx,
    horses::Status,
    ids::{FollowUpId, HorseId, StaffId, VisitId},
    visits::State,
};

pub(super) async fn sign(tx: &mut Tx, visit: VisitId, by: StaffId, at: At) -> sqlx::Result<()> {
    let signed = State::Signed;
    sqlx::query!(
        "update visit set state = ?, signed_by = ?, signed_at = ?, version = version + 1 where id = ?",
        signed,
        by,
        at,
        visit
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// How a promise ended: done at a later visit, booked for one, or dropped with its reason.
pub(super) async fn close_follow_up(
    tx: &mut Tx,
    id: FollowUpId,
    reason: Option<&str>,
    by: StaffId,
    at: At,
) -> sqlx::Result<()> {
    let (state, reason) = (if reason.is_some() { "dropped" } else { "done" }, reason.unwrap_or_default());
    sqlx::query!(
        "update follow_up set state = ?, reason = ?, closed_by = ?, closed_at = ?, version = version + 1 where id = ?",
        state,
        reason,
        by,
        at,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub(super) async fn book_follow_up(tx: &mut Tx, id: FollowUpId, visit: VisitId) -> sqlx::Result<()> {
    sqlx::query!(
        "update follow_up set state = 'booked', booked_visit_id = ?, version = version + 1 where id = ?",
        visit,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub(super) async fn set_status(tx: &mut Tx, horse: HorseId, status: Status, on: Day) -> sqlx::Result<()> {
    sqlx::query!("update horse set status = ?, status_on = ? where id = ?", status, on, horse)
        .execute(&mut **tx)
        .await?;
    Ok(())
}
