//! The SQL of who is to be pictured.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    horses::{Known, Sex},
    ids::{HorseId, VisitId},
};

/// The horse of a visit with open orders, and who belongs to it.
#[derive(Debug, Clone)]
pub(crate) struct Animal {
    pub visit_id: VisitId,
    pub starts_at: At,
    pub vet: Option<String>,
    pub horse_id: HorseId,
    pub name: String,
    pub sex: Sex,
    pub neutered: Known,
    /// `YYYY`, `YYYY-MM-DD` or empty.
    pub born: String,
    pub breed: String,
    pub breed_code: Option<String>,
    pub microchip: String,
    pub ueln: String,
    pub kg: Option<f64>,
    pub owner: Option<String>,
    /// `person` or `organisation`.
    pub owner_kind: Option<String>,
}

/// The horses of all visits with an order that is not closed.
pub(crate) async fn animals(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Animal>> {
    sqlx::query_as!(
        Animal,
        r#"select v.id as "visit_id: VisitId", v.starts_at as "starts_at: At", s.name as "vet?",
                  h.id as "horse_id: HorseId", h.name, h.sex as "sex: Sex", h.neutered as "neutered: Known", h.born,
                  h.breed, h.breed_code, h.microchip, h.ueln,
                  (select u.kg from horse_weight_used u where u.horse_id = h.id) as "kg: f64",
                  c.name as "owner?", c.kind as "owner_kind?"
           from visit v
           join horse h on h.id = v.horse_id
           left join staff s on s.id = v.vet_id
           left join client c on c.id = (select client_id from party where horse_id = h.id and role = 'owner'
                                         order by created_at limit 1)
           where v.id in (select visit_id from diagnostic_order where closed_at is null)"#
    )
    .fetch_all(db)
    .await
}
