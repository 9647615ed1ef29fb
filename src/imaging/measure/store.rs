//! The SQL of what was measured on a horse.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    ids::{ArrivalId, EntryId, HorseId, OrderId},
    record::{Body, Marked},
};

/// Something that was measured and stands.
#[derive(Debug, Clone)]
pub(super) struct Kept {
    pub entry: EntryId,
    pub order: OrderId,
    pub picture: Option<ArrivalId>,
    pub at: At,
    pub by: String,
    /// `foot` or `tendon`.
    pub what: String,
    pub limb: String,
    /// The view of a foot, the structure of a tendon.
    pub of: String,
    pub marked: Marked,
}

impl Kept {
    pub(super) fn zone(&self) -> &str {
        self.marked.with.get("zone").map_or("", String::as_str)
    }

    pub(super) fn measure(&self, key: &str) -> Option<f64> {
        self.marked.measures.get(key).copied()
    }
}

/// Everything that was measured on a horse and stands, the oldest first.
pub(super) async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Kept>> {
    let rows = sqlx::query!(
        r#"select e.id as "entry: EntryId", o.id as "order: OrderId", e.seen_at as "at: At", s.name as by,
                  e.body as "body!",
                  (select d.id from dicom_object d
                   where d.order_id = o.id and d.sha256 = e.body ->> '$.images[0]') as "picture: ArrivalId"
           from visit v
           join entry e on e.visit_id = v.id and e.kind = 'measured' and e.body is not null
           join diagnostic_order o on o.visit_id = v.id and o.key = e.order_id
           join staff s on s.id = e.seen_by
           where v.horse_id = ? and not exists (select 1 from entry n where n.supersedes = e.id)
           order by e.seen_at, e.seq"#,
        horse
    )
    .fetch_all(db)
    .await?;
    let mut all = Vec::with_capacity(rows.len());
    for row in rows {
        let body: Body = serde_json::from_str(&row.body).map_err(|e| sqlx::Error::Decode(e.into()))?;
        all.push(Kept {
            entry: row.entry,
            order: row.order,
            picture: row.picture,
            at: row.at,
            by: row.by,
            what: body.code.unwrap_or_default(),
            limb: body.limb.unwrap_or_default(),
            of: body.value.unwrap_or_default(),
            marked: body.marked.unwrap_or_default(),
        });
    }
    Ok(all)
}
