//! The door: everything stands behind it but the few public pages.

use std::marker::PhantomData;

use axum::{
    extract::{FromRequestParts, MatchedPath, Request, State},
    http::{Method, request::Parts},
    middleware::Next,
    response::Response,
};
use axum_extra::extract::CookieJar;

use super::{
    Act, Role, Token,
    act::Named,
    factor,
    store::{self, Session},
};
use crate::{
    App,
    clock::At,
    ids::{SessionId, StaffId},
    web::{DOOR, Error, Peer},
};

/// A browser that nobody touched for so long is locked: a shared tablet sooner than a desk.
const IDLE_MINUTES: i64 = 30;
const IDLE_MINUTES_SHARED: i64 = 10;
/// Names the account that a kept form belongs to.
const FOR_ACCOUNT: &str = "for-account";
const BY_ITSELF: [&str; 2] = ["/visits/{id}/exam/changes", "/visits/{id}/exam/unsent"];
/// All that is open to somebody who came in with a one-use code.
const OPEN_WITHOUT_PASSWORD: [&str; 3] = ["/me/first-password", "/sign-out", "/lock"];
/// All that is open to an owner whose time to set up a second factor is over.
const OPEN_WITHOUT_FACTOR: [&str; 5] =
    ["/me/second-factor", "/me/second-factor/begin", "/me/second-factor/confirm", "/sign-out", "/lock"];

/// Who is signed in.
#[derive(Debug, Clone)]
pub struct User {
    pub id: StaffId,
    pub name: String,
    pub role: Role,
    /// Holds a veterinarian's licence.
    pub licensed: bool,
    pub session: SessionId,
    /// So many minutes without a touch lock this browser.
    pub idle_minutes: i64,
    pub agent: String,
    pub flash: Option<String>,
    /// Came in with a one-use code: a password comes before everything else.
    pub must_choose: bool,
    /// Has a second factor: what cannot be taken back asks for a code of it.
    pub second: bool,
}

impl User {
    /// An owner with a licence may also do what a veterinarian may.
    pub fn may(&self, act: Act) -> bool {
        self.role.may(act) || (self.licensed && Role::Vet.may(act))
    }
}

impl From<Session> for User {
    fn from(s: Session) -> Self {
        User {
            idle_minutes: idle_minutes(&s),
            id: s.staff_id,
            name: s.name,
            role: s.role,
            licensed: s.licensed,
            session: s.id,
            agent: s.agent,
            flash: s.flash,
            must_choose: s.code_until.is_some(),
            second: s.second_since.is_some(),
        }
    }
}

impl FromRequestParts<App> for User {
    type Rejection = Error;
    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, Error> {
        let next = next_of(parts);
        parts.extensions.get::<User>().cloned().ok_or(Error::SignIn { next })
    }
}

/// Where to go on after signing in; only a page can be gone back to.
fn next_of(parts: &Parts) -> String {
    if parts.method == Method::GET {
        parts.uri.path_and_query().map_or(String::new(), ToString::to_string)
    } else {
        String::new()
    }
}

/// The right to do something, as an extractor: a handler that asks for it cannot run without it.
pub struct Can<A> {
    pub user: User,
    act: PhantomData<A>,
}

impl<A: Named> FromRequestParts<App> for Can<A> {
    type Rejection = Error;
    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let user = User::from_request_parts(parts, app).await?;
        if !user.may(A::ACT) {
            tracing::warn!(target: DOOR, staff = %user.id, act = ?A::ACT, "a right is missing");
            return Err(Error::Forbidden);
        }
        Ok(Can { user, act: PhantomData })
    }
}

/// Lets a request in when its session is good, and sends it to sign in, to unlock or to set up when it is not.
pub async fn guard(
    State(app): State<App>,
    jar: CookieJar,
    request: Request,
    next: Next,
) -> Result<Response, Error> {
    if !app.is_set_up().await? {
        return Err(Error::SetUp);
    }
    let (mut parts, body) = request.into_parts();
    let peer = peer_of(&parts);
    let next_page = next_of(&parts);
    let Some(cookie) = jar.get(cookie_name(peer)) else { return Err(Error::SignIn { next: next_page }) };
    let now = app.clock.now();
    let session = store::find_session(app.db.read(), &Token::presented(cookie.value()).hash(), now).await?;
    let Some(session) = session.filter(|session| is_meant(session, &parts)) else {
        return Err(Error::SignIn { next: next_page });
    };
    if session.locked || idle(&session, now) {
        if !session.locked
            && let Err(error) = store::lock(&app.db, session.id).await
        {
            tracing::warn!(
                error = format!("{error:#}"),
                "a lock could not be written; it holds all the same"
            );
        }
        return Err(Error::Locked { next: next_page });
    }
    if session.code_until.is_some() && !OPEN_WITHOUT_PASSWORD.contains(&parts.uri.path()) {
        return Err(Error::Choose);
    }
    if factor::is_due(&session, now) && !OPEN_WITHOUT_FACTOR.contains(&parts.uri.path()) {
        return Err(Error::Enrol);
    }
    if now.minutes_since(session.seen_at) >= 1 && !asked_by_itself(&parts) {
        // A full disk must not keep anybody from reading.
        if let Err(error) = store::touch(&app.db, session.id, now).await {
            tracing::warn!(error = format!("{error:#}"), "a touch could not be written");
        }
    }
    parts.extensions.insert(User::from(session));
    Ok(next.run(Request::from_parts(parts, body)).await)
}

/// A tablet says for whom it sends what it kept: under another account it would become that one's words.
fn is_meant(session: &Session, parts: &Parts) -> bool {
    parts
        .headers
        .get(FOR_ACCOUNT)
        .is_none_or(|account| account.as_bytes() == session.staff_id.to_string().as_bytes())
}

/// What an open page asks without a hand near it keeps no browser unlocked.
fn asked_by_itself(parts: &Parts) -> bool {
    parts.extensions.get::<MatchedPath>().is_some_and(|path| BY_ITSELF.contains(&path.as_str()))
}

/// A touch that lies ahead was by a clock that was wrong: it keeps no browser open either.
fn idle(session: &Session, now: At) -> bool {
    now.minutes_since(session.seen_at).abs() >= idle_minutes(session)
}

fn idle_minutes(session: &Session) -> i64 {
    if session.shared { IDLE_MINUTES_SHARED } else { IDLE_MINUTES }
}

/// The other end; a router driven in process has none and stands for this machine.
pub(super) fn peer_of(parts: &Parts) -> Peer {
    parts.extensions.get::<Peer>().copied().unwrap_or_else(Peer::here)
}

/// Browsers keep a `__Host-` cookie only over TLS.
pub(super) fn cookie_name(peer: Peer) -> &'static str {
    if peer.tls { "__Host-sid" } else { "sid" }
}
