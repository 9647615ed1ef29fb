//! Makes the practice of an archive again, in a folder beside nothing: the database is put in its place last, so that a stop
//! in the middle leaves no practice.

use std::{
    collections::HashMap,
    io,
    path::{Path, PathBuf},
};

use anyhow::{Context, bail, ensure};
use sqlx::{AssertSqlSafe, Connection, SqliteConnection};

use super::{
    attached,
    found::{Found, not_as_said},
    manifest::Chain,
    row,
    schema::{self, Table},
};
use crate::{
    accounts::{self, Hasher},
    attachments,
    clock::At,
    db::{self, Db},
    record::{self, hex},
    search,
};

/// What was made, or would be.
#[derive(Debug, Clone)]
pub struct Made {
    pub tables: usize,
    pub rows: u64,
    pub entries: i64,
    pub files: usize,
    /// Files of the record that the archive does not have as they were kept.
    pub missing: usize,
    /// Who works there and has no password yet.
    pub people: Vec<String>,
}

/// Makes the practice in `folder`, which is there and holds nothing of one. Where it ends well, `practice.sqlite` and the
/// files lie in it as in any data folder.
///
/// # Errors
/// A row is not known, not allowed or refers to nothing, the chain does not hold, or the disk cannot be written.
pub async fn make(found: &mut Found, folder: &Path, now: At) -> anyhow::Result<Made> {
    let made = database(found, folder).await?;
    files(found, folder)?;
    finish(folder, now).await?;
    Ok(made)
}

/// Makes the database alone, to see whether it can be made.
///
/// # Errors
/// As [`make`].
pub async fn try_out(found: &mut Found, folder: &Path) -> anyhow::Result<Made> {
    database(found, folder).await
}

async fn database(found: &mut Found, folder: &Path) -> anyhow::Result<Made> {
    let manifest = &found.manifest;
    ensure!(
        manifest.scope == "practice",
        "this is the record of one horse and not a practice; it can be read, and no practice can be made of it"
    );
    let newest = db::newest_migration();
    ensure!(
        manifest.schema <= newest,
        "the archive comes from a newer version of the program ({}, tables of version {}, where this one knows {newest}); \
         use that one or a newer one",
        manifest.program,
        manifest.schema
    );
    let mut conn = db::empty(&folder.join(db::FILE), manifest.schema).await?;
    let mut tx = conn.begin().await?;
    let triggers = without_triggers(&mut tx).await?;
    let tables = schema::tables(&mut tx).await?;
    known(found, &tables)?;
    let nobody = Hasher::new()?.hash(&accounts::one_time_code()?).await?;
    let mut rows = 0;
    for table in &tables {
        rows += fill(&mut tx, found, table, &nobody).await?;
    }
    for sql in triggers {
        sqlx::query(AssertSqlSafe(sql)).execute(&mut *tx).await?;
    }
    holds(&mut tx, &found.manifest.record).await?;
    let (files, missing) = attached_as_said(&mut tx, found).await?;
    let people = sqlx::query_scalar("select name from staff where active = 1 order by role <> 'owner', name")
        .fetch_all(&mut *tx)
        .await?;
    let entries = found.manifest.record.entries;
    tx.commit().await?;
    conn.close().await?;
    Ok(Made { tables: tables.len(), rows, entries, files, missing, people })
}

/// Takes the triggers off: they keep people from changing what was recorded, and every row is to be as it was.
async fn without_triggers(conn: &mut SqliteConnection) -> sqlx::Result<Vec<String>> {
    let triggers: Vec<(String, String)> =
        sqlx::query_as("select name, sql from sqlite_master where type = 'trigger'")
            .fetch_all(&mut *conn)
            .await?;
    for (name, _) in &triggers {
        sqlx::query(AssertSqlSafe(format!("drop trigger \"{name}\""))).execute(&mut *conn).await?;
    }
    Ok(triggers.into_iter().map(|(_, sql)| sql).collect())
}

/// The archive has the tables of its version, each of them and no other.
fn known(found: &Found, tables: &[Table]) -> anyhow::Result<()> {
    let file = |table: &Table| format!("tables/{}.jsonl", table.name);
    for name in found.names().filter(|name| name.starts_with("tables/")) {
        ensure!(
            tables.iter().any(|table| file(table) == name),
            "{name} is of no table that this program knows"
        );
    }
    match tables.iter().map(file).find(|name| found.names().all(|known| known != name)) {
        Some(missing) => bail!("{missing} is missing from the archive"),
        None => Ok(()),
    }
}

/// Puts the rows of a table in; how many there were.
async fn fill(
    conn: &mut SqliteConnection,
    found: &mut Found,
    table: &Table,
    nobody: &str,
) -> anyhow::Result<u64> {
    let name = format!("tables/{}.jsonl", table.name);
    let said = found.manifest.file(&name).and_then(|file| file.rows).unwrap_or_default();
    let marks = vec!["?"; table.columns.len()].join(", ");
    // An account has to have something where its password would be: what nobody knows.
    let (more, mark) = if table.name == "staff" { (", password_hash", ", ?") } else { ("", "") };
    let sql = format!("insert into \"{}\" ({}{more}) values ({marks}{mark})", table.name, table.listed());
    // The migrations put some rows in by themselves.
    sqlx::query(AssertSqlSafe(format!("delete from \"{}\"", table.name))).execute(&mut *conn).await?;
    let mut lines = found.lines(&name)?;
    while let Some(line) = lines.next()? {
        let at = || format!("line {} of {name}", lines.number);
        let mut query = sqlx::query(AssertSqlSafe(sql.as_str()));
        for cell in row::from_line(&line, &table.columns).with_context(at)? {
            query = cell.bind(query);
        }
        if !more.is_empty() {
            query = query.bind(nobody);
        }
        query.execute(&mut *conn).await.with_context(at)?;
    }
    ensure!(lines.number == said, "{name} has {} rows where manifest.json says {said}", lines.number);
    Ok(lines.number)
}

/// Everything that is referred to is there, and the chain of the record holds to the end that the manifest names.
async fn holds(conn: &mut SqliteConnection, said: &Chain) -> anyhow::Result<()> {
    let dangling: Option<(String, Option<i64>, String)> =
        sqlx::query_as(r#"select "table", rowid, parent from pragma_foreign_key_check() limit 1"#)
            .fetch_optional(&mut *conn)
            .await?;
    if let Some((table, place, parent)) = dangling {
        let place = place.map_or_else(|| "a row".to_owned(), |place| format!("row {place}"));
        bail!("{place} of {table} refers to a row of {parent} that is not in the archive");
    }
    match record::verify_on(conn, 1).await? {
        Ok(entries) => {
            ensure!(entries == said.entries, "the record ends at {entries} and not at {}", said.entries);
        }
        Err(fault) => bail!("the chain of the record does not hold: {fault}"),
    }
    let head = record::head(conn).await?.map(|head| hex(&head.chain)).unwrap_or_default();
    ensure!(head == said.head, "the record does not end in the chain value that manifest.json names");
    let silent: Option<i64> = sqlx::query_scalar(
        "select seq from entry where body is null and id not in (select entry_id from erasure) order by seq limit 1",
    )
    .fetch_optional(conn)
    .await?;
    match silent {
        Some(seq) => bail!("the words of entry {seq} are gone, and no erasure says why"),
        None => Ok(()),
    }
}

/// The table of files and the files themselves are about the same; how many files there are, and how many are missing.
async fn attached_as_said(conn: &mut SqliteConnection, found: &Found) -> anyhow::Result<(usize, usize)> {
    let rows = attached::list(conn, None).await?;
    let mut there: HashMap<&str, &str> = found
        .names()
        .filter_map(|name| Some((name.strip_prefix(attached::FOLDER)?.split_once('.')?.0, name)))
        .collect();
    let mut missing = 0;
    for row in &rows {
        let told = found.manifest.missing.iter().any(|one| one.sha256 == row.sha256);
        let Some(name) = there.remove(row.sha256.as_str()) else {
            ensure!(told, "the file {} of the record is missing from the archive", row.name());
            missing += 1;
            continue;
        };
        let as_kept = found.manifest.file(name).is_some_and(|file| {
            file.sha256 == row.sha256 && i64::try_from(file.bytes).ok() == Some(row.bytes)
        });
        ensure!(as_kept || told, "{name} is not the file that the record was kept with");
        missing += usize::from(!as_kept);
    }
    match there.values().next() {
        Some(extra) => bail!("{extra} is a file that no row of the record knows"),
        None => Ok((rows.len() - missing, missing)),
    }
}

/// Writes the files as ours are: aside, under the digest that was reckoned here.
fn files(found: &mut Found, folder: &Path) -> anyhow::Result<()> {
    let names: Vec<String> =
        found.names().filter(|name| name.starts_with(attached::FOLDER)).map(str::to_owned).collect();
    for name in names {
        let digest = name
            .strip_prefix(attached::FOLDER)
            .and_then(|rest| rest.split_once('.'))
            .map(|(digest, _)| digest);
        if found.manifest.file(&name).map(|file| file.sha256.as_str()) != digest {
            continue;
        }
        let mut incoming = attachments::Incoming::begin(folder)?;
        io::copy(&mut found.reader(&name)?, &mut incoming).with_context(|| not_as_said(&name))?;
        incoming.finish()?;
    }
    attachments::clear_incoming(folder)
}

/// Brings an older database up to date, makes what the search knows, and marks how far the record has grown.
async fn finish(folder: &Path, now: At) -> anyhow::Result<()> {
    let db = Db::open(folder, now).await?;
    let mut tx = db.write().await?;
    search::rebuild(&mut tx).await?;
    tx.appended();
    tx.commit().await?;
    db.close().await;
    let log: PathBuf = folder.join(format!("{}-wal", db::FILE));
    ensure!(!log.exists(), "{} was not folded into the database", log.display());
    Ok(())
}
