//! Every kind of answer is bound in the same way, and nothing that a request says of itself opens more than it should.

use axum::{
    Router,
    body::Body,
    http::{HeaderMap, Request, StatusCode, header, request::Builder},
    routing::get,
};
use limbledger::{
    accounts::Role,
    web::{self, Peer},
};

use crate::support::{Fixture, PASSWORD, Page, TestApp};

/// What every answer but a script and a style says, with what each begins with.
const BOUND: [(&str, &str); 6] = [
    ("content-security-policy", "default-src 'none'"),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("x-frame-options", "DENY"),
];

/// What tells a stranger which programs answer, or lets other origins read.
const NEVER_SAID: [&str; 5] = [
    "server",
    "x-powered-by",
    "access-control-allow-origin",
    "access-control-allow-credentials",
    "location-host",
];

fn here(request: Builder) -> Builder {
    request
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
}

fn said<'a>(headers: &'a HeaderMap, name: &str) -> &'a str {
    headers.get(name).map_or("", |value| value.to_str().unwrap())
}

fn bound(told: &str, page: &Page) {
    for (name, start) in BOUND {
        let value = said(&page.headers, name);
        assert!(value.starts_with(start), "{told}, {}: {name} is {value:?}", page.status);
    }
    for name in NEVER_SAID {
        assert!(!page.headers.contains_key(name), "{told}: it says {name}");
    }
    let kind = said(&page.headers, "content-type");
    let is_text = kind.starts_with("text/");
    assert!(!is_text || kind.ends_with("charset=utf-8"), "{told}: {kind:?}");
    assert!(page.text.is_empty() || !kind.is_empty(), "{told}: a body of no kind");
    if !told.contains("static") {
        assert_eq!(said(&page.headers, "cache-control"), "no-store", "{told}");
    }
}

#[tokio::test]
async fn every_kind_of_answer_is_bound() {
    let test = TestApp::new().await;
    let rows = Fixture::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let mut stranger = test.stranger();
    let mut answers = vec![
        (200, "a page", vet.get("/horses").await),
        (200, "the door", stranger.get("/sign-in").await),
        (200, "health", stranger.get("/healthz").await),
        (303, "to the door", stranger.get("/horses").await),
        (404, "nothing", vet.get("/nowhere").await),
        (404, "no horse", vet.get("/horses/0").await),
        (404, "nothing static", stranger.get("/static/old/none.css").await),
        (200, "a static picture", stranger.get("/static/old/icon.svg").await),
        (403, "a right is missing", desk.get(&format!("/visits/{}/report", rows.visit)).await),
        (400, "a form without its number", vet.post("/clients", &[("name", "A"), ("kind", "person")]).await),
        (422, "a bad form", vet.submit("/clients", &[("name", "")]).await),
        (405, "another method", vet.send(here(Request::delete("/horses")), Body::empty()).await),
        (403, "from nowhere", vet.send(Request::post("/clients").header("host", "x"), Body::empty()).await),
        (413, "too much", {
            let body = Body::from(format!("name={}", "x".repeat(1024 * 1024)));
            vet.send(here(Request::post("/clients")), body).await
        }),
    ];
    for _ in 0..6 {
        stranger.post("/sign-in", &[("name", "Nobody"), ("password", "x")]).await;
    }
    let slow = stranger.post("/sign-in", &[("name", "Nobody"), ("password", "x")]).await;
    answers.push((429, "too often", slow));
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("alter table follow_up rename to gone_with_its_words").execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    let broken = vet.get("/follow-ups").await;
    for inside in ["follow_up", "gone_with", "sqlx", "SQL", "src/", "panicked", "no such"] {
        assert!(!broken.text.contains(inside), "an error page says {inside}");
    }
    assert!(broken.has("h1") && broken.has("main a[href]"));
    answers.push((500, "a fault of ours", broken));
    for (status, told, page) in &answers {
        assert_eq!(page.status.as_u16(), *status, "{told}");
        bound(told, page);
    }
    assert_eq!(vet.get("/horses").await.status, StatusCode::OK, "and it goes on");
}

/// No page of ours does; so this one stands within the same layers.
#[tokio::test]
async fn a_handler_that_panics_is_a_fault_in_words() {
    let mut test = TestApp::new().await;
    let panics = || async { if PASSWORD.is_empty() { "whole" } else { panic!("canary-1d9") } };
    test.router =
        web::layers(Router::new().route("/", get(panics)).route("/whole", get(|| async { "whole" })));
    let page = test.stranger().get("/").await;
    assert_eq!(page.status, StatusCode::INTERNAL_SERVER_ERROR);
    assert!(page.has("h1") && !page.text.contains("canary-1d9"));
    bound("a panic", &page);
    assert_eq!(test.stranger().get("/whole").await.text, "whole");
}

#[test]
fn the_policy_leaves_nothing_open() {
    let policy = limbledger::web::headers::CONTENT_POLICY;
    for part in [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "require-trusted-types-for 'script'",
    ] {
        assert!(policy.split("; ").any(|one| one.trim() == part), "{part} is not in {policy}");
    }
    assert!(!policy.contains("unsafe") && !policy.contains('*') && !policy.contains("http"), "{policy}");
}

#[tokio::test]
async fn cookies_are_the_servers_alone() {
    let test = TestApp::new().await;
    for (tls, name) in [(true, "__Host-sid="), (false, "sid=")] {
        let peer = Peer::at(([192, 168, 7, 20], 4000).into(), tls);
        let form = format!("name=Vala+Test&password={}", PASSWORD.replace(' ', "+"));
        let answer =
            test.stranger().send(here(Request::post("/sign-in")).extension(peer), Body::from(form)).await;
        let cookie = said(&answer.headers, "set-cookie");
        assert!(cookie.starts_with(name), "{cookie}");
        let parts: Vec<&str> = cookie.split("; ").skip(1).collect();
        for part in ["HttpOnly", "SameSite=Lax", "Path=/"] {
            assert!(parts.contains(&part), "{part} is not in {cookie}");
        }
        assert_eq!(parts.contains(&"Secure"), tls, "{cookie}");
        assert!(!cookie.contains("Domain"), "{cookie}");
    }
}

#[tokio::test]
async fn no_method_but_those_of_its_page_does_anything() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    for method in ["DELETE", "PATCH", "PUT", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "PURGE", "get", "X"] {
        for path in ["/horses", "/", "/clients", "/sign-out", "/sign-in", "/static/old/app.css"] {
            let request = here(Request::builder().method(method).uri(path)).header("x-canary", "canary-5e1");
            let answer = vet.send(request, Body::empty()).await;
            assert_eq!(answer.status, StatusCode::METHOD_NOT_ALLOWED, "{method} {path}");
            assert!(!answer.text.contains("canary-5e1"), "{method} {path} sends back what it was told");
        }
    }
    assert_eq!(vet.get("/horses").await.status, StatusCode::OK, "still signed in");
}

#[tokio::test]
async fn another_origin_reads_and_changes_nothing() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let from = |origin: &str, request: Builder| {
        request.header(header::HOST, "practice.test").header(header::ORIGIN, origin.to_owned())
    };
    let form = "application/x-www-form-urlencoded";
    for origin in [
        "http://elsewhere.test",
        "null",
        "http://practice.test.elsewhere.test",
        "http://practice.test:81",
        "x",
    ] {
        let read = vet.send(from(origin, Request::get("/horses")), Body::empty()).await;
        assert!(read.headers.keys().all(|name| !name.as_str().starts_with("access-control")), "{origin}");
        let changes = from(origin, Request::post("/clients")).header(header::CONTENT_TYPE, form);
        let number = limbledger::ids::SubmissionId::new();
        let body = Body::from(format!("submission={number}&name=Anna&kind=person"));
        assert_eq!(vet.send(changes, body).await.status, StatusCode::FORBIDDEN, "{origin}");
    }
    for site in ["cross-site", "same-site", "none-such"] {
        let request = from("http://elsewhere.test", Request::post("/clients")).header("sec-fetch-site", site);
        let answer = vet.send(request, Body::from("name=Anna&kind=person")).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{site}");
    }
    // A form of another kind, which a browser sends anywhere without asking first, is no form of ours.
    for kind in ["text/plain", "application/json", "application/xml", ""] {
        let request =
            from("http://practice.test", Request::post("/clients")).header(header::CONTENT_TYPE, kind);
        let answer = vet.send(request, Body::from("name=Anna&kind=person")).await;
        assert!(answer.status.is_client_error(), "{kind}: {}", answer.status);
    }
    assert_eq!(test.count("client").await, 0);
}

/// What a proxy would say is believed of nobody: there is none in front.
#[tokio::test]
async fn what_a_proxy_would_say_changes_nothing() {
    let test = TestApp::new().await;
    let mut last = StatusCode::OK;
    for number in 0..21 {
        let peer = Peer::at(([192, 168, 7, 66], 4000).into(), false);
        let request = here(Request::post("/sign-in"))
            .extension(peer)
            .header("x-forwarded-for", format!("10.0.0.{number}"))
            .header("x-real-ip", format!("10.0.1.{number}"))
            .header("forwarded", format!("for=10.0.2.{number};proto=https;host=evil.test"));
        last = test.stranger().send(request, Body::from(format!("name=N{number}&password=x"))).await.status;
    }
    assert_eq!(last, StatusCode::TOO_MANY_REQUESTS, "one address is one address");

    let request = here(Request::post("/sign-in"))
        .header("x-forwarded-proto", "https")
        .header("x-forwarded-host", "evil.test")
        .header("x-original-url", "/practice")
        .header("x-rewrite-url", "/practice")
        .header("x-http-method-override", "DELETE");
    let form = format!("name=Vala+Test&password={}", PASSWORD.replace(' ', "+"));
    let answer = test.stranger().send(request, Body::from(form)).await;
    assert_eq!((answer.status, answer.location()), (StatusCode::SEE_OTHER, "/"));
    assert!(!said(&answer.headers, "set-cookie").contains("Secure"));
    let request =
        Request::get("/sign-in").header("host", "practice.test").header("x-forwarded-host", "evil.test");
    assert!(!test.stranger().send(request, Body::empty()).await.text.contains("evil.test"));
}
