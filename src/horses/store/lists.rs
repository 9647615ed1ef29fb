//! The SQL of lists of horses: all of them, a client's, those of a yard.

use sqlx::SqliteExecutor;

use crate::{
    horses::Status,
    ids::{ClientId, HorseId, YardId},
};

/// A horse as a list shows it.
#[derive(Debug, Clone)]
pub struct Listed {
    pub id: HorseId,
    pub name: String,
    pub stable_name: String,
    pub status: Status,
    pub yard: Option<String>,
    pub owner: Option<String>,
}

/// Horses by name, `limit` of them after the first `skip`; those that are no longer seen only if `gone`.
pub async fn list(
    db: impl SqliteExecutor<'_>,
    gone: bool,
    skip: usize,
    limit: usize,
) -> sqlx::Result<Vec<Listed>> {
    let (skip, limit) = (rows(skip), rows(limit));
    sqlx::query_as!(
        Listed,
        r#"select h.id as "id: HorseId", h.name, h.stable_name, h.status as "status: Status", y.name as "yard?",
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "owner: String"
           from horse h left join yard y on y.id = h.yard_id
           where ?1 or h.status in ('here', 'retired')
           order by h.name collate nocase, h.id limit ?2 offset ?3"#,
        gone,
        limit,
        skip
    )
    .fetch_all(db)
    .await
}

/// The horses that a client belongs to, whatever the role.
pub async fn of_client(db: impl SqliteExecutor<'_>, client: ClientId) -> sqlx::Result<Vec<Listed>> {
    sqlx::query_as!(
        Listed,
        r#"select h.id as "id: HorseId", h.name, h.stable_name, h.status as "status: Status", y.name as "yard?",
                  (select group_concat(p.role, ', ') from party p where p.horse_id = h.id and p.client_id = ?1) as "owner: String"
           from horse h left join yard y on y.id = h.yard_id
           where h.id in (select horse_id from party where client_id = ?1)
           order by h.status in ('sold', 'dead'), h.name collate nocase"#,
        client
    )
    .fetch_all(db)
    .await
}

/// The horses that stand at a yard.
pub async fn at_yard(db: impl SqliteExecutor<'_>, yard: YardId) -> sqlx::Result<Vec<Listed>> {
    sqlx::query_as!(
        Listed,
        r#"select h.id as "id: HorseId", h.name, h.stable_name, h.status as "status: Status", null as "yard: String",
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "owner: String"
           from horse h where h.yard_id = ? and h.status in ('here', 'retired') order by h.name collate nocase"#,
        yard
    )
    .fetch_all(db)
    .await
}

/// A count of rows as the database counts them.
fn rows(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}
