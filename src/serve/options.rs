//! Where to listen, under which names, and how long anyone may dawdle.

use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::time::Duration;

use jiff::Timestamp;

/// What the command line decides about how the server is reached.
#[derive(Debug, Clone)]
pub struct ServeOptions {
    /// The data folder; the practice authority lives in its `authority` folder.
    pub data: PathBuf,
    pub listen: SocketAddr,
    /// Names chosen by the practice, the first one announced; none means those its authority was made for, and
    /// `limbledger` where there is none yet.
    pub host_names: Vec<String>,
    /// A certificate of the practice's own; left out it is looked for in the `certificate` folder of the data folder.
    pub certificate: Option<CertificateFiles>,
    /// HTTPS from the practice authority, plain http for the trust page only. On beyond loopback.
    pub lan: bool,
    /// Announce the name on the LAN (mDNS).
    pub announce: bool,
    pub limits: Limits,
    /// Reads the time for certificates; handed in because one module alone reads the clock.
    pub clock: fn() -> Timestamp,
}

impl ServeOptions {
    pub fn new(data: PathBuf, listen: SocketAddr, clock: fn() -> Timestamp) -> Self {
        let lan = !listen.ip().to_canonical().is_loopback();
        let limits = Limits::default();
        Self { data, listen, host_names: Vec::new(), certificate: None, lan, announce: lan, limits, clock }
    }

    /// A certificate and a browser take only names of letters, digits and hyphens, with dots between.
    pub(super) fn check_names(&self) -> anyhow::Result<()> {
        let fine = |part: &str| {
            let inner = |c: char| c.is_ascii_alphanumeric() || c == '-';
            (1..=63).contains(&part.len())
                && part.chars().all(inner)
                && !part.starts_with('-')
                && !part.ends_with('-')
        };
        for name in &self.host_names {
            anyhow::ensure!(
                name.len() <= 253 && name.split('.').all(fine) && name.parse::<IpAddr>().is_err(),
                "{name:?} cannot be this server's name: use letters, digits and hyphens, such as `hill-practice`"
            );
        }
        Ok(())
    }
}

/// A certificate with those of its issuers, and its private key, both in PEM.
#[derive(Debug, Clone)]
pub struct CertificateFiles {
    pub chain: PathBuf,
    pub key: PathBuf,
}

/// Bounds on time and number. The defaults suit a practice's LAN; tests shorten them.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// From the opened connection to its first byte, and then for the whole TLS handshake.
    pub handshake: Duration,
    /// For the head of a request, counted from the moment the connection waits for one.
    pub header: Duration,
    /// Between two pieces of a request's body.
    pub body_idle: Duration,
    /// From the head of a request to the head of its response; event streams run on after that.
    pub request: Duration,
    /// For a connection on which nothing moves in either direction.
    pub idle: Duration,
    /// For open requests once the server was asked to stop.
    pub stop: Duration,
    /// Between two looks at this machine's addresses and the age of its certificate.
    pub refresh: Duration,
    pub per_ip: usize,
    pub total: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            handshake: Duration::from_secs(5),
            header: Duration::from_secs(5),
            body_idle: Duration::from_secs(15),
            request: Duration::from_mins(1),
            // Longer than a request may take, and longer than the pause between signs of life of an event stream.
            idle: Duration::from_secs(75),
            stop: Duration::from_secs(5),
            refresh: Duration::from_mins(1),
            per_ip: 64,
            total: 512,
        }
    }
}
