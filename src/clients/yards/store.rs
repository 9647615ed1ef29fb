//! The SQL of yards.

use sqlx::SqliteExecutor;

use super::Details;
use crate::{
    clock::At,
    db::Tx,
    ids::{ClientId, YardId},
    search,
};

/// A yard's row.
#[derive(Debug, Clone)]
pub struct Yard {
    pub id: YardId,
    pub client_id: Option<ClientId>,
    /// The client who keeps it.
    pub client: Option<String>,
    pub name: String,
    pub address: String,
    pub lat: Option<f64>,
    pub lon: Option<f64>,
    pub directions: String,
    pub note: String,
    pub version: i64,
}

pub async fn get(db: impl SqliteExecutor<'_>, id: YardId) -> sqlx::Result<Yard> {
    sqlx::query_as!(
        Yard,
        r#"select y.id as "id: YardId", y.client_id as "client_id: ClientId", c.name as "client?", y.name, y.address,
                  y.lat, y.lon, y.directions, y.note, y.version
           from yard y left join client c on c.id = y.client_id
           where y.id = ?"#,
        id
    )
    .fetch_one(db)
    .await
}

/// Every yard by name, for lists to choose from.
pub async fn all(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Yard>> {
    sqlx::query_as!(
        Yard,
        r#"select y.id as "id: YardId", y.client_id as "client_id: ClientId", c.name as "client?", y.name, y.address,
                  y.lat, y.lon, y.directions, y.note, y.version
           from yard y left join client c on c.id = y.client_id
           order by y.name collate nocase"#
    )
    .fetch_all(db)
    .await
}

pub async fn of_client(db: impl SqliteExecutor<'_>, client: ClientId) -> sqlx::Result<Vec<Yard>> {
    sqlx::query_as!(
        Yard,
        r#"select y.id as "id: YardId", y.client_id as "client_id: ClientId", c.name as "client?", y.name, y.address,
                  y.lat, y.lon, y.directions, y.note, y.version
           from yard y left join client c on c.id = y.client_id
           where y.client_id = ? order by y.name collate nocase"#,
        client
    )
    .fetch_all(db)
    .await
}

pub async fn insert(tx: &mut Tx, d: &Details, now: At) -> sqlx::Result<YardId> {
    let id = YardId::new();
    let (lat, lon) = d.spot.unzip();
    sqlx::query!(
        "insert into yard (id, client_id, name, address, lat, lon, directions, note, created_at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        d.client_id,
        d.name,
        d.address,
        lat,
        lon,
        d.directions,
        d.note,
        now
    )
    .execute(&mut **tx)
    .await?;
    search::refresh_yard(tx, id).await?;
    Ok(id)
}

/// Changes a yard whose row still has `version`; zero rows mean that somebody else was there first.
pub async fn update(tx: &mut Tx, id: YardId, version: i64, d: &Details) -> sqlx::Result<u64> {
    let (lat, lon) = d.spot.unzip();
    let done = sqlx::query!(
        "update yard set client_id = ?, name = ?, address = ?, lat = ?, lon = ?, directions = ?, note = ?,
                version = version + 1
         where id = ? and version = ?",
        d.client_id,
        d.name,
        d.address,
        lat,
        lon,
        d.directions,
        d.note,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    search::refresh_yard(tx, id).await?;
    Ok(done.rows_affected())
}
