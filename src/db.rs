//! The one SQLite file: how it is opened, read and written.
//!
//! A read pool that cannot write and a write pool of one. A write goes through [`Tx`], which begins immediate, so
//! it cannot fail half-way for want of the lock, and [`Tx::commit`] brings the digests of the rows that it touched up to
//! date and syncs the high-water mark before anybody is told that their words are safe.

mod standing;
mod sums;
mod watch;

use std::{
    fs::{self, File},
    ops::{Deref, DerefMut},
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use anyhow::{Context, anyhow, bail, ensure};
use sqlx::{
    Connection, Row, SqliteConnection, SqlitePool,
    migrate::Migrator,
    sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous},
};

pub use standing::{ReadOnly, is_full};
pub(crate) use sums::{count as count_sums, verify as verify_sums};

use crate::{
    clock::At,
    record::{self, High, Mark},
};
use standing::Standing;
use sums::Sums;
use watch::Touched;

pub static MIGRATOR: Migrator = sqlx::migrate!();

/// The name of the database in a data folder.
pub const FILE: &str = "practice.sqlite";

/// The migration from which on rows have digests.
const FIRST_SUMMED: i64 = 39;

/// Readers side by side; more than this only starves the writer.
const READERS: u32 = 6;
/// A WAL of an older SQLite can lose commits when a checkpoint meets a write; mended in this version.
const OLDEST_SQLITE: (u32, u32, u32) = (3, 51, 3);

#[derive(Clone)]
pub struct Db {
    read: SqlitePool,
    write: SqlitePool,
    kept: Kept,
    log: Log,
    folder: Arc<Path>,
}

/// Who folds the write-ahead log into the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Log {
    Ours,
    /// A program that copies every page of it first; see the README on a second disk.
    Theirs,
}

impl Log {
    fn folded(self, options: SqliteConnectOptions) -> SqliteConnectOptions {
        match self {
            Log::Ours => options,
            Log::Theirs => options.pragma("wal_autocheckpoint", "0"),
        }
    }
}

/// What a commit needs beside its connection.
#[derive(Clone)]
struct Kept {
    mark: Arc<Mark>,
    sums: Arc<Sums>,
    touched: Touched,
    standing: Standing,
}

impl Db {
    /// Opens (or makes) the database in the data folder, after a copy of it if it has to be migrated. One that has lost
    /// what was acknowledged, or whose record does not hold, is opened for reading alone: see [`Db::trouble`].
    pub async fn open(folder: &Path, now: At) -> anyhow::Result<Db> {
        Db::open_with(folder, now, Log::Ours).await
    }

    /// The same, where somebody else may fold the write-ahead log into the file.
    ///
    /// # Errors
    /// The database cannot be opened or brought up to date.
    pub async fn open_with(folder: &Path, now: At, log: Log) -> anyhow::Result<Db> {
        let file = folder.join(FILE);
        let known = file.exists();
        let touched = Touched::default();
        let watched = touched.clone();
        let write = SqlitePoolOptions::new()
            .max_connections(1)
            .after_connect(move |conn, _| {
                let watched = watched.clone();
                Box::pin(async move { watched.watch(conn).await })
            })
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
            .connect_with(
                log.folded(options(&file)).journal_mode(SqliteJournalMode::Wal).create_if_missing(true),
            )
            .await
            .map_err(|error| cannot_open(&file, error))?;
        let mut conn = write.acquire().await?;
        check_version(&mut conn).await?;
        check_pragmas(&mut conn).await?;
        let old = !known || migrated(&mut conn).await < newest_migration();
        if known && old {
            copy_before_migration(&mut conn, folder, now).await?;
        }
        drop(conn);
        MIGRATOR.run(&write).await.context("the database could not be brought up to date")?;
        let (sums, found) = look(&write, folder, old).await?;
        let read = SqlitePoolOptions::new()
            .max_connections(READERS)
            .idle_timeout(None)
            .max_lifetime(None)
            // A file does not hang up: asking it first would double the way of every short query.
            .test_before_acquire(false)
            .connect_with(options(&file).read_only(true))
            .await?;
        let mark = Mark::open(folder, stands(&mut *read.acquire().await?).await?, found.is_some())?;
        let standing = Standing::default();
        if let Some(found) = found {
            standing.fall(&found);
        }
        let kept = Kept { mark: Arc::new(mark), sums: Arc::new(sums), touched, standing };
        Ok(Db { read, write, kept, log, folder: folder.into() })
    }

    /// What was found wrong, where the practice can be read only.
    pub fn trouble(&self) -> Option<Arc<str>> {
        self.kept.standing.trouble()
    }

    /// From here on nothing is written but who is signed in, and what they read.
    pub fn turn_read_only(&self, found: &str) {
        self.kept.standing.fall(found);
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
    ///
    /// # Errors
    /// [`ReadOnly`] inside [`sqlx::Error::Configuration`] where what is kept cannot be trusted.
    pub async fn write(&self) -> sqlx::Result<Tx> {
        match self.trouble() {
            Some(found) => Err(sqlx::Error::Configuration(Box::new(ReadOnly(found)))),
            None => self.write_at_the_door().await,
        }
    }

    /// The same for who is signed in and what they read, which go on while the practice can be read only.
    pub async fn write_at_the_door(&self) -> sqlx::Result<Tx> {
        let inner = self.write.begin_with("begin immediate").await?;
        self.kept.touched.take();
        Ok(Tx { inner, appended: false, kept: self.kept.clone() })
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
        if self.log == Log::Ours
            && let Ok(mut conn) = self.write.acquire().await
        {
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
    kept: Kept,
}

impl Tx {
    /// Says that the record grew in this transaction, so that its head is marked at the commit.
    pub(crate) fn appended(&mut self) {
        self.appended = true;
    }

    /// Commits, and answers when what was written is safe. Where nothing was written there is nothing to keep.
    ///
    /// # Errors
    /// The disk is full or cannot be trusted; nothing was written.
    pub async fn commit(mut self) -> anyhow::Result<()> {
        let mut touched = self.kept.touched.take();
        if touched.is_empty() {
            return Ok(self.inner.commit().await?);
        }
        let commits: i64 = sqlx::query_scalar("update commits set n = n + 1 where id = 1 returning n")
            .fetch_one(&mut *self.inner)
            .await?;
        touched.append(&mut self.kept.touched.take());
        self.kept.sums.write(&mut self.inner, &touched).await?;
        let head = if self.appended { record::head(&mut self.inner).await? } else { None };
        if let Err(error) = self.inner.commit().await {
            if standing::is_grave(&error) {
                self.kept.standing.fall(&format!("a change could not be written to the disk: {error}"));
            }
            return Err(error.into());
        }
        self.kept.mark.raise(commits, head).await
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
    conn.map_err(|error| cannot_open(&file, error))
}

/// The same, of a practice whose rows have digests.
///
/// # Errors
/// As [`reader`]; and the practice was served last by an earlier version of the program.
pub(crate) async fn summed_reader(folder: &Path) -> anyhow::Result<SqliteConnection> {
    let mut conn = reader(folder).await?;
    ensure!(
        migrated(&mut conn).await >= FIRST_SUMMED,
        "the practice in {} was served last by an earlier version of this program, which wrote no digests; start \
         `limbledger serve` once: it takes a copy before it changes anything",
        folder.display()
    );
    Ok(conn)
}

/// A new database with the tables of an earlier version or of this one, for rows that come in any order.
///
/// # Errors
/// The file is there, or cannot be made.
pub async fn empty(file: &Path, version: i64) -> anyhow::Result<SqliteConnection> {
    ensure!(!file.exists(), "{} is there already", file.display());
    let options =
        options(file).journal_mode(SqliteJournalMode::Wal).create_if_missing(true).foreign_keys(false);
    let mut conn = SqliteConnection::connect_with(&options)
        .await
        .with_context(|| format!("{} cannot be made", file.display()))?;
    check_version(&mut conn).await?;
    MIGRATOR.run_to(version, &mut conn).await.context("the tables could not be made")?;
    Ok(conn)
}

/// Whoever may write says besides that the log is written ahead: a copy that is read only cannot be told so.
fn options(file: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(file)
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

/// The newest migration that the database has had.
async fn migrated(conn: &mut SqliteConnection) -> i64 {
    let done =
        sqlx::query_scalar("select coalesce(max(version), 0) from _sqlx_migrations").fetch_one(conn).await;
    done.unwrap_or(0)
}

/// How far the database has come.
pub(crate) async fn stands(conn: &mut SqliteConnection) -> sqlx::Result<High> {
    let commits = sqlx::query_scalar("select n from commits where id = 1").fetch_one(&mut *conn).await?;
    Ok(High { commits, head: record::head(conn).await? })
}

/// So many of the newest entries are held against their chain at each start; all of them in the background.
const TAIL: i64 = 1000;

/// The digests, made anew where tables were changed, and what is wrong at first sight.
async fn look(write: &SqlitePool, folder: &Path, old: bool) -> anyhow::Result<(Sums, Option<String>)> {
    let mut tx = write.begin_with("begin immediate").await?;
    let stands = stands(&mut tx).await?;
    let mut found = record::compare_mark(folder, &mut tx).await?;
    let sums = Sums::known(&mut tx).await?;
    let build = old || sums.is_empty() && stands.commits == 0;
    let sums = if build && found.is_none() {
        crate::audit::link_all(&mut tx).await?;
        Sums::build(&mut tx).await?
    } else {
        sums
    };
    let end = stands.head.map_or(0, |head| head.seq);
    if let Err(fault) = record::verify_on(&mut tx, end - TAIL).await? {
        found.get_or_insert(fault.to_string());
    }
    tx.commit().await?;
    Ok((sums, found))
}

async fn copy_before_migration(conn: &mut SqliteConnection, folder: &Path, now: At) -> anyhow::Result<()> {
    let newest = newest_migration();
    if migrated(conn).await == 0 {
        return Ok(());
    }
    let copy: PathBuf = folder.join(format!("before-migration-{newest}-{}.sqlite", now.0));
    let partial = copy.with_extension("sqlite.partial");
    for left in [&partial, &partial.with_extension("partial-journal")] {
        // Of a start that was cut off.
        let _ = fs::remove_file(left);
    }
    sqlx::query("vacuum into ?")
        .bind(partial.display().to_string())
        .execute(conn)
        .await
        .context("no copy could be made before the migration; is the disk full?")?;
    File::open(&partial)?.sync_all()?;
    fs::rename(&partial, &copy)?;
    File::open(folder)?.sync_all()?;
    Ok(())
}

/// In words of somebody who can do something about it.
fn cannot_open(file: &Path, error: sqlx::Error) -> anyhow::Error {
    if is_full(&error) {
        let folder = file.parent().unwrap_or(file);
        return anyhow!(
            "there is no room left on the disk of {}; make room and start again",
            folder.display()
        );
    }
    anyhow::Error::new(error).context(format!("{} cannot be opened as a database", file.display()))
}
