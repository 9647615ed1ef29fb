//! One look at everything.

use std::{
    collections::HashSet,
    fs::File,
    io::{self, Read},
    path::Path,
    time::Instant,
};

use sha2::{Digest, Sha256};
use sqlx::SqliteConnection;

use super::Watch;
use crate::{
    attachments, audit, db,
    record::{self, hex},
};

/// So much of a file is read at once.
const PIECE: usize = 256 * 1024;

/// What a look came to.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// What is wrong, a sentence each; none when all is well.
    pub faults: Vec<String>,
    pub rows: u64,
    pub entries: i64,
    pub files: usize,
    /// Files that no row speaks of: left over, and no harm.
    pub orphans: usize,
}

/// Looks over the practice in `folder`. A server may write meanwhile.
///
/// # Errors
/// The database cannot be read at all.
pub async fn look(folder: &Path, conn: &mut SqliteConnection, watch: &Watch) -> anyhow::Result<Found> {
    let mut found = Found { rows: db::count_sums(conn).await?, ..Found::default() };
    found.faults.extend(record::compare_mark(folder, conn).await?);
    found.entries = record::head(conn).await?.map_or(0, |head| head.seq);
    structure(conn, watch, &mut found).await?;
    watch.begin("every row against its digest", found.rows);
    found.faults.extend(db::verify_sums(conn, watch).await?);
    watch.begin("the chains of the record and the audit", 0);
    if let Err(fault) = record::verify_on(conn, 1).await? {
        found.faults.push(fault.to_string());
    }
    found.faults.extend(audit::verify(conn).await?);
    files(folder, conn, watch, &mut found).await?;
    Ok(found)
}

/// The pages of the database, its indexes, and what refers to what.
async fn structure(conn: &mut SqliteConnection, watch: &Watch, found: &mut Found) -> sqlx::Result<()> {
    watch.begin("the structure of the database", 0);
    let began = Instant::now();
    let said: sqlx::Result<Vec<String>> =
        sqlx::query_scalar("pragma integrity_check(20)").fetch_all(&mut *conn).await;
    match said {
        Ok(said) => found.faults.extend(
            said.into_iter()
                .filter(|line| line != "ok")
                .map(|line| format!("the database: {}", line.replace('\n', " "))),
        ),
        Err(error) => found.faults.push(format!("the database: {error}")),
    }
    watch.rest(began).await;
    let dangling: Vec<(String, Option<i64>, String)> =
        sqlx::query_as(r#"select "table", rowid, parent from pragma_foreign_key_check() limit 20"#)
            .fetch_all(conn)
            .await?;
    found.faults.extend(dangling.into_iter().map(|(table, row, parent)| {
        format!("{table} row {} refers to a row of {parent} that is not there", row.unwrap_or_default())
    }));
    Ok(())
}

/// Every file that the record speaks of, by its digest.
async fn files(
    folder: &Path,
    conn: &mut SqliteConnection,
    watch: &Watch,
    found: &mut Found,
) -> anyhow::Result<()> {
    let rows: Vec<(String, i64)> =
        sqlx::query_as("select sha256, bytes from attachment order by rowid").fetch_all(conn).await?;
    watch.begin("every file against its digest", rows.len() as u64);
    for (name, bytes) in &rows {
        let began = Instant::now();
        let path = attachments::path(folder, name);
        let read = tokio::task::spawn_blocking(move || digest(&path)).await?;
        let fault = match read {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Some("is missing".to_owned()),
            Err(error) => Some(format!("cannot be read: {error}")),
            Ok((digest, size)) if digest != *name || size != bytes.unsigned_abs() => {
                Some("is not as it was kept".to_owned())
            }
            Ok(_) => None,
        };
        found.faults.extend(fault.map(|what| format!("attachment {name} {what}")));
        watch.advance(1);
        watch.rest(began).await;
    }
    found.files = rows.len();
    let known: HashSet<String> = rows.into_iter().map(|(name, _)| name).collect();
    found.orphans = attachments::names(folder)?.into_iter().filter(|name| !known.contains(name)).count();
    Ok(())
}

/// Digest and size of a file, read in pieces.
pub(crate) fn digest(path: &Path) -> io::Result<(String, u64)> {
    let (mut file, mut sum, mut size) = (File::open(path)?, Sha256::new(), 0);
    let mut piece = vec![0; PIECE];
    loop {
        let read = file.read(&mut piece)?;
        let Some(bytes) = piece.get(..read).filter(|bytes| !bytes.is_empty()) else { break };
        sum.update(bytes);
        size += bytes.len() as u64;
    }
    Ok((hex(&sum.finalize()), size))
}
