//! Copies of the practice: made, restored, and what is said when one is missing or something is damaged.

use axum::http::StatusCode;
use jiff::civil::datetime;
use limbledger::{
    accounts::Role,
    backup::{self, Kept},
    checkup::{self, Watch},
    db,
};
use sqlx::Connection;

use crate::{
    record::behind_the_back,
    support::{PASSWORD, Page, TestApp},
};

const HERE: &str = "/practice/backups";

#[tokio::test]
async fn an_owner_is_told_that_there_is_no_copy_makes_one_and_sees_the_passphrase_once() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let day = owner.get("/").await;
    assert!(day.text.contains("There is no copy of this practice yet"), "{}", day.text);
    let mut vet = test.signed_in(Role::Vet).await;
    assert!(!vet.get("/").await.text.contains("no copy of this practice"), "that is the owner's care");

    let wrong = owner.submit(&format!("{HERE}/passphrase"), &[("password", "something else entirely")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    leads_here(&owner.submit(&format!("{HERE}/passphrase"), &[("password", PASSWORD)]).await);
    let phrase = owner.get(HERE).await.texts("#the-phrase")[0].clone();
    assert_eq!(phrase.split('-').map(str::len).collect::<Vec<_>>(), [5; 5], "{phrase}");
    assert!(!owner.get(HERE).await.has("#the-phrase"), "it is shown once");
    let kept = std::fs::read_to_string(test.folder().join("recovery.key")).unwrap();
    assert!(
        !kept.contains(&phrase) && !kept.contains(&phrase.replace('-', "")),
        "what is kept is not the passphrase"
    );

    let inside = test.folder().join("copies");
    std::fs::create_dir(&inside).unwrap();
    for (folder, why) in [
        (inside.to_str().unwrap(), "lost with it"),
        ("copies", "from its root"),
        ("/no/such/folder", "no such folder"),
    ] {
        let refused = owner.submit(HERE, &plan(folder)).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(refused.text.contains(why), "{folder}: {}", refused.text);
    }
    let copies = tempfile::tempdir().unwrap();
    leads_here(&owner.submit(HERE, &plan(copies.path().to_str().unwrap())).await);
    leads_here(&owner.submit(&format!("{HERE}/now"), &[]).await);
    let names = names_in(copies.path());
    assert_eq!(names.len(), 1, "one copy and nothing beside it: {names:?}");
    let page = owner.get(HERE).await;
    assert!(page.text.contains("restored to a scratch folder and found whole"), "{}", page.text);
    assert!(!owner.get("/").await.text.contains("no copy of this practice"));
    test.set_clock(test.now().plus_minutes(49 * 60));
    let mut owner = test.signed_in(Role::Owner).await;
    assert!(owner.get("/").await.text.contains("was made 2 days 1 h ago"));
}

#[tokio::test]
async fn a_copy_is_the_practice_and_its_keys_open_with_the_passphrase_alone() {
    let test = TestApp::new().await;
    test.app.tablet_keys.open().unwrap();
    let key = std::fs::read(test.folder().join("tablets.key")).unwrap();
    let phrase = backup::make_passphrase(test.folder()).unwrap();
    let copies = tempfile::tempdir().unwrap();
    let file = copies.path().join("copy.zip");
    let made = backup::make(test.folder(), &file, test.now(), &Watch::new()).await.unwrap();
    assert!(made.keys && made.bytes > 0);
    assert_eq!(names_in(copies.path()), ["copy.zip"], "what was aside is gone");
    let again = backup::make(test.folder(), &file, test.now(), &Watch::new()).await.unwrap_err();
    assert!(again.to_string().contains("is there already"), "{again}");

    let to = tempfile::tempdir().unwrap();
    let unpacked = backup::unpack(&file, to.path(), &Watch::new()).unwrap();
    let mut conn = db::reader(to.path()).await.unwrap();
    let found = checkup::look(to.path(), &mut conn, &Watch::new()).await.unwrap();
    assert_eq!(found.faults, Vec::<String>::new());
    let staff: i64 = sqlx::query_scalar("select count(*) from staff").fetch_one(&mut conn).await.unwrap();
    assert_eq!(staff, test.count("staff").await);
    conn.close().await.unwrap();

    let sealed = unpacked.keys.unwrap();
    let raw = std::fs::read(&file).unwrap();
    assert!(!raw.windows(key.len()).any(|w| w == key), "the key stands in the copy as it is");
    let wrong = backup::open_keys(&sealed, "AAAAA-BBBBB-CCCCC-DDDDD-EEEEE", to.path()).unwrap_err();
    assert!(wrong.to_string().contains("not the recovery passphrase"), "{wrong}");
    assert!(!to.path().join("tablets.key").exists());
    let typed = phrase.to_lowercase().replace('-', " ").replace('0', "o").replace('1', "l");
    assert_eq!(backup::open_keys(&sealed, &typed, to.path()).unwrap(), 1);
    assert_eq!(std::fs::read(to.path().join("tablets.key")).unwrap(), key);
    let recovery = |folder: &std::path::Path| std::fs::read(folder.join("recovery.key")).unwrap();
    assert_eq!(
        recovery(to.path()),
        recovery(test.folder()),
        "the passphrase holds for copies of the restored one"
    );
}

#[tokio::test]
async fn a_row_that_was_changed_behind_the_back_is_found_named_and_turns_the_practice_read_only() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    desk.submit("/clients", &[("name", "Anna Marsh"), ("kind", "person")]).await;
    assert_eq!(look(&test).await, Vec::<String>::new());
    let mut conn = behind_the_back(&test).await;
    sqlx::query("update client set name = 'Anna Marsk' where name = 'Anna Marsh'")
        .execute(&mut conn)
        .await
        .unwrap();
    conn.close().await.unwrap();
    let faults = look(&test).await;
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(
        faults[0].starts_with("client row ") && faults[0].ends_with("is not as it was written"),
        "{faults:?}"
    );

    let copies = tempfile::tempdir().unwrap();
    let refused =
        backup::make(test.folder(), &copies.path().join("copy.zip"), test.now(), &Watch::new()).await;
    assert!(refused.unwrap_err().to_string().contains("damaged"), "a damaged practice makes no good copy");
    assert!(names_in(copies.path()).is_empty());

    test.app.db.turn_read_only(&faults[0]);
    let refused = desk.submit("/clients", &[("name", "Berta Loam"), ("kind", "person")]).await;
    assert_eq!(refused.status, StatusCode::SERVICE_UNAVAILABLE);
    for words in ["Damage was found", "Berta Loam"] {
        assert!(refused.text.contains(words), "{words}: {}", refused.text);
    }
    let mut vet = test.signed_in(Role::Vet).await;
    let day = vet.get("/").await;
    assert_eq!(day.status, StatusCode::OK, "who comes in can read");
    assert!(day.text.contains("The practice can be read only"), "{}", day.text);
}

#[tokio::test]
async fn a_file_that_is_gone_or_changed_is_named() {
    let test = TestApp::new().await;
    let kept = limbledger::attachments::keep(test.folder(), b"a radiograph".to_vec()).await.unwrap();
    let mut tx = test.app.db.write().await.unwrap();
    limbledger::attachments::insert(&mut tx, &kept, "application/pdf", test.now()).await.unwrap();
    tx.commit().await.unwrap();
    limbledger::attachments::keep(test.folder(), b"of nobody".to_vec()).await.unwrap();
    let mut conn = db::reader(test.folder()).await.unwrap();
    let found = checkup::look(test.folder(), &mut conn, &Watch::new()).await.unwrap();
    assert!(found.faults.is_empty() && found.files == 1 && found.orphans == 1, "{found:?}");
    let path = limbledger::attachments::path(test.folder(), &kept.name);
    std::fs::write(&path, b"a radiogrape").unwrap();
    assert_eq!(look(&test).await, [format!("attachment {} is not as it was kept", kept.name)]);
    std::fs::remove_file(&path).unwrap();
    assert_eq!(look(&test).await, [format!("attachment {} is missing", kept.name)]);
}

#[tokio::test]
async fn a_changed_line_of_the_audit_breaks_its_chain() {
    let test = TestApp::new().await;
    let mut tx = test.app.db.write().await.unwrap();
    for what in ["one", "two", "three"] {
        limbledger::audit::store::note(&mut tx, what, "", test.owner, test.now()).await.unwrap();
    }
    tx.commit().await.unwrap();
    let mut conn = behind_the_back(&test).await;
    sqlx::query("drop trigger audit_never_changed").execute(&mut conn).await.unwrap();
    sqlx::query("update audit set what = 'nothing' where what = 'two'").execute(&mut conn).await.unwrap();
    conn.close().await.unwrap();
    let faults = look(&test).await.join("; ");
    for part in
        ["audit row 2 is not as it was written", "line 2 of the audit was changed", "sqlite_schema row"]
    {
        assert!(faults.contains(part), "{part}: {faults}");
    }
}

/// The plan as it is typed, with another folder.
fn plan(folder: &str) -> [(&str, &str); 6] {
    [
        ("folder", folder),
        ("hour", "2"),
        ("keep_days", "7"),
        ("keep_weeks", "5"),
        ("keep_months", "12"),
        ("version", "1"),
    ]
}

fn leads_here(page: &Page) {
    assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, HERE), "{}", page.text);
}

#[test]
fn of_many_copies_the_newest_of_each_day_week_and_month_stays() {
    let at = |month, day, hour| datetime(2026, month, day, hour, 0, 0, 0);
    let made = [
        at(1, 31, 2),
        at(2, 1, 2),
        at(2, 28, 2),
        at(3, 1, 2),
        at(3, 2, 2),
        at(3, 9, 2),
        at(3, 10, 2),
        at(3, 10, 9),
        at(3, 11, 2),
    ];
    let go = backup::superfluous(&made, Kept { days: 2, weeks: 2, months: 3 });
    // Kept: 11 and 10 March by day (the later one of the 10th), 11 and 2 March by week (Monday the 9th and the 2nd), and
    // March, 28 February and 31 January by month.
    assert_eq!(go, [at(3, 10, 2), at(3, 9, 2), at(3, 1, 2), at(2, 1, 2)]);
    let none = Kept { days: 1, weeks: 0, months: 0 };
    assert!(backup::superfluous(&made[..1], none).is_empty(), "the last copy stays");
}

async fn look(test: &TestApp) -> Vec<String> {
    let mut conn = db::reader(test.folder()).await.unwrap();
    checkup::look(test.folder(), &mut conn, &Watch::new()).await.unwrap().faults
}

fn names_in(folder: &std::path::Path) -> Vec<String> {
    std::fs::read_dir(folder).unwrap().map(|f| f.unwrap().file_name().into_string().unwrap()).collect()
}
