//! What stands for a signed-in browser: made by chance, here alone, and over when it should be.

use std::collections::HashSet;

use axum::http::StatusCode;
use limbledger::accounts::{Role, Token};

use crate::support::{Browser, PASSWORD, Page, TestApp};

const PIN: &str = "284917";

async fn sign_in(browser: &mut Browser, name: &str, secret: &str) -> Page {
    browser.post("/sign-in", &[("name", name), ("password", secret)]).await
}

async fn is_out(browser: &Browser) -> bool {
    browser.clone().get("/me").await.location().starts_with("/sign-in")
}

#[tokio::test]
async fn a_token_comes_out_of_chance_and_is_kept_as_a_digest() {
    let mut seen = HashSet::new();
    let mut ones = 0;
    for _ in 0..10_000 {
        let token = Token::new().unwrap();
        ones += token.as_str().chars().map(|c| c.to_digit(16).unwrap().count_ones()).sum::<u32>();
        assert_eq!(token.as_str().len(), 64, "256 bits");
        assert!(seen.insert(token.as_str().to_owned()));
    }
    // Of 2,560,000 fair bits: 800 is one standard deviation.
    assert!(ones.abs_diff(1_280_000) < 8_000, "{ones}");

    let test = TestApp::new().await;
    let vet = test.signed_in(Role::Vet).await;
    let token = vet.cookie.clone().unwrap().split_once('=').unwrap().1.to_owned();
    let kept: Vec<Vec<u8>> =
        sqlx::query_scalar("select token_hash from session").fetch_all(test.app.db.read()).await.unwrap();
    assert_eq!(kept, [Token::presented(&token).hash()]);
}

#[tokio::test]
async fn signing_in_begins_a_session_of_its_own_and_ends_the_one_before() {
    let test = TestApp::new().await;
    let planted = format!("sid={}", "a".repeat(64));
    let mut browser = Browser { cookie: Some(planted.clone()), ..test.stranger() };
    assert_eq!(sign_in(&mut browser, "Vala Test", PASSWORD).await.status, StatusCode::SEE_OTHER);
    assert_ne!(browser.cookie.as_ref(), Some(&planted), "nobody chooses the token of somebody else");
    assert!(is_out(&Browser { cookie: Some(planted), ..test.stranger() }).await);

    let before = browser.clone();
    sign_in(&mut browser, "Dell Test", PASSWORD).await;
    assert_ne!(browser.cookie, before.cookie);
    assert!(is_out(&before).await, "who was here before is signed out");
    assert!(!is_out(&browser).await);

    browser.post("/lock", &[]).await;
    let locked = browser.clone();
    browser.post("/locked", &[("secret", PASSWORD)]).await;
    assert_ne!(browser.cookie, locked.cookie, "unlocking gives a new token");
    assert!(is_out(&locked).await && !is_out(&browser).await);
}

#[tokio::test]
async fn a_token_that_was_changed_or_is_over_opens_nothing() {
    let test = TestApp::new().await;
    let vet = test.signed_in(Role::Vet).await;
    let cookie = vet.cookie.clone().unwrap();
    let mut bent = vec![
        "sid=".to_owned(),
        cookie.to_uppercase().replace("SID", "sid"),
        format!("{cookie}0"),
        cookie[..cookie.len() - 1].to_owned(),
        cookie.replace("sid=", "__Host-sid="),
        "sid=' or 1=1 --".to_owned(),
        format!("sid={}", test.vet),
    ];
    for at in [4, 30, cookie.len() - 1] {
        let other = if &cookie[at..=at] == "0" { "1" } else { "0" };
        bent.push(format!("{}{other}{}", &cookie[..at], &cookie[at + 1..]));
    }
    for cookie in bent.into_iter().filter(|bent| *bent != cookie) {
        assert!(is_out(&Browser { cookie: Some(cookie.clone()), ..test.stranger() }).await, "{cookie}");
    }
    assert!(!is_out(&vet).await);
    let mut leaving = vet.clone();
    leaving.post("/sign-out", &[]).await;
    assert!(leaving.cookie.is_none() && is_out(&vet).await, "signed out on the server");
    assert_eq!(vet.clone().post("/locked", &[("secret", PASSWORD)]).await.location(), "/sign-in");
}

#[tokio::test]
async fn another_role_holds_from_the_next_request_on() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let (mut technician, mut desk) =
        (test.signed_in(Role::Technician).await, test.signed_in(Role::Desk).await);
    assert_eq!(technician.get("/practice/weights").await.status, StatusCode::OK);
    for (who, name, role) in [(test.technician, "Tarn Test", "desk"), (test.desk, "Dell Test", "technician")]
    {
        let path = format!("/practice/staff/{who}");
        let page = owner.get(&path).await;
        let answer = owner.fill(&page, &path, &[("name", name), ("role", role)]).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
    }
    assert_eq!(technician.get("/practice/weights").await.status, StatusCode::FORBIDDEN);
    assert_eq!(desk.get("/practice/weights").await.status, StatusCode::OK);
    assert_eq!(
        owner.submit(&format!("/practice/staff/{}/leave", test.desk), &[]).await.status,
        StatusCode::SEE_OTHER
    );
    assert!(is_out(&desk).await);
}

#[tokio::test]
async fn a_browser_locks_to_the_minute_and_a_shift_ends_after_twelve_hours() {
    let test = TestApp::new().await;
    let begun = test.now();
    let mut own = test.signed_in(Role::Vet).await;
    let mut shared = test.stranger();
    shared.post("/sign-in", &[("name", "Dell Test"), ("password", PASSWORD), ("shared", "yes")]).await;
    let at = |minutes| test.set_clock(begun.plus_minutes(minutes));
    at(9);
    assert_eq!(shared.get("/me").await.status, StatusCode::OK);
    at(19);
    assert_eq!(shared.get("/me").await.location(), "/locked?next=/me", "ten minutes after it was touched");
    at(29);
    assert_eq!(own.get("/me").await.status, StatusCode::OK);
    for minutes in (54..12 * 60).step_by(25) {
        at(minutes);
        assert_eq!(own.get("/me").await.status, StatusCode::OK, "{minutes} minutes");
    }
    at(12 * 60 - 1);
    assert_eq!(own.get("/me").await.status, StatusCode::OK);
    at(12 * 60);
    assert!(is_out(&own).await, "whatever was touched meanwhile");
}

#[tokio::test]
async fn a_pin_opens_its_own_locked_browser_and_nothing_else() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    vet.submit("/me/pin", &[("pin_current", PASSWORD), ("pin", PIN), ("pin_again", PIN)]).await;
    let mut stranger = test.stranger();
    assert_eq!(sign_in(&mut stranger, "Vala Test", PIN).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(stranger.cookie.is_none());
    assert_eq!(
        stranger.post("/locked", &[("secret", PIN)]).await.location(),
        "/sign-in",
        "no session to open"
    );

    let mut technician = test.signed_in(Role::Technician).await;
    technician.post("/lock", &[]).await;
    let answer = technician.post("/locked", &[("secret", PIN)]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "the PIN of somebody else");

    vet.post("/lock", &[]).await;
    for wrong in 0..5 {
        test.set_clock(test.now().plus_minutes(1));
        let answer = vet.post("/locked", &[("secret", "284918")]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong}");
    }
    test.set_clock(test.now().plus_minutes(1));
    let spent = vet.post("/locked", &[("secret", PIN)]).await;
    assert_eq!(spent.status, StatusCode::UNPROCESSABLE_ENTITY, "five tries are all");
    test.set_clock(test.now().plus_minutes(1));
    assert_eq!(vet.post("/locked", &[("secret", PASSWORD)]).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_person_keeps_five_browsers_and_sees_them() {
    let test = TestApp::new().await;
    let mut all = Vec::new();
    for _ in 0..6 {
        all.push(test.signed_in(Role::Desk).await);
    }
    assert!(is_out(&all[0]).await, "the oldest made room");
    let mut newest = all.pop().unwrap();
    let page = newest.get("/me").await;
    assert_eq!(page.attrs("main .lines form", "action").len(), 5);
    assert!(page.has("form[action='/sign-out']") && newest.get("/").await.has("form[action='/sign-out']"));
}
