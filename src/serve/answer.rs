//! One request on its way to the router: is this server meant, may this be answered unencrypted, and how long
//! may it take.

use std::sync::atomic::Ordering;
use std::sync::{Arc, PoisonError, RwLock};

use axum::Router;
use axum::body::Body;
use axum::http::header::{CONNECTION, HeaderValue, TRANSFER_ENCODING};
use axum::http::{Request, StatusCode, Version};
use axum::response::{IntoResponse, Response};
use hyper::body::Incoming;
use tokio::time::{MissedTickBehavior, interval, timeout};
use tokio_rustls::TlsAcceptor;
use tower::ServiceExt;
use tower_http::timeout::TimeoutBody;

use super::here::Here;
use super::hosts::{Asked, Hosts};
use super::options::{Limits, ServeOptions};
use super::peer::Peer;
use super::tls::Lan;
use super::trust::TrustDesk;
use crate::web::headers;

const TOO_SLOW: &str = "This took too long and was stopped. Go back and try again.\n";

/// What every request is answered with.
pub(super) struct Desk {
    router: Router,
    lan: Option<Lan>,
    options: ServeOptions,
    current: RwLock<Arc<Known>>,
}

/// What follows from the names and addresses of the moment.
struct Known {
    here: Here,
    hosts: Hosts,
    /// Devices trust the practice's own certificate already.
    own: bool,
    trust: Option<TrustDesk>,
}

impl Known {
    fn new(here: Here, lan: Option<&Lan>) -> anyhow::Result<Self> {
        let hosts = Hosts::new(&here.names, &here.addresses, here.port());
        let own = has_own(lan);
        let trust = lan.map(|lan| TrustDesk::new(&here, lan.authority(), own)).transpose()?;
        Ok(Self { here, hosts, own, trust })
    }
}

fn has_own(lan: Option<&Lan>) -> bool {
    lan.is_some_and(|lan| lan.nothing_to_trust().load(Ordering::Relaxed))
}

impl Desk {
    pub(super) fn new(
        router: Router,
        here: Here,
        lan: Option<Lan>,
        options: ServeOptions,
    ) -> anyhow::Result<Self> {
        let current = RwLock::new(Arc::new(Known::new(here, lan.as_ref())?));
        Ok(Self { router, lan, options, current })
    }

    pub(super) fn limits(&self) -> Limits {
        self.options.limits
    }

    /// Present beyond loopback.
    pub(super) fn acceptor(&self) -> Option<TlsAcceptor> {
        self.lan.as_ref().map(|lan| lan.acceptor().clone())
    }

    /// Follows changes of this machine's addresses and renews the certificate; never completes.
    pub(super) async fn keep_current(&self) {
        let mut ticks = interval(self.options.limits.refresh);
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            ticks.tick().await;
            if let Err(error) = self.look_again() {
                tracing::error!(%error, "cannot follow a change of address or renew the certificate");
            }
        }
    }

    fn look_again(&self) -> anyhow::Result<()> {
        let known = self.known();
        let here = known.here.again(&self.options);
        if let Some(lan) = &self.lan {
            lan.refresh(&here, (self.options.clock)())?;
        }
        if here != known.here || has_own(self.lan.as_ref()) != known.own {
            let fresh = Arc::new(Known::new(here, self.lan.as_ref())?);
            *self.current.write().unwrap_or_else(PoisonError::into_inner) = fresh;
        }
        Ok(())
    }

    fn known(&self) -> Arc<Known> {
        Arc::clone(&self.current.read().unwrap_or_else(PoisonError::into_inner))
    }
}

pub(super) async fn answer(desk: &Desk, peer: Peer, mut request: Request<Incoming>) -> Response {
    let known = desk.known();
    let Some(asked) = known.hosts.asked(request.uri(), request.headers()) else {
        return StatusCode::MISDIRECTED_REQUEST.into_response();
    };
    if let (Some(trust), false) = (&known.trust, peer.tls) {
        return trust.answer(asked, request.method(), request.uri().path());
    }
    let peer = Peer { by_name: asked == Asked::ByName, ..peer };
    request.extensions_mut().insert(peer);
    // Whoever tells the length of a body piece by piece might tell another one beside it (RFC 9112, 6.1): what comes
    // behind such a body is not read as a request.
    let last = request.version() <= Version::HTTP_11 && request.headers().contains_key(TRANSFER_ENCODING);
    let limits = &desk.options.limits;
    let request = request.map(|body| Body::new(Box::pin(TimeoutBody::new(limits.body_idle, body))));
    let mut response = match timeout(limits.request, desk.router.clone().oneshot(request)).await {
        Ok(Ok(response)) => response,
        Ok(Err(never)) => match never {},
        Err(_) => {
            let mut response = (StatusCode::SERVICE_UNAVAILABLE, TOO_SLOW).into_response();
            headers::put(peer, response.headers_mut());
            response
        }
    };
    if last {
        response.headers_mut().insert(CONNECTION, HeaderValue::from_static("close"));
    }
    response
}
