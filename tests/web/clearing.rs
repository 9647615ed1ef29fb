//! An emergency with one press: booked, what stands in the way moved or set aside, and whoever has to be told listed.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::{StaffId, VisitId},
    visits::{State, store},
};

use crate::support::{Browser, Fixture, Page, TestApp};

/// The fixture's vet is out until 9:45; at 10:15 and 11:30 two horses of an owner each are booked.
async fn in_the_way(test: &TestApp) -> [VisitId; 2] {
    let mut visits = Vec::new();
    for (name, owner, hm) in [("Marram", "Abel Test", (10, 15)), ("Sedge", "Bryn Test", (11, 30))] {
        let client = test.client(owner, "0555 11 22").await;
        let horse = test.horse_of(name, client).await;
        visits.push(test.visit(horse, test.vet, "2026-03-11", hm, State::Booked).await);
    }
    [visits[0], visits[1]]
}

async fn emergency(desk: &mut Browser, f: &Fixture) -> Page {
    desk.get(&format!("/call?horse={}&answer-RF1=yes", f.horse)).await
}

async fn row(test: &TestApp, id: VisitId) -> (Option<StaffId>, i64, i64) {
    let visit = store::get(test.app.db.read(), id).await.unwrap();
    (visit.vet_id, visit.starts_at.0, visit.version)
}

#[tokio::test]
async fn one_press_books_the_emergency_and_moves_what_stands_in_its_way() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let ways = in_the_way(&test).await;
    let before = [row(&test, ways[0]).await, row(&test, ways[1]).await];
    let mut desk = test.signed_in(Role::Desk).await;
    let page = emergency(&mut desk, &f).await;
    assert_eq!(page.texts(".near button"), ["Send Vala Test and move 2"]);
    let labels = page.texts(".near label");
    assert_eq!(labels, ["Marram at 10:15", "Sedge at 11:30"]);
    let fields = [format!("move-{}", ways[0]), format!("move-{}", ways[1])];
    let selects = page.attrs(".near select", "name");
    assert_eq!(selects, fields);
    let choice =
        |name: &str, at: usize| page.attrs(&format!("select[name='{name}'] option"), "value")[at].clone();
    // The empty line, the new time, ring back.
    assert_eq!(page.attrs(&format!("select[name='{}'] option", fields[0]), "value").len(), 3);
    let (offered, ring) = (choice(&fields[0], 1), choice(&fields[1], 2));
    let take = page.attrs(".near button", "value")[0].clone();

    // Without the caller's words nothing is done, and what was chosen stays.
    let sent = [("take", take.as_str()), (&fields[0], &offered), (&fields[1], &ring)];
    let wrong = desk.fill(&page, "/call", &sent).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    let kept = wrong.attrs(&format!("select[name='{}'] option[selected]", fields[1]), "value");
    assert_eq!(kept, [ring.as_str()]);
    assert_eq!([row(&test, ways[0]).await, row(&test, ways[1]).await], before);

    let sent = [&sent[..], &[("words-1", "on three legs")]].concat();
    let done = desk.fill(&page, "/call", &sent).await;
    assert_eq!(done.location(), "/to-tell", "{:?}", done.texts(".errors li"));
    let (vet, at, version) = row(&test, ways[0]).await;
    let parts: Vec<&str> = offered.split('@').collect();
    assert_eq!((vet.unwrap().to_string().as_str(), at.to_string().as_str()), (parts[0], parts[1]));
    assert!(version > before[0].2, "its number in calendars rises");
    let (vet, at, version) = row(&test, ways[1]).await;
    assert_eq!((vet, at), (None, before[1].1), "nobody has it until it is rung back");
    assert!(version > before[1].2);

    // Whom to tell, with numbers and words, until it was done.
    let list = desk.get("/to-tell").await;
    let lines = list.texts("#to-tell li");
    assert_eq!(lines.len(), 2);
    assert!(lines[0].contains("Abel Test 0555 11 22") && lines[0].contains("Dear Abel Test"), "{}", lines[0]);
    assert!(lines[1].contains("ring back for a new time") && lines[1].contains("Bryn Test"), "{}", lines[1]);
    let day = desk.get("/").await;
    assert!(day.text.contains("To tell: 2"));
    assert!(day.texts("#visits .open").concat().contains("ring back for a time"));
    let told = list.attrs("form[action^='/to-tell/']", "action");
    assert_eq!(told.len(), 1, "a time is needed first for the other");
    desk.fill(&list, &told[0], &[]).await;
    let move_path = format!("/visits/{}/move", ways[1]);
    let page = desk.get(&move_path).await;
    let to = [("day", "2026-03-12"), ("start", "9:00"), ("vet", &test.vet.to_string())];
    assert_eq!(desk.fill(&page, &move_path, &to).await.status, StatusCode::SEE_OTHER);
    assert_eq!(desk.get("/to-tell").await.texts(".empty"), ["Everybody has been told."]);
}

#[tokio::test]
async fn what_was_promised_is_rung_back_and_what_changed_meanwhile_moves_nothing() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let ways = in_the_way(&test).await;
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update visit set promised = 1 where id = ?").bind(ways[0]).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    let mut desk = test.signed_in(Role::Desk).await;
    let page = emergency(&mut desk, &f).await;
    let name = format!("move-{}", ways[0]);
    let choices = page.texts(&format!("select[name='{name}'] option"));
    assert_eq!(choices, ["choose where it goes", "no time yet: ring back"]);
    assert_eq!(page.texts(".near label")[0], "Marram at 10:15, time promised");

    // Somebody moves one of them while the other desk reads.
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update visit set version = version + 1 where id = ?")
        .bind(ways[1])
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let take = page.attrs(".near button", "value")[0].clone();
    let count = test.count("visit").await;
    let sent = [("take", take.as_str()), ("words-1", "on three legs")];
    let late = desk.fill(&page, "/call", &sent).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert_eq!((test.count("visit").await, test.count("to_tell").await), (count, 0));
    assert_eq!(row(&test, ways[0]).await.0, Some(test.vet), "all or nothing");
}
