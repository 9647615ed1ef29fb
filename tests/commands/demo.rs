//! The demonstration: filled once, into an empty folder, with a record that holds together.

use limbledger::{clock::Clock, db::Db, practice, record};

use crate::support::{Running, filled, get, run, stderr, stdout};

#[tokio::test]
async fn it_fills_an_empty_folder_with_a_practice_that_holds_together() {
    let folder = tempfile::tempdir().unwrap();
    let output = filled(folder.path());
    let said = stdout(output);
    let roles: Vec<&str> = said.lines().filter_map(|line| line.split('\t').next()).collect();
    assert_eq!(roles, ["owner", "vet", "vet", "vet", "technician", "desk"]);
    let kept = folder.path().join("demo-sign-ins.tsv");
    assert_eq!(std::fs::read_to_string(&kept).unwrap(), said);
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&kept).unwrap().permissions().mode() & 0o777, 0o600);
    }

    let now = Clock::System.now();
    let db = Db::open(folder.path(), now).await.unwrap();
    assert!(practice::store::get(db.read()).await.unwrap().invented);
    let entries = record::verify(db.read(), 1).await.unwrap().unwrap();
    assert!(entries > 10_000, "{entries}");
    assert_eq!(count(&db, "select count(*) from client").await, 40);
    assert_eq!(count(&db, "select count(*) from horse").await, 90);
    assert_eq!(count(&db, "select count(*) from search_line").await, 40 + 90 + 14);
    let future = format!("select count(*) from entry where received_at > {0} or seen_at > {0}", now.0);
    assert_eq!(count(&db, &future).await, 0, "nothing was seen after the filling");
    let backward =
        "select count(*) from entry a join entry b on b.seq = a.seq + 1 where b.received_at < a.received_at";
    assert_eq!(count(&db, backward).await, 0, "the record is in the order of receipt");
    let overlaps = "select count(*) from visit a join visit b on a.vet_id = b.vet_id and a.id < b.id
        and a.starts_at < b.starts_at + b.minutes * 60000 and b.starts_at < a.starts_at + a.minutes * 60000";
    assert_eq!(count(&db, overlaps).await, 0, "a vet is in one place at a time");
}

#[tokio::test]
async fn today_has_eight_visits_and_two_were_left_open_before() {
    let folder = tempfile::tempdir().unwrap();
    filled(folder.path());
    let now = Clock::System.now();
    let db = Db::open(folder.path(), now).await.unwrap();
    let zone = practice::store::get(db.read()).await.unwrap().zone;
    let today = now.day(&zone);
    let (from, until) = (today.start(&zone).0, today.plus_days(1).start(&zone).0);
    let begins = format!("select count(*) from visit where starts_at >= {from} and starts_at < {until}");
    assert_eq!(count(&db, &begins).await, 8);
    let unsigned =
        format!("select count(*) from visit where state in ('to_sign', 'in_hand') and starts_at < {from}");
    assert_eq!(count(&db, &unsigned).await, 2, "left open before");
    assert!(count(&db, "select count(*) from handover where answered_at is null").await == 1);
}

/// Whatever the hour of filling: the eight lie in working hours, and none is further than the clock.
#[tokio::test]
async fn the_day_is_believable_at_every_hour() {
    let zone = practice::zone_here().0;
    let today = Clock::System.now().day(&zone);
    for (hm, states) in [
        ((0, 20), vec!["booked"]),
        ((9, 0), vec!["arrived", "booked", "in_hand", "signed"]),
        ((13, 30), vec!["arrived", "booked", "in_hand", "signed"]),
        ((17, 0), vec!["in_hand", "signed"]),
        ((23, 40), vec!["signed", "to_sign"]),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let now = today.at(hm.0, hm.1, &zone);
        let db = Db::open(folder.path(), now).await.unwrap();
        let hasher = limbledger::accounts::Hasher::with_cost(8, 1).unwrap();
        limbledger::demo::fill(&db, &hasher, now, 1, |_, _| ()).await.unwrap();
        let (from, until) = (today.at(8, 0, &zone).0, today.at(17, 30, &zone).0);
        let inside =
            format!("from visit where starts_at >= {from} and starts_at + minutes * 60000 <= {until}");
        assert_eq!(count(&db, &format!("select count(*) {inside}")).await, 8, "{hm:?}");
        assert_eq!(count(&db, &format!("select count(*) {inside} and urgent = 1")).await, 1, "{hm:?}");
        let sql = format!("select distinct state {inside} order by state");
        let found: Vec<String> =
            sqlx::query_scalar(sqlx::AssertSqlSafe(sql)).fetch_all(db.read()).await.unwrap();
        assert_eq!(found, states, "{hm:?}");
        for (what, wrong) in [
            (
                "seen before it began",
                format!("starts_at > {} and state in ('in_hand', 'to_sign', 'signed')", now.0),
            ),
            ("booked and past", format!("starts_at <= {} and state in ('booked', 'arrived')", now.0)),
            (
                "signed before it ended",
                format!("starts_at + minutes * 60000 > {} and state = 'signed'", now.0),
            ),
        ] {
            assert_eq!(
                count(&db, &format!("select count(*) {inside} and {wrong}")).await,
                0,
                "{hm:?}: {what}"
            );
        }
        let future = format!("select count(*) from entry where received_at > {0} or seen_at > {0}", now.0);
        assert_eq!(count(&db, &future).await, 0, "nothing was seen after the filling");
    }
}

/// Three years: with the horse that the budget of the history page is measured on, one that waits for its release after a
/// scan, and samples on their way.
#[tokio::test]
async fn three_years_hold_a_long_history_a_scan_and_samples() {
    let folder = tempfile::tempdir().unwrap();
    let now = Clock::System.now();
    let db = Db::open(folder.path(), now).await.unwrap();
    let hasher = limbledger::accounts::Hasher::with_cost(8, 1).unwrap();
    limbledger::demo::fill(&db, &hasher, now, 3, |_, _| ()).await.unwrap();
    let most = "select count(*) from visit v join horse h on h.id = v.horse_id
                where h.name = 'Tarrow Gate' and v.state = 'signed'";
    let seen = count(&db, most).await;
    assert!((60..=75).contains(&seen), "{seen}");
    assert_eq!(count(&db, "select count(*) from horse_not_released").await, 1);
    for (kind, many) in [("scan", 5), ("sample", 1), ("enzyme", 3)] {
        let sql = format!("select count(*) from entry where kind = '{kind}'");
        assert_eq!(count(&db, &sql).await, many, "{kind}");
    }
}

#[test]
fn two_fills_have_passwords_of_their_own() {
    let (one, two) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let first = stdout(filled(one.path()));
    let second = run(&["demo", "--fill-only", "--years", "1", "--data", two.path().to_str().unwrap()]);
    let second = stdout(&second);
    assert_eq!(first.lines().count(), second.lines().count());
    for (a, b) in first.lines().zip(second.lines()) {
        let (a, b): (Vec<&str>, Vec<&str>) = (a.split('\t').collect(), b.split('\t').collect());
        assert_eq!(a[..2], b[..2]);
        assert_ne!(a[2], b[2]);
        assert!(a[2].chars().count() >= 15);
    }
}

#[test]
fn a_folder_that_holds_something_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("letter.txt"), "keep me").unwrap();
    let output = run(&["demo", "--fill-only", "--data", folder.path().to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).contains("not empty"));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn it_serves_what_it_filled_and_people_sign_in() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("practice");
    let mut server = Running::start(&[
        "demo",
        "--years",
        "1",
        "--listen",
        "127.0.0.1:0",
        "--data",
        data.to_str().unwrap(),
    ]);
    for _ in 0..6 {
        assert_eq!(server.line().split('\t').count(), 3);
    }
    let line = server.line();
    let url = line.strip_prefix("listening on ").unwrap();
    assert!(get(url, "/healthz").ends_with("ok"));
    assert!(get(url, "/").contains("location: /sign-in"));
    let (code, _) = server.stop();
    assert_eq!(code, Some(0));
}

async fn count(db: &Db, sql: &str) -> i64 {
    sqlx::query_scalar(sqlx::AssertSqlSafe(sql.to_owned())).fetch_one(db.read()).await.unwrap()
}
