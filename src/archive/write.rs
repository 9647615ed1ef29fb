//! Makes an archive, from one moment of the database.

use std::path::Path;

use anyhow::{Context, ensure};
use serde_json::json;
use sqlx::{Connection, SqliteConnection};

use super::{
    FORMAT, FORMAT_VERSION, attached, horse,
    making::{Making, Sender},
    manifest::{self, Chain, LeftOut, Manifest},
    plain, readme,
    schema::{self, Table},
    table::{self, Rows},
};
use crate::{
    clock::At,
    db,
    ids::HorseId,
    practice::{self, Practice},
    record::{self, hex},
};

/// Of whom an archive is made.
#[derive(Debug, Clone)]
pub enum Whose {
    Practice,
    /// One horse, from `since` on; `reason` is why what lies before it goes along.
    Horse {
        id: HorseId,
        since: Option<At>,
        reason: String,
    },
}

/// An archive that somebody wants.
#[derive(Debug, Clone)]
pub struct Asked {
    pub whose: Whose,
    /// Who wants it, in words.
    pub by: String,
    pub now: At,
}

/// What became of it.
#[derive(Debug, Clone, Default)]
pub struct Told {
    pub files: usize,
    pub rows: u64,
    /// A sentence for each file of the record that is not in it, or not as it was kept.
    pub missing: Vec<String>,
}

/// What is read before anything is written.
struct Source {
    practice: Practice,
    tables: Vec<Table>,
    picked: Option<Rows>,
    manifest: Manifest,
}

/// Writes the archive to `out`, piece by piece. The database is held at one moment until its tables are written.
///
/// # Errors
/// The database was made by another version of the program, holds no such horse, or nobody takes the pieces.
pub async fn write(conn: SqliteConnection, data: &Path, asked: &Asked, out: Sender) -> anyhow::Result<Told> {
    let mut conn = conn;
    let mut tx = conn.begin().await?;
    let mut source = source(&mut tx, asked).await?;
    let mut making = Making::new(out);
    making.whole("README.txt", &readme::text(&source.manifest)).await?;
    let told: Vec<_> = source.tables.iter().map(Table::told).collect();
    let told = json!({ "format": FORMAT, "format_version": FORMAT_VERSION, "tables": told });
    making.whole("tables.json", &serde_json::to_string_pretty(&told)?).await?;
    for one in &source.tables {
        table::write(&mut tx, &mut making, one, source.picked.as_ref()).await?;
    }
    plain::write(&mut tx, &mut making, &source.practice, source.picked.as_ref()).await?;
    let files = attached::list(&mut tx, source.picked.as_ref()).await?;
    // Files are kept for good: they need no moment.
    tx.rollback().await?;
    conn.close().await?;
    for one in &files {
        let missing = attached::write(&mut making, data, one).await?;
        source.manifest.missing.extend(missing);
    }
    making.end();
    let mut manifest = source.manifest;
    manifest.files.clone_from(&making.files);
    making.whole(manifest::NAME, &serde_json::to_string_pretty(&manifest)?).await?;
    making.finish().await?;
    let missing = manifest.missing.iter().map(|one| format!("{}: {}", one.sha256, one.why)).collect();
    let rows = manifest
        .files
        .iter()
        .filter(|file| file.name.starts_with("tables/"))
        .filter_map(|file| file.rows)
        .sum();
    Ok(Told { files: manifest.files.len() + 1, rows, missing })
}

async fn source(conn: &mut SqliteConnection, asked: &Asked) -> anyhow::Result<Source> {
    let schema: i64 =
        sqlx::query_scalar("select max(version) from _sqlx_migrations").fetch_one(&mut *conn).await?;
    ensure!(
        schema == db::newest_migration(),
        "the practice was opened last by another version of this program; run `limbledger serve` once, then ask again"
    );
    let practice = practice::store::get(&mut *conn).await?;
    let mut tables = schema::tables(conn).await?;
    let head = record::head(conn).await?;
    let record = head.map_or_else(Chain::default, |head| Chain { entries: head.seq, head: hex(&head.chain) });
    let mut manifest = Manifest {
        format: FORMAT.into(),
        format_version: FORMAT_VERSION,
        program: env!("CARGO_PKG_VERSION").into(),
        schema,
        scope: "practice".into(),
        practice: practice.name.clone(),
        zone: practice.zone.iana_name().unwrap_or("UTC").into(),
        horse: None,
        since: None,
        reason: None,
        made_at: asked.now.iso(),
        made_by: asked.by.clone(),
        record,
        files: Vec::new(),
        missing: Vec::new(),
        left_out: LeftOut::always(),
    };
    let mut picked = None;
    if let Whose::Horse { id, since, reason } = &asked.whose {
        let name: Option<String> = sqlx::query_scalar("select name from horse where id = ?")
            .bind(id)
            .fetch_optional(&mut *conn)
            .await?;
        manifest.horse = Some(name.with_context(|| format!("there is no horse {id}"))?);
        manifest.scope = "horse".into();
        manifest.since = since.map(At::iso);
        manifest.reason = Some(reason.clone()).filter(|reason| !reason.is_empty());
        manifest.left_out.extend(horse::left_out(&mut tables));
        picked = Some(horse::rows(conn, &tables, *id, since.map(|at| (at, at.day(&practice.zone)))).await?);
    }
    Ok(Source { practice, tables, picked, manifest })
}
