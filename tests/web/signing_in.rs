//! Signing in, out, locking and unlocking.

use axum::{
    body::Body,
    http::{Request, StatusCode},
};
use limbledger::{accounts::Role, record, web::Peer};

use crate::support::{PASSWORD, TestApp, record::Story};

#[tokio::test]
async fn a_stranger_is_sent_to_sign_in_and_comes_back_to_the_page_he_wanted() {
    let test = TestApp::new().await;
    let mut browser = test.stranger();
    let page = browser.get("/horses").await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);
    assert_eq!(page.location(), "/sign-in?next=/horses");
    let form = browser.get("/sign-in?next=/horses").await;
    let page = browser
        .fill(&form, "/sign-in", &[("name", "vala test"), ("password", "seven quiet barns at dawn")])
        .await;
    assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, "/horses"));
}

#[tokio::test]
async fn a_wrong_password_keeps_the_name_and_says_so_beside_the_field() {
    let test = TestApp::new().await;
    let mut browser = test.stranger();
    let page = browser.post("/sign-in", &[("name", "Vala Test"), ("password", "wrong")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.attrs("input[name=name]", "value"), ["Vala Test"]);
    assert_eq!(page.attrs("input[name=password]", "value"), [""]);
    let unknown = browser.post("/sign-in", &[("name", "Nobody"), ("password", "wrong")]).await;
    assert_eq!(unknown.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn signing_in_leads_to_no_other_host() {
    let test = TestApp::new().await;
    let out = [
        "//elsewhere.test",
        "///elsewhere.test",
        "\\\\elsewhere.test",
        "/\\elsewhere.test",
        "https://elsewhere.test",
        "https:elsewhere.test",
        "javascript:alert(1)",
        "elsewhere.test",
        " //elsewhere.test",
        "/../x",
        "./x",
        // A browser leaves tabs and line breaks out of an address (WHATWG URL, 4.4).
        "/\t/elsewhere.test",
        "\t//elsewhere.test",
        "/\n/elsewhere.test",
        "/x\r\nSet-Cookie: sid=1",
        "/\u{0}",
        "",
    ];
    for next in out {
        let mut browser = test.stranger();
        let fields = [("name", "Vala Test"), ("password", "seven quiet barns at dawn"), ("next", next)];
        let answer = browser.post("/sign-in", &fields).await;
        assert_eq!((answer.status, answer.location()), (StatusCode::SEE_OTHER, "/"), "{next:?}");
    }
}

/// RFC 6797: only over TLS and only by name; whoever was let past a warning does not hear it (8.1). A year, and whatever
/// the answer is.
#[tokio::test]
async fn a_device_that_comes_over_tls_by_name_is_told_to_insist_on_it() {
    let test = TestApp::new().await;
    for (tls, by_name) in [(true, true), (true, false), (false, true), (false, false)] {
        let from = |request: axum::http::request::Builder| {
            request
                .header("host", "practice.test")
                .header("origin", "http://practice.test")
                .header("content-type", "application/x-www-form-urlencoded")
                .extension(Peer { by_name, ..Peer::at(([192, 168, 7, 20], 4000).into(), tls) })
        };
        for (request, form) in [
            (Request::post("/sign-in"), format!("name=Vala+Test&password={}", PASSWORD.replace(' ', "+"))),
            (Request::post("/sign-in"), "name=Vala+Test&password=wrong".to_owned()),
            (Request::get("/horses"), String::new()),
            (Request::get("/static/old/app.css"), String::new()),
            (Request::get("/static/old/none.css"), String::new()),
            (Request::delete("/sign-in"), String::new()),
        ] {
            let answer = test.stranger().send(from(request), Body::from(form)).await;
            let said = answer.headers.get("strict-transport-security").map(|v| v.to_str().unwrap());
            let told = tls && by_name;
            assert_eq!(
                said,
                told.then_some("max-age=31536000"),
                "{}, tls {tls}, by name {by_name}",
                answer.status
            );
        }
    }
}

#[tokio::test]
async fn guessing_is_slowed_down() {
    let test = TestApp::new().await;
    let mut browser = test.stranger();
    for _ in 0..6 {
        browser.post("/sign-in", &[("name", "Vala Test"), ("password", "wrong")]).await;
    }
    let page = browser.post("/sign-in", &[("name", "Vala Test"), ("password", "wrong")]).await;
    assert_eq!(page.status, StatusCode::TOO_MANY_REQUESTS);
    assert!(page.headers.contains_key("retry-after"));
}

#[tokio::test]
async fn an_idle_browser_is_locked_and_a_password_unlocks_it() {
    let test = TestApp::new().await;
    let mut browser = test.signed_in(Role::Vet).await;
    test.set_clock(test.now().plus_minutes(31));
    let page = browser.get("/horses").await;
    assert_eq!(page.location(), "/locked?next=/horses");
    let wrong = browser.post("/locked", &[("secret", "123456")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    let form = browser.get("/locked?next=/horses").await;
    let page = browser.fill(&form, "/locked", &[("secret", "seven quiet barns at dawn")]).await;
    assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, "/horses"));
}

#[tokio::test]
async fn signing_out_ends_the_session_on_the_server() {
    let test = TestApp::new().await;
    let mut browser = test.signed_in(Role::Desk).await;
    let mut copy = browser.clone();
    browser.post("/sign-out", &[]).await;
    assert_eq!(copy.get("/horses").await.location(), "/sign-in?next=/horses");
}

#[tokio::test]
async fn a_change_from_elsewhere_or_from_nowhere_is_refused() {
    let test = TestApp::new().await;
    let mut browser = test.signed_in(Role::Desk).await;
    let silent = Request::post("/sign-out").header("host", "practice.test");
    assert_eq!(browser.send(silent, Body::empty()).await.status, StatusCode::FORBIDDEN);
    let foreign =
        Request::post("/sign-out").header("host", "practice.test").header("origin", "http://elsewhere.test");
    assert_eq!(browser.send(foreign, Body::empty()).await.status, StatusCode::FORBIDDEN);
    let cross =
        Request::post("/sign-out").header("host", "practice.test").header("sec-fetch-site", "cross-site");
    assert_eq!(browser.send(cross, Body::empty()).await.status, StatusCode::FORBIDDEN);
    assert_eq!(browser.get("/nowhere").await.status, StatusCode::NOT_FOUND, "still signed in");
}

#[tokio::test]
async fn every_answer_carries_the_strict_headers() {
    let test = TestApp::new().await;
    let mut browser = test.stranger();
    for path in ["/sign-in", "/healthz", "/nowhere", "/static/old/icon.svg", "/static/old/none.css"] {
        let page = browser.get(path).await;
        let header = |name: &str| page.headers.get(name).map_or("", |v| v.to_str().unwrap()).to_owned();
        assert!(header("content-security-policy").starts_with("default-src 'none'"), "{path}");
        assert_eq!(header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(header("referrer-policy"), "no-referrer", "{path}");
    }
}

#[tokio::test]
async fn a_style_carries_what_binds_a_style_and_no_more() {
    let test = TestApp::new().await;
    let style = test.stranger().get("/static/old/app.css").await;
    assert_eq!(style.headers["x-content-type-options"], "nosniff");
    assert_eq!(style.headers["cross-origin-resource-policy"], "same-origin");
    assert!(!style.headers.contains_key("content-security-policy"));
}

#[tokio::test]
async fn scripts_and_styles_are_sent_without_their_comments_and_line_for_line() {
    let test = TestApp::new().await;
    for (name, source) in [
        ("sections.js", include_str!("../../static/sections.js")),
        ("renew.js", include_str!("../../static/renew.js")),
        ("app.css", include_str!("../../static/app.css")),
    ] {
        let sent = test.stranger().get(&format!("/static/old/{name}")).await.text;
        assert_eq!(sent.lines().count(), source.lines().count(), "{name}");
        assert!(!sent.lines().any(|line| ["//", "/*"].iter().any(|c| line.trim().starts_with(c))), "{name}");
        let code = |line: &str| [';', '{', '}', ','].iter().any(|end| line.ends_with(*end));
        for (sent, line) in sent.lines().zip(source.lines()).filter(|(sent, line)| sent != line) {
            assert!(sent.is_empty() && !code(line), "{name}: {line}");
        }
    }
}

#[tokio::test]
async fn an_error_says_what_to_do_and_gives_its_number() {
    let test = TestApp::new().await;
    let page = test.signed_in(Role::Desk).await.get("/nowhere").await;
    assert_eq!(page.texts("main h1"), ["There is nothing here"]);
    assert_eq!(page.texts("main .num").len(), 1);
    assert!(page.has("main a[href='/']"));
}

#[tokio::test]
async fn words_that_meet_an_ended_session_wait_to_be_sent_again_and_are_recorded_once() {
    for (end, door, status) in
        [("/sign-out", "/sign-in", StatusCode::UNAUTHORIZED), ("/lock", "/locked", StatusCode::LOCKED)]
    {
        let test = TestApp::new().await;
        let visit = Story::new(&test).await.visit("2026-03-11").await;
        let mut vet = test.signed_in(Role::Vet).await;
        vet.post(end, &[]).await;
        let path = format!("/visits/{visit}/assessment/plan");
        let words = "Box rest, then \"walk\"\r\nin hand <daily>";
        let page = vet.submit(&path, &[("words", words), ("password", "never shown")]).await;
        assert_eq!(page.status, status);
        assert!(page.texts("#typed dd").concat().contains("in hand <daily>"), "{}", page.text);
        assert!(!page.text.contains("never shown"));
        assert_eq!(page.attrs("a.primary", "href"), [door]);

        let mut back = test.signed_in(Role::Vet).await;
        for _ in 0..2 {
            assert_eq!(back.fill(&page, &path, &[]).await.status, StatusCode::SEE_OTHER);
        }
        let all = record::entries_of_visit(test.app.db.read(), visit).await.unwrap();
        assert_eq!(all.len(), 1);
        let assessment = back.get(&format!("/visits/{visit}/assessment")).await;
        assert!(assessment.texts("main").concat().contains("in hand <daily>"));
    }
}

#[tokio::test]
async fn a_form_without_words_leads_from_an_ended_session_to_the_door() {
    let test = TestApp::new().await;
    let page = test.stranger().submit("/me/pin", &[("pin_current", PASSWORD), ("pin", "284917")]).await;
    assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, "/sign-in"));
}
