//! A visit on its own page: steps, moving, cancelling, passing on, putting right.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    record,
    visits::{State, store},
};

use crate::support::{Fixture, TestApp, battery, record::Story};

const TODAY: &str = "2026-03-11";

#[tokio::test]
async fn a_step_that_is_not_open_any_more_shows_both_sides() {
    let test = TestApp::new().await;
    let visit = test.visit(test.horse("Briar").await, test.vet, TODAY, (10, 0), State::Booked).await;
    let steps = format!("/visits/{visit}/steps");
    let mut desk = test.signed_in(Role::Desk).await;
    assert_eq!(
        desk.submit(&steps, &[("step", "did_not_come"), ("reason", "nobody answered")]).await.status,
        StatusCode::SEE_OTHER
    );
    let late = desk.submit(&steps, &[("step", "arrived")]).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert_eq!(late.texts("tbody td"), ["arrived", "did not come"]);
    assert_eq!(desk.submit(&steps, &[("step", "back")]).await.status, StatusCode::SEE_OTHER);
    assert_eq!(test.state_of(visit).await, State::Booked);
    assert_eq!(desk.submit(&steps, &[("step", "fly")]).await.status, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn a_begun_visit_goes_back_only_while_nothing_is_recorded() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = test.visit(story.horse, test.vet, TODAY, (9, 0), State::InHand).await;
    let mut vet = test.signed_in(Role::Vet).await;
    assert!(vet.get(&format!("/visits/{visit}")).await.text.contains("Back to booked"));
    story.say(visit, record::Body::new(record::Kind::Note)).await;
    assert!(!vet.get(&format!("/visits/{visit}")).await.text.contains("Back to booked"));
    let back = vet.submit(&format!("/visits/{visit}/steps"), &[("step", "back")]).await;
    assert_eq!(back.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn cancelling_asks_why_and_frees_the_time() {
    let test = TestApp::new().await;
    let briar = test.horse("Briar").await;
    let visit = test.visit(briar, test.vet, TODAY, (10, 0), State::Booked).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let steps = format!("/visits/{visit}/steps");
    let wrong = desk.submit(&steps, &[("step", "cancel"), ("reason", "  ")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.texts("#reason-error"), ["Say why it is cancelled."]);
    desk.submit(&steps, &[("step", "cancel"), ("reason", "sound again")]).await;
    assert!(desk.get(&format!("/visits/{visit}")).await.texts("#changes li")[0].contains("sound again"));
    test.visit(briar, test.vet, TODAY, (10, 0), State::Booked).await;
    let back = desk.submit(&steps, &[("step", "back")]).await;
    assert_eq!(back.status, StatusCode::CONFLICT, "its time was given away");
    assert_eq!(test.state_of(visit).await, State::Cancelled);
}

#[tokio::test]
async fn a_moved_visit_keeps_where_it_stood() {
    let test = TestApp::new().await;
    let briar = test.horse("Briar").await;
    let visit = test.visit(briar, test.vet, TODAY, (10, 0), State::Booked).await;
    test.visit(briar, test.vet, TODAY, (14, 0), State::Booked).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let action = format!("/visits/{visit}/move");
    let page = desk.get(&action).await;
    let taken = desk.fill(&page, &action, &[("start", "14:15")]).await;
    assert_eq!(taken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(taken.texts("#start-error")[0].contains("from 14:00 to 14:45"));
    let moved = desk.fill(&page, &action, &[("start", "13:00"), ("reason", "farrier comes at ten")]).await;
    assert_eq!(moved.status, StatusCode::SEE_OTHER, "{:?}", moved.texts(".errors li"));
    let change = desk.get(moved.location()).await.texts("#changes li").pop().unwrap();
    assert!(
        change.contains("from 11 Mar 2026, 10:00") && change.contains("to 11 Mar 2026, 13:00"),
        "{change}"
    );
    assert!(change.contains("farrier comes at ten") && change.contains("Dell Test"), "{change}");
    // The page that was opened before the move is stale by now.
    let stale = desk
        .submit(
            &action,
            &[
                ("version", "1"),
                ("day", TODAY),
                ("start", "16:00"),
                ("minutes", "45"),
                ("vet", &test.vet.to_string()),
                ("place", "clinic"),
            ],
        )
        .await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    battery(&mut desk, &action, &action, &[("reason", "later")]).await;
}

#[tokio::test]
async fn a_visit_begins_at_the_horse_without_a_booking() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut technician = test.signed_in(Role::Technician).await;
    let page = technician.get(&format!("/walk-in?horse={}", f.horse)).await;
    let action = format!("/horses/{}/visits", f.horse);
    let begun = technician.fill(&page, &action, &[("words", "short behind too")]).await;
    assert!(begun.location().ends_with("/exam"), "{}", begun.location());
    let visits = store::of_horse(test.app.db.read(), f.horse).await.unwrap();
    let new = visits.iter().find(|v| v.id != f.visit).unwrap();
    assert!(new.walk_in && new.state == State::InHand);
    assert_eq!(new.yard_id, Some(f.yard));
    // With a vet it is the vet's, and two at one time are no overlap: the horse is in hand already.
    let mut vet = test.signed_in(Role::Vet).await;
    assert_eq!(vet.submit(&action, &[]).await.status, StatusCode::SEE_OTHER);
    assert_eq!(vet.submit(&action, &[]).await.status, StatusCode::SEE_OTHER);
    let visits = store::of_horse(test.app.db.read(), f.horse).await.unwrap();
    assert_eq!(visits.iter().filter(|v| v.walk_in && v.vet_id == Some(test.vet)).count(), 2);
    assert_eq!(test.signed_in(Role::Desk).await.submit(&action, &[]).await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn another_horse_at_this_yard_is_one_tap_away() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let beside = test.horse("Neighbour").await;
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update visit set yard_id = ?, place = 'yard' where id = ?")
        .bind(f.yard)
        .bind(f.visit)
        .execute(&mut *tx)
        .await
        .unwrap();
    sqlx::query("update horse set yard_id = ? where id = ?")
        .bind(f.yard)
        .bind(beside)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get(&format!("/visits/{}", f.visit)).await;
    let link = format!("/walk-in?from={}", f.visit);
    assert!(page.has(&format!("a[href='{link}']")));
    assert_eq!(vet.get(&link).await.texts(".results b"), ["Neighbour"]);
}

#[tokio::test]
async fn an_exam_under_the_wrong_horse_is_moved_whole_even_when_signed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit(TODAY).await;
    story.say(visit, record::Body::new(record::Kind::Note)).await;
    story.sign(visit).await;
    let right = test.horse("Rowan").await;
    let wrong = store::get(test.app.db.read(), visit).await.unwrap().horse_id;
    let mut vet = test.signed_in(Role::Vet).await;
    let action = format!("/visits/{visit}/horse");
    assert_eq!(vet.get(&format!("{action}?q=rowan")).await.texts("#hits b"), ["Rowan"]);
    let page = vet.get(&format!("{action}?to={right}")).await;
    let silent = vet.fill(&page, &action, &[]).await;
    assert_eq!(silent.texts("#reason-error"), ["Say how it came under the wrong horse."]);
    let moved = vet.fill(&page, &action, &[("reason", "two bays in one aisle")]).await;
    assert_eq!(moved.status, StatusCode::SEE_OTHER, "{:?}", moved.texts(".errors li"));
    let now = store::get(test.app.db.read(), visit).await.unwrap();
    assert_eq!((now.horse_id, now.state), (right, State::Signed));
    let entries = record::entries_of_visit(test.app.db.read(), visit).await.unwrap();
    let trace = entries.last().and_then(|e| e.body.clone()).unwrap();
    assert_eq!(
        (trace.kind, trace.from_horse, trace.to_horse),
        (record::Kind::Moved, Some(wrong), Some(right))
    );
    assert_eq!(trace.reason.as_deref(), Some("two bays in one aisle"));
    let page = vet.get(&format!("/visits/{visit}")).await;
    assert!(page.texts("#changes li").last().unwrap().contains("to Rowan"));
    let mut desk = test.signed_in(Role::Desk).await;
    for horse in [wrong, right] {
        let told = desk.get(&format!("/horses/{horse}")).await.texts("#moves li");
        assert_eq!(told.len(), 1);
        assert!(told[0].contains("to Rowan") && !told[0].contains("two bays"), "the fact alone: {told:?}");
    }
    let again = vet
        .fill(
            &vet.clone().get(&format!("{action}?to={wrong}")).await,
            &action,
            &[("reason", "x"), ("version", "1")],
        )
        .await;
    assert_eq!(again.status, StatusCode::CONFLICT);
    assert_eq!(test.signed_in(Role::Technician).await.get(&action).await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_case_changes_hands_when_the_receiver_accepts() {
    let test = TestApp::new().await;
    let ulla = test.another_vet("Ulla Test").await;
    let visit = test.visit(test.horse("Briar").await, test.vet, TODAY, (10, 0), State::InHand).await;
    let (mut vala, mut other) = (test.signed_in(Role::Vet).await, test.signed_in_as("Ulla Test").await);
    let page = vala.get(&format!("/visits/{visit}")).await;
    let offer = format!("/visits/{visit}/handover");
    let empty = vala.fill(&page, &offer, &[]).await;
    assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(empty.has("#to-error") && empty.has("#line-error"));
    vala.fill(
        &page,
        &offer,
        &[("to", &ulla.to_string()), ("line", "blocked to the fetlock, trot up at eleven")],
    )
    .await;
    let day = other.get("/").await;
    assert!(day.texts(".next-up")[0].contains("Vala Test offers you Briar"));
    assert!(day.texts(".next-up")[0].contains("blocked to the fetlock"));
    let vet_of = async || store::get(test.app.db.read(), visit).await.unwrap().vet_id;
    assert_eq!(vet_of().await, Some(test.vet), "it stays where it is until it is accepted");
    let answer = format!("{offer}/answer");
    assert_eq!(vala.submit(&answer, &[("answer", "accept")]).await.status, StatusCode::FORBIDDEN);
    other.submit(&answer, &[("answer", "accept")]).await;
    assert_eq!(vet_of().await, Some(ulla));
    assert_eq!(other.submit(&answer, &[("answer", "decline")]).await.status, StatusCode::CONFLICT);
    let changes = other.get(&format!("/visits/{visit}")).await.texts("#changes li");
    assert!(changes.iter().any(|c| c.contains("offered")) && changes.iter().any(|c| c.contains("accepted")));
}

#[tokio::test]
async fn a_complaint_is_put_right_until_the_visit_is_signed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit(TODAY).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let action = format!("/visits/{visit}/complaints");
    let page = vet.get(&action).await;
    assert_eq!(
        vet.fill(&page, &action, &[("words-1", "left, not right"), ("site-1", "LF")]).await.status,
        StatusCode::SEE_OTHER
    );
    let old = vet.get(&action).await;
    vet.fill(&old, &action, &[("words-1", "left fore for a week")]).await;
    let fresh = limbledger::ids::SubmissionId::new().to_string();
    let stale =
        vet.fill(&old, &action, &[("words-1", "left fore since today"), ("submission", &fresh)]).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    assert_eq!(stale.texts("tbody td"), ["left fore since today", "left fore for a week"]);
    battery(&mut vet, &action, &action, &[("words-1", "lame")]).await;
    story.sign(visit).await;
    assert_eq!(vet.get(&action).await.status, StatusCode::CONFLICT);
}
