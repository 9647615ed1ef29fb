//! Signing in and out, locking and unlocking.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension, Router,
    extract::State,
    http::HeaderMap,
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};
use axum_extra::extract::CookieJar;
use serde::Deserialize;

use super::{
    Token, User, factor,
    guard::cookie_name,
    keeping,
    password::bounded,
    session::{self, Came, own_page, peer_or_here},
    store::{self, Session},
};
use crate::{
    App,
    ids::StaffId,
    web::{DOOR, Error, Errors, Form, Peer, Query, Result, invalid},
};

const SPENT: &str =
    "This code was used already or is older than a day. Ask the practice's owner for a password.";
/// After so many wrong PINs the password is asked for.
const PIN_TRIES: i64 = 5;

pub fn public() -> Router<App> {
    Router::new()
        .route("/sign-in", get(sign_in_page).post(sign_in))
        .route("/locked", get(locked_page).post(unlock))
        .merge(factor::public())
}

pub fn router() -> Router<App> {
    Router::new().route("/sign-out", post(sign_out)).route("/lock", post(lock)).merge(factor::router())
}

#[derive(Template, WebTemplate)]
#[template(path = "accounts/sign_in.html")]
struct SignInPage {
    form: SignInForm,
    /// The practice was just set up.
    ready: bool,
    errors: Errors,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct SignInForm {
    name: String,
    password: String,
    shared: String,
    next: String,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct NextQuery {
    next: String,
    /// The practice was just set up.
    ready: String,
}

async fn sign_in_page(State(app): State<App>, Query(query): Query<NextQuery>) -> Result<Response> {
    if !app.is_set_up().await? {
        return Err(Error::SetUp);
    }
    let form = SignInForm { next: query.next, ..SignInForm::default() };
    Ok(SignInPage { form, ready: query.ready == "yes", errors: Errors::default() }.into_response())
}

async fn sign_in(
    State(app): State<App>,
    peer: Option<Extension<Peer>>,
    headers: HeaderMap,
    jar: CookieJar,
    Form(form): Form<SignInForm>,
) -> Result<Response> {
    let peer = peer_or_here(peer);
    let now = app.clock.now();
    let name: String = form.name.trim().chars().take(200).collect();
    if let Some(seconds) = app.throttle.wait(&name, peer.addr.ip(), now) {
        tracing::warn!(target: DOOR, address = %peer.addr.ip(), seconds, "a sign-in has to wait");
        return Err(Error::Slow { seconds });
    }
    let staff = match known(&app, &name, &form.password).await? {
        Ok(staff) => staff,
        Err(sentence) => {
            app.throttle.failed(&name, now);
            // No name: a password may have been typed in its place.
            tracing::warn!(target: DOOR, address = %peer.addr.ip(), "a sign-in was refused");
            let form = SignInForm { password: String::new(), ..form };
            return Ok(invalid(SignInPage { form, ready: false, errors: Errors::one("password", sentence) }));
        }
    };
    app.throttle.succeeded(&name);
    let (shared, next) = (form.shared == "yes", own_page(&form.next));
    if factor::store::since(app.db.read(), staff).await?.is_some() {
        return factor::begin(&app, staff, peer, (shared, next), jar).await;
    }
    let to = factor::where_to(&app, staff, next).await?;
    let mut tx = app.db.write_at_the_door().await?;
    let (_, cookie) = session::begin(&mut tx, staff, &Came { peer, shared, headers: &headers }, now).await?;
    session::end_earlier(&mut tx, peer, &jar, now).await?;
    tx.commit().await?;
    tracing::info!(target: DOOR, %staff, address = %peer.addr.ip(), "signed in");
    Ok((jar.add(cookie), Redirect::to(&to)).into_response())
}

/// Whose name and password these are, or why nobody's. A one-use code is used up by asking.
async fn known(app: &App, name: &str, typed: &str) -> Result<std::result::Result<StaffId, &'static str>> {
    let secrets = store::secrets_by_name(app.db.read(), name).await?;
    let code = secrets.as_ref().is_some_and(|s| s.code_until.is_some());
    let typed = bounded(typed);
    // A code is read off a screen: small letters and blanks around it are no mistake.
    let typed = if code { typed.trim().to_uppercase() } else { typed };
    let hash = secrets.as_ref().map(|s| s.password_hash.as_str());
    let (true, Some(staff)) = (app.hasher.verify(&typed, hash).await?, secrets.as_ref().map(|s| s.id)) else {
        return Ok(Err("This name and password do not belong together."));
    };
    if code {
        let mut tx = app.db.write_at_the_door().await?;
        if !keeping::spend_code(&mut tx, staff, app.clock.now()).await? {
            return Ok(Err(SPENT));
        }
        tx.commit().await?;
    }
    Ok(Ok(staff))
}

async fn sign_out(
    State(app): State<App>,
    user: User,
    peer: Option<Extension<Peer>>,
    jar: CookieJar,
) -> Result<Response> {
    let mut tx = app.db.write_at_the_door().await?;
    store::end_session(&mut tx, user.session).await?;
    tx.commit().await?;
    tracing::info!(target: DOOR, staff = %user.id, "signed out");
    let jar = jar.remove(session::cookie(peer_or_here(peer), String::new()));
    // Not the storage: entries of this or another account may wait in it. The page clears it when none do.
    let clear = [("clear-site-data", "\"cache\"")];
    Ok((jar, clear, Redirect::to("/sign-in")).into_response())
}

async fn lock(State(app): State<App>, user: User) -> Result<Response> {
    store::lock(&app.db, user.session).await?;
    Ok(Redirect::to("/locked").into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "accounts/locked.html")]
struct LockedPage {
    account: StaffId,
    name: String,
    next: String,
    /// The account has a PIN and has not used up its tries.
    pin: bool,
    errors: Errors,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct UnlockForm {
    secret: String,
    next: String,
}

async fn locked_page(
    State(app): State<App>,
    peer: Option<Extension<Peer>>,
    jar: CookieJar,
    Query(query): Query<NextQuery>,
) -> Result<Response> {
    let session = locked_session(&app, peer_or_here(peer), &jar).await?;
    if !session.locked {
        return Ok(Redirect::to(own_page(&query.next)).into_response());
    }
    let pin = pin_allowed(&app, &session).await?;
    Ok(LockedPage {
        account: session.staff_id,
        name: session.name,
        next: query.next,
        pin,
        errors: Errors::default(),
    }
    .into_response())
}

async fn unlock(
    State(app): State<App>,
    peer: Option<Extension<Peer>>,
    jar: CookieJar,
    Form(form): Form<UnlockForm>,
) -> Result<Response> {
    let peer = peer_or_here(peer);
    let session = locked_session(&app, peer, &jar).await?;
    let now = app.clock.now();
    if let Some(seconds) = app.throttle.wait(&session.name, peer.addr.ip(), now) {
        return Err(Error::Slow { seconds });
    }
    let secrets = store::secrets(app.db.read(), session.staff_id).await?;
    let pin = pin_allowed(&app, &session).await?;
    let by_pin = pin && app.hasher.verify(&form.secret, secrets.pin_hash.as_deref()).await?;
    let good = by_pin || app.hasher.verify(&form.secret, secrets.of_password()).await?;
    let mut tx = app.db.write_at_the_door().await?;
    if good {
        let token = Token::new()?;
        store::unlock(&mut tx, session.id, token.hash(), now).await?;
        tx.commit().await?;
        let jar = jar.add(session::cookie(peer, token.as_str().to_owned()));
        app.throttle.succeeded(&session.name);
        tracing::info!(target: DOOR, staff = %session.staff_id, address = %peer.addr.ip(), "unlocked");
        return Ok((jar, Redirect::to(own_page(&form.next))).into_response());
    }
    store::pin_failed(&mut tx, session.id).await?;
    tx.commit().await?;
    app.throttle.failed(&session.name, now);
    tracing::warn!(target: DOOR, staff = %session.staff_id, address = %peer.addr.ip(), "unlocking was refused");
    let errors = Errors::one("secret", "That did not unlock it. Try again, or sign in as somebody else.");
    Ok(invalid(LockedPage {
        account: session.staff_id,
        name: session.name,
        next: form.next,
        pin: pin && session.pin_failures + 1 < PIN_TRIES,
        errors,
    }))
}

async fn locked_session(app: &App, peer: Peer, jar: &CookieJar) -> Result<Session> {
    let sign_in = || Error::SignIn { next: String::new() };
    let cookie = jar.get(cookie_name(peer)).ok_or_else(sign_in)?;
    let hash = Token::presented(cookie.value()).hash();
    store::find_session(app.db.read(), &hash, app.clock.now()).await?.ok_or_else(sign_in)
}

async fn pin_allowed(app: &App, session: &Session) -> Result<bool> {
    let secrets = store::secrets(app.db.read(), session.staff_id).await?;
    Ok(secrets.pin_hash.is_some() && session.pin_failures < PIN_TRIES)
}
