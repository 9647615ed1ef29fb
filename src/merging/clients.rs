//! A client's face, and a client out of two.

use sqlx::SqlitePool;

use super::{
    Kind,
    face::{Face, Field},
    store,
};
use crate::{
    clients::{self, Details},
    db::Tx,
    ids::ClientId,
};

fn fields(d: &Details) -> Vec<Field> {
    let field = |key, label, value: &str| Field { key, label, value: value.to_owned() };
    vec![
        field("name", "Name", &d.name),
        field("kind", "Kind", d.kind.key()),
        field("email", "Email", &d.email),
        field("note", "Note", &d.note),
    ]
}

pub(super) async fn face(db: &SqlitePool, id: ClientId) -> anyhow::Result<Face> {
    let mut conn = db.acquire().await?;
    let (details, version) = clients::store::details(&mut conn, id).await?;
    let phones = details.phones.iter().map(|p| format!("{} {}", p.number, p.label).trim().to_owned());
    let addresses = details.addresses.iter().map(|a| a.lines.replace('\n', ", "));
    let kept = vec![
        ("Phones", phones.collect::<Vec<_>>().join("; ")),
        ("Addresses", addresses.collect::<Vec<_>>().join("; ")),
    ];
    let hangs = store::hangs(&mut conn, Kind::Client, id.into()).await?;
    Ok(Face { id: id.into(), name: details.name.clone(), version, fields: fields(&details), kept, hangs })
}

/// The one that stays, with what is taken of the other; phones and addresses of both.
pub(super) async fn put_together(
    tx: &mut Tx,
    (here, version): (ClientId, i64),
    there: ClientId,
    taken: &[&str],
) -> anyhow::Result<u64> {
    let (mut kept, _) = clients::store::details(tx, here).await?;
    let (other, _) = clients::store::details(tx, there).await?;
    for key in taken {
        match *key {
            "name" => kept.name.clone_from(&other.name),
            "kind" => kept.kind = other.kind,
            "email" => kept.email.clone_from(&other.email),
            "note" => kept.note.clone_from(&other.note),
            _ => {}
        }
    }
    for phone in other.phones {
        if kept.phones.iter().all(|known| known.digits() != phone.digits()) {
            kept.phones.push(phone);
        }
    }
    for address in other.addresses {
        if kept.addresses.iter().all(|known| known.lines.to_lowercase() != address.lines.to_lowercase()) {
            kept.addresses.push(address);
        }
    }
    Ok(clients::store::update(tx, here, version, &kept).await?)
}
