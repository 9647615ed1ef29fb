//! Which hosts a request may ask for.

use axum::http::{HeaderMap, HeaderValue, Uri};
use limbledger::serve::hosts::{Asked, Hosts};
use tempfile::TempDir;

use crate::support::{self, Server, get_plain, raw, status};

fn hosts() -> Hosts {
    let names = ["limbledger".to_owned(), "limbledger.local".to_owned()];
    let addresses = ["127.0.0.1", "::1", "192.168.7.4"].map(|ip| ip.parse().unwrap());
    Hosts::new(&names, &addresses, 7420)
}

fn asked(uri: &'static str, hosts_sent: &[&str]) -> Option<Asked> {
    let mut headers = HeaderMap::new();
    for host in hosts_sent {
        headers.append("host", HeaderValue::from_str(host).unwrap());
    }
    hosts().asked(&Uri::from_static(uri), &headers)
}

#[test]
fn our_own_names_and_addresses_are_known_with_our_port_or_none() {
    for name in ["localhost", "LocalHost:7420"] {
        assert_eq!(asked("/", &[name]), Some(Asked::AsLocalhost), "{name}");
    }
    for name in ["limbledger", "limbledger.local:7420", "LIMBLEDGER.LOCAL"] {
        assert_eq!(asked("/", &[name]), Some(Asked::ByName), "{name}");
    }
    for ip in ["127.0.0.1", "127.0.0.1:7420", "[::1]", "[::1]:7420", "192.168.7.4:7420"] {
        assert_eq!(asked("/", &[ip]), Some(Asked::ByAddress), "{ip}");
    }
}

#[test]
fn every_other_host_is_foreign() {
    let foreign = [
        "",
        "evil.example",
        "evil.example:7420",
        "localhost:80",
        "localhost:",
        "localhost:07420",
        "localhost.",
        "127.0.0.1:80",
        "192.168.7.5",
        "::1",
        "[127.0.0.1]",
        "[::2]",
        "me@localhost",
        "localhost@evil.example",
        "limbledger.local.evil.example",
        "xlocalhost",
        "0.0.0.0:7420",
        "2130706433",
        "127.1",
    ];
    for host in foreign {
        assert_eq!(asked("/", &[host]), None, "{host:?}");
    }
    assert_eq!(asked("/", &[]), None, "no host at all");
    assert_eq!(asked("/", &["localhost", "localhost"]), None, "two hosts");
}

#[test]
fn a_target_with_its_own_authority_must_be_ours_as_well() {
    assert_eq!(asked("http://localhost:7420/", &["localhost"]), Some(Asked::AsLocalhost));
    assert_eq!(asked("https://limbledger.local:7420/", &[]), Some(Asked::ByName));
    assert_eq!(asked("http://evil.example/", &["localhost"]), None);
    assert_eq!(asked("http://localhost:7420/", &["evil.example"]), None);
    assert_eq!(asked("http://localhost:7420/", &["127.0.0.1"]), None, "by name and by address at once");
}

#[tokio::test]
async fn a_foreign_host_is_turned_away_before_any_route_and_told_nothing() {
    let data = TempDir::new().unwrap();
    let server = Server::start(support::loopback(&data)).await;
    for host in ["evil.example", "", "evil.example:7420"] {
        let response = get_plain(server.address, host, "/no-such-route").await;
        assert_eq!(status(&response), "421", "{host:?}");
        assert!(response.ends_with("\r\n\r\n"), "no body: {response}");
    }
    let two = raw(
        server.address,
        &format!(
            "GET / HTTP/1.1\r\nHost: {0}\r\nHost: evil.example\r\nConnection: close\r\n\r\n",
            server.address
        ),
    )
    .await;
    assert!(["400", "421"].contains(&status(&two)), "{two}");
    let absolute =
        format!("GET http://evil.example/ HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", server.address);
    assert_eq!(status(&raw(server.address, &absolute).await), "421");
    assert_eq!(status(&get_plain(server.address, &server.host("localhost"), "/").await), "200");
}
