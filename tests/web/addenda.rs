//! After the signature: dated addenda, and late entries that are adopted or left.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::{EntryId, VisitId},
    record::{self, Body, Kind, NewEntry},
};

use crate::{
    assessment::standing,
    signing::sign,
    support::{
        PASSWORD, TestApp, battery,
        record::{Story, finding, on},
        twice,
    },
};

fn path(visit: VisitId) -> String {
    format!("/visits/{visit}/addenda")
}

/// A signed visit, and an entry that was made before the signature and arrived after it.
async fn signed_with_late(test: &TestApp, story: &Story<'_>) -> (VisitId, EntryId) {
    let visit = story.visit("2026-03-11").await;
    let done = sign(&mut test.signed_in(Role::Vet).await, visit).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    let body = on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"));
    let late = story.add(NewEntry { late: true, ..NewEntry::new(visit, body) }).await;
    (visit, late)
}

#[tokio::test]
async fn an_addendum_is_dated_named_and_leaves_the_rest_as_it_was() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    sign(&mut vet, visit).await;
    test.set_clock(test.now().plus_minutes(20));
    let page = vet.get(&path(visit)).await;
    let answer = vet.fill(&page, &path(visit), &[("words", "The owner called:\nsound since.")]).await;
    assert_eq!((answer.status, answer.location()), (StatusCode::SEE_OTHER, path(visit).as_str()));
    let page = vet.get(&path(visit)).await;
    assert_eq!(page.texts("#added b"), ["Addendum"]);
    assert_eq!(page.texts("#added .small"), ["Vala Test, 11 Mar 2026, 09:20"]);
    assert!(page.texts(".state-signed")[0].contains("Signed by Vala Test, 11 Mar 2026, 09:00"));
    let bodies: Vec<Body> = standing(&test, visit).await.into_iter().filter_map(|e| e.body).collect();
    assert_eq!(bodies.iter().map(|b| b.kind).collect::<Vec<_>>(), [Kind::Signature, Kind::Addendum]);
    assert_eq!(bodies[1].text.as_deref(), Some("The owner called:\nsound since."));
}

#[tokio::test]
async fn an_addendum_belongs_to_a_signed_visit_and_a_veterinarian() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    assert!(!vet.get(&path(visit)).await.has("main form"));
    let early = vet.submit(&path(visit), &[("words", "too early")]).await;
    assert_eq!(early.status, StatusCode::CONFLICT);
    assert!(early.text.contains("too early"), "what was typed is gone");
    sign(&mut vet, visit).await;
    for role in [Role::Technician, Role::Owner, Role::Desk] {
        let mut browser = test.signed_in(role).await;
        let seen = browser.get(&path(visit)).await;
        assert_eq!(seen.status == StatusCode::OK, role != Role::Desk, "{role}");
        assert!(!seen.has("main form"), "{role}");
        let answer = browser.submit(&path(visit), &[("words", "mine")]).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{role}");
    }
}

#[tokio::test]
async fn bad_addenda_are_refused_beside_the_field_and_a_double_tap_adds_one() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    sign(&mut vet, visit).await;
    let empty = vet.submit(&path(visit), &[("words", "  ")]).await;
    assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(empty.has("#words-error"));
    let before = standing(&test, visit).await.len();
    twice(&mut vet, &path(visit), &path(visit), &[("words", "once")]).await;
    assert_eq!(standing(&test, visit).await.len(), before + 1);
    battery(&mut vet, &path(visit), &path(visit), &[("words", "fine")]).await;
}

#[tokio::test]
async fn a_late_entry_stands_outside_until_it_is_adopted() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let (visit, late) = signed_with_late(&test, &story).await;
    let is_standing = async || standing(&test, visit).await.iter().any(|e| e.id == late);
    assert!(!is_standing().await);
    let adopt = format!("{}/adopt/{late}", path(visit));
    for role in [Role::Technician, Role::Owner, Role::Desk] {
        let answer = test.signed_in(role).await.submit(&adopt, &[]).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{role}");
    }
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get(&path(visit)).await;
    assert!(page.texts("#late .what")[0].contains("left fore fetlock, dorsal"), "{:?}", page.texts("#late"));
    let done = vet.fill(&page, &adopt, &[]).await;
    assert_eq!((done.status, done.location()), (StatusCode::SEE_OTHER, path(visit).as_str()));
    assert!(is_standing().await, "an adopted entry is part of the visit");
    let page = vet.get(&path(visit)).await;
    assert!(!page.has("#late"));
    assert_eq!(page.texts("#added b"), ["Late entry adopted"]);
    let again = vet.submit(&adopt, &[]).await;
    assert_eq!(again.status, StatusCode::CONFLICT, "once");
}

#[tokio::test]
async fn only_a_late_entry_of_this_visit_can_be_adopted() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let (visit, _) = signed_with_late(&test, &story).await;
    let (other, elsewhere) = signed_with_late(&test, &story).await;
    let signature = standing(&test, visit).await[0].id;
    let mut vet = test.signed_in(Role::Vet).await;
    for entry in [elsewhere, signature, EntryId::new()] {
        let answer = vet.submit(&format!("{}/adopt/{entry}", path(visit)), &[]).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND);
    }
    let left = record::entries_of_visit(test.app.db.read(), other).await.unwrap();
    assert!(left.iter().any(|e| e.id == elsewhere), "left alone, it is still there");
}

#[tokio::test]
async fn what_a_tablet_saw_before_the_signature_is_taken_after_it() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let seen = test.now();
    test.set_clock(seen.plus_minutes(5));
    let mut vet = test.signed_in(Role::Vet).await;
    sign(&mut vet, visit).await;
    test.set_clock(seen.plus_minutes(8));
    let mut technician = test.signed_in(Role::Technician).await;
    let (at, sent) = (seen.0.to_string(), seen.plus_minutes(8).0.to_string());
    let answer = technician
        .submit(
            &format!("/visits/{visit}/exam/vitals"),
            &[("temp_c", "38.1"), ("seen_at", &at), ("sent_at", &sent), ("password", PASSWORD)],
        )
        .await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts("main"));
    let page = vet.get(&path(visit)).await;
    assert_eq!(page.texts("#late .what").len(), 1, "{:?}", page.texts("main"));
}
