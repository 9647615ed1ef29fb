//! One connection: what it speaks, then its requests one after the other. Whatever goes wrong here ends this
//! connection and nothing else.

use std::convert::Infallible;
use std::io;
use std::net::SocketAddr;
use std::pin::pin;
use std::sync::Arc;

use hyper::service::service_fn;
use hyper_util::rt::{TokioExecutor, TokioIo, TokioTimer};
use hyper_util::server::conn::auto::Builder;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tokio::sync::watch;
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;

use super::answer::{self, Desk};
use super::options::Limits;
use super::peek::{self, Speaks};
use super::peer::Peer;
use super::pulse::Pulse;

/// Head of a request and read buffer. A search of 10,000 letters still arrives and gets a proper answer.
const HEAD: usize = 64 * 1024;

/// A connection once it is known what it speaks.
enum Greeted {
    Plain(TcpStream),
    Tls(Box<TlsStream<TcpStream>>),
}

pub(super) async fn attend(
    stream: TcpStream,
    addr: SocketAddr,
    desk: Arc<Desk>,
    mut stopping: watch::Receiver<bool>,
) {
    // Without it a page sent in several small writes waits some 40 ms for a delayed acknowledgement.
    if let Err(error) = stream.set_nodelay(true) {
        tracing::debug!(%error, "cannot set TCP_NODELAY");
    }
    let limits = desk.limits();
    let greeted = tokio::select! {
        greeted = greet(stream, desk.acceptor(), &limits) => greeted,
        _ = stopping.wait_for(|stop| *stop) => return,
    };
    match greeted {
        Ok(Greeted::Plain(stream)) => {
            converse(stream, false, Peer::at(addr, false), desk, stopping).await;
        }
        Ok(Greeted::Tls(stream)) => {
            let http2 = stream.get_ref().1.alpn_protocol() == Some(b"h2");
            converse(stream, http2, Peer::at(addr, true), desk, stopping).await;
        }
        Err(error) => tracing::debug!(%addr, %error, "no conversation"),
    }
}

/// Beyond loopback the first byte decides; the whole greeting is bounded in time.
async fn greet(stream: TcpStream, acceptor: Option<TlsAcceptor>, limits: &Limits) -> io::Result<Greeted> {
    let Some(acceptor) = acceptor else {
        return Ok(Greeted::Plain(stream));
    };
    match timeout(limits.handshake, peek::first_byte(&stream)).await?? {
        Speaks::Plain => Ok(Greeted::Plain(stream)),
        Speaks::Tls => {
            let encrypted = timeout(limits.handshake, acceptor.accept(stream)).await??;
            Ok(Greeted::Tls(Box::new(encrypted)))
        }
    }
}

/// Answers requests until the peer is done, falls silent, or the server is asked to stop.
async fn converse<S>(stream: S, http2: bool, peer: Peer, desk: Arc<Desk>, mut stopping: watch::Receiver<bool>)
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    let limits = desk.limits();
    let (stream, heart) = Pulse::new(stream);
    let service = service_fn(move |request| {
        let desk = Arc::clone(&desk);
        async move { Ok::<_, Infallible>(answer::answer(&desk, peer, request).await) }
    });
    let builder = builder(http2, &limits);
    let mut connection = pin!(builder.serve_connection(TokioIo::new(stream), service));
    tokio::select! {
        ended = connection.as_mut() => return log(peer, ended),
        () = heart.silent_for(limits.idle) => {}
        _ = stopping.wait_for(|stop| *stop) => {}
    }
    connection.as_mut().graceful_shutdown();
    if let Ok(ended) = timeout(limits.stop, connection).await {
        log(peer, ended);
    } else {
        tracing::debug!(addr = %peer.addr, "cut a connection that would not end");
    }
}

/// TLS has already settled the version, so nothing is guessed here, and a client cannot stall the guessing.
fn builder(http2: bool, limits: &Limits) -> Builder<TokioExecutor> {
    let builder = Builder::new(TokioExecutor::new());
    let mut builder = if http2 { builder.http2_only() } else { builder.http1_only() };
    builder.http1().timer(TokioTimer::new()).header_read_timeout(limits.header).max_buf_size(HEAD);
    builder.http2().timer(TokioTimer::new()).max_header_list_size(64 * 1024).max_concurrent_streams(64);
    builder
}

fn log(peer: Peer, ended: Result<(), Box<dyn std::error::Error + Send + Sync>>) {
    if let Err(error) = ended {
        tracing::debug!(addr = %peer.addr, %error, "connection ended");
    }
}
