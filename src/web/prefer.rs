//! `Prefer: return=minimal` (RFC 7240): a tablet that keeps what it sends asks only what became of it, and follows
//! no redirect. Taken is 204, a session that has ended 401, a locked one 423; every refusal is what it always is.

use axum::{
    body::Body,
    extract::Request,
    http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header},
    middleware::Next,
    response::Response,
};

const PREFER: HeaderName = HeaderName::from_static("prefer");
const APPLIED: HeaderName = HeaderName::from_static("preference-applied");
const MINIMAL: &str = "return=minimal";

/// Left on a redirect that is no result: what to say to somebody who does not follow it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Instead(pub StatusCode);

pub(super) async fn minimal(request: Request, next: Next) -> Response {
    let asked = wants_minimal(request.headers());
    let response = next.run(request).await;
    if !asked {
        return response;
    }
    let mut response = match told(&response) {
        Some(status) => without_body(&response, status),
        None => response,
    };
    response.headers_mut().insert(APPLIED, HeaderValue::from_static(MINIMAL));
    response
}

/// The status in place of a redirect; `None` when the answer is no redirect.
fn told(response: &Response) -> Option<StatusCode> {
    let instead = response.extensions().get::<Instead>().map(|Instead(status)| *status);
    instead.or_else(|| response.status().is_redirection().then_some(StatusCode::NO_CONTENT))
}

fn without_body(full: &Response, status: StatusCode) -> Response {
    let mut response = Response::new(Body::empty());
    *response.status_mut() = status;
    for cookie in full.headers().get_all(header::SET_COOKIE) {
        response.headers_mut().append(header::SET_COOKIE, cookie.clone());
    }
    if status == StatusCode::UNAUTHORIZED {
        // RFC 9110 asks for a challenge; no browser knows this one, so none opens a window for it.
        response.headers_mut().insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Sign-In-Page"));
    }
    response
}

fn wants_minimal(headers: &HeaderMap) -> bool {
    let lines = headers.get_all(PREFER).into_iter().filter_map(|line| line.to_str().ok());
    lines.flat_map(|line| line.split(',')).any(|one| {
        let preference = one.split(';').next().unwrap_or_default();
        preference.replace([' ', '"'], "").eq_ignore_ascii_case(MINIMAL)
    })
}
