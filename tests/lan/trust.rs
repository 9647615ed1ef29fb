//! What a device gets that does not trust the practice yet.

use limbledger::serve::authority::known_fingerprint;
use scraper::{Html, Selector};
use sha2::{Digest, Sha256};
use tempfile::TempDir;

use crate::support::{self, Server, get_plain, raw, status};

async fn served() -> (TempDir, Server) {
    let data = TempDir::new().unwrap();
    let server = Server::start(support::lan(data.path(), "127.0.0.2")).await;
    (data, server)
}

#[tokio::test]
async fn the_trust_page_is_served_by_address_without_the_fingerprint() {
    let (data, server) = served().await;
    let response = get_plain(server.address, &server.address.to_string(), "/").await;
    assert_eq!(status(&response), "200");
    let page = Html::parse_document(&response);
    let all = |css: &str| page.select(&Selector::parse(css).unwrap()).count();
    assert_eq!(all(r#"a[href="/practice-authority.crt"]"#), 1);
    assert_eq!(all(r#"[role="img"][aria-label*="https://limbledger.local:"] svg"#), 1);
    assert_eq!(all("form, script, link, img, iframe, input, [style]"), 0);
    assert!(all("ol li") > 8, "numbered steps");
    let port = server.address.port();
    assert_eq!(all(&format!(r#"a[href="https://limbledger.local:{port}/"]"#)), 1);

    let fingerprint = known_fingerprint(data.path()).unwrap();
    let shown = response.to_uppercase();
    for part in [fingerprint.clone(), fingerprint.replace(':', ""), fingerprint.replace(':', " ")] {
        assert!(!shown.contains(&part));
    }
    assert!(response.contains("the server's own screen") || response.contains("server&#39;s own screen"));
}

#[tokio::test]
async fn its_policy_allows_its_one_style_and_nothing_else() {
    let (_data, server) = served().await;
    let response = get_plain(server.address, &server.address.to_string(), "/").await;
    let policy = header(&response, "content-security-policy");
    let hash = policy.split("'sha256-").nth(1).unwrap().split('\'').next().unwrap();
    let page = Html::parse_document(&response);
    let style: String = page.select(&Selector::parse("style").unwrap()).next().unwrap().text().collect();
    assert_eq!(unbase64(hash), Sha256::digest(style).to_vec());
    assert!(policy.contains("default-src 'none'") && policy.contains("form-action 'none'"), "{policy}");
    assert!(!policy.contains("script-src") && !policy.contains("unsafe"), "{policy}");
}

fn header<'a>(response: &'a str, name: &str) -> &'a str {
    response
        .lines()
        .find_map(|line| line.strip_prefix(&format!("{name}: ")))
        .unwrap_or_else(|| panic!("{name}"))
}

fn unbase64(text: &str) -> Vec<u8> {
    let value = |letter: u8| match letter {
        b'A'..=b'Z' => letter - b'A',
        b'a'..=b'z' => letter - b'a' + 26,
        b'0'..=b'9' => letter - b'0' + 52,
        b'+' => 62,
        _ => 63,
    };
    let mut bits: Vec<bool> = Vec::new();
    for six in text.trim_end_matches('=').bytes().map(value) {
        bits.extend((0..6).rev().map(|place| six >> place & 1 == 1));
    }
    bits.chunks_exact(8).map(|eight| eight.iter().fold(0, |byte, bit| byte << 1 | u8::from(*bit))).collect()
}

#[tokio::test]
async fn everything_else_in_plain_http_is_refused_and_redirects_nowhere() {
    let (_data, server) = served().await;
    let by_address = server.address.to_string();
    for path in ["/peer", "/sign-in", "/healthz", "/static/app.css", "//", "/practice-authority.key"] {
        refused(&get_plain(server.address, &by_address, path).await);
    }
    refused(&get_plain(server.address, &server.host("limbledger.local"), "/").await);
    refused(&get_plain(server.address, &server.host("localhost"), "/practice-authority.crt").await);
    for method in ["POST", "PUT", "DELETE", "OPTIONS"] {
        let request = format!(
            "{method} / HTTP/1.1\r\nHost: {by_address}\r\nConnection: close\r\nContent-Length: 3\r\n\r\na=b"
        );
        refused(&raw(server.address, &request).await);
    }
    assert_eq!(status(&get_plain(server.address, "evil.example", "/").await), "421");
    assert_eq!(status(&get_plain(server.address, "192.168.250.250", "/").await), "421");
}

fn refused(response: &str) {
    assert_eq!(status(response), "403", "{response}");
    assert!(!response.to_lowercase().contains("\nlocation:"), "{response}");
    assert!(response.contains("https://limbledger.local:"), "says where to go: {response}");
}

#[tokio::test]
async fn head_is_answered_like_get_without_a_body() {
    let (_data, server) = served().await;
    let request = format!("HEAD / HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", server.address);
    let response = raw(server.address, &request).await;
    assert_eq!(status(&response), "200");
    assert!(response.ends_with("\r\n\r\n"), "{response}");
}
