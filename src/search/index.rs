//! The lines that the search box looks through. Each write of a client, horse or yard refreshes its own line and
//! those of the horses whose words include it.
//!
//! A line's words stand on fixed rows of text (`find::why` reads them), numbers both as typed and as digits alone.

use sqlx::SqliteConnection;

use super::Kind;
use crate::{
    db::Tx,
    ids::{ClientId, HorseId, YardId},
};

/// After any change to a client: its own line, its yards' and its horses'.
pub async fn refresh_client(tx: &mut Tx, id: ClientId) -> sqlx::Result<()> {
    client_line(tx, id).await?;
    let yards = sqlx::query_scalar!(r#"select id as "id: YardId" from yard where client_id = ?"#, id)
        .fetch_all(&mut **tx)
        .await?;
    for yard in yards {
        yard_line(tx, yard).await?;
    }
    for horse in crate::clients::store::horse_ids(&mut **tx, id).await? {
        refresh_horse(tx, horse).await?;
    }
    Ok(())
}

/// After any change to a yard: its own line and those of the horses that stand there.
pub async fn refresh_yard(tx: &mut Tx, id: YardId) -> sqlx::Result<()> {
    yard_line(tx, id).await?;
    let horses = sqlx::query_scalar!(r#"select id as "id: HorseId" from horse where yard_id = ?"#, id)
        .fetch_all(&mut **tx)
        .await?;
    for horse in horses {
        refresh_horse(tx, horse).await?;
    }
    Ok(())
}

/// After any change to a horse or to who belongs to it.
pub async fn refresh_horse(tx: &mut Tx, id: HorseId) -> sqlx::Result<()> {
    let words = sqlx::query_scalar!(
        r#"select concat_ws(char(10), h.name, h.stable_name, h.microchip, h.microchip_other, h.ueln, coalesce(y.name, ''),
                  (select group_concat(c.name || char(10)
                          || coalesce((select group_concat(number, ', ') from client_phone where client_id = c.id), '')
                          || char(10)
                          || coalesce((select group_concat(digits, ' ') from client_phone where client_id = c.id), ''),
                          char(10) order by p.created_at)
                   from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id)) as "words!: String"
           from horse h left join yard y on y.id = h.yard_id
           where h.id = ?"#,
        id
    )
    .fetch_one(&mut **tx)
    .await?;
    write(tx, Kind::Horse, id.line(), &id.to_string(), &words).await
}

/// Builds every line anew: after a fill that wrote rows on its own, or a restore.
pub async fn rebuild(tx: &mut Tx) -> sqlx::Result<()> {
    sqlx::query("delete from search_line").execute(&mut **tx).await?;
    let clients =
        sqlx::query_scalar!(r#"select id as "id: ClientId" from client"#).fetch_all(&mut **tx).await?;
    for id in clients {
        client_line(tx, id).await?;
    }
    let yards = sqlx::query_scalar!(r#"select id as "id: YardId" from yard"#).fetch_all(&mut **tx).await?;
    for id in yards {
        yard_line(tx, id).await?;
    }
    let horses = sqlx::query_scalar!(r#"select id as "id: HorseId" from horse"#).fetch_all(&mut **tx).await?;
    for id in horses {
        refresh_horse(tx, id).await?;
    }
    Ok(())
}

async fn client_line(tx: &mut Tx, id: ClientId) -> sqlx::Result<()> {
    let words = sqlx::query_scalar!(
        r#"select concat_ws(char(10), c.name, c.email,
                  coalesce((select group_concat(number, ', ') from client_phone where client_id = c.id), ''),
                  coalesce((select group_concat(digits, ' ') from client_phone where client_id = c.id), ''))
                  as "words!: String"
           from client c where c.id = ?"#,
        id
    )
    .fetch_one(&mut **tx)
    .await?;
    write(tx, Kind::Client, id.line(), &id.to_string(), &words).await
}

async fn yard_line(tx: &mut Tx, id: YardId) -> sqlx::Result<()> {
    let words = sqlx::query_scalar!(
        r#"select concat_ws(char(10), y.name, replace(y.address, char(10), ', '), coalesce(c.name, '')) as "words!: String"
           from yard y left join client c on c.id = y.client_id
           where y.id = ?"#,
        id
    )
    .fetch_one(&mut **tx)
    .await?;
    write(tx, Kind::Yard, id.line(), &id.to_string(), &words).await
}

async fn write(
    conn: &mut SqliteConnection,
    kind: Kind,
    line: i64,
    id: &str,
    words: &str,
) -> sqlx::Result<()> {
    sqlx::query("delete from search_line where rowid = ?").bind(line).execute(&mut *conn).await?;
    sqlx::query("insert into search_line (rowid, words, kind, ref) values (?, ?, ?, ?)")
        .bind(line)
        .bind(words)
        .bind(kind)
        .bind(id)
        .execute(&mut *conn)
        .await?;
    Ok(())
}
