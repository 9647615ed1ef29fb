//! Slow, greedy and broken peers: bounded in time and number, and none of them keeps the others out.

use std::time::{Duration, Instant};

use limbledger::serve::ServeOptions;
use tempfile::TempDir;
use tokio::io::AsyncWriteExt;
use tokio::net::TcpStream;

use crate::support::{
    self, SOON, Server, download_certificate, get_plain, get_tls, raw, read_to_end, status,
};

const SHORT: Duration = Duration::from_millis(300);

fn impatient(mut options: ServeOptions) -> ServeOptions {
    options.limits.handshake = SHORT;
    options.limits.header = SHORT;
    options.limits.body_idle = SHORT;
    options.limits.stop = SHORT;
    options
}

/// Opens a connection, sends `bytes`, and says what came and how long the server held on.
async fn held(server: &Server, bytes: &[u8]) -> (String, Duration) {
    let mut stream = TcpStream::connect(server.address).await.unwrap();
    let begun = Instant::now();
    stream.write_all(bytes).await.unwrap();
    let said = read_to_end(&mut stream).await;
    (said, begun.elapsed())
}

#[tokio::test]
async fn a_head_that_never_ends_is_closed() {
    let data = TempDir::new().unwrap();
    let server = Server::start(impatient(support::loopback(&data))).await;
    for begun in ["", "G", "PRI * HTTP/2.0\r\n", "GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: "] {
        let (_, time) = held(&server, begun.as_bytes()).await;
        assert!(time < SHORT * 10, "{begun:?} was held for {time:?}");
    }
    let (_, time) = held(&server, b"GET / HTTP/1.1\r\n").await;
    assert!(time > SHORT / 2, "cut off after {time:?}, too early for a slow tablet");
}

#[tokio::test]
async fn the_usual_patience_with_a_head_is_five_seconds() {
    let data = TempDir::new().unwrap();
    let server = Server::start(support::loopback(&data)).await;
    let (_, time) = held(&server, b"GET / HTTP/1.1\r\n").await;
    assert!((Duration::from_secs(4)..Duration::from_secs(8)).contains(&time), "{time:?}");
}

#[tokio::test]
async fn a_body_that_stalls_is_closed_and_not_kept() {
    let data = TempDir::new().unwrap();
    let server = Server::start(impatient(support::loopback(&data))).await;
    let host = server.address;
    let head = format!("POST /note HTTP/1.1\r\nHost: {host}\r\nContent-Length: 100\r\n\r\nhalf a no");
    let (said, time) = held(&server, head.as_bytes()).await;
    assert!(time < SHORT * 10, "{time:?}");
    assert!(!said.contains("kept"), "{said}");
    let whole = format!(
        "POST /note HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Length: 6\r\n\r\na note"
    );
    assert!(raw(host, &whole).await.ends_with("kept a note"));
}

#[tokio::test]
async fn an_answer_that_never_comes_ends_in_503() {
    let data = TempDir::new().unwrap();
    let mut options = support::loopback(&data);
    options.limits.request = SHORT;
    let server = Server::start(options).await;
    let response = get_plain(server.address, &server.address.to_string(), "/forever").await;
    assert_eq!(status(&response), "503");
}

#[tokio::test]
async fn a_silent_connection_is_closed_even_in_the_middle_of_an_answer() {
    let data = TempDir::new().unwrap();
    let mut options = impatient(support::loopback(&data));
    options.limits.idle = SHORT;
    let server = Server::start(options).await;
    let head = format!("GET /forever HTTP/1.1\r\nHost: {}\r\n\r\n", server.address);
    let (_, time) = held(&server, head.as_bytes()).await;
    assert!(time < SHORT * 10, "{time:?}");
}

#[tokio::test]
async fn bad_and_half_open_handshakes_never_end_the_loop() {
    let data = TempDir::new().unwrap();
    let server = Server::start(impatient(support::lan(data.path(), "127.0.0.2"))).await;
    let authority = download_certificate(&server).await;
    for garbage in [&b"\x16garbage that is no handshake"[..], b"\x16", b"\x16\x03\x01\x00\x05\x01", b""] {
        let (_, time) = held(&server, garbage).await;
        assert!(time < SHORT * 10, "{garbage:?} was held for {time:?}");
    }
    for _ in 0..20 {
        let mut gone = TcpStream::connect(server.address).await.unwrap();
        gone.write_all(b"\x16\x03\x01").await.unwrap();
    }
    let page = get_tls(&server, &authority, "limbledger.local", "/").await.unwrap();
    assert!(page.ends_with("the day"), "{page}");
}

#[tokio::test]
async fn the_65th_connection_from_one_address_is_refused() {
    let data = TempDir::new().unwrap();
    let mut options = support::loopback(&data);
    options.limits.header = SOON * 6;
    let server = Server::start(options).await;
    let host = server.address.to_string();
    let mut open = Vec::new();
    for _ in 0..64 {
        open.push(TcpStream::connect(server.address).await.unwrap());
    }
    let (said, time) = held(&server, b"").await;
    assert!(said.is_empty() && time < SOON / 2, "{said:?} after {time:?}");

    let request = format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    let mut last = open.pop().unwrap();
    last.write_all(request.as_bytes()).await.unwrap();
    assert!(read_to_end(&mut last).await.ends_with("the day"), "those inside are still served");
    drop(last);
    tokio::time::sleep(SHORT).await;
    assert_eq!(status(&get_plain(server.address, &host, "/").await), "200", "a place is free again");
}

#[tokio::test]
async fn the_cap_counts_all_addresses_together_too() {
    let data = TempDir::new().unwrap();
    let mut options = support::loopback(&data);
    options.limits.total = 2;
    let server = Server::start(options).await;
    let _first = TcpStream::connect(server.address).await.unwrap();
    let _second = TcpStream::connect(server.address).await.unwrap();
    let (said, time) = held(&server, b"").await;
    assert!(said.is_empty() && time < Duration::from_secs(4), "{said:?} after {time:?}");
}

#[tokio::test]
async fn stopping_lets_an_open_request_finish() {
    let data = TempDir::new().unwrap();
    let server = Server::start(support::loopback(&data)).await;
    let (address, host) = (server.address, server.address.to_string());
    let open = tokio::spawn(async move { get_plain(address, &host, "/pause").await });
    tokio::time::sleep(Duration::from_millis(100)).await;
    let took = server.stop().await;
    assert!(open.await.unwrap().ends_with("rested"));
    assert!(took < Duration::from_secs(3), "{took:?}");
}

#[tokio::test]
async fn stopping_does_not_wait_for_those_who_never_finish() {
    let data = TempDir::new().unwrap();
    let mut options = support::lan(data.path(), "127.0.0.2");
    options.limits.stop = SHORT;
    let server = Server::start(options).await;
    let authority = download_certificate(&server).await;
    let _nothing_sent = TcpStream::connect(server.address).await.unwrap();
    let mut half_sent = TcpStream::connect(server.address).await.unwrap();
    half_sent.write_all(b"POST / HTTP/1.1\r\n").await.unwrap();
    let mut waiting = support::connect(&server, &authority, "localhost", b"http/1.1").await.unwrap();
    let request = format!("GET /forever HTTP/1.1\r\nHost: {}\r\n\r\n", server.host("localhost"));
    waiting.write_all(request.as_bytes()).await.unwrap();
    tokio::time::sleep(Duration::from_millis(100)).await;
    let took = server.stop().await;
    assert!(took < SHORT * 5, "{took:?}");
}
