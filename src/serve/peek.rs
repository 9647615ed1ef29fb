//! What a connection speaks, told by its first byte without taking it: one port serves both.

use std::io;

use tokio::net::TcpStream;

/// The record type that opens every TLS handshake (RFC 8446, 5.1); no HTTP method begins with it.
const HANDSHAKE: u8 = 0x16;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Speaks {
    Tls,
    Plain,
}

/// Waits for the first byte; an error when the connection ends before it.
pub(super) async fn first_byte(stream: &TcpStream) -> io::Result<Speaks> {
    let mut first = [0];
    match stream.peek(&mut first).await? {
        0 => Err(io::ErrorKind::UnexpectedEof.into()),
        _ if first[0] == HANDSHAKE => Ok(Speaks::Tls),
        _ => Ok(Speaks::Plain),
    }
}
