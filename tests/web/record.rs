//! The record holds together: its chain verifies, tampering is found, and what was acknowledged cannot vanish.

use std::path::Path;

use axum::http::StatusCode;
use limbledger::{accounts::Role, clock::At, db::Db, record};
use sqlx::{ConnectOptions, Connection, SqliteConnection, sqlite::SqliteConnectOptions};

use crate::{
    assessment::write,
    signing::sign,
    support::{
        TestApp,
        record::{Story, clear, finding, gait, on},
    },
};

/// A second way into the file, as somebody with the disk in hand has it.
pub async fn behind_the_back(test: &TestApp) -> SqliteConnection {
    SqliteConnectOptions::new().filename(test.folder().join("practice.sqlite")).connect().await.unwrap()
}

/// A visit from the first finding to an addendum.
async fn whole_visit(test: &TestApp, story: &Story<'_>) -> limbledger::ids::VisitId {
    let visit = story.visit("2026-03-11").await;
    story.say(visit, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    story.say(visit, on(clear("FETL_D", "R"), Some("RF"))).await;
    story.say(visit, gait("LF", "WLK_S", 1.0, "aaep_0_5")).await;
    let mut vet = test.signed_in(Role::Vet).await;
    write(&mut vet, visit, "problem", &[("words", "synovitis"), ("certainty", "likely")]).await;
    write(&mut vet, visit, "plan", &[("words", "rest")]).await;
    assert_eq!(sign(&mut vet, visit).await.status, StatusCode::SEE_OTHER);
    let added = vet.submit(&format!("/visits/{visit}/addenda"), &[("words", "sound again")]).await;
    assert_eq!(added.status, StatusCode::SEE_OTHER);
    visit
}

#[tokio::test]
async fn the_chain_of_a_whole_visit_verifies() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    whole_visit(&test, &story).await;
    let verified = record::verify(test.app.db.read(), 1).await.unwrap();
    assert_eq!(verified, Ok(7), "three findings, problem, plan, signature, addendum");
}

#[tokio::test]
async fn words_changed_behind_the_back_are_found_by_number() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    whole_visit(&test, &story).await;
    let mut conn = behind_the_back(&test).await;
    sqlx::query("drop trigger entry_never_changed").execute(&mut conn).await.unwrap();
    let done = sqlx::query("update entry set body = replace(body, 'synovitis', 'nothing') where seq = 4")
        .execute(&mut conn)
        .await
        .unwrap();
    assert_eq!(done.rows_affected(), 1);
    let fault = record::verify(test.app.db.read(), 1).await.unwrap().unwrap_err();
    assert_eq!(fault.seq, 4);
    assert!(fault.to_string().contains("entry 4"), "{fault}");
}

#[tokio::test]
async fn any_other_change_to_an_entry_is_found_too() {
    for change in [
        "update entry set seen_at = seen_at + 1 where seq = 3",
        "update entry set entered_by = (select id from staff where role = 'desk') where seq = 3",
        "update entry set late = 1 where seq = 3",
        "update entry set salt = zeroblob(16) where seq = 3",
        "update entry set digest = zeroblob(32) where seq = 3",
        "update entry set chain = zeroblob(32) where seq = 3",
    ] {
        let test = TestApp::new().await;
        let story = Story::new(&test).await;
        whole_visit(&test, &story).await;
        let mut conn = behind_the_back(&test).await;
        sqlx::query("drop trigger entry_never_changed").execute(&mut conn).await.unwrap();
        sqlx::query(change).execute(&mut conn).await.unwrap();
        let fault = record::verify(test.app.db.read(), 1).await.unwrap().unwrap_err();
        assert_eq!(fault.seq, 3, "{change}");
    }
}

#[tokio::test]
async fn an_entry_taken_out_of_the_middle_is_missed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    whole_visit(&test, &story).await;
    let mut conn = behind_the_back(&test).await;
    sqlx::query("drop trigger entry_never_deleted").execute(&mut conn).await.unwrap();
    sqlx::query("delete from entry where seq = 5").execute(&mut conn).await.unwrap();
    let fault = record::verify(test.app.db.read(), 1).await.unwrap().unwrap_err();
    assert_eq!(fault.seq, 6, "{fault}");
}

#[tokio::test]
async fn a_lawful_erasure_takes_the_words_and_leaves_the_chain() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = whole_visit(&test, &story).await;
    let entry = record::entries_of_visit(test.app.db.read(), visit).await.unwrap()[3].id;
    story.erase(entry).await;
    assert_eq!(record::verify(test.app.db.read(), 1).await.unwrap(), Ok(7));
    let left = record::entries_of_visit(test.app.db.read(), visit).await.unwrap();
    assert!(left[3].id == entry && left[3].body.is_none(), "who and when stay, the words are gone");
    let kept: (String, String) =
        sqlx::query_as("select law, reason from erasure").fetch_one(test.app.db.read()).await.unwrap();
    assert_eq!(kept, ("GDPR Art. 17".into(), "wrong person".into()));
    let raw = std::fs::read(test.folder().join("practice.sqlite-wal")).unwrap_or_default();
    assert!(!raw.is_empty(), "the log is where this database writes");
}

#[tokio::test]
async fn the_database_refuses_to_change_delete_or_replace_an_entry() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    whole_visit(&test, &story).await;
    for (change, why) in [
        ("update entry set body = '{}' where seq = 1", "entries_are_kept"),
        ("update entry set body = null, salt = null where seq = 1", "entries_are_kept"),
        ("update entry set seen_at = 0", "entries_are_kept"),
        ("delete from entry where seq = 7", "entries_are_kept"),
        ("delete from entry", "entries_are_kept"),
        ("insert or replace into entry (seq, id, visit_id, body, salt, digest, seen_by, entered_by, seen_at, received_at, prev, chain)
          select seq, id, visit_id, json_object('kind', 'addendum'), salt, digest, seen_by, entered_by, seen_at, received_at, prev, chain from entry where seq = 7",
         "entry_breaks_the_chain"),
        ("insert into entry (seq, id, visit_id, body, salt, digest, seen_by, entered_by, seen_at, received_at, prev, chain)
          select seq + 2, randomblob(16), visit_id, body, salt, digest, seen_by, entered_by, seen_at, received_at, chain, chain from entry where seq = 7",
         "entry_breaks_the_chain"),
    ] {
        let mut tx = test.app.db.write().await.unwrap();
        let refused = sqlx::query(change).execute(&mut *tx).await.unwrap_err().to_string();
        assert!(refused.contains(why), "{change}: {refused}");
    }
    assert_eq!(record::verify(test.app.db.read(), 1).await.unwrap(), Ok(7));
}

#[tokio::test]
async fn a_database_that_lost_its_tail_can_be_read_only() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    story.say(visit, on(clear("FETL_D", "R"), Some("RF"))).await;
    let folder = test.folder().to_owned();
    let older = folder.join("older.sqlite");
    let mut conn = behind_the_back(&test).await;
    sqlx::query("vacuum into ?").bind(older.display().to_string()).execute(&mut conn).await.unwrap();
    conn.close().await.unwrap();
    story.say(visit, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    test.app.db.close().await;
    let whole = reopen(&folder).await.expect("nothing is lost yet");
    assert_eq!(whole.trouble(), None);
    whole.close().await;
    for old in ["practice.sqlite-wal", "practice.sqlite-shm"] {
        let _ = std::fs::remove_file(folder.join(old));
    }
    std::fs::copy(&older, folder.join("practice.sqlite")).unwrap();
    for _ in 0..2 {
        let torn = reopen(&folder).await.unwrap();
        let found = torn.trouble().expect("it lost an entry");
        assert!(found.contains("entry 2 was acknowledged and is not in the database"), "{found}");
        assert!(torn.write().await.is_err(), "it was written to all the same");
        torn.close().await;
    }
}

async fn reopen(folder: &Path) -> anyhow::Result<Db> {
    Db::open(folder, At(1_773_216_000_000)).await
}
