//! The SQL of clients.

use sqlx::{SqliteConnection, SqliteExecutor};

use super::{Address, Details, Kind, Phone};
use crate::{
    clock::At,
    db::Tx,
    ids::{AddressId, ClientId, HorseId, PhoneId},
    search,
};

/// A client's row without its phones and addresses.
#[derive(Debug, Clone)]
pub struct Client {
    pub id: ClientId,
    pub kind: Kind,
    pub name: String,
    pub email: String,
    pub note: String,
    pub version: i64,
}

pub async fn get(db: impl SqliteExecutor<'_>, id: ClientId) -> sqlx::Result<Client> {
    sqlx::query_as!(
        Client,
        r#"select id as "id: ClientId", kind as "kind: Kind", name, email, note, version from client where id = ?"#,
        id
    )
    .fetch_one(db)
    .await
}

pub async fn phones(db: impl SqliteExecutor<'_>, client: ClientId) -> sqlx::Result<Vec<Phone>> {
    sqlx::query_as!(
        Phone,
        "select label, number from client_phone where client_id = ? order by position",
        client
    )
    .fetch_all(db)
    .await
}

pub async fn addresses(db: impl SqliteExecutor<'_>, client: ClientId) -> sqlx::Result<Vec<Address>> {
    sqlx::query_as!(
        Address,
        "select label, lines from client_address where client_id = ? order by position",
        client
    )
    .fetch_all(db)
    .await
}

/// A client with its phones and addresses, for the edit form.
pub async fn details(db: &mut SqliteConnection, id: ClientId) -> sqlx::Result<(Details, i64)> {
    let c = get(&mut *db, id).await?;
    let (phones, addresses) = (phones(&mut *db, id).await?, addresses(&mut *db, id).await?);
    let details = Details { kind: c.kind, name: c.name, email: c.email, note: c.note, phones, addresses };
    Ok((details, c.version))
}

/// A client as a list shows it.
#[derive(Debug, Clone)]
pub struct Listed {
    pub id: ClientId,
    pub name: String,
    pub phone: Option<String>,
    /// The horses that are seen, by name.
    pub horses: Option<String>,
}

/// Clients by name, `limit` of them after the first `skip`.
pub async fn list(db: impl SqliteExecutor<'_>, skip: usize, limit: usize) -> sqlx::Result<Vec<Listed>> {
    let (skip, limit) = (rows(skip), rows(limit));
    sqlx::query_as!(
        Listed,
        r#"select c.id as "id: ClientId", c.name,
                  (select number from client_phone where client_id = c.id order by position limit 1) as "phone: String",
                  (select group_concat(name, ', ') from (select distinct h.name from party p join horse h on h.id = p.horse_id
                   where p.client_id = c.id and h.status in ('here', 'retired') order by h.name limit 6)) as "horses: String"
           from client c order by c.name collate nocase, c.id limit ? offset ?"#,
        limit,
        skip
    )
    .fetch_all(db)
    .await
}

pub async fn insert(tx: &mut Tx, d: &Details, now: At) -> sqlx::Result<ClientId> {
    let id = ClientId::new();
    sqlx::query!(
        "insert into client (id, kind, name, email, note, created_at) values (?, ?, ?, ?, ?, ?)",
        id,
        d.kind,
        d.name,
        d.email,
        d.note,
        now
    )
    .execute(&mut **tx)
    .await?;
    write_contacts(tx, id, d).await?;
    search::refresh_client(tx, id).await?;
    Ok(id)
}

/// Changes a client whose row still has `version`; zero rows mean that somebody else was there first.
pub async fn update(tx: &mut Tx, id: ClientId, version: i64, d: &Details) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update client set kind = ?, name = ?, email = ?, note = ?, version = version + 1
         where id = ? and version = ?",
        d.kind,
        d.name,
        d.email,
        d.note,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    if done.rows_affected() == 1 {
        write_contacts(tx, id, d).await?;
        search::refresh_client(tx, id).await?;
    }
    Ok(done.rows_affected())
}

/// The form shows all phones and addresses, so what it sends is all there are.
async fn write_contacts(tx: &mut Tx, client: ClientId, d: &Details) -> sqlx::Result<()> {
    sqlx::query!("delete from client_phone where client_id = ?", client).execute(&mut **tx).await?;
    sqlx::query!("delete from client_address where client_id = ?", client).execute(&mut **tx).await?;
    for (position, phone) in (0_i64..).zip(&d.phones) {
        let (id, digits) = (PhoneId::new(), phone.digits());
        sqlx::query!(
            "insert into client_phone (id, client_id, position, label, number, digits) values (?, ?, ?, ?, ?, ?)",
            id,
            client,
            position,
            phone.label,
            phone.number,
            digits
        )
        .execute(&mut **tx)
        .await?;
    }
    for (position, address) in (0_i64..).zip(&d.addresses) {
        let id = AddressId::new();
        sqlx::query!(
            "insert into client_address (id, client_id, position, label, lines) values (?, ?, ?, ?, ?)",
            id,
            client,
            position,
            address.label,
            address.lines
        )
        .execute(&mut **tx)
        .await?;
    }
    Ok(())
}

/// Every client with phones and addresses, by name.
pub async fn everybody(db: &sqlx::SqlitePool) -> sqlx::Result<Vec<(ClientId, Details)>> {
    let ids =
        sqlx::query_scalar!(r#"select id as "id: ClientId" from client order by name collate nocase, id"#)
            .fetch_all(db)
            .await?;
    let mut conn = db.acquire().await?;
    let mut all = Vec::with_capacity(ids.len());
    for id in ids {
        all.push((id, details(&mut conn, id).await?.0));
    }
    Ok(all)
}

/// The horses that a client belongs to, whatever the role.
pub async fn horse_ids(db: impl SqliteExecutor<'_>, client: ClientId) -> sqlx::Result<Vec<HorseId>> {
    sqlx::query_scalar!(r#"select distinct horse_id as "id: HorseId" from party where client_id = ?"#, client)
        .fetch_all(db)
        .await
}

/// A count of rows as the database counts them.
fn rows(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}
