//! A signed-in browser: its session, its cookie, and the page it goes on to.

use axum::{
    Extension,
    http::{HeaderMap, header},
};
use axum_extra::extract::{
    CookieJar,
    cookie::{Cookie, SameSite},
};

use super::{
    Token,
    guard::cookie_name,
    store::{self, NewSession},
};
use crate::{
    clock::At,
    db::Tx,
    ids::{SessionId, StaffId},
    web::{Peer, Result},
};

/// One shift.
const SESSION_HOURS: i64 = 12;

/// How somebody came in.
pub(super) struct Came<'a> {
    pub peer: Peer,
    /// On a tablet of several people.
    pub shared: bool,
    pub headers: &'a HeaderMap,
}

/// Begins a session under a fresh token.
pub(super) async fn begin(
    tx: &mut Tx,
    staff: StaffId,
    came: &Came<'_>,
    now: At,
) -> Result<(SessionId, Cookie<'static>)> {
    let (id, token) = (SessionId::new(), Token::new()?);
    let agent = came.headers.get(header::USER_AGENT).and_then(|v| v.to_str().ok()).unwrap_or_default();
    let agent: String = agent.chars().filter(|c| !c.is_control()).take(200).collect();
    let session = NewSession {
        id,
        token_hash: token.hash(),
        staff,
        now,
        expires: now.plus_minutes(SESSION_HOURS * 60),
        shared: came.shared,
        agent: &agent,
    };
    store::begin_session(tx, &session).await?;
    Ok((id, cookie(came.peer, token.as_str().to_owned())))
}

pub(super) fn cookie(peer: Peer, value: String) -> Cookie<'static> {
    Cookie::build((cookie_name(peer), value))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(peer.tls)
        .build()
}

/// Whoever signs in on a browser that was signed in takes its place there.
pub(super) async fn end_earlier(tx: &mut Tx, peer: Peer, jar: &CookieJar, now: At) -> Result<()> {
    let Some(cookie) = jar.get(cookie_name(peer)) else { return Ok(()) };
    let hash = Token::presented(cookie.value()).hash();
    if let Some(earlier) = store::find_session(&mut **tx, &hash, now).await? {
        store::end_session(tx, earlier.id).await?;
    }
    Ok(())
}

/// Only a page of ours can be gone on to: one slash at the start, no second one, no way out. A browser leaves tabs and
/// line breaks out of an address, so that what they stand between would come together.
pub(super) fn own_page(next: &str) -> &str {
    let own = next.starts_with('/')
        && !next.starts_with("//")
        && !next.contains('\\')
        && !next.contains(char::is_control)
        && !next.contains("..");
    if own { next } else { "/" }
}

/// The other end; a router driven in process has none and stands for this machine.
pub(super) fn peer_or_here(peer: Option<Extension<Peer>>) -> Peer {
    peer.map_or_else(Peer::here, |Extension(p)| p)
}
