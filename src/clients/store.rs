//! The SQL of clients.

use sqlx::SqliteExecutor;

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

/// The horses that a client belongs to, whatever the role.
pub async fn horse_ids(db: impl SqliteExecutor<'_>, client: ClientId) -> sqlx::Result<Vec<HorseId>> {
    sqlx::query_scalar!(r#"select distinct horse_id as "id: HorseId" from party where client_id = ?"#, client)
        .fetch_all(db)
        .await
}
