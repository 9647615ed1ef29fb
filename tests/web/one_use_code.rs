//! A code from the shell in place of a password: it opens the door once, and behind it a password comes first.

use axum::http::StatusCode;
use limbledger::{
    accounts::{Role, keeping, one_time_code},
    ids::StaffId,
};

use crate::support::{Browser, Page, TestApp};

const CHOSEN: &str = "lantern under the ninth gate";

/// Wenna Dray, added from the shell a moment ago.
async fn added(test: &TestApp) -> (StaffId, String) {
    let code = one_time_code().unwrap();
    let id = test.another_vet("Wenna Dray").await;
    let hash = test.app.hasher.hash(&code).await.unwrap();
    let mut tx = test.app.db.write().await.unwrap();
    keeping::set_password(&mut tx, id, &hash, None).await.unwrap();
    keeping::expect_code(&mut tx, id, test.now().plus_minutes(24 * 60)).await.unwrap();
    tx.commit().await.unwrap();
    (id, code)
}

async fn sign_in(browser: &mut Browser, secret: &str) -> Page {
    browser.post("/sign-in", &[("name", "Wenna Dray"), ("password", secret)]).await
}

#[tokio::test]
async fn it_opens_the_door_once_and_a_password_comes_first() {
    let test = TestApp::new().await;
    let (_, code) = added(&test).await;
    let mut wenna = test.stranger();
    let typed = format!(" {} ", code.to_lowercase());
    assert_eq!(sign_in(&mut wenna, &typed).await.status, StatusCode::SEE_OTHER);
    for path in ["/", "/horses", "/me", "/call"] {
        let away = wenna.get(path).await;
        assert_eq!((away.status, away.location()), (StatusCode::SEE_OTHER, "/me/first-password"), "{path}");
    }
    let clients = test.count("client").await;
    let away = wenna.submit("/clients", &[("name", "Anna Marsh"), ("kind", "person")]).await;
    assert_eq!((away.location(), test.count("client").await), ("/me/first-password", clients));

    let again = sign_in(&mut test.stranger(), &code).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "a code works once");
    assert!(again.texts("#password-error")[0].contains("used already"));

    let page = wenna.get("/me/first-password").await;
    assert_eq!(page.texts("h1"), ["Choose a password"]);
    let weak = wenna
        .fill(&page, "/me/first-password", &[("password", "password"), ("password_again", "password")])
        .await;
    assert_eq!(weak.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(weak.has("#password-error"));
    let done =
        wenna.fill(&page, "/me/first-password", &[("password", CHOSEN), ("password_again", CHOSEN)]).await;
    assert_eq!((done.status, done.location()), (StatusCode::SEE_OTHER, "/"));
    assert_eq!(wenna.get("/").await.status, StatusCode::OK);

    assert_eq!(sign_in(&mut test.stranger(), CHOSEN).await.location(), "/");
    assert_eq!(sign_in(&mut test.stranger(), &code).await.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn it_is_good_for_a_day_and_proves_nothing_but_at_the_door() {
    let test = TestApp::new().await;
    let (id, code) = added(&test).await;
    let now = test.now();
    test.set_clock(now.plus_minutes(24 * 60));
    let late = sign_in(&mut test.stranger(), &code).await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(late.texts("#password-error")[0].contains("older than a day"));
    test.set_clock(now.plus_minutes(24 * 60 - 1));
    let mut wenna = test.stranger();
    assert_eq!(sign_in(&mut wenna, &code).await.status, StatusCode::SEE_OTHER);
    wenna.post("/lock", &[]).await;
    let locked = wenna.post("/locked", &[("secret", &code)]).await;
    assert_eq!(locked.status, StatusCode::UNPROCESSABLE_ENTITY, "what opened the door does not unlock");

    // An owner gives her a password of their own; the code is history.
    let mut owner = test.signed_in(Role::Owner).await;
    let page = owner.get(&format!("/practice/staff/{id}")).await;
    let action = format!("/practice/staff/{id}/password");
    owner.fill(&page, &action, &[("password", CHOSEN), ("password_again", CHOSEN)]).await;
    let mut wenna = test.stranger();
    sign_in(&mut wenna, CHOSEN).await;
    assert_eq!(wenna.get("/").await.status, StatusCode::OK, "nothing is left to choose");
}

#[tokio::test]
async fn who_has_a_password_changes_it_with_the_old_one() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    assert_eq!(vet.get("/me/first-password").await.location(), "/me");
    let fields = [("password", CHOSEN), ("password_again", CHOSEN)];
    assert_eq!(vet.submit("/me/first-password", &fields).await.location(), "/me");
    let mut other = test.stranger();
    let answer = other.post("/sign-in", &[("name", "Vala Test"), ("password", CHOSEN)]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
}
