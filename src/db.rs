//! The one SQLite file: how it is opened, read and written.
//!
//! A read pool that cannot write and a write pool of one. A write goes through [`Tx`], which begins immediate, so
//! it cannot fail half-way for want of the lock, and [`Tx::commit`] syncs the high-water mark before anybody is
//! told that their entry is safe.

use std::{
    ops::{Deref, DerefMut},
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use anyhow::{Context, bail, ensure};
use sqlx::{
    Connection, Row, SqliteConnection, SqlitePool,
    migrate::Migrator,
    sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous},
};

use crate::{clock::At, record::Mark};

pub static MIGRATOR: Migrator = sqlx::migrate!();

/// The name of the database in a data folder.
pub const FILE: &str = "practice.sqlite";

/// Readers side by side; more than this only starves the writer.
const READERS: u32 = 6;
/// A WAL of an older SQLite can lose commits when a checkpoint meets a write; mended in this version.
const OLDEST_SQLITE: (u32, u32, u32) = (3, 51, 3);

#[derive(Clone)]
pub struct Db {
    read: SqlitePool,
    write: SqlitePool,
    mark: Arc<Mark>,
    folder: Arc<Path>,
}

impl Db {
    /// Opens (or makes) the database in the data folder, after a copy of it if it has to be migrated.
    pub async fn open(folder: &Path, now: At) -> anyhow::Result<Db> {
        let file = folder.join(FILE);
        let known = file.exists();
        let write = SqlitePoolOptions::new()
            .max_connections(1)
            .idle_timeout(None)
            .max_lifetime(None)
            .test_before_acquire(false)
            // A full disk makes SQLite roll back by itself, and the rollback that follows then fails: such a connection
            // takes itself to be inside a transaction for ever. The next write opens a fresh one.
            .after_release(|conn, _| {
                Box::pin(async move {
                    conn.ping().await?;
                    Ok(!conn.is_in_transaction())
                })
            })
            .connect_with(options(&file).create_if_missing(true))
            .await
            .with_context(|| format!("{} cannot be opened as a database", file.display()))?;
        let mut conn = write.acquire().await?;
        check_version(&mut conn).await?;
        check_pragmas(&mut conn).await?;
        if known {
            copy_before_migration(&mut conn, folder, now).await?;
        }
        drop(conn);
        MIGRATOR.run(&write).await.context("the database could not be brought up to date")?;
        let read = SqlitePoolOptions::new()
            .max_connections(READERS)
            .idle_timeout(None)
            .max_lifetime(None)
            // A file does not hang up: asking it first would double the way of every short query.
            .test_before_acquire(false)
            .connect_with(options(&file).read_only(true))
            .await?;
        let mark = Mark::open(folder, &read).await?;
        Ok(Db { read, write, mark: Arc::new(mark), folder: folder.into() })
    }

    /// For reading; it cannot write.
    pub fn read(&self) -> &SqlitePool {
        &self.read
    }

    /// The data folder: what is kept as files lies beside the database.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Begins the only way to write.
    pub async fn write(&self) -> sqlx::Result<Tx> {
        let inner = self.write.begin_with("begin immediate").await?;
        Ok(Tx { inner, appended: false, mark: self.mark.clone() })
    }

    /// Whether a write could begin just now; nothing is written.
    pub async fn could_write(&self) -> bool {
        match self.write().await {
            Ok(tx) => tx.inner.rollback().await.is_ok(),
            Err(_) => false,
        }
    }

    /// Folds the write-ahead log into the file and closes: a short log has less to lose.
    pub async fn close(&self) {
        if let Ok(mut conn) = self.write.acquire().await {
            let _ = sqlx::query("pragma wal_checkpoint(truncate)").execute(&mut *conn).await;
        }
        self.read.close().await;
        self.write.close().await;
    }
}

/// A write transaction: dropped, it never happened.
pub struct Tx {
    inner: sqlx::Transaction<'static, sqlx::Sqlite>,
    appended: bool,
    mark: Arc<Mark>,
}

impl Tx {
    /// Says that the record grew in this transaction, so that its head is marked at the commit.
    pub(crate) fn appended(&mut self) {
        self.appended = true;
    }

    pub async fn commit(mut self) -> anyhow::Result<()> {
        let head = if self.appended { crate::record::head(&mut self.inner).await? } else { None };
        self.inner.commit().await?;
        if let Some(head) = head {
            self.mark.raise(head).await?;
        }
        Ok(())
    }
}

impl Deref for Tx {
    type Target = SqliteConnection;
    fn deref(&self) -> &SqliteConnection {
        &self.inner
    }
}

impl DerefMut for Tx {
    fn deref_mut(&mut self) -> &mut SqliteConnection {
        &mut self.inner
    }
}

/// A write that touched the wrong number of rows is an error: somebody else was there first.
pub fn one_row(result: &sqlx::sqlite::SqliteQueryResult) -> Result<(), Stale> {
    if result.rows_affected() == 1 { Ok(()) } else { Err(Stale) }
}

/// The row has another version by now, or is gone.
#[derive(Debug, thiserror::Error)]
#[error("the row was changed by somebody else")]
pub struct Stale;

/// The number of the newest migration that this program knows.
pub fn newest_migration() -> i64 {
    MIGRATOR.iter().map(|m| m.version).max().unwrap_or(0)
}

/// A connection for reading alone, beside a server that runs or not.
///
/// # Errors
/// There is no practice in the folder, or it cannot be read.
pub async fn reader(folder: &Path) -> anyhow::Result<SqliteConnection> {
    let file = folder.join(FILE);
    ensure!(file.exists(), "there is no practice in {}", folder.display());
    let conn = SqliteConnection::connect_with(&options(&file).read_only(true)).await;
    conn.with_context(|| format!("{} cannot be opened as a database", file.display()))
}

/// A new database with the tables of an earlier version or of this one, for rows that come in any order.
///
/// # Errors
/// The file is there, or cannot be made.
pub async fn empty(file: &Path, version: i64) -> anyhow::Result<SqliteConnection> {
    ensure!(!file.exists(), "{} is there already", file.display());
    let options = options(file).create_if_missing(true).foreign_keys(false);
    let mut conn = SqliteConnection::connect_with(&options)
        .await
        .with_context(|| format!("{} cannot be made", file.display()))?;
    check_version(&mut conn).await?;
    MIGRATOR.run_to(version, &mut conn).await.context("the tables could not be made")?;
    Ok(conn)
}

fn options(file: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(file)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(Duration::from_secs(5))
        .pragma("recursive_triggers", "on")
        .pragma("trusted_schema", "off")
        .pragma("cell_size_check", "on")
        .pragma("mmap_size", "0")
        .pragma("cache_size", "-16000")
        .pragma("journal_size_limit", "67108864")
        .statement_cache_capacity(256)
        // The rows of a page at once: its reader is not woken for every fifty.
        .row_buffer_size(1024)
}

async fn check_version(conn: &mut SqliteConnection) -> anyhow::Result<()> {
    let version: String = sqlx::query_scalar("select sqlite_version()").fetch_one(conn).await?;
    let mut parts = version.split('.').map(|p| p.parse::<u32>().unwrap_or(0));
    let mut next = || parts.next().unwrap_or(0);
    let found = (next(), next(), next());
    ensure!(
        found >= OLDEST_SQLITE,
        "SQLite {version} can lose what it acknowledged; 3.51.3 or newer is needed"
    );
    Ok(())
}

/// What was asked for is read back: a setting that did not take is found here, not after a power cut.
async fn check_pragmas(conn: &mut SqliteConnection) -> anyhow::Result<()> {
    for (name, wanted) in [
        ("journal_mode", "wal"),
        ("synchronous", "2"),
        ("foreign_keys", "1"),
        ("recursive_triggers", "1"),
        ("trusted_schema", "0"),
        ("cell_size_check", "1"),
    ] {
        let row = sqlx::query(sqlx::AssertSqlSafe(format!("pragma {name}"))).fetch_one(&mut *conn).await?;
        let found =
            row.try_get::<String, _>(0).or_else(|_| row.try_get::<i64, _>(0).map(|n| n.to_string()))?;
        if found != wanted {
            bail!(
                "SQLite keeps {name} at {found} where {wanted} is needed; is the data folder on a network drive?"
            );
        }
    }
    Ok(())
}

async fn copy_before_migration(conn: &mut SqliteConnection, folder: &Path, now: At) -> anyhow::Result<()> {
    let done: i64 = sqlx::query_scalar("select coalesce(max(version), 0) from _sqlx_migrations")
        .fetch_one(&mut *conn)
        .await
        .unwrap_or(0);
    let newest = newest_migration();
    if done == 0 || done >= newest {
        return Ok(());
    }
    let copy: PathBuf = folder.join(format!("before-migration-{newest}-{}.sqlite", now.0));
    sqlx::query("vacuum into ?")
        .bind(copy.display().to_string())
        .execute(conn)
        .await
        .context("no copy could be made before the migration; is the disk full?")?;
    Ok(())
}
