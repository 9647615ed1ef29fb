//! The SQL of what happens to an order after it was made. Each write names the version it was made for: zero rows mean
//! that somebody else was there first.

use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{ItemId, OrderId, StaffId},
};

use super::order::{ItemState, Order};

/// Who does it, and when.
#[derive(Debug, Clone, Copy)]
pub struct By {
    pub who: StaffId,
    pub at: At,
}

/// Where an item stands from now on; `reason` for what is to be repeated or left out.
pub async fn set_item(
    tx: &mut Tx,
    item: ItemId,
    version: i64,
    state: ItemState,
    reason: &str,
    by: By,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update diagnostic_item set state = ?, reason = ?, changed_by = ?, changed_at = ?, version = version + 1
         where id = ? and version = ?",
        state,
        reason,
        by.who,
        by.at,
        item,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Everything that is still wanted was taken; so many items were.
pub async fn take_all(tx: &mut Tx, order: OrderId, by: By) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update diagnostic_item set state = 'taken', reason = '', changed_by = ?, changed_at = ?, version = version + 1
         where order_id = ? and state in ('wanted', 'repeat')",
        by.who,
        by.at,
        order
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// What may be said otherwise while an order is open.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Details {
    pub planned_on: Option<Day>,
    pub weight_bearing: String,
    pub shoes: String,
    pub question: String,
}

impl Details {
    /// As an order has them.
    pub fn of(order: &Order) -> Self {
        Details {
            planned_on: order.planned_on,
            weight_bearing: order.weight_bearing.clone(),
            shoes: order.shoes.clone(),
            question: order.question.clone(),
        }
    }
}

pub async fn set_details(tx: &mut Tx, order: OrderId, version: i64, new: &Details) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update diagnostic_order set planned_on = ?, weight_bearing = ?, shoes = ?, question = ?, version = version + 1
         where id = ? and version = ?",
        new.planned_on,
        new.weight_bearing,
        new.shoes,
        new.question,
        order,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A veterinarian has read the report; the first to do so counts.
pub async fn set_read(tx: &mut Tx, order: OrderId, by: By) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update diagnostic_order set read_by = ?, read_at = ?, version = version + 1 where id = ? and read_at is null",
        by.who,
        by.at,
        order
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Another report takes the place of the one that was read and told.
pub async fn unread(tx: &mut Tx, order: OrderId) -> sqlx::Result<()> {
    sqlx::query!(
        "update diagnostic_order set read_by = null, read_at = null, told = '', told_by = null, told_at = null,
                                     version = version + 1
         where id = ?",
        order
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The client knows, in `words` whom and how; or why nobody has to be told.
pub async fn set_told(tx: &mut Tx, order: OrderId, version: i64, words: &str, by: By) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update diagnostic_order set told = ?, told_by = ?, told_at = ?, version = version + 1
         where id = ? and version = ? and told_at is null",
        words,
        by.who,
        by.at,
        order,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Nothing more is done about it, and why.
pub async fn close(tx: &mut Tx, order: OrderId, version: i64, reason: &str, by: By) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update diagnostic_order set closed_reason = ?, closed_by = ?, closed_at = ?, version = version + 1
         where id = ? and version = ? and closed_at is null",
        reason,
        by.who,
        by.at,
        order,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// It was closed by mistake.
pub async fn open_again(tx: &mut Tx, order: OrderId, version: i64) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update diagnostic_order set closed_reason = '', closed_by = null, closed_at = null, version = version + 1
         where id = ? and version = ? and closed_at is not null",
        order,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
