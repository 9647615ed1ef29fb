//! What the log says of the door: who came in and who was turned away, when and from where, in one line each; and nothing
//! that was typed.

use std::{
    io::{self, Write},
    sync::{Arc, Mutex},
};

use axum::{
    body::Body,
    http::{Request, header},
};
use limbledger::{accounts::Role, web::Peer};

use crate::support::{PASSWORD, TestApp};

#[derive(Clone, Default)]
struct Lines(Arc<Mutex<Vec<u8>>>);

impl Write for Lines {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Lines {
    fn all(&self) -> String {
        String::from_utf8(self.0.lock().unwrap().clone()).unwrap()
    }
}

#[tokio::test]
async fn the_door_is_told_in_whole_lines_and_nothing_that_was_typed() {
    let lines = Lines::default();
    let writer = lines.clone();
    let subscriber = tracing_subscriber::fmt()
        .with_env_filter("info,door=info")
        .with_ansi(false)
        .with_writer(move || writer.clone())
        .finish();
    // With one subscriber alone, what other tests say first on threads without any would be taken for nothing everywhere.
    let _beside = tracing::Dispatch::new(tracing_subscriber::fmt().with_writer(io::sink).finish());
    let _here = tracing::subscriber::set_default(subscriber);

    let test = TestApp::new().await;
    let secret = "canary 4b1 in a password";
    let hostile = "Vala\r\n2026-01-01T00:00:00Z WARN door: canary-9c2\u{1b}[2J\u{202e}";
    let peer = Peer::at(([192, 168, 7, 20], 4000).into(), false);
    let from_tablet = |path: &str| {
        Request::post(path)
            .extension(peer)
            .header(header::HOST, "practice.test")
            .header(header::ORIGIN, "http://practice.test")
            .header(header::USER_AGENT, "canary-9c2 agent")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
    };
    let mut browser = test.stranger();
    browser.send(from_tablet("/sign-in"), Body::from(format!("name=Vala+Test&password={secret}"))).await;
    browser.post("/sign-in", &[("name", hostile), ("password", secret)]).await;
    browser.get("/search/%0d%0acanary-9c3%1b[2J%E2%80%AE?q=canary-9c2").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let token = desk.cookie.clone().unwrap().split_once('=').unwrap().1.to_owned();
    desk.get("/practice/weights").await;
    desk.send(Request::post("/clients").header(header::HOST, "practice.test"), Body::empty()).await;
    desk.post("/lock", &[]).await;
    desk.post("/locked", &[("secret", secret)]).await;
    desk.post("/locked", &[("secret", PASSWORD)]).await;
    desk.post("/sign-out", &[]).await;
    for _ in 0..6 {
        browser.post("/sign-in", &[("name", hostile), ("password", secret)]).await;
    }

    let all = lines.all();
    let desk_id = test.desk.to_string();
    let about = |words: &str, more: &str| {
        all.lines()
            .filter(|line| line.contains("door") && line.contains(words) && line.contains(more))
            .count()
    };
    assert_eq!(about("a sign-in was refused", "address=192.168.7.20"), 1, "{all}");
    for (words, more, times) in [
        ("signed in", desk_id.as_str(), 1),
        ("a right is missing", &desk_id, 1),
        ("refused", "path=\"/clients\"", 1),
        ("unlocking was refused", &desk_id, 1),
        ("unlocked", &desk_id, 1),
        ("signed out", &desk_id, 1),
        ("a sign-in has to wait", "address=127.0.0.1", 2),
    ] {
        assert_eq!(about(words, more), times, "{words}: {all}");
    }
    for typed in [secret, "canary-9c2", &token, PASSWORD, "Dell Test"] {
        assert!(!all.contains(typed), "{typed} is in the log");
    }
    all.lines().for_each(is_whole);
}

/// It begins with its time (RFC 3339, in UTC), and holds nothing that would begin another or hide a part of it.
fn is_whole(line: &str) {
    assert_eq!(line.get(26..28), Some("Z "), "{line:?}");
    assert!(!line.contains(|c: char| c.is_control() || c == '\u{202e}'), "{line:?}");
}
