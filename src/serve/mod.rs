//! How the server is reached: from a finished router to pages on a tablet in the yard.
//!
//! - [`options`]: where to listen, under which names, and how long anyone may dawdle.
//! - [`here`]: the names and addresses this machine answers to just now.
//! - [`hosts`]: the list of hosts a request may ask for; everything else is turned away before routing.
//! - [`authority`]: the practice's own certificate authority, made at first start.
//! - [`own`]: a certificate from an issuer that devices trust already, where the practice has one.
//! - [`tls`]: the certificates in use, replaced when addresses or files change or they grow old.
//! - [`accept`]: our accept loop with its caps ([`caps`]) and its bounded stop.
//! - [`connection`]: one connection, from its first byte ([`peek`]) to its last ([`pulse`]).
//! - [`answer`]: one request on its way to the router.
//! - [`trust`]: what a device that does not trust the authority yet gets over plain http.
//! - [`name`]: the server's name on the LAN.
//!
//! On a loopback address everything is plain http. On any other address pages exist over HTTPS only,
//! because browsers withhold secure cookies, Fetch metadata and service workers from plain http there.
//! This module knows no feature; HSTS and the other response headers belong to `web`.

pub mod authority;
pub mod hosts;
pub mod options;
pub mod peer;

mod accept;
mod answer;
mod caps;
mod connection;
mod here;
mod name;
mod own;
mod peek;
mod pulse;
mod tls;
mod trust;

use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use axum::Router;
use tokio::net::TcpListener;

pub use here::is_near;
pub use options::{CertificateFiles, Limits, ServeOptions};
pub use peer::Peer;

/// Takes the address and, beyond loopback, opens or makes the practice authority.
pub async fn bind(mut options: ServeOptions) -> anyhow::Result<Bound> {
    let ip = options.listen.ip().to_canonical();
    anyhow::ensure!(
        ip.is_unspecified() || here::is_near(&ip),
        "{ip} is not an address of a private network, and this server is for the practice's own one; choose {}",
        here::suggestions()
    );
    options.check_names()?;
    anyhow::ensure!(
        options.lan || options.certificate.is_none(),
        "a certificate is for other devices; give --listen an address of the practice's network with it, such as \
         0.0.0.0:7420"
    );
    if options.lan && options.host_names.is_empty() {
        // Its tablets trust that name and keep their unsent entries under it.
        options.host_names = authority::known_names(&options.data);
    }
    let listener = match TcpListener::bind(options.listen).await {
        Ok(listener) => listener,
        Err(error) => anyhow::bail!(cannot_bind(options.listen, &error)),
    };
    let here = here::Here::look(&options, listener.local_addr()?);
    let lan = if options.lan { Some(tls::Lan::open(&options, &here)?) } else { None };
    Ok(Bound { listener, here, lan, options })
}

/// Where another device begins, where it goes on, and what it must see in between.
#[derive(Debug, Clone)]
pub struct Reach {
    /// The page that hands out the certificate, by address: `http://192.168.1.20:7420`.
    pub trust_page: String,
    /// The one origin devices are bound to: `https://limbledger.local:7420`.
    pub origin: String,
    /// SHA-256 of the practice authority.
    pub fingerprint: String,
    /// Devices trust the server's name already.
    pub own: Arc<AtomicBool>,
}

impl Reach {
    /// Whether the practice has a certificate of its own; it may come and go while the server runs.
    pub fn nothing_to_trust(&self) -> bool {
        self.own.load(Ordering::Relaxed)
    }
}

/// A server that holds its address and has not answered anyone yet.
pub struct Bound {
    listener: TcpListener,
    here: here::Here,
    lan: Option<tls::Lan>,
    options: ServeOptions,
}

impl Bound {
    /// Where a program on this machine finds the server: by address, since a name may not resolve yet.
    /// The port is the real one when port 0 was asked for.
    pub fn url(&self) -> String {
        let scheme = if self.lan.is_some() { "https" } else { "http" };
        format!("{scheme}://{}", self.here.door())
    }

    /// How other devices reach it; `None` on loopback.
    pub fn reach(&self) -> Option<Reach> {
        let lan = self.lan.as_ref()?;
        Some(Reach {
            trust_page: format!("http://{}", self.here.door()),
            origin: self.here.origin(),
            fingerprint: lan.authority().fingerprint(),
            own: Arc::clone(lan.nothing_to_trust()),
        })
    }

    /// What to do at the server's screen before the first tablet; nothing on loopback.
    pub fn trust_words(&self) -> Option<String> {
        let reach = self.reach()?;
        if reach.nothing_to_trust() {
            return Some(format!(
                "The practice's own certificate is served: open {} on any device; nothing needs to be trusted.",
                reach.origin
            ));
        }
        Some(format!(
            "Practice authority, SHA-256 fingerprint:\n  {}\n\
             Open {} on a new device and let it trust the certificate offered there only if it shows \
             this same fingerprint; then use {}.",
            reach.fingerprint, reach.trust_page, reach.origin,
        ))
    }

    /// What has to be done soon about the practice's own certificate.
    pub fn warning(&self) -> Option<String> {
        self.lan.as_ref()?.warning((self.options.clock)())
    }

    /// Serves until `shutdown` completes, then gives open requests a bounded time to finish.
    pub async fn run(self, router: Router, shutdown: impl Future<Output = ()>) -> anyhow::Result<()> {
        let announced = self.announce();
        let desk = Arc::new(answer::Desk::new(router, self.here, self.lan, self.options)?);
        tokio::select! {
            () = accept::run(self.listener, &desk, shutdown) => {}
            () = desk.keep_current() => {}
        }
        if let Some(announced) = announced {
            announced.withdraw();
        }
        Ok(())
    }

    fn announce(&self) -> Option<name::Announced> {
        (self.lan.is_some() && self.options.announce).then(|| name::announce(&self.here)).flatten()
    }
}

fn cannot_bind(listen: SocketAddr, error: &std::io::Error) -> String {
    use std::io::ErrorKind;
    let ip = listen.ip();
    match error.kind() {
        ErrorKind::AddrInUse => format!(
            "cannot listen on {listen}: another program already does; stop it, or choose another port, such as \
             --listen {}",
            SocketAddr::new(ip, listen.port().saturating_add(1).max(1024)),
        ),
        ErrorKind::AddrNotAvailable => {
            format!(
                "cannot listen on {listen}: this machine has no such address; choose {}",
                here::suggestions()
            )
        }
        ErrorKind::PermissionDenied => format!(
            "cannot listen on {listen}: this port needs more rights; choose a higher one, such as --listen {}",
            SocketAddr::new(ip, 7420),
        ),
        _ => format!("cannot listen on {listen} ({error}); choose {}", here::suggestions()),
    }
}
