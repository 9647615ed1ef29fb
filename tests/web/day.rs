//! The day page: who is next, in which state, and what waits for whom.

use axum::http::StatusCode;
use limbledger::{accounts::Role, visits::State};

use crate::support::TestApp;

const TODAY: &str = "2026-03-11";

#[tokio::test]
async fn a_vet_begins_the_next_visit_with_one_tap() {
    let test = TestApp::new().await;
    let briar = test.horse("Briar").await;
    let later = test.visit(briar, test.vet, TODAY, (11, 0), State::Booked).await;
    let first = test.visit(briar, test.vet, TODAY, (9, 30), State::Booked).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get("/").await;
    assert_eq!(page.texts("#visits .at"), ["09:30", "11:00"]);
    assert_eq!(page.texts(".next-up h2"), ["Next 09:30 Briar"]);
    assert_eq!(page.texts(".next-up .primary"), ["Begin: Briar"]);
    let begun = vet.fill(&page, &format!("/visits/{first}/steps"), &[]).await;
    assert_eq!((begun.status, begun.location()), (StatusCode::SEE_OTHER, &*format!("/visits/{first}/exam")));
    assert_eq!(test.state_of(first).await, State::InHand);
    assert_eq!(test.state_of(later).await, State::Booked);
    let page = vet.get("/").await;
    assert_eq!(page.attrs(".next-up a.primary", "href"), [format!("/visits/{first}/exam")]);
}

#[tokio::test]
async fn the_desk_marks_who_arrived_and_sees_booking_facts_only() {
    let test = TestApp::new().await;
    let visit = test.visit(test.horse("Briar").await, test.vet, TODAY, (9, 30), State::Booked).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get("/").await;
    assert!(!page.text.contains("Begin"), "only who may examine begins");
    let done = desk.fill(&page, &format!("/visits/{visit}/steps"), &[]).await;
    assert_eq!(done.location(), "/");
    assert_eq!(test.state_of(visit).await, State::Arrived);
    let page = desk.get(&format!("/visits/{visit}")).await;
    assert!(!page.has(".subnav"), "the record's pages are not offered to the desk");
    let forbidden = desk.submit(&format!("/visits/{visit}/steps"), &[("step", "begin")]).await;
    assert_eq!(forbidden.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn what_is_left_of_earlier_days_waits_for_its_vet_alone() {
    let test = TestApp::new().await;
    let briar = test.horse("Briar").await;
    test.visit(briar, test.vet, "2026-03-09", (9, 0), State::ToSign).await;
    let page = test.signed_in(Role::Vet).await.get("/").await;
    assert_eq!(page.texts("#unsigned .line"), ["Briar"]);
    assert_eq!(page.texts("#unsigned b"), ["not signed yet"]);
    assert!(!test.signed_in(Role::Desk).await.get("/").await.has("#unsigned"));
    test.another_vet("Ulla Test").await;
    assert!(!test.signed_in_as("Ulla Test").await.get("/").await.has("#unsigned"));
}

#[tokio::test]
async fn overdue_is_said_and_cancelled_is_folded_away() {
    let test = TestApp::new().await;
    let briar = test.horse("Briar").await;
    test.visit(briar, test.vet, TODAY, (9, 0), State::Booked).await;
    test.visit(briar, test.vet, TODAY, (10, 0), State::Cancelled).await;
    let mut desk = test.signed_in(Role::Desk).await;
    assert!(!desk.get("/").await.text.contains("overdue"));
    test.set_clock(test.now().plus_minutes(20));
    let page = desk.get("/").await;
    assert_eq!(page.texts("#visits b"), ["overdue since 09:00"]);
    assert_eq!(page.texts("#visits .line").len(), 1);
    assert_eq!(page.texts("#cancelled .line").len(), 1);
}

#[tokio::test]
async fn other_days_are_reached_and_a_day_that_is_none_is_told() {
    let test = TestApp::new().await;
    test.visit(test.horse("Briar").await, test.vet, "2026-03-12", (9, 0), State::Booked).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get("/?day=2026-03-12").await;
    assert_eq!(page.texts("h1"), ["Thursday 12 March"]);
    assert_eq!(page.texts("#visits .line"), ["Briar"]);
    assert!(page.has("a[href='/?day=2026-03-11']") && page.has("a[href='/?day=2026-03-13']"));
    let page = desk.get("/?day=31+Feb+2026").await;
    assert!(page.has(".errors") && page.texts("h1")[0].starts_with("Today"));
}

#[tokio::test]
async fn two_vets_have_a_lane_each_and_one_list_by_time() {
    let test = TestApp::new().await;
    let ulla = test.another_vet("Ulla Test").await;
    let briar = test.horse("Briar").await;
    test.visit(briar, test.vet, TODAY, (9, 0), State::Booked).await;
    test.visit(briar, ulla, TODAY, (9, 30), State::Booked).await;
    let page = test.signed_in(Role::Vet).await.get("/").await;
    assert_eq!(page.texts(".lane-heads span"), ["Vala Test", "Ulla Test"], "one's own lane stands first");
    assert_eq!(page.texts("#visits .lane-1 .at"), ["09:00"]);
    assert_eq!(page.texts("#visits .lane-2 .at"), ["09:30"]);
}
