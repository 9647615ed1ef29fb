//! The SQL of orders.

use sqlx::SqliteExecutor;
use uuid::Uuid;

use super::{
    changes::Details,
    order::{Item, ItemState, Order, Step},
};
use crate::{
    catalogue::StudyKind,
    clock::{At, Day},
    db::Tx,
    ids::{HorseId, ItemId, OrderId, StaffId, StepId, VisitId},
};

/// The orders that a condition picks, the oldest first.
macro_rules! orders {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Order,
            r#"select o.id as "id: OrderId", o.accession, o.study_uid, o.visit_id as "visit_id: VisitId",
                      v.horse_id as "horse_id: HorseId", o.study, o.kind as "kind: StudyKind", o.name, o.place,
                      o.weight_bearing, o.shoes, o.question, o.planned_on as "planned_on: Day",
                      o.ordered_by as "ordered_by: StaffId", o.ordered_at as "ordered_at: At",
                      o.read_at as "read_at: At", o.read_by as "read_by: StaffId", o.told, o.told_at as "told_at: At",
                      o.told_by as "told_by: StaffId", o.closed_reason, o.closed_at as "closed_at: At",
                      o.closed_by as "closed_by: StaffId", o.version,
                      exists (select 1 from entry e
                              where e.order_id = o.key and e.kind = 'report'
                                and not exists (select 1 from entry later where later.supersedes = e.id)
                             ) as "reported!: bool",
                      (select count(*) from dicom_object d
                       where d.order_id = o.id
                         and d.matched_at > (select max(e.received_at) from entry e
                                             where e.order_id = o.key and e.kind = 'report'
                                               and not exists (select 1 from entry later
                                                               where later.supersedes = e.id))) as "unseen!: i64",
                      exists (select 1 from horse_not_released n where n.id = o.id) as "unreleased!: bool"
               from diagnostic_order o join visit v on v.id = o.visit_id
               where "# + $which + " order by coalesce(o.planned_on, '9'), o.number",
            $($value),*
        )
    };
}

pub async fn get(db: impl SqliteExecutor<'_>, id: OrderId) -> sqlx::Result<Order> {
    orders!("o.id = ?", id).fetch_one(db).await
}

/// The order that equipment means by this study instance UID.
pub async fn by_study_uid(db: impl SqliteExecutor<'_>, uid: &str) -> sqlx::Result<Option<Order>> {
    orders!("o.study_uid = ?", uid).fetch_optional(db).await
}

/// The order that equipment or a laboratory means by this accession number.
pub async fn by_accession(db: impl SqliteExecutor<'_>, accession: &str) -> sqlx::Result<Option<Order>> {
    orders!("o.accession = ?", accession).fetch_optional(db).await
}

pub async fn of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Order>> {
    orders!("o.visit_id = ?", visit).fetch_all(db).await
}

pub async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Order>> {
    orders!("v.horse_id = ?", horse).fetch_all(db).await
}

/// Everything about which something may be open, whoever ordered it.
pub async fn undone(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Order>> {
    orders!("o.id in (select id from diagnostic_undone)",).fetch_all(db).await
}

/// What of a visit was ordered from a place and is not closed: `fetlock@FETL_D.L`.
pub async fn ordered_at_places(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar!(
        r#"select study || '@' || place as "at!: String" from diagnostic_order
           where visit_id = ? and place <> '' and closed_at is null order by number"#,
        visit
    )
    .fetch_all(db)
    .await
}

/// The items of these orders, each order's in its own sequence.
pub async fn items(db: impl SqliteExecutor<'_>, order: OrderId) -> sqlx::Result<Vec<Item>> {
    sqlx::query_as!(
        Item,
        r#"select id as "id: ItemId", order_id as "order_id: OrderId", code, name, side, zones,
                  state as "state: ItemState", reason, version
           from diagnostic_item where order_id = ? order by position"#,
        order
    )
    .fetch_all(db)
    .await
}

/// The items of everything that [`undone`] gives.
pub async fn items_undone(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Item>> {
    sqlx::query_as!(
        Item,
        r#"select i.id as "id: ItemId", i.order_id as "order_id: OrderId", i.code, i.name, i.side, i.zones,
                  i.state as "state: ItemState", i.reason, i.version
           from diagnostic_item i where i.order_id in (select id from diagnostic_undone)
           order by i.order_id, i.position"#
    )
    .fetch_all(db)
    .await
}

/// Whose order it is: the horse, and where it stands in the day.
#[derive(Debug, Clone)]
pub struct Named {
    pub order_id: OrderId,
    pub horse: String,
    pub owner: Option<String>,
    pub vet: Option<String>,
}

/// The horses and people of everything that [`undone`] gives.
pub async fn named_undone(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Named>> {
    sqlx::query_as!(
        Named,
        r#"select o.id as "order_id: OrderId", h.name as horse, s.name as "vet?",
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "owner: String"
           from diagnostic_order o join visit v on v.id = o.visit_id join horse h on h.id = v.horse_id
                left join staff s on s.id = v.vet_id
           where o.id in (select id from diagnostic_undone)"#
    )
    .fetch_all(db)
    .await
}

/// Who did what to an order, the oldest first.
pub async fn steps(db: impl SqliteExecutor<'_>, order: OrderId) -> sqlx::Result<Vec<Step>> {
    sqlx::query_as!(
        Step,
        r#"select d.at as "at: At", s.name as by, d.what, d.reason
           from diagnostic_step d join staff s on s.id = d.by_id where d.order_id = ? order by d.at, d.id"#,
        order
    )
    .fetch_all(db)
    .await
}

/// An order on its way in.
#[derive(Debug, Clone)]
pub struct NewOrder {
    /// As a tablet made it, so that what it sends again is the same order; a fresh one otherwise.
    pub id: Option<OrderId>,
    pub visit: VisitId,
    pub study: String,
    pub kind: StudyKind,
    pub name: String,
    pub place: String,
    pub details: Details,
    pub items: Vec<NewItem>,
}

/// An item on its way in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewItem {
    pub code: String,
    pub name: String,
    pub side: String,
    pub zones: String,
}

/// Orders, and gives what equipment and laboratories will know it by: the accession number is the running number, the
/// study's UID is the order's id as DICOM writes a UUID (PS3.5 B.2: `2.25.` and the number in decimal). An order whose id
/// is there already was sent twice and stays as it is.
pub async fn insert(tx: &mut Tx, new: &NewOrder, by: StaffId, now: At) -> sqlx::Result<OrderId> {
    let id = new.id.unwrap_or_else(OrderId::new);
    if sqlx::query_scalar!(r#"select 1 as "known!: i64" from diagnostic_order where id = ?"#, id)
        .fetch_optional(&mut **tx)
        .await?
        .is_some()
    {
        return Ok(id);
    }
    let number =
        sqlx::query_scalar!(r#"select coalesce(max(number), 0) + 1 as "number!: i64" from diagnostic_order"#)
            .fetch_one(&mut **tx)
            .await?;
    let accession = format!("L{number:06}");
    let study_uid = format!("2.25.{}", Uuid::from(id).as_u128());
    sqlx::query!(
        "insert into diagnostic_order (id, number, accession, study_uid, visit_id, study, kind, name, place, weight_bearing,
                                       shoes, question, planned_on, ordered_by, ordered_at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        number,
        accession,
        study_uid,
        new.visit,
        new.study,
        new.kind,
        new.name,
        new.place,
        new.details.weight_bearing,
        new.details.shoes,
        new.details.question,
        new.details.planned_on,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    add_items(tx, id, &new.items).await?;
    step(tx, id, "ordered", "", by, now).await?;
    Ok(id)
}

/// More items of an order, after those that it has; one that it has already is passed over.
pub async fn add_items(tx: &mut Tx, order: OrderId, items: &[NewItem]) -> sqlx::Result<()> {
    for item in items {
        let id = ItemId::new();
        sqlx::query!(
            "insert into diagnostic_item (id, order_id, position, code, name, side, zones)
             values (?1, ?2, (select coalesce(max(position), 0) + 1 from diagnostic_item where order_id = ?2), ?3, ?4, ?5, ?6)
             on conflict (order_id, code, side) do nothing",
            id,
            order,
            item.code,
            item.name,
            item.side,
            item.zones
        )
        .execute(&mut **tx)
        .await?;
    }
    Ok(())
}

/// A line in the order's own history.
pub async fn step(
    tx: &mut Tx,
    order: OrderId,
    what: &str,
    reason: &str,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = StepId::new();
    sqlx::query!(
        "insert into diagnostic_step (id, order_id, at, by_id, what, reason) values (?, ?, ?, ?, ?, ?)",
        id,
        order,
        now,
        by,
        what,
        reason
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// A picture of an item came: what was wanted is taken. An item that a person has already spoken about stays as it is.
pub async fn picture_came(tx: &mut Tx, item: ItemId, by: Option<StaffId>, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update diagnostic_item set state = 'taken', changed_by = ?, changed_at = ?, version = version + 1
         where id = ? and state = 'wanted'",
        by,
        now,
        item
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
