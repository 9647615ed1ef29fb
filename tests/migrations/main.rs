//! Every migration runs on a database that already holds rows: each has a file of sample rows that is loaded
//! after it, before the next one runs.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use limbledger::db::MIGRATOR;
use sqlx::{Connection, Executor, SqliteConnection};

fn rows_after(version: i64) -> String {
    let path = format!("{}/tests/migrations/data/{version:04}.sql", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap()
}

async fn migrated() -> SqliteConnection {
    let mut db = SqliteConnection::connect("sqlite::memory:").await.unwrap();
    db.execute("pragma foreign_keys = on").await.unwrap();
    for migration in MIGRATOR.iter() {
        db.execute(migration.sql.clone()).await.unwrap();
        let rows = rows_after(migration.version);
        db.execute(sqlx::AssertSqlSafe(rows)).await.unwrap();
    }
    db
}

#[tokio::test]
async fn every_migration_runs_on_rows_and_leaves_them_whole() {
    let mut db = migrated().await;
    let broken = sqlx::query("pragma foreign_key_check").fetch_all(&mut db).await.unwrap();
    assert!(broken.is_empty(), "rows point nowhere");
    let check: String = sqlx::query_scalar("pragma integrity_check").fetch_one(&mut db).await.unwrap();
    assert_eq!(check, "ok");
}

#[tokio::test]
async fn every_table_of_ours_is_strict() {
    let mut db = migrated().await;
    let loose: Vec<String> = sqlx::query_scalar(
        "select name from pragma_table_list
         where schema = 'main' and type = 'table' and strict = 0 and name not like 'sqlite_%' and name not like '_sqlx_%'",
    )
    .fetch_all(&mut db)
    .await
    .unwrap();
    assert_eq!(loose, Vec::<String>::new());
}

#[tokio::test]
async fn a_text_with_a_nul_is_refused() {
    let mut db = migrated().await;
    let nul = sqlx::query("update client set name = 'a' || char(0) || 'b'").execute(&mut db).await;
    assert!(nul.is_err());
}
