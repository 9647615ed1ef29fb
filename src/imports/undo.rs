//! An import taken back: only while nothing hangs on what it made. What stands in the way is asked of the database's
//! own references, so that no table that is added later is forgotten.

use sqlx::{AssertSqlSafe, SqliteConnection};

use super::State;
use crate::{
    audit,
    clock::At,
    db::Tx,
    ids::{HorseId, ImportId, StaffId},
    search::{self, Kind},
};

/// What is said of rows of these tables; others go by their own name.
const WORDS: [(&str, &str); 7] = [
    ("visit", "visits"),
    ("follow_up", "follow-ups"),
    ("horse_weight", "weights"),
    ("contact", "contacts"),
    ("party", "people of a horse, entered since"),
    ("party_past", "former people of a horse"),
    ("horse", "horses that stand there, entered since"),
];
/// These belong to a client and go with it.
const PART_OF: [&str; 2] = ["client_phone", "client_address"];

/// A line for each kind of thing that hangs on what the import made, with names.
pub(super) async fn in_the_way(conn: &mut SqliteConnection, id: ImportId) -> anyhow::Result<Vec<String>> {
    let mut found = Vec::new();
    for kind in ["client", "horse", "yard"] {
        let references: Vec<(String, String)> = sqlx::query_as(
            r#"select m.name, f."from" from sqlite_master m, pragma_foreign_key_list(m.name) f
               where m.type = 'table' and f."table" = ? order by m.name"#,
        )
        .bind(kind)
        .fetch_all(&mut *conn)
        .await?;
        for (table, column) in references {
            if !PART_OF.contains(&table.as_str()) {
                found.extend(hanging(conn, id, kind, (&table, &column)).await?);
            }
        }
        let sql = format!(
            "select x.name from import_made m join {kind} x on x.id = m.id
             where m.import_id = ? and m.kind = '{kind}' and x.version > 1 order by x.name limit 4"
        );
        let changed: Vec<String> =
            sqlx::query_scalar(AssertSqlSafe(sql)).bind(id).fetch_all(&mut *conn).await?;
        if !changed.is_empty() {
            found.push(format!("{kind} changed since: {}", named(&changed)));
        }
    }
    Ok(found)
}

/// The rows of one table that point at rows of one kind, but for those that the import made itself.
async fn hanging(
    conn: &mut SqliteConnection,
    id: ImportId,
    kind: &str,
    (table, column): (&str, &str),
) -> anyhow::Result<Option<String>> {
    let own = if ["horse", "party", "client", "yard"].contains(&table) {
        format!(
            "and not exists (select 1 from import_made o where o.import_id = m.import_id and o.kind = '{table}' and o.id = t.id)"
        )
    } else {
        String::new()
    };
    let sql = format!(
        "select x.name from import_made m join {kind} x on x.id = m.id join \"{table}\" t on t.\"{column}\" = m.id
         where m.import_id = ? and m.kind = '{kind}' {own} limit 200"
    );
    let names: Vec<String> = sqlx::query_scalar(AssertSqlSafe(sql)).bind(id).fetch_all(conn).await?;
    let words = WORDS
        .iter()
        .find(|(name, _)| *name == table)
        .map_or_else(|| table.replace('_', " "), |(_, words)| (*words).to_owned());
    Ok((!names.is_empty()).then(|| format!("{words}: {}", named(&names))))
}

fn named(names: &[String]) -> String {
    let mut once: Vec<&str> = names.iter().map(String::as_str).collect();
    once.dedup();
    let more = if once.len() > 3 { " and others" } else { "" };
    format!("{}{more}", once.into_iter().take(3).collect::<Vec<_>>().join(", "))
}

/// Takes everything away that the import made. The references of the database have the last word.
pub(super) async fn undo(
    tx: &mut Tx,
    id: ImportId,
    version: i64,
    by: StaffId,
    now: At,
) -> anyhow::Result<u64> {
    // Horses that were here before and got people by it.
    let beside: Vec<HorseId> = sqlx::query_scalar(
        "select distinct p.horse_id from party p join import_made m on m.kind = 'party' and m.id = p.id
         where m.import_id = ?1
           and not exists (select 1 from import_made o where o.import_id = ?1 and o.kind = 'horse' and o.id = p.horse_id)",
    )
    .bind(id)
    .fetch_all(&mut **tx)
    .await?;
    for (kind, made) in [(Kind::Horse, "horse"), (Kind::Yard, "yard"), (Kind::Client, "client")] {
        let ids: Vec<crate::ids::ClientId> =
            sqlx::query_scalar("select id from import_made where import_id = ? and kind = ?")
                .bind(id)
                .bind(made)
                .fetch_all(&mut **tx)
                .await?;
        let lines: Vec<(String, i64)> = ids.iter().map(|id| (id.to_string(), id.line())).collect();
        search::index::forget(tx, kind, &lines).await?;
    }
    for sql in [
        "delete from party where id in (select id from import_made where import_id = ? and kind = 'party')",
        "delete from client_phone where client_id in (select id from import_made where import_id = ? and kind = 'client')",
        "delete from client_address where client_id in (select id from import_made where import_id = ? and kind = 'client')",
        "delete from horse where id in (select id from import_made where import_id = ? and kind = 'horse')",
        "delete from yard where id in (select id from import_made where import_id = ? and kind = 'yard')",
        "delete from client where id in (select id from import_made where import_id = ? and kind = 'client')",
        "delete from import_made where import_id = ?",
    ] {
        sqlx::query(sql).bind(id).execute(&mut **tx).await?;
    }
    search::index::horses(tx, &beside).await?;
    let done = super::store::set_state(tx, id, version, (State::Done, State::Undone), (by, now)).await?;
    audit::store::note(tx, "import taken back", "", by, now).await?;
    Ok(done)
}
