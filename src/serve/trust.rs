//! What a device that does not trust the practice authority yet gets over plain http: one page, asked for by
//! address, with the certificate and how to take it. Everything else is refused, no form is taken, and nothing
//! is redirected: a tablet stays with the origin it was bound to.
//!
//! The fingerprint is left off this page on purpose: whoever could put up a false page could put up a false
//! fingerprint with it. It stands on the server's own screen and on the printed sheet.
//!
//! Where the practice has a certificate of its own, the page says that nothing needs to be trusted, and only leads on.

use askama::Template;
use axum::http::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, REFERRER_POLICY};
use axum::http::header::{HeaderName, X_CONTENT_TYPE_OPTIONS};
use axum::http::{Method, StatusCode};
use axum::response::{Html, IntoResponse, Response};
use qrcode::QrCode;
use qrcode::render::svg;
use sha2::{Digest, Sha256};

use super::authority::Authority;
use super::here::Here;
use super::hosts::Asked;

const STYLE: &str = include_str!("../../templates/serve/trust.css");
const CERTIFICATE_PATH: &str = "/practice-authority.crt";

#[derive(Template)]
#[template(path = "serve/trust.html")]
struct TrustPage<'a> {
    style: &'a str,
    certificate: &'a str,
    origin: &'a str,
    by_address: String,
    code: &'a str,
}

/// The same where devices trust the server's name already.
#[derive(Template)]
#[template(path = "serve/trusted.html")]
struct TrustedPage<'a> {
    style: &'a str,
    origin: &'a str,
    code: &'a str,
}

/// The answers, made once for the names and addresses of the moment.
pub(super) struct TrustDesk {
    page: String,
    policy: String,
    certificate: Vec<u8>,
    refusal: String,
}

impl TrustDesk {
    pub(super) fn new(here: &Here, authority: &Authority, own: bool) -> anyhow::Result<Self> {
        let origin = here.origin();
        let drawing = QrCode::new(origin.as_bytes())?.render::<svg::Color<'_>>().build();
        // Inside a page the drawing goes without its XML declaration.
        let code = drawing.find("<svg").map_or(drawing.as_str(), |start| &drawing[start..]);
        let page = if own {
            TrustedPage { style: STYLE, origin: &origin, code }.render()?
        } else {
            let by_address = format!("https://{}", here.door());
            TrustPage { style: STYLE, certificate: CERTIFICATE_PATH, origin: &origin, by_address, code }
                .render()?
        };
        let policy = format!(
            "default-src 'none'; style-src 'sha256-{}'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'",
            base64(&Sha256::digest(STYLE))
        );
        let refusal = format!(
            "This server is reached over https only: {origin}\n\
             A device that does not trust the practice yet begins at http://{}\n",
            here.door()
        );
        Ok(Self { page, policy, certificate: authority.certificate().to_vec(), refusal })
    }

    pub(super) fn answer(&self, asked: Asked, method: &Method, path: &str) -> Response {
        let reads = [Method::GET, Method::HEAD].contains(method);
        let mut response = match path {
            "/" if reads && asked == Asked::ByAddress => Html(self.page.clone()).into_response(),
            CERTIFICATE_PATH if reads && asked == Asked::ByAddress => {
                ([(CONTENT_TYPE, "application/x-x509-ca-cert")], self.certificate.clone()).into_response()
            }
            _ => (StatusCode::FORBIDDEN, self.refusal.clone()).into_response(),
        };
        let headers: [(HeaderName, &str); 4] = [
            (CONTENT_SECURITY_POLICY, &self.policy),
            (X_CONTENT_TYPE_OPTIONS, "nosniff"),
            (REFERRER_POLICY, "no-referrer"),
            (CACHE_CONTROL, "no-store"),
        ];
        for (name, value) in headers {
            if let Ok(value) = value.parse() {
                response.headers_mut().insert(name, value);
            }
        }
        response
    }
}

/// Base64 (RFC 4648, 4), in which content policies write their hashes.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let bits = (0..3).fold(0_u32, |bits, i| bits << 8 | u32::from(three.get(i).copied().unwrap_or(0)));
        for place in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * place) & 63) as usize];
            text.push(if place <= three.len() { char::from(letter) } else { '=' });
        }
    }
    text
}
