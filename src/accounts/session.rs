//! A signed-in browser: its session, its cookie, and the page it goes on to.

use axum::{
    Extension,
    http::{HeaderMap, header},
};
use axum_extra::extract::cookie::{Cookie, SameSite};

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

/// Only a page of ours can be gone on to: one slash at the start, no second one, no way out.
pub(super) fn own_page(next: &str) -> &str {
    let own = next.starts_with('/')
        && !next.starts_with("//")
        && !next.contains(['\\', '\r', '\n'])
        && !next.contains("..");
    if own { next } else { "/" }
}

/// The other end; a router driven in process has none and stands for this machine.
pub(super) fn peer_or_here(peer: Option<Extension<Peer>>) -> Peer {
    peer.map_or_else(Peer::here, |Extension(p)| p)
}
