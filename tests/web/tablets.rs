//! Several tablets on one exam: news is told cheaply, and nobody signs without knowing what is still outside.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::{SweepId, VisitId},
    record::{self, Body, Kind},
    visits,
};

use crate::{
    signing::{path, sign},
    support::{Browser, PASSWORD, TestApp, record::Story},
};

const DEVICE: &str = "0190a2f4-4c1e-7000-8000-00000000aaaa";

struct Barn {
    test: TestApp,
    visit: VisitId,
    vet: Browser,
}

impl Barn {
    async fn new() -> Self {
        let test = TestApp::new().await;
        let visit = Story::new(&test).await.visit("2026-03-11").await;
        let vet = test.signed_in(Role::Vet).await;
        Barn { test, visit, vet }
    }

    fn at(&self, what: &str) -> String {
        format!("/visits/{}/exam/{what}", self.visit)
    }

    async fn report(&self, browser: &mut Browser, unsent: &str, open: &str) -> StatusCode {
        let fields = [("device", DEVICE), ("unsent", unsent), ("open", open)];
        browser.post(&self.at("unsent"), &fields).await.status
    }

    fn minutes_later(&self, minutes: i64) {
        self.test.set_clock(self.test.now().plus_minutes(minutes));
    }

    async fn bodies(&self) -> Vec<Body> {
        let all = record::entries_of_visit(self.test.app.db.read(), self.visit).await.unwrap();
        all.into_iter().filter_map(|entry| entry.body).collect()
    }
}

#[tokio::test]
async fn news_is_a_number_and_no_news_is_nothing() {
    let mut barn = Barn::new().await;
    let page = barn.vet.get(&barn.at("").replace("exam/", "exam")).await;
    assert_eq!(page.attrs("#saved", "data-newest"), ["0"]);
    let quiet = barn.vet.get(&barn.at("changes?after=0")).await;
    assert_eq!(quiet.status, StatusCode::NO_CONTENT);
    let mut technician = barn.test.signed_in(Role::Technician).await;
    technician.submit(&barn.at("entries/nothing"), &[("place", "FETL_D.L")]).await;
    let news = barn.vet.get(&barn.at("changes?after=0")).await;
    assert_eq!((news.status, news.text.as_str()), (StatusCode::OK, r#"{"newest":1}"#));
    assert_eq!(barn.vet.get(&barn.at("changes?after=1")).await.status, StatusCode::NO_CONTENT);
}

#[tokio::test]
async fn an_open_page_that_asks_by_itself_keeps_no_tablet_unlocked() {
    let mut barn = Barn::new().await;
    for _ in 0..29 {
        barn.minutes_later(1);
        assert_eq!(barn.vet.get(&barn.at("changes?after=0")).await.status, StatusCode::NO_CONTENT);
        assert_eq!(barn.report(&mut barn.vet.clone(), "0", "yes").await, StatusCode::NO_CONTENT);
    }
    barn.minutes_later(1);
    let answer = barn.vet.get(&barn.at("changes?after=0")).await;
    assert!(answer.location().starts_with("/locked"), "{}", answer.status);
}

#[tokio::test]
async fn who_signs_is_told_which_tablets_may_hold_entries_and_says_why() {
    let mut barn = Barn::new().await;
    let mut technician = barn.test.signed_in(Role::Technician).await;
    assert_eq!(barn.report(&mut technician, "3", "yes").await, StatusCode::NO_CONTENT);
    let review = barn.vet.get(&path(barn.visit)).await;
    let told = review.texts("form .caution li");
    assert!(told[0].starts_with("Tarn Test: 3 entries wait on a tablet, last heard"), "{told:?}");

    let refused = sign(&mut barn.vet, barn.visit).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.has("#despite-error"));

    let review = barn.vet.get(&path(barn.visit)).await;
    let fields = [("password", PASSWORD), ("despite", "Tarn left for another yard")];
    let done = barn.vet.fill(&review, &path(barn.visit), &fields).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{:?}", done.texts(".errors li"));
    let signature = barn.bodies().await.pop().unwrap();
    assert_eq!(signature.kind, Kind::Signature);
    assert_eq!(signature.reason.as_deref(), Some("Tarn left for another yard"));
    assert!(signature.text.unwrap().contains("Tarn Test: 3 entries wait"));

    let late = technician.submit(&barn.at("entries/nothing"), &[("place", "FETL_D.L")]).await;
    assert_eq!(late.status, StatusCode::SEE_OTHER, "what arrives later is kept");
    assert_eq!(barn.bodies().await.len(), 2);
}

#[tokio::test]
async fn a_tablet_that_is_empty_and_closed_or_just_heard_asks_for_nothing() {
    let mut barn = Barn::new().await;
    let mut technician = barn.test.signed_in(Role::Technician).await;
    barn.report(&mut technician, "3", "yes").await;
    barn.report(&mut technician, "0", "yes").await;
    assert!(!barn.vet.get(&path(barn.visit)).await.has("#despite"), "heard just now");
    barn.minutes_later(3);
    let review = barn.vet.get(&path(barn.visit)).await;
    let told = review.texts("form .caution li");
    assert!(told[0].contains("has the exam open on a tablet"), "{told:?}");
    barn.report(&mut technician, "0", "no").await;
    barn.minutes_later(3);
    assert!(!barn.vet.get(&path(barn.visit)).await.has("#despite"), "it was left empty");
}

#[tokio::test]
async fn a_report_that_makes_no_sense_is_refused() {
    let barn = Barn::new().await;
    for unsent in ["", "-1", "many", "100001"] {
        assert_eq!(
            barn.report(&mut barn.vet.clone(), unsent, "yes").await,
            StatusCode::BAD_REQUEST,
            "{unsent}"
        );
    }
}

#[tokio::test]
async fn a_pair_of_limbs_is_two_sweeps_under_the_ids_the_tablet_gave() {
    let mut barn = Barn::new().await;
    let (left, right) = (SweepId::new().to_string(), SweepId::new().to_string());
    let fields = [("section", "LF"), ("section", "RF"), ("sweep", &left), ("sweep", &right)];
    barn.vet.submit(&barn.at("entries/sweep"), &fields).await;
    let limb = |body: &Body| (body.sweep.unwrap().to_string(), body.limb.clone().unwrap());
    let made: std::collections::BTreeSet<_> = barn.bodies().await.iter().map(limb).collect();
    assert_eq!(made, [(left, "LF".to_owned()), (right.clone(), "RF".to_owned())].into());

    barn.vet.submit(&barn.at("entries/undo"), &[("sweep", &right)]).await;
    let standing = record::current_of_visit(barn.test.app.db.read(), barn.visit).await.unwrap();
    let limbs: Vec<_> = standing.into_iter().filter_map(|entry| entry.body.unwrap().limb).collect();
    assert!(!limbs.is_empty() && limbs.iter().all(|limb| limb == "LF"), "{limbs:?}");
}

#[tokio::test]
async fn a_sweep_covers_no_more_than_a_pair() {
    let mut barn = Barn::new().await;
    for sections in [&["LF", "LH"][..], &["LF", "RF", "LH"], &["LF", "LF"], &["LF", "nose"]] {
        let fields: Vec<_> = sections.iter().map(|one| ("section", *one)).collect();
        let answer = barn.vet.submit(&barn.at("entries/sweep"), &fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{sections:?}");
    }
    assert!(barn.bodies().await.is_empty());
}

#[tokio::test]
async fn what_a_tablet_could_not_deliver_is_kept_as_a_note_or_discarded_with_a_trace() {
    let mut barn = Barn::new().await;
    barn.vet.submit(&barn.at("entries/note"), &[("note", "effusion 2, left fore fetlock")]).await;
    let note = barn.bodies().await.pop().unwrap();
    assert_eq!((note.kind, note.text.as_deref()), (Kind::Note, Some("effusion 2, left fore fetlock")));

    let without = barn.vet.submit(&barn.at("entries/discarded"), &[("note", "heat 1")]).await;
    assert_eq!(without.status, StatusCode::UNPROCESSABLE_ENTITY);
    barn.vet.submit(&barn.at("entries/discarded"), &[("note", "heat 1"), ("reason", "wrong horse")]).await;
    let history = visits::store::changes::of_visit(barn.test.app.db.read(), barn.visit).await.unwrap();
    let last = history.last().unwrap();
    assert_eq!((last.detail.as_str(), last.reason.as_str()), ("heat 1", "wrong horse"));
    assert_eq!(barn.bodies().await.len(), 1, "a discarded entry is no entry");
}
