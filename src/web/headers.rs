//! The headers of every answer, and the one content policy.

use axum::{
    extract::Request,
    http::{HeaderMap, HeaderName, HeaderValue, header},
    middleware::Next,
    response::Response,
};

use super::{Peer, assets::PartOfPage};

/// Nothing from elsewhere, nothing inline; scripts may only make markup through our own named policy.
pub const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; \
    media-src 'self' blob:; connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; \
    base-uri 'none'; object-src 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; \
    trusted-types limbledger";

const FIXED: [(HeaderName, &str); 7] = [
    (header::CONTENT_SECURITY_POLICY, CONTENT_POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (
        HeaderName::from_static("permissions-policy"),
        "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=()",
    ),
    (header::X_FRAME_OPTIONS, "DENY"),
];

/// How long a device that trusts the practice's authority insists on it: a year, each answer begins it anew.
const INSIST: HeaderValue = HeaderValue::from_static("max-age=31536000");

/// What says how a page may behave says nothing about its scripts and styles: without it the first visit of the
/// exam is a tenth lighter.
const OF_A_PART: [HeaderName; 2] =
    [header::X_CONTENT_TYPE_OPTIONS, HeaderName::from_static("cross-origin-resource-policy")];

pub(super) async fn add(request: Request, next: Next) -> Response {
    let peer = request.extensions().get::<Peer>().copied().unwrap_or_else(Peer::here);
    let mut response = next.run(request).await;
    put(peer, response.headers_mut());
    if response.extensions().get::<PartOfPage>().is_some() {
        for (name, _) in FIXED.iter().filter(|(name, _)| !OF_A_PART.contains(name)) {
            response.headers_mut().remove(name);
        }
    }
    response
}

/// Binds an answer. Over TLS by the server's name it also says that this device is to come no other way from now on: a
/// browser that was let past a warning does not hear it (RFC 6797, 8.1), so only one that trusts the practice's authority
/// does. Never for addresses and `localhost`, which are not this server's alone, and never for names below its own.
pub fn put(peer: Peer, headers: &mut HeaderMap) {
    if peer.tls && peer.by_name {
        headers.insert(header::STRICT_TRANSPORT_SECURITY, INSIST);
    }
    // What is no page of ours, a photo, may be bound more tightly than pages are.
    let policy = headers.remove(header::CONTENT_SECURITY_POLICY);
    for (name, value) in FIXED {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if let Some(policy) = policy {
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    // A record is not left behind in a shared browser; assets have said otherwise already.
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    if let Some(kind) = headers.get(header::CONTENT_TYPE)
        && kind == "text/html"
    {
        headers.insert(header::CONTENT_TYPE, HeaderValue::from_static("text/html; charset=utf-8"));
    }
}
