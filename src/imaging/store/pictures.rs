//! The SQL of looking at objects: those of an order, one of them, and the horse's others of the same view.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    ids::{ArrivalId, HorseId, OrderId},
};

/// An object as a picture of something.
#[derive(Debug, Clone)]
pub struct Pictured {
    pub id: ArrivalId,
    /// Its file among the attachments.
    pub sha256: String,
    pub order_id: Option<OrderId>,
    pub horse_id: Option<HorseId>,
    /// The item that it is plainly the picture of.
    pub code: Option<String>,
    pub side: Option<String>,
    pub modality: String,
    /// The view as its equipment calls it.
    pub view: String,
    pub received_at: At,
}

impl Pictured {
    /// "LF LM", or what its equipment says of it.
    pub fn words(&self) -> String {
        match (&self.code, &self.side) {
            (Some(code), Some(side)) if !side.is_empty() => format!("{side} {code}"),
            (Some(code), _) => code.clone(),
            _ if self.view.is_empty() => format!("{} picture", self.modality).trim().to_owned(),
            _ => self.view.clone(),
        }
    }
}

/// The objects that a condition picks.
macro_rules! pictures {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Pictured,
            r#"select d.id as "id: ArrivalId", d.sha256, d.order_id as "order_id: OrderId",
                      v.horse_id as "horse_id?: HorseId", i.code as "code?", i.side as "side?", d.modality,
                      case when d.view_name <> '' then d.view_name else d.view_position end as "view!: String",
                      d.received_at as "received_at: At"
               from dicom_object d
               left join diagnostic_order o on o.id = d.order_id
               left join visit v on v.id = o.visit_id
               left join diagnostic_item i on i.id = d.item_id
               where "# + $which,
            $($value),*
        )
    };
}

pub async fn get(db: impl SqliteExecutor<'_>, id: ArrivalId) -> sqlx::Result<Option<Pictured>> {
    pictures!("d.id = ?", id).fetch_optional(db).await
}

/// What came for an order, in the order of its items, then as the equipment counts.
pub async fn of_order(db: impl SqliteExecutor<'_>, order: OrderId) -> sqlx::Result<Vec<Pictured>> {
    pictures!(
        "d.order_id = ? order by coalesce(i.position, 1000), d.series_number, d.instance_number, d.received_at",
        order
    )
    .fetch_all(db)
    .await
}

/// The same view of the same side of the horse in other orders, the newest first.
pub async fn of_same_view(db: impl SqliteExecutor<'_>, picture: &Pictured) -> sqlx::Result<Vec<Pictured>> {
    pictures!(
        "v.horse_id = ? and i.code = ? and i.side = ? and d.id <> ? order by d.received_at desc limit 20",
        picture.horse_id,
        picture.code,
        picture.side,
        picture.id
    )
    .fetch_all(db)
    .await
}
