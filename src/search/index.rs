//! The lines that the search box looks through. Each write of a client, horse or yard refreshes its own line and
//! those of the horses whose words include it.
//!
//! A line's words stand on fixed rows of text (`find::why` reads them), numbers both as typed and as digits alone.
//! Lines are written many at once, their rows named in JSON: an import has a hundred thousand of them.

use sqlx::{AssertSqlSafe, SqliteConnection};

use super::Kind;
use crate::{
    db::Tx,
    ids::{ClientId, HorseId, YardId},
};

/// So many lines share a statement.
const TOGETHER: usize = 500;

/// The words of a row of each kind. The index is a full-text table, which the compile-time check of queries cannot
/// describe, so these are checked by the tests alone.
const CLIENT: &str = "select concat_ws(char(10), c.name, c.email,
        coalesce((select group_concat(number, ', ') from client_phone where client_id = c.id), ''),
        coalesce((select group_concat(digits, ' ') from client_phone where client_id = c.id), ''))
    from client c where c.id = unhex(replace(j.value ->> 0, '-', ''))";
const YARD: &str =
    "select concat_ws(char(10), y.name, replace(y.address, char(10), ', '), coalesce(c.name, ''))
    from yard y left join client c on c.id = y.client_id where y.id = unhex(replace(j.value ->> 0, '-', ''))";
const HORSE: &str = "select concat_ws(char(10), h.name, h.stable_name, h.microchip, h.microchip_other, h.ueln, coalesce(y.name, ''),
        (select group_concat(c.name || char(10)
                || coalesce((select group_concat(number, ', ') from client_phone where client_id = c.id), '')
                || char(10)
                || coalesce((select group_concat(digits, ' ') from client_phone where client_id = c.id), ''),
                char(10) order by p.created_at)
         from party p join client c on c.id = p.client_id
         where p.horse_id = h.id))
    from horse h left join yard y on y.id = h.yard_id where h.id = unhex(replace(j.value ->> 0, '-', ''))";

/// After any change to a client: its own line, its yards' and its horses'.
pub async fn refresh_client(tx: &mut Tx, id: ClientId) -> sqlx::Result<()> {
    clients(tx, &[id]).await?;
    let with = sqlx::query_scalar!(r#"select id as "id: YardId" from yard where client_id = ?"#, id)
        .fetch_all(&mut **tx)
        .await?;
    yards(tx, &with).await?;
    let with = crate::clients::store::horse_ids(&mut **tx, id).await?;
    horses(tx, &with).await
}

/// After any change to a yard: its own line and those of the horses that stand there.
pub async fn refresh_yard(tx: &mut Tx, id: YardId) -> sqlx::Result<()> {
    yards(tx, &[id]).await?;
    let with = sqlx::query_scalar!(r#"select id as "id: HorseId" from horse where yard_id = ?"#, id)
        .fetch_all(&mut **tx)
        .await?;
    horses(tx, &with).await
}

/// After any change to a horse or to who belongs to it.
pub async fn refresh_horse(tx: &mut Tx, id: HorseId) -> sqlx::Result<()> {
    horses(tx, &[id]).await
}

/// Builds every line anew: after a fill that wrote rows on its own, or a restore.
pub async fn rebuild(tx: &mut Tx) -> sqlx::Result<()> {
    sqlx::query("delete from search_line").execute(&mut **tx).await?;
    let all = sqlx::query_scalar!(r#"select id as "id: ClientId" from client"#).fetch_all(&mut **tx).await?;
    clients(tx, &all).await?;
    let all = sqlx::query_scalar!(r#"select id as "id: YardId" from yard"#).fetch_all(&mut **tx).await?;
    yards(tx, &all).await?;
    let all = sqlx::query_scalar!(r#"select id as "id: HorseId" from horse"#).fetch_all(&mut **tx).await?;
    horses(tx, &all).await
}

/// The lines of these clients alone.
pub async fn clients(tx: &mut Tx, ids: &[ClientId]) -> sqlx::Result<()> {
    let rows: Vec<_> = ids.iter().map(|id| (id.to_string(), id.line())).collect();
    write(tx, Kind::Client, &rows, Some(CLIENT)).await
}

/// The lines of these yards alone.
pub async fn yards(tx: &mut Tx, ids: &[YardId]) -> sqlx::Result<()> {
    let rows: Vec<_> = ids.iter().map(|id| (id.to_string(), id.line())).collect();
    write(tx, Kind::Yard, &rows, Some(YARD)).await
}

/// The lines of these horses alone.
pub async fn horses(tx: &mut Tx, ids: &[HorseId]) -> sqlx::Result<()> {
    let rows: Vec<_> = ids.iter().map(|id| (id.to_string(), id.line())).collect();
    write(tx, Kind::Horse, &rows, Some(HORSE)).await
}

/// Rows that are about to go are not found any more: each by its id in letters and its line.
pub async fn forget(tx: &mut Tx, kind: Kind, rows: &[(String, i64)]) -> sqlx::Result<()> {
    write(tx, kind, rows, None).await
}

async fn write(
    conn: &mut SqliteConnection,
    kind: Kind,
    rows: &[(String, i64)],
    words: Option<&str>,
) -> sqlx::Result<()> {
    for rows in rows.chunks(TOGETHER) {
        let json = serde_json::to_string(rows).map_err(|error| sqlx::Error::Encode(error.into()))?;
        sqlx::query("delete from search_line where rowid in (select value ->> 1 from json_each(?))")
            .bind(&json)
            .execute(&mut *conn)
            .await?;
        let Some(words) = words else { continue };
        let insert = format!(
            "insert into search_line (rowid, words, kind, ref)
             select j.value ->> 1, ({words}), ?2, j.value ->> 0 from json_each(?1) j"
        );
        sqlx::query(AssertSqlSafe(insert)).bind(&json).bind(kind).execute(&mut *conn).await?;
    }
    Ok(())
}
