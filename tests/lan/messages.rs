//! Where one request ends and the next begins is never a matter of opinion (RFC 9112): what could be read in two ways is
//! refused, and nothing that stands behind it is run.

use std::time::Duration;

use tempfile::TempDir;
use tokio::{io::AsyncWriteExt, net::TcpStream};

use crate::support::{self, Server, read_to_end, status};

const SHORT: Duration = Duration::from_millis(300);

async fn served() -> (TempDir, Server) {
    let data = TempDir::new().unwrap();
    let mut options = support::loopback(&data);
    (options.limits.header, options.limits.body_idle) = (SHORT, SHORT);
    let server = Server::start(options).await;
    (data, server)
}

/// Sends the bytes with one more request behind them, and gives all that was answered.
async fn sent(server: &Server, bytes: &str) -> String {
    let mut stream = TcpStream::connect(server.address).await.unwrap();
    let bytes = bytes.replace("HOST", &server.address.to_string());
    let behind = format!("GET /peer HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", server.address);
    // A server that closes early leaves a broken pipe, and then nothing was answered.
    let _ = stream.write_all(format!("{bytes}{behind}").as_bytes()).await;
    read_to_end(&mut stream).await
}

fn answers(said: &str) -> usize {
    said.matches("HTTP/1.1 ").count()
}

#[tokio::test]
async fn what_is_no_request_is_refused_and_nothing_behind_it_is_run() {
    let (_data, server) = served().await;
    let heads = [
        (
            "two lengths",
            "POST /note HTTP/1.1\r\nHost: HOST\r\nContent-Length: 4\r\nContent-Length: 5\r\n\r\nnote",
        ),
        ("a list of lengths", "POST /note HTTP/1.1\r\nHost: HOST\r\nContent-Length: 4, 5\r\n\r\nnote"),
        ("a signed length", "POST /note HTTP/1.1\r\nHost: HOST\r\nContent-Length: +4\r\n\r\nnote"),
        ("a negative length", "POST /note HTTP/1.1\r\nHost: HOST\r\nContent-Length: -4\r\n\r\nnote"),
        ("a length in hexadecimal", "POST /note HTTP/1.1\r\nHost: HOST\r\nContent-Length: 0x4\r\n\r\nnote"),
        (
            "an endless length",
            "POST /note HTTP/1.1\r\nHost: HOST\r\nContent-Length: 99999999999999999999\r\n\r\n",
        ),
        (
            "no coding we know",
            "POST /note HTTP/1.1\r\nHost: HOST\r\nTransfer-Encoding: xchunked\r\n\r\n0\r\n\r\n",
        ),
        (
            "pieces not last",
            "POST /note HTTP/1.1\r\nHost: HOST\r\nTransfer-Encoding: chunked, gzip\r\n\r\n0\r\n\r\n",
        ),
        (
            "pieces in HTTP/1.0",
            "POST /note HTTP/1.0\r\nHost: HOST\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        ),
        ("a folded line", "GET / HTTP/1.1\r\nHost: HOST\r\nX-Long: a\r\n b\r\n\r\n"),
        ("NUL in a value", "GET / HTTP/1.1\r\nHost: HOST\r\nX-Nul: a\0b\r\n\r\n"),
        ("NUL in a name", "GET / HTTP/1.1\r\nHost: HOST\r\nX\0Nul: a\r\n\r\n"),
        ("a bare CR in a value", "GET / HTTP/1.1\r\nHost: HOST\r\nX-Cr: a\rb\r\n\r\n"),
        ("a blank before the colon", "GET / HTTP/1.1\r\nHost : HOST\r\n\r\n"),
        ("a blank before the first name", "GET / HTTP/1.1\r\n Host: HOST\r\n\r\n"),
        ("a line without a colon", "GET / HTTP/1.1\r\nHost: HOST\r\nnothing\r\n\r\n"),
        ("a name of no letters", "GET / HTTP/1.1\r\nHost: HOST\r\n: a\r\n\r\n"),
        ("another version", "GET / HTTP/9.9\r\nHost: HOST\r\n\r\n"),
        ("no version", "GET /\r\nHost: HOST\r\n\r\n"),
        ("a blank in the target", "GET /a b HTTP/1.1\r\nHost: HOST\r\n\r\n"),
        ("a method of no letters", "G(T / HTTP/1.1\r\nHost: HOST\r\n\r\n"),
        ("the beginning of HTTP/2", "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"),
        ("two hosts", "GET / HTTP/1.1\r\nHost: HOST\r\nHost: HOST\r\nConnection: close\r\n\r\n"),
        ("no host", "GET / HTTP/1.1\r\nConnection: close\r\n\r\n"),
    ];
    for (told, head) in heads {
        let said = sent(&server, head).await;
        assert!(["400", "421", "nothing"].contains(&status(&said)), "{told}: {said}");
        assert!(answers(&said) <= 1 && !said.contains("tls=false"), "{told}: {said}");
    }
    let many = "X-More: a\r\n".repeat(200);
    let long = format!("X-Long: {}\r\n", "a".repeat(300 * 1024));
    for more in [many, long] {
        let said = sent(&server, &format!("GET / HTTP/1.1\r\nHost: HOST\r\n{more}\r\n")).await;
        assert!(
            ["400", "431", "nothing"].contains(&status(&said)) && answers(&said) <= 1,
            "{}",
            status(&said)
        );
    }
}

/// A body in pieces that also tells a length, or whose pieces are none, is the last of its connection.
#[tokio::test]
async fn what_stands_behind_a_body_in_pieces_is_never_read_as_a_request() {
    let (_data, server) = served().await;
    let pieces = "Transfer-Encoding: chunked\r\n";
    for (told, lengths, body) in [
        ("length and pieces", "Content-Length: 4\r\nTransfer-Encoding: chunked\r\n", "0\r\n\r\n"),
        ("pieces and length", "Transfer-Encoding: chunked\r\nContent-Length: 4\r\n", "0\r\n\r\n"),
        ("pieces that are whole", pieces, "4\r\nnote\r\n0\r\n\r\n"),
        ("a size of no digits", pieces, "zz\r\nnote\r\n0\r\n\r\n"),
        ("a negative size", pieces, "-4\r\nnote\r\n0\r\n\r\n"),
        ("a size beyond all", pieces, "fffffffffffffffff\r\nnote\r\n0\r\n\r\n"),
        ("a piece longer than said", pieces, "2\r\nnote\r\n0\r\n\r\n"),
        ("a size without its end", pieces, "4;\0\nnote\r\n0\r\n\r\n"),
    ] {
        let head = format!("POST /note HTTP/1.1\r\nHost: HOST\r\n{lengths}\r\n{body}");
        let said = sent(&server, &head).await;
        assert!(["200", "400", "nothing"].contains(&status(&said)), "{told}: {said}");
        assert!(answers(&said) <= 1 && !said.contains("tls=false"), "{told}: {said}");
    }
    let plain = "POST /note HTTP/1.1\r\nHost: HOST\r\nContent-Length: 4\r\n\r\nnote";
    let both = sent(&server, plain).await;
    assert_eq!(answers(&both), 2, "a length leaves no doubt: {both}");
}
