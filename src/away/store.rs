//! The SQL of what is taken along.

use sqlx::SqliteExecutor;

use crate::{
    clock::Day,
    horses::{Card, Known, Sex, Status},
    ids::{HorseId, YardId},
};

/// Every horse that is still seen, by name: whoever is on call may meet any of them.
pub(super) async fn cards(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Card>> {
    sqlx::query_as!(
        Card,
        r#"select h.id as "id: HorseId", h.name, h.stable_name, h.sex as "sex: Sex", h.neutered as "neutered: Known",
                  h.born, h.breed, h.colour, h.status as "status: Status", h.status_on as "status_on: Day", h.food_chain,
                  h.insurance, h.temperament, h.temperament_note, h.yard_id as "yard_id: YardId", y.name as "yard?",
                  (select u.kg from horse_weight_used u where u.horse_id = h.id) as "kg: f64",
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "owner: String",
                  (select group_concat(m.kind || '|' || m.disease || '|' || m.from_on || '|' || coalesce(m.until_on, '')
                                       || '|' || case when m.yard_id is null then 'horse' else 'yard' end, char(10))
                   from biosecurity_mark m
                   where m.lifted_at is null and (m.horse_id = h.id or m.yard_id = h.yard_id)) as "marks: String"
           from horse h left join yard y on y.id = h.yard_id
           where h.status in ('here', 'retired')
           order by h.name collate nocase"#
    )
    .fetch_all(db)
    .await
}
