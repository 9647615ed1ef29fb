//! Who is due and overdue, and how each is closed.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    clock::Day,
    followups::store::{self, NewFollowUp},
    ids::{FollowUpId, HorseId},
};

use crate::support::{Fixture, TestApp};

async fn due(test: &TestApp, horse: HorseId, day: &str, what: &str) -> FollowUpId {
    let mut tx = test.app.db.write().await.unwrap();
    let new = NewFollowUp { horse, visit: None, due_on: day.parse::<Day>().unwrap(), what: what.into() };
    let id = store::insert(&mut tx, &new, test.vet, test.now()).await.unwrap();
    tx.commit().await.unwrap();
    id
}

async fn state(test: &TestApp, id: FollowUpId) -> String {
    store::get(test.app.db.read(), id).await.unwrap().state
}

#[tokio::test]
async fn the_list_is_divided_by_when_it_is_due() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    for (day, what) in [
        ("2026-03-10", "recheck"),
        ("2026-03-11", "call"),
        ("2026-03-18", "trot up"),
        ("2026-03-19", "x-ray"),
    ] {
        due(&test, horse, day, what).await;
    }
    let page = test.signed_in(Role::Desk).await.get("/follow-ups").await;
    assert_eq!(page.texts("#overdue .what"), ["recheck"]);
    assert_eq!(page.texts("#week .what"), ["call", "trot up"]);
    assert_eq!(page.texts("#later .what"), ["x-ray"]);
}

#[tokio::test]
async fn booking_one_closes_the_circle() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let id = due(&test, f.horse, "2026-03-10", "recheck the left fore").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let list = desk.get("/follow-ups").await;
    let link = format!("/call?horse={}&follow_up={id}", f.horse);
    assert!(list.attrs("a.button", "href").contains(&link));
    let page = desk.get(&link).await;
    assert!(page.text.contains("recheck the left fore"));
    let fields = [("words-1", "recheck"), ("slot", &*format!("{}@10:30", test.vet))];
    assert_eq!(desk.fill(&page, "/call", &fields).await.status, StatusCode::SEE_OTHER);
    assert_eq!(state(&test, id).await, "booked");
    let visit = store::get(test.app.db.read(), id).await.unwrap().booked_visit_id.unwrap();
    assert!(desk.get("/follow-ups").await.has("#booked"));
    let steps = format!("/visits/{visit}/steps");
    desk.submit(&steps, &[("step", "did_not_come"), ("reason", "nobody answered")]).await;
    assert_eq!(state(&test, id).await, "open", "it did not come, so it is still owed");
    assert_eq!(desk.get("/follow-ups").await.texts("#overdue .what"), ["recheck the left fore"]);
}

#[tokio::test]
async fn one_is_done_or_dropped_with_a_reason_once() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let (first, second) =
        (due(&test, horse, "2026-03-10", "recheck").await, due(&test, horse, "2026-03-10", "call").await);
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get("/follow-ups").await;
    assert_eq!(
        desk.fill(&page, &format!("/follow-ups/{first}/done"), &[]).await.status,
        StatusCode::SEE_OTHER
    );
    assert_eq!(state(&test, first).await, "done");
    let drop = format!("/follow-ups/{second}/drop");
    let silent = desk.fill(&page, &drop, &[]).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(silent.texts(&format!("[id='reason-{second}-error']")), ["Say why it is dropped."]);
    desk.fill(&page, &drop, &[("reason", "the owner calls when needed")]).await;
    assert_eq!(state(&test, second).await, "dropped");
    let late = desk.submit(&drop, &[("version", "1"), ("reason", "again")]).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert!(desk.get("/follow-ups").await.has(".empty"));
}

#[tokio::test]
async fn a_horse_that_is_gone_is_listed_to_be_closed_and_not_to_be_booked() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    due(&test, horse, "2026-03-10", "recheck").await;
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update horse set status = 'sold', status_on = '2026-03-01' where id = ?")
        .bind(horse)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let page = test.signed_in(Role::Desk).await.get("/follow-ups").await;
    assert_eq!(page.texts("#gone .what"), ["recheck"]);
    assert!(!page.has("#overdue") && !page.has("a[href^='/call?horse']"));
}

#[tokio::test]
async fn the_reason_takes_bad_input() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    for _ in 0..12 {
        due(&test, horse, "2026-03-10", "recheck").await;
    }
    let mut desk = test.signed_in(Role::Desk).await;
    let long = "x".repeat(10_000);
    for bad in ["\u{1}", "<script>alert(1)</script>", "🐴", long.as_str()] {
        let page = desk.get("/follow-ups").await;
        let drop = page.attrs("form[action$=drop]", "action").remove(0);
        let answer = desk.fill(&page, &drop, &[("reason", bad)]).await;
        assert!(
            matches!(answer.status, StatusCode::SEE_OTHER | StatusCode::UNPROCESSABLE_ENTITY),
            "{bad:.20}: {}",
            answer.status
        );
        assert!(!answer.text.contains("<script>alert("));
    }
}
