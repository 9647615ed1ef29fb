//! The second page of signing in. Between the two pages stands a token that opens nothing: it says whose password was
//! right a moment ago, and a fresh one takes its place when the code is right too.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension, Router,
    extract::State,
    http::HeaderMap,
    response::{IntoResponse, Redirect, Response},
    routing::get,
};
use axum_extra::extract::CookieJar;
use serde::Deserialize;

use super::{
    WRONG,
    spend::{Spent, spend},
    store::{self, Half},
    throttled,
};
use crate::{
    App,
    accounts::{
        Token,
        guard::cookie_name,
        session::{self, Came},
    },
    ids::StaffId,
    web::{DOOR, Error, Errors, Form, Peer, Result, invalid, see_other},
};

/// So long a right password waits for its code.
const WAITS_MINUTES: i64 = 5;
/// Where signing in begins.
const SIGN_IN: &str = "/sign-in";
/// A longer address is not gone on to.
const LONGEST_NEXT: usize = 2000;

pub(in crate::accounts) fn public() -> Router<App> {
    Router::new().route("/sign-in/code", get(page).post(take))
}

/// The right password of an account with a second factor: on to its code.
pub(in crate::accounts) async fn begin(
    app: &App,
    staff: StaffId,
    peer: Peer,
    (shared, next): (bool, &str),
    jar: CookieJar,
) -> Result<Response> {
    let (now, token) = (app.clock.now(), Token::new()?);
    let next = if next.chars().count() > LONGEST_NEXT { "/" } else { next };
    let mut tx = app.db.write_at_the_door().await?;
    let times = (now, now.plus_minutes(WAITS_MINUTES));
    session::end_earlier(&mut tx, peer, &jar, now).await?;
    store::begin_half(&mut tx, &token.hash(), (staff, shared, next), times).await?;
    tx.commit().await?;
    let cookie = session::cookie(peer, token.as_str().to_owned());
    Ok((jar.add(cookie), Redirect::to("/sign-in/code")).into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "accounts/code.html")]
struct CodePage {
    name: String,
    form: CodeForm,
    errors: Errors,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct CodeForm {
    code: String,
}

async fn page(State(app): State<App>, peer: Option<Extension<Peer>>, jar: CookieJar) -> Result<Response> {
    let Some((half, _)) = waiting(&app, session::peer_or_here(peer), &jar).await? else {
        return Ok(see_other(SIGN_IN));
    };
    Ok(CodePage { name: half.name, form: CodeForm::default(), errors: Errors::default() }.into_response())
}

async fn take(
    State(app): State<App>,
    peer: Option<Extension<Peer>>,
    headers: HeaderMap,
    jar: CookieJar,
    Form(form): Form<CodeForm>,
) -> Result<Response> {
    let peer = session::peer_or_here(peer);
    let Some((half, token)) = waiting(&app, peer, &jar).await? else { return Ok(see_other(SIGN_IN)) };
    if form.code.trim().is_empty() {
        let errors = Errors::one("code", "Enter the code that your device shows, or a recovery code.");
        return Ok(invalid(CodePage { name: half.name, form, errors }));
    }
    let now = app.clock.now();
    let counted = throttled(&half.name);
    if let Some(seconds) = app.throttle.wait(&counted, peer.addr.ip(), now) {
        return Err(Error::Slow { seconds });
    }
    let spent = spend(&app, half.staff, &form.code).await?;
    if spent == Spent::No {
        app.throttle.failed(&counted, now);
        tracing::warn!(target: DOOR, staff = %half.staff, address = %peer.addr.ip(), "a code was refused");
        return Ok(invalid(CodePage { name: half.name, form, errors: Errors::one("code", WRONG) }));
    }
    let mut tx = app.db.write_at_the_door().await?;
    if !store::end_half(&mut tx, &token).await? {
        return Ok(see_other(SIGN_IN));
    }
    let came = Came { peer, shared: half.shared, headers: &headers };
    let (id, cookie) = session::begin(&mut tx, half.staff, &came, now).await?;
    if let Spent::Recovery { left } = spent {
        let line = format!(
            "You used a recovery code; {left} are left. If the device is lost, set up another one under your name."
        );
        crate::accounts::store::leave_flash(&mut tx, id, &line).await?;
    }
    tx.commit().await?;
    app.throttle.succeeded(&counted);
    tracing::info!(target: DOOR, staff = %half.staff, address = %peer.addr.ip(), "signed in");
    Ok((jar.add(cookie), Redirect::to(session::own_page(&half.next))).into_response())
}

/// The half-made sign-in of this browser, and its token's digest; without one signing in begins anew.
async fn waiting(app: &App, peer: Peer, jar: &CookieJar) -> sqlx::Result<Option<(Half, Vec<u8>)>> {
    let Some(cookie) = jar.get(cookie_name(peer)) else { return Ok(None) };
    let token = Token::presented(cookie.value()).hash();
    let half = store::half(app.db.read(), &token, app.clock.now()).await?;
    Ok(half.map(|half| (half, token)))
}
