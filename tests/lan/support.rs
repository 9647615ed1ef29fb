//! A tiny app behind the real listener, and clients that can misbehave.

use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use axum::Router;
use axum::routing::{get, post};
use jiff::Timestamp;
use limbledger::serve::{self, Peer, ServeOptions};
use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, RootCertStore};
use tempfile::TempDir;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;

/// The longest any test waits for something that should happen at once.
pub(crate) const SOON: Duration = Duration::from_secs(10);

#[expect(clippy::disallowed_methods, reason = "a test has no clock.rs")]
pub(crate) fn clock() -> Timestamp {
    Timestamp::now()
}

pub(crate) struct Server {
    pub(crate) address: SocketAddr,
    pub(crate) url: String,
    pub(crate) words: Option<String>,
    stop: oneshot::Sender<()>,
    done: JoinHandle<anyhow::Result<()>>,
}

impl Server {
    pub(crate) async fn start(options: ServeOptions) -> Self {
        Self::start_with(options, app()).await
    }

    pub(crate) async fn start_with(options: ServeOptions, router: Router) -> Self {
        let bound = serve::bind(options).await.expect("binds");
        let (url, words) = (bound.url(), bound.trust_words());
        let address = url.split_once("://").expect("a URL").1.parse().expect("an address");
        let (stop, stopped) = oneshot::channel();
        let done = tokio::spawn(bound.run(router, async {
            let _ = stopped.await;
        }));
        Self { address, url, words, stop, done }
    }

    /// Asks it to stop and says how long that took.
    pub(crate) async fn stop(self) -> Duration {
        let asked = Instant::now();
        self.stop.send(()).expect("still runs");
        tokio::time::timeout(SOON, self.done).await.expect("stops").expect("no panic").expect("no error");
        asked.elapsed()
    }

    pub(crate) fn host(&self, name: &str) -> String {
        format!("{name}:{}", self.address.port())
    }
}

fn app() -> Router {
    let peer = |axum::Extension(peer): axum::Extension<Peer>| async move {
        format!("{} tls={} by_name={}", peer.addr.ip(), peer.tls, peer.by_name)
    };
    let pause = || async {
        tokio::time::sleep(Duration::from_millis(300)).await;
        "rested"
    };
    Router::new()
        .route("/", get(|| async { "the day" }))
        .route("/peer", get(peer))
        .route("/pause", get(pause))
        .route("/forever", get(std::future::pending::<()>))
        .route("/note", post(|body: String| async move { format!("kept {body}") }))
}

pub(crate) fn loopback(data: &TempDir) -> ServeOptions {
    ServeOptions::new(data.path().to_owned(), "127.0.0.1:0".parse().expect("an address"), clock)
}

/// As beyond loopback, on an address of the loopback range.
pub(crate) fn lan(data: &Path, ip: &str) -> ServeOptions {
    let mut options =
        ServeOptions::new(data.to_owned(), SocketAddr::new(ip.parse().expect("an address"), 0), clock);
    options.lan = true;
    options.announce = false;
    options
}

/// Sends these bytes and reads until the server closes.
pub(crate) async fn raw(address: SocketAddr, request: &str) -> String {
    let mut stream = TcpStream::connect(address).await.expect("connects");
    stream.write_all(request.as_bytes()).await.expect("sends");
    read_to_end(&mut stream).await
}

/// A whole `GET` over plain http.
pub(crate) async fn get_plain(address: SocketAddr, host: &str, path: &str) -> String {
    raw(address, &format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")).await
}

/// What arrives before the connection ends, however it ends.
pub(crate) async fn read_to_end(stream: &mut (impl AsyncReadExt + Unpin)) -> String {
    let mut all = Vec::new();
    let _ = tokio::time::timeout(SOON, stream.read_to_end(&mut all)).await.expect("the server closes");
    String::from_utf8_lossy(&all).into_owned()
}

pub(crate) fn status(response: &str) -> &str {
    response.split(' ').nth(1).unwrap_or("nothing")
}

/// The practice's certificate as a new device downloads it: the body of the plain-http answer.
pub(crate) async fn download_certificate(server: &Server) -> CertificateDer<'static> {
    let mut stream = TcpStream::connect(server.address).await.expect("connects");
    let request = format!(
        "GET /practice-authority.crt HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
        server.address
    );
    stream.write_all(request.as_bytes()).await.expect("sends");
    let mut all = Vec::new();
    stream.read_to_end(&mut all).await.expect("answers");
    let body = all.windows(4).position(|four| four == b"\r\n\r\n").expect("a head") + 4;
    CertificateDer::from(all[body..].to_vec())
}

/// A device that trusts this one authority and nothing else.
pub(crate) async fn connect(
    server: &Server,
    authority: &CertificateDer<'static>,
    name: &str,
    alpn: &[u8],
) -> std::io::Result<TlsStream<TcpStream>> {
    let mut roots = RootCertStore::empty();
    roots.add(authority.clone()).expect("a root");
    let mut config = ClientConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_root_certificates(roots)
        .with_no_client_auth();
    config.alpn_protocols = vec![alpn.to_vec()];
    let name = ServerName::try_from(name.to_owned()).expect("a name");
    let stream = TcpStream::connect(server.address).await?;
    TlsConnector::from(Arc::new(config)).connect(name, stream).await
}

/// A whole `GET` over TLS under this name.
pub(crate) async fn get_tls(
    server: &Server,
    authority: &CertificateDer<'static>,
    name: &str,
    path: &str,
) -> std::io::Result<String> {
    let mut stream = connect(server, authority, name, b"http/1.1").await?;
    let host = server.host(name);
    let request = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).await?;
    Ok(read_to_end(&mut stream).await)
}
