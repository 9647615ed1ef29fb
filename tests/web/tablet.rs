//! The key of what waits on a tablet: one an account and tablet, wrapped at rest, handed to nobody else.

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use limbledger::accounts::Role;

use crate::support::{Browser, PASSWORD, Page, TestApp};

const HERE: &str = "0199f6f0-0000-4000-8000-000000000001";
const THERE: &str = "0199f6f0-0000-4000-8000-000000000002";

async fn key(browser: &mut Browser, device: &str) -> serde_json::Value {
    let page = browser.post("/tablet/key", &[("device", device)]).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text);
    serde_json::from_str(&page.text).unwrap()
}

async fn set_pin(browser: &mut Browser, pin: &str) -> Page {
    let fields = [("pin_current", PASSWORD), ("pin", pin), ("pin_again", pin)];
    browser.submit("/me/pin", &fields).await
}

#[tokio::test]
async fn the_same_account_gets_the_same_key_again_on_the_same_tablet_and_no_other() {
    let test = TestApp::new().await;
    let (mut vet, mut desk) = (test.signed_in(Role::Vet).await, test.signed_in(Role::Desk).await);
    let first = key(&mut vet, HERE).await;
    assert_eq!(first["key"].as_str().unwrap().len(), 64, "256 bits");
    let mut later = test.signed_in(Role::Vet).await;
    assert_eq!(key(&mut later, HERE).await["key"], first["key"]);
    assert_ne!(key(&mut vet, THERE).await["key"], first["key"]);
    assert_ne!(key(&mut desk, HERE).await["key"], first["key"]);
}

#[tokio::test]
async fn a_shared_tablet_is_told_to_lock_sooner() {
    let test = TestApp::new().await;
    let mut own = test.signed_in(Role::Vet).await;
    assert_eq!(key(&mut own, HERE).await["idle_minutes"], 30);
    let mut shared = test.stranger();
    let fields = [("name", "Vala Test"), ("password", PASSWORD), ("shared", "yes")];
    shared.post("/sign-in", &fields).await;
    assert_eq!(key(&mut shared, HERE).await["idle_minutes"], 10);
}

#[tokio::test]
async fn a_key_is_no_use_to_whoever_takes_the_database_alone() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let plain = key(&mut vet, HERE).await["key"].as_str().unwrap().to_owned();
    let kept: Vec<u8> =
        sqlx::query_scalar("select wrapped_key from tablet_key").fetch_one(test.app.db.read()).await.unwrap();
    let kept = limbledger::record::hex(&kept);
    assert!(!kept.contains(&plain));
    let file = test.folder().join("tablets.key");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    }
    // Another wrapping key in its place opens nothing, and no new key is made over the old one.
    std::fs::write(&file, [7; 32]).unwrap();
    let mut app = test.app.clone();
    app.tablet_keys = limbledger::tablet::Keeper::new(test.folder()).into();
    let request = Request::post("/tablet/key")
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::COOKIE, vet.cookie.clone().unwrap())
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .body(Body::from(format!("device={HERE}")))
        .unwrap();
    let answer = tower::ServiceExt::oneshot(limbledger::router(app), request).await.unwrap();
    assert_eq!(answer.status(), StatusCode::INTERNAL_SERVER_ERROR);
}

#[tokio::test]
async fn a_locked_browser_and_another_page_get_no_key() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let body = || Body::from(format!("device={HERE}"));
    let from = |origin| {
        Request::post("/tablet/key")
            .header(header::HOST, "practice.test")
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
    };
    assert_eq!(vet.send(from("http://elsewhere.test"), body()).await.status, StatusCode::FORBIDDEN);
    let good = vet.send(from("http://practice.test"), body()).await;
    assert_eq!(good.status, StatusCode::OK);
    assert_eq!(good.headers[header::CACHE_CONTROL], "no-store");
    assert_eq!(vet.post("/tablet/key", &[("device", "mine")]).await.status, StatusCode::BAD_REQUEST);
    vet.post("/lock", &[]).await;
    let page = vet.post("/tablet/key", &[("device", HERE)]).await;
    assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, "/locked"));
    assert!(!page.text.contains("key"));
}

#[tokio::test]
async fn only_the_right_pin_is_taken_for_the_tablets_copy() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    assert_eq!(key(&mut vet, HERE).await["has_pin"], false);
    assert_eq!(set_pin(&mut vet, "284917").await.status, StatusCode::SEE_OTHER);
    assert_eq!(key(&mut vet, HERE).await["has_pin"], true);
    let wrong = vet.post("/tablet/key", &[("device", HERE), ("pin", "284918")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    let password = vet.post("/tablet/key", &[("device", HERE), ("pin", PASSWORD)]).await;
    assert_eq!(password.status, StatusCode::UNPROCESSABLE_ENTITY, "a password is no PIN");
    let right = vet.post("/tablet/key", &[("device", HERE), ("pin", "284917")]).await;
    assert_eq!(right.status, StatusCode::OK);
}

#[tokio::test]
async fn signing_out_leaves_what_waits_on_the_tablet() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.post("/sign-out", &[]).await;
    assert_eq!(
        page.headers["clear-site-data"], "\"cache\"",
        "storage is cleared by the page, when nothing waits"
    );
}

#[tokio::test]
async fn a_page_says_whose_it_is() {
    let test = TestApp::new().await;
    let page = test.signed_in(Role::Vet).await.get("/me").await;
    assert_eq!(page.attrs("meta[name=account]", "content"), [test.vet.to_string()]);
    assert_eq!(page.attrs("meta[name=account]", "data-name"), ["Vala Test"]);
    assert!(!test.stranger().get("/tablet/locked").await.has("meta[name=account]"));
}
