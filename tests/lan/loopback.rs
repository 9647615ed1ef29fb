//! On loopback: plain http, and clear words when an address cannot be had.

use limbledger::serve;
use tempfile::TempDir;

use crate::support::{self, Server, get_plain, status};

#[tokio::test]
async fn loopback_serves_plain_http_and_makes_no_authority() {
    let data = TempDir::new().unwrap();
    let server = Server::start(support::loopback(&data)).await;
    assert_eq!(server.url, format!("http://{}", server.address));
    assert_eq!(server.words, None);
    let page = get_plain(server.address, &server.address.to_string(), "/peer").await;
    assert_eq!(status(&page), "200");
    assert!(page.ends_with("127.0.0.1 tls=false by_name=false"), "{page}");
    server.stop().await;
    assert!(!data.path().join("authority").exists());
}

#[tokio::test]
async fn a_taken_port_is_refused_with_what_to_do() {
    let data = TempDir::new().unwrap();
    let first = Server::start(support::loopback(&data)).await;
    let mut options = support::loopback(&data);
    options.listen = first.address;
    let words = serve::bind(options).await.err().expect("refused").to_string();
    assert!(words.contains("another program") && words.contains("--listen 127.0.0.1:"), "{words}");
}

/// 192.0.2.0/24 is kept for documentation (RFC 5737): no private network, no machine has it.
#[tokio::test]
async fn a_public_address_is_refused_before_anything_is_made() {
    let data = TempDir::new().unwrap();
    let words = serve::bind(support::lan(data.path(), "192.0.2.7")).await.err().expect("refused").to_string();
    assert!(words.contains("private network") && words.contains("--listen"), "{words}");
    assert!(!data.path().join("authority").exists());
}

#[tokio::test]
async fn an_address_of_another_machine_is_refused_with_what_to_do() {
    let data = TempDir::new().unwrap();
    let mut options = support::lan(data.path(), "10.255.254.253");
    options.announce = false;
    let words = serve::bind(options).await.err().expect("refused").to_string();
    assert!(words.contains("no such address") && words.contains("--listen 0.0.0.0:7420"), "{words}");
}

#[tokio::test]
async fn a_name_no_browser_takes_is_refused_with_what_would_do() {
    let data = TempDir::new().unwrap();
    for name in ["", "hill practice", "höhe", "-hill", "a..b", "192.168.1.5", "hill:7420", "hill."] {
        let mut options = support::loopback(&data);
        options.host_names = vec![name.to_owned()];
        let words = serve::bind(options).await.err().expect(name).to_string();
        assert!(words.contains("letters, digits and hyphens"), "{name:?}: {words}");
    }
}
