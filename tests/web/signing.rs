//! The signature: what is reviewed, who may, what it takes, and that nothing moves afterwards.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    catalogue::{Limb, Section, sweep_places},
    ids::{EntryId, HandoverId, SweepId, VisitId},
    record::{self, Body, Kind, NewEntry},
    visits::{self, State},
};

use crate::{
    assessment::{set_state, standing, write},
    support::{
        Browser, PASSWORD, Page, TestApp,
        record::{Story, clear, finding, gait, on},
    },
};

pub fn path(visit: VisitId) -> String {
    format!("/visits/{visit}/sign")
}

/// Opens the review and signs.
pub async fn sign(browser: &mut Browser, visit: VisitId) -> Page {
    let review = browser.get(&path(visit)).await;
    browser.fill(&review, &path(visit), &[("password", PASSWORD)]).await
}

async fn state(test: &TestApp, visit: VisitId) -> State {
    visits::store::get(test.app.db.read(), visit).await.unwrap().state
}

async fn run(test: &TestApp, sql: &'static str) {
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query(sql).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

#[tokio::test]
async fn signing_takes_the_password_locks_the_visit_and_sums_it_up() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    story.say(visit, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    story.say(visit, on(clear("FETL_D", "R"), Some("RF"))).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let review = vet.get(&path(visit)).await;
    assert_eq!(review.texts("form button.primary"), ["Sign Briar’s visit"]);
    let done = vet.fill(&review, &path(visit), &[("password", PASSWORD)]).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{:?}", done.texts(".errors li"));
    let signed = visits::store::get(test.app.db.read(), visit).await.unwrap();
    assert_eq!(
        (signed.state, signed.signed_by, signed.signed_at),
        (State::Signed, Some(test.vet), Some(test.now()))
    );
    let last = standing(&test, visit).await.pop().unwrap();
    let body = last.body.unwrap();
    assert_eq!(body.kind, Kind::Signature);
    let summary = body.text.unwrap();
    for part in [
        format!("horse {}", story.horse),
        format!("signer {}", test.vet),
        "examined 2; abnormal 1; not examined ".into(),
        "swept 0 in 0".into(),
    ] {
        assert!(summary.contains(&part), "{part} is not in {summary}");
    }
    let next = vet.get(done.location()).await;
    assert!(next.texts("#status")[0].contains("Briar's visit is signed"));
}

#[tokio::test]
async fn a_pin_does_not_sign_and_neither_does_a_wrong_password() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let pin = test.app.hasher.hash("314159").await.unwrap();
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update staff set pin_hash = ?").bind(pin).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    let mut vet = test.signed_in(Role::Vet).await;
    // The PIN is good for unlocking, so it is the PIN that is refused and not a mistyped one.
    vet.post("/lock", &[]).await;
    assert_eq!(vet.post("/locked", &[("secret", "314159")]).await.status, StatusCode::SEE_OTHER);
    for secret in ["314159", "wrong", ""] {
        let review = vet.get(&path(visit)).await;
        let page = vet.fill(&review, &path(visit), &[("password", secret)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{secret}");
        assert!(page.has("#password-error") && page.attrs("#password", "value") == [""], "{secret}");
    }
    assert_eq!(state(&test, visit).await, State::InHand);
    assert!(standing(&test, visit).await.is_empty());
}

#[tokio::test]
async fn guessing_the_password_is_slowed_down() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let mut last = StatusCode::OK;
    for _ in 0..7 {
        last = vet.submit(&path(visit), &[("password", "guess")]).await.status;
    }
    assert_eq!(last, StatusCode::TOO_MANY_REQUESTS);
    let right = vet.submit(&path(visit), &[("password", PASSWORD)]).await;
    assert_eq!(right.status, StatusCode::TOO_MANY_REQUESTS, "the right one has to wait too");
}

#[tokio::test]
async fn only_a_licensed_veterinarian_signs() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    for role in [Role::Technician, Role::Desk, Role::Owner] {
        let mut browser = test.signed_in(role).await;
        assert_eq!(browser.get(&path(visit)).await.status, StatusCode::FORBIDDEN, "{role}");
        let answer = browser.submit(&path(visit), &[("password", PASSWORD), ("version", "1")]).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{role}");
    }
    assert_eq!(state(&test, visit).await, State::InHand);
    run(&test, "update staff set licensed = 1 where role = 'owner'").await;
    let mut owner = test.signed_in(Role::Owner).await;
    assert_eq!(sign(&mut owner, visit).await.status, StatusCode::SEE_OTHER);
    let signed = visits::store::get(test.app.db.read(), visit).await.unwrap();
    assert_eq!(signed.signed_by, Some(test.owner));
}

#[tokio::test]
async fn the_review_says_what_was_not_examined_and_what_came_from_sweeps() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let before = count(&vet.get(&path(visit)).await, "not examined");
    let swept = sweep_places(Section::Limb(Limb::LF));
    let sweep = Some(SweepId::new());
    let rows = swept.iter().map(|p| {
        let limb = p.limb().map(Limb::code);
        Body { sweep, ..on(clear(&p.region().code, p.side().code()), limb) }
    });
    story.say_all(visit, rows.collect()).await;
    story.say(visit, gait("LF", "WLK_S", 0.0, "aaep_0_5")).await;
    let page = vet.get(&path(visit)).await;
    assert_eq!(count(&page, "places examined"), swept.len());
    assert_eq!(count(&page, "not examined"), before - swept.len());
    assert_eq!(count(&page, "gait grades"), 1);
    assert_eq!(count(&page, "flexion tests"), 0);
    let lists = page.texts("main li");
    let said = format!("{} rows", swept.len());
    let line = lists.iter().find(|l| l.starts_with("left fore limb, from ")).expect("the sweep is not named");
    assert!(line.contains(&said), "{line}");
    let folds = page.texts("details summary");
    assert!(folds.iter().any(|f| f.starts_with("right hind foot: none of ")), "{folds:?}");
}

/// The number before these words among the sums.
fn count(page: &Page, words: &str) -> usize {
    let sums = page.texts(".sums li");
    let sum = sums.iter().find(|s| s.ends_with(words)).unwrap_or_else(|| panic!("{words} not in {sums:?}"));
    sum.split(' ').next().unwrap().parse().unwrap()
}

#[tokio::test]
async fn the_review_names_overrides_other_hands_and_what_is_missing() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let warned = vet.get(&path(visit)).await.texts(".caution li");
    assert!(
        warned.iter().any(|l| l.contains("No plan")) && warned.iter().any(|l| l.contains("No problem")),
        "{warned:?}"
    );
    let reason = Some("radiographs clear, owner insists".to_owned());
    story.say(visit, Body { code: Some("CI_FRAC".into()), reason, ..Body::new(Kind::Override) }).await;
    for (part, fields) in [
        ("history", vec![("words", "lame")]),
        ("problem", vec![("words", "bruise"), ("certainty", "likely")]),
        ("plan", vec![("words", "rest")]),
        ("follow-up", vec![("words", "look again"), ("due", "1")]),
    ] {
        write(&mut vet, visit, part, &fields).await;
    }
    let page = vet.get(&path(visit)).await;
    let told = page.texts("main").join(" ");
    assert!(told.contains("radiographs clear, owner insists"));
    assert!(told.contains("suspected or known fracture"));
    assert!(told.contains("Tarn Test: 1 entry"), "the technician typed one: {told}");
    assert!(told.contains("bruise") && told.contains("look again"));
    assert_eq!(page.texts(".caution li"), ["No place of the horse was examined."]);
    // A warning is no wall.
    assert_eq!(sign(&mut vet, visit).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn what_arrives_after_the_review_is_shown_before_it_is_signed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    story.say(visit, on(clear("FETL_D", "R"), Some("RF"))).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let review = vet.get(&path(visit)).await;
    story.say(visit, on(finding("FETL_D", "L", "EFF", 3.0, "effusion_0_4"), Some("LF"))).await;
    let page = vet.fill(&review, &path(visit), &[("password", PASSWORD)]).await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    let news = page.texts("#errors li");
    assert_eq!(news.len(), 1);
    assert!(news[0].contains("left fore fetlock, dorsal"), "{news:?}");
    assert_eq!(state(&test, visit).await, State::InHand);
    let done = vet.fill(&page, &path(visit), &[("password", PASSWORD)]).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER, "the page that showed it signs");
}

#[tokio::test]
async fn a_visit_that_changed_meanwhile_is_not_signed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let review = vet.get(&path(visit)).await;
    run(&test, "update visit set version = version + 1").await;
    let page = vet.fill(&review, &path(visit), &[("password", PASSWORD)]).await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    assert_eq!(page.attrs("a.primary", "href"), [path(visit)]);
    assert!(standing(&test, visit).await.is_empty(), "no signature without its visit");
}

#[tokio::test]
async fn signing_twice_signs_once() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let (first, other) = (vet.get(&path(visit)).await, vet.get(&path(visit)).await);
    let fields = [("password", PASSWORD)];
    let one = vet.fill(&first, &path(visit), &fields).await;
    let again = vet.fill(&first, &path(visit), &fields).await;
    assert_eq!((again.status, again.location()), (StatusCode::SEE_OTHER, one.location()));
    let elsewhere = vet.fill(&other, &path(visit), &fields).await;
    assert_eq!(elsewhere.status, StatusCode::CONFLICT, "a second page is told that it is signed");
    let signatures = standing(&test, visit).await;
    assert_eq!(signatures.len(), 1);
}

#[tokio::test]
async fn only_a_visit_in_hand_is_signed_and_an_open_hand_over_is_answered_first() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    for named in ["booked", "arrived", "did_not_come", "cancelled"] {
        let visit = story.visit("2026-03-11").await;
        set_state(&test, visit, named).await;
        assert!(!vet.get(&path(visit)).await.has("#password"), "{named}");
        let answer = vet.submit(&path(visit), &[("password", PASSWORD), ("version", "1")]).await;
        assert_eq!(answer.status, StatusCode::CONFLICT, "{named}");
    }
    let visit = story.visit("2026-03-11").await;
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("insert into handover (id, visit_id, from_id, to_id, line, offered_at) values (?, ?, ?, ?, 'yours', 1)")
        .bind(HandoverId::new())
        .bind(visit)
        .bind(test.vet)
        .bind(test.owner)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let review = vet.get(&path(visit)).await;
    assert!(!review.has("#password") && review.texts(".stop-strip")[0].contains("yours"));
    let answer = vet.submit(&path(visit), &[("password", PASSWORD), ("version", "1")]).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    run(&test, "update handover set answered_at = 2, accepted = 0").await;
    assert_eq!(sign(&mut vet, visit).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn after_signing_every_way_to_write_is_closed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    write(&mut vet, visit, "plan", &[("words", "rest")]).await;
    let entry = standing(&test, visit).await[0].id;
    assert_eq!(sign(&mut vet, visit).await.status, StatusCode::SEE_OTHER);
    let before = record::entries_of_visit(test.app.db.read(), visit).await.unwrap().len();
    let base = format!("/visits/{visit}/assessment");
    let mut routes: Vec<String> = ["history", "problem", "block", "image", "treatment", "plan", "follow-up"]
        .map(|p| format!("{base}/{p}"))
        .into();
    routes.extend([
        format!("{base}/entries/{entry}"),
        format!("{base}/entries/{entry}/withdraw"),
        path(visit),
    ]);
    let fields = [
        ("words", "typed after"),
        ("certainty", "likely"),
        ("due", "1"),
        ("reason", "why"),
        ("password", PASSWORD),
    ];
    for route in routes {
        let answer = vet.submit(&route, &fields).await;
        assert_eq!(answer.status, StatusCode::CONFLICT, "{route}");
        if route != path(visit) {
            assert!(answer.text.contains("typed after"), "{route}: what was typed is gone");
            assert_eq!(answer.attrs("a.primary", "href"), [format!("/visits/{visit}/addenda")], "{route}");
        }
    }
    let after = record::entries_of_visit(test.app.db.read(), visit).await.unwrap().len();
    assert_eq!(after, before);
    let page = vet.get(&base).await;
    assert!(!page.has("main form") && page.texts(".caution strong").contains(&"Signed.".to_owned()));
    assert!(!vet.get(&path(visit)).await.has("#password"));
}

#[tokio::test]
async fn the_database_itself_refuses_what_would_change_a_signed_visit() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    sign(&mut test.signed_in(Role::Vet).await, visit).await;
    let mut tx = test.app.db.write().await.unwrap();
    let stamp = record::Stamp {
        seen_by: test.vet,
        entered_by: test.vet,
        device: String::new(),
        seen_at: test.now(),
        received_at: test.now(),
        offset_ms: 0,
    };
    let new = NewEntry { id: EntryId::new(), ..NewEntry::new(visit, Body::new(Kind::Plan)) };
    let refused = record::append(&mut tx, &stamp, &[new]).await.unwrap_err();
    assert!(format!("{refused:#}").contains("visit_is_signed"), "{refused:#}");
    for sql in [
        "update visit set state = 'in_hand', signed_by = null, signed_at = null",
        "update visit set signed_at = 5",
    ] {
        let refused = sqlx::query(sql).execute(&mut *tx).await.unwrap_err();
        assert!(refused.to_string().contains("visit_is_signed"), "{sql}: {refused}");
    }
    assert!(sqlx::query("delete from visit").execute(&mut *tx).await.is_err());
}

#[tokio::test]
async fn what_the_record_must_hold_stands_on_the_review_with_where_it_is_entered_and_stops_nobody() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let sign = format!("/visits/{visit}/sign");
    let unknown = vet.get(&sign).await.texts("#contents").join(" ");
    assert!(unknown.contains("not entered whose rules hold"), "{unknown}");
    let mut owner = test.signed_in(Role::Owner).await;
    let place = [("version", "1"), ("jurisdiction", "US"), ("address", "Mill Lane 1"), ("phone", "0555 1")];
    assert!(owner.submit("/practice/prescribing", &place).await.status.is_redirection());
    let line = |page: &crate::support::Page, name: &str| {
        page.texts("#contents li").into_iter().find(|line| line.contains(name)).unwrap()
    };
    let page = vet.get(&sign).await;
    assert!(line(&page, "The temperature").ends_with(" not there"), "{}", line(&page, "The temperature"));
    assert!(line(&page, "Each medicine").ends_with("does not arise"));
    assert!(line(&page, "Who the veterinarian is").ends_with("published) there"));
    assert!(page.has(&format!("#contents a[href='/visits/{visit}/exam']")));
    vet.submit(&format!("/visits/{visit}/exam/vitals"), &[("temp_c", "37.8")]).await;
    let words = Body { text: Some("something for the pain".into()), ..Body::new(Kind::Treatment) };
    story.say(visit, words).await;
    let page = vet.get(&sign).await;
    assert!(
        line(&page, "The temperature").ends_with("published) there"),
        "{}",
        line(&page, "The temperature")
    );
    assert!(line(&page, "Each medicine").ends_with(" not there"), "words alone are no dose");
    let signed = vet.fill(&page, &sign, &[("password", PASSWORD)]).await;
    assert_eq!(signed.status, StatusCode::SEE_OTHER, "{:?}", signed.texts(".error"));
}
