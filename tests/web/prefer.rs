//! `Prefer: return=minimal` (RFC 7240): a tablet is told what became of a form and is led nowhere.

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use limbledger::{accounts::Role, ids::SubmissionId, record};

use crate::support::{Browser, Fixture, Page, TestApp};

/// Sends a form as the tablet's queue does.
async fn send(browser: &mut Browser, path: &str, account: &str, fields: &[(&str, &str)]) -> Page {
    let body = fields.iter().map(|(name, value)| format!("{name}={value}")).collect::<Vec<_>>().join("&");
    let request = Request::post(path)
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header("prefer", "respond-async, Return = minimal; foo=1")
        .header("for-account", account);
    browser.send(request, Body::from(body)).await
}

struct Tablet {
    test: TestApp,
    browser: Browser,
    path: String,
    me: String,
    rows: Fixture,
}

impl Tablet {
    async fn new() -> Self {
        let test = TestApp::new().await;
        let rows = Fixture::new(&test).await;
        let browser = test.signed_in(Role::Vet).await;
        let path = format!("/visits/{}/exam/entries/nothing", rows.visit);
        let me = test.vet.to_string();
        Tablet { test, browser, path, me, rows }
    }

    async fn tap(&mut self, submission: &str, place: &str) -> Page {
        let fields = [("submission", submission), ("place", place)];
        send(&mut self.browser, &self.path, &self.me, &fields).await
    }

    async fn entries(&self) -> usize {
        record::entries_of_visit(self.test.app.db.read(), self.rows.visit).await.unwrap().len()
    }
}

fn applied(page: &Page) -> bool {
    page.headers.get("preference-applied").is_some_and(|value| value == "return=minimal")
}

#[tokio::test]
async fn a_taken_form_is_answered_with_nothing_and_so_is_its_repeat() {
    let mut tablet = Tablet::new().await;
    let submission = SubmissionId::new().to_string();
    for _ in 0..2 {
        let answer = tablet.tap(&submission, "FETL_D.L").await;
        assert_eq!(answer.status, StatusCode::NO_CONTENT);
        assert!(applied(&answer));
        assert!(!answer.headers.contains_key(header::LOCATION));
        assert!(!answer.headers.contains_key(header::CONTENT_TYPE));
    }
    assert_eq!(tablet.entries().await, 1);
}

#[tokio::test]
async fn without_the_preference_a_taken_form_leads_on_as_ever() {
    let mut tablet = Tablet::new().await;
    let path = tablet.path.clone();
    let answer = tablet.browser.submit(&path, &[("place", "FETL_D.L")]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert!(!applied(&answer));
}

#[tokio::test]
async fn a_faulty_form_is_answered_with_its_page() {
    let mut tablet = Tablet::new().await;
    let answer = tablet.tap(&SubmissionId::new().to_string(), "NOSE").await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(applied(&answer));
    assert!(answer.has(".errors li"), "the page says what is wrong");
    assert_eq!(tablet.entries().await, 0);
}

#[tokio::test]
async fn a_session_that_ended_is_told_from_one_that_is_locked() {
    let mut tablet = Tablet::new().await;
    tablet.browser.post("/lock", &[]).await;
    let locked = tablet.tap(&SubmissionId::new().to_string(), "FETL_D.L").await;
    assert_eq!((locked.status, applied(&locked)), (StatusCode::LOCKED, true));
    assert!(!locked.headers.contains_key(header::LOCATION));

    tablet.browser.cookie = None;
    let ended = tablet.tap(&SubmissionId::new().to_string(), "FETL_D.L").await;
    assert_eq!((ended.status, applied(&ended)), (StatusCode::UNAUTHORIZED, true));
    // RFC 9110, 15.5.2: a 401 carries a challenge.
    assert!(ended.headers.contains_key(header::WWW_AUTHENTICATE));
    assert_eq!(tablet.entries().await, 0);
}

#[tokio::test]
async fn nobody_sends_what_another_account_kept() {
    let mut tablet = Tablet::new().await;
    tablet.me = tablet.test.technician.to_string();
    let answer = tablet.tap(&SubmissionId::new().to_string(), "FETL_D.L").await;
    assert_eq!(answer.status, StatusCode::UNAUTHORIZED);
    assert_eq!(tablet.entries().await, 0);
}

#[tokio::test]
async fn refusals_keep_their_status() {
    let mut tablet = Tablet::new().await;
    let mut desk = tablet.test.signed_in(Role::Desk).await;
    let desk_id = tablet.test.desk.to_string();
    let submission = SubmissionId::new().to_string();
    let fields = [("submission", submission.as_str()), ("place", "FETL_D.L")];
    let forbidden = send(&mut desk, &tablet.path, &desk_id, &fields).await;
    assert_eq!((forbidden.status, applied(&forbidden)), (StatusCode::FORBIDDEN, true));
    tablet.path = tablet.path.replace(&tablet.rows.visit.to_string(), &SubmissionId::new().to_string());
    let missing = tablet.tap(&SubmissionId::new().to_string(), "FETL_D.L").await;
    assert_eq!((missing.status, applied(&missing)), (StatusCode::NOT_FOUND, true));
}

#[tokio::test]
async fn before_set_up_nothing_counts_as_taken() {
    let test = TestApp::bare(Some("code")).await;
    let path = format!("/visits/{}/exam/entries/nothing", SubmissionId::new());
    let answer = send(&mut test.stranger(), &path, "nobody", &[("place", "FETL_D.L")]).await;
    assert_eq!(answer.status, StatusCode::SERVICE_UNAVAILABLE);
}
