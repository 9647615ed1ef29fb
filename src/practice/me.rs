//! Everybody's own account: password, PIN, and where one is signed in.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use crate::{
    App,
    accounts::{
        self, User,
        keeping::{self, SignedIn},
        store::Staff,
    },
    ids::SessionId,
    web::{Begun, Check, Errors, Form, Path, Result, Shell, begin, flash, invalid, repeated},
};

#[derive(Template, WebTemplate)]
#[template(path = "practice/me.html")]
struct MePage {
    shell: Shell,
    me: Staff,
    sessions: Vec<SignedIn>,
    this: SessionId,
    practice: super::Practice,
    errors: Errors,
}

/// Every form of the page: each sends what it is about. The secrets are never shown again.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct MeForm {
    submission: String,
    current: String,
    password: String,
    password_again: String,
    pin_current: String,
    pin: String,
    pin_again: String,
}

async fn page(app: &App, shell: Shell, user: &User, errors: Errors) -> Result<MePage> {
    let db = app.db.read();
    let me = accounts::store::get(db, user.id).await?;
    let sessions = keeping::sessions(db, user.id, app.clock.now()).await?;
    let practice = super::store::get(db).await?;
    Ok(MePage { shell, me, sessions, this: user.session, practice, errors })
}

pub(super) async fn show(State(app): State<App>, user: User, shell: Shell) -> Result<Response> {
    Ok(page(&app, shell, &user, Errors::default()).await?.into_response())
}

/// Says beside `field` when `typed` is not the password of who is signed in; guessing is slowed down.
async fn check_current(app: &App, user: &User, check: &mut Check, field: &str, typed: &str) -> Result<()> {
    if typed.is_empty() {
        check.errors.add(field, "Enter the password you have now.");
        return Ok(());
    }
    let now = app.clock.now();
    if let Some(seconds) = app.throttle.wait(&user.name, [127, 0, 0, 1].into(), now) {
        check.errors.add(field, format!("Too many attempts. Wait {seconds} seconds, then try again."));
        return Ok(());
    }
    let secrets = accounts::store::secrets(app.db.read(), user.id).await?;
    if !app.hasher.verify(typed, secrets.of_password()).await? {
        app.throttle.failed(&user.name, now);
        check.errors.add(field, "This is not the password you have now.");
    }
    Ok(())
}

/// A new password of one's own; every other browser signed in with the old one is signed out.
pub(super) async fn set_password(
    State(app): State<App>,
    user: User,
    shell: Shell,
    Form(form): Form<MeForm>,
) -> Result<Response> {
    // A double tap: the second one comes with a password that is the old one by now.
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let mut check = Check::new();
    check_current(&app, &user, &mut check, "current", &form.current).await?;
    let known = [user.name.as_str(), shell.practice.as_str(), "limbledger"];
    accounts::form::new_password(&mut check, "password", &form.password, &form.password_again, &known);
    if !check.errors.is_empty() {
        return Ok(invalid(page(&app, shell, &user, check.errors).await?));
    }
    let hash = app.hasher.hash(&form.password).await?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    keeping::set_password(&mut once.tx, user.id, &hash, Some(user.session)).await?;
    flash(&mut once.tx, &user, "Your password is changed. Your other browsers are signed out.").await?;
    once.commit("/me").await
}

/// A PIN unlocks a browser that is signed in already. It never signs a visit.
pub(super) async fn set_pin(
    State(app): State<App>,
    user: User,
    shell: Shell,
    Form(form): Form<MeForm>,
) -> Result<Response> {
    let mut check = Check::new();
    check_current(&app, &user, &mut check, "pin_current", &form.pin_current).await?;
    let pin = accounts::form::new_pin(&mut check, "pin", &form.pin, &form.pin_again);
    if !check.errors.is_empty() {
        return Ok(invalid(page(&app, shell, &user, check.errors).await?));
    }
    let hash = match &pin {
        Some(pin) => Some(app.hasher.hash(pin).await?),
        None => None,
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    keeping::set_pin(&mut once.tx, user.id, hash.as_deref()).await?;
    let said = if pin.is_some() { "Your PIN is set." } else { "You have no PIN now." };
    flash(&mut once.tx, &user, said).await?;
    once.commit("/me").await
}

pub(super) async fn end_session(
    State(app): State<App>,
    user: User,
    Path(session): Path<SessionId>,
    Form(form): Form<MeForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    keeping::end_session_of(&mut once.tx, user.id, session).await?;
    once.commit("/me").await
}
