//! Everybody's own second factor: setting it up, another device, recovery codes, and doing without.

use anyhow::Context;
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use qrcode::{QrCode, render::svg};
use serde::Deserialize;

use super::{
    Duty, codes, duty, owner_of,
    spend::open,
    store::{self, Kept},
};
use crate::{
    App,
    accounts::{User, confirm, keeping, session::own_page},
    audit,
    clock::At,
    practice,
    web::{
        Begun, Errors, Form, Once, Peer, Query, Result, Shell, begin, flash, invalid, repeated, see_other,
    },
};

const PAGE: &str = duty::PAGE;
const CODES: &str = "/me/second-factor/codes";
/// So long a proposed device can be read off the page.
const PROPOSED_MINUTES: i64 = 15;
const OWED: &str = "An owner needs a second factor. Set up another device in its place.";

#[derive(Template, WebTemplate)]
#[template(path = "accounts/second_factor.html")]
pub(super) struct FactorPage {
    shell: Shell,
    zone: TimeZone,
    /// Since when it counts.
    since: Option<At>,
    left: i64,
    proposed: Option<Proposed>,
    duty: Option<Duty>,
    form: FactorForm,
    errors: Errors,
}

/// A device on its way in.
struct Proposed {
    by_hand: String,
    /// The same for a camera, as SVG.
    drawn: String,
}

/// Every form of the page: each sends what it is about.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct FactorForm {
    submission: String,
    next: String,
    factor: String,
    current: String,
    factor_new: String,
    factor_codes: String,
    current_off: String,
    factor_off: String,
}

async fn page(app: &App, shell: Shell, user: &User, form: FactorForm, errors: Errors) -> Result<FactorPage> {
    let db = app.db.read();
    let practice = practice::store::get(db).await?;
    let kept = store::of(db, user.id).await?;
    let proposed = match kept.as_ref().and_then(|kept| fresh(app, kept)) {
        Some(sealed) => Some(drawn(&open(app, user.id, sealed)?, &practice.name, &user.name)?),
        None => None,
    };
    Ok(FactorPage {
        shell,
        zone: practice.zone,
        since: kept.and_then(|kept| kept.confirmed_at),
        left: store::recovery_left(db, user.id).await?,
        proposed,
        duty: duty::of(app, user.id).await?,
        form,
        errors,
    })
}

/// The secret of a proposed device that can still be confirmed.
fn fresh<'a>(app: &App, kept: &'a Kept) -> Option<&'a [u8]> {
    let proposed_at = kept.proposed_at?;
    let is_fresh = app.clock.now().minutes_since(proposed_at) < PROPOSED_MINUTES;
    kept.proposed.as_deref().filter(|_| is_fresh)
}

fn drawn(secret: &codes::Secret, practice: &str, name: &str) -> Result<Proposed> {
    let address = codes::address(secret, practice, name);
    let code = QrCode::new(address.as_bytes()).context("the code for a camera")?;
    let drawing = code.render::<svg::Color<'_>>().min_dimensions(200, 200).build();
    // Without the line that a file of its own begins with.
    let drawn = drawing.find("<svg").map_or_else(String::new, |start| drawing[start..].to_owned());
    Ok(Proposed { by_hand: codes::by_hand(secret), drawn })
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct NextQuery {
    next: String,
}

pub(super) async fn show(
    State(app): State<App>,
    user: User,
    shell: Shell,
    Query(query): Query<NextQuery>,
) -> Result<FactorPage> {
    let form = FactorForm { next: query.next, ..FactorForm::default() };
    page(&app, shell, &user, form, Errors::default()).await
}

/// A new secret for a device; it counts once the device has shown a code.
pub(super) async fn propose(
    State(app): State<App>,
    user: User,
    shell: Shell,
    peer: Option<Extension<Peer>>,
    Form(form): Form<FactorForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let errors =
        prove(&app, &user, peer, ("current", &form.current), ("factor_new", &form.factor_new)).await?;
    if !errors.is_empty() {
        return Ok(invalid(page(&app, shell, &user, form, errors).await?));
    }
    let sealed = app.second_factors.seal(&owner_of(user.id), &codes::secret()?)?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::propose(&mut once.tx, user.id, &sealed, once.now).await?;
    once.commit(PAGE).await
}

/// The password, and a code where there is a second factor already.
async fn prove(
    app: &App,
    user: &User,
    peer: Option<Extension<Peer>>,
    (field, password): (&str, &str),
    (code_field, code): (&str, &str),
) -> Result<Errors> {
    let mut errors = Errors::default();
    if password.is_empty() {
        errors.add(field, "Enter your password.");
    } else if !confirm::confirm(app, user, peer, password).await? {
        errors.add(field, "This is not your password. A PIN is not enough here.");
    }
    confirm::second_beside(app, user, peer, (code_field, code), &mut errors).await?;
    Ok(errors)
}

/// The device has shown a code: it counts from here on, and every other browser has to come in with it.
pub(super) async fn take(
    State(app): State<App>,
    user: User,
    shell: Shell,
    Form(form): Form<FactorForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let kept = store::of(app.db.read(), user.id).await?;
    let Some(sealed) = kept.as_ref().and_then(|kept| fresh(&app, kept)) else {
        return Ok(see_other(PAGE));
    };
    let secret = open(&app, user.id, sealed)?;
    let typed: String = form.factor.chars().filter(|c| !c.is_whitespace()).collect();
    let Some(step) = codes::step_of(&secret, &typed, app.clock.now(), 0) else {
        let words = "This is not the code that the device shows now. Type the six digits; if they stay wrong, look at \
                     the clocks of both.";
        return Ok(invalid(page(&app, shell, &user, form, Errors::one("factor", words)).await?));
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::confirm(&mut once.tx, user.id, step, once.now).await?;
    write_codes(&app, &mut once, &user).await?;
    keeping::end_sessions(&mut once.tx, user.id, Some(user.session)).await?;
    audit::store::note(&mut once.tx, "set up a second factor", &user.name, user.id, once.now).await?;
    once.commit(CODES).await
}

/// Ten new recovery codes in the place of those before, to be shown on the next page.
async fn write_codes(app: &App, once: &mut Once, user: &User) -> Result<()> {
    let fresh = codes::recovery()?;
    let digests: Vec<Vec<u8>> = fresh.iter().map(|code| codes::digest(user.id, code)).collect();
    let unseen = app.second_factors.seal(&owner_of(user.id), fresh.join("\n").as_bytes())?;
    Ok(store::set_recovery(&mut once.tx, user.id, &digests, &unseen).await?)
}

#[derive(Template, WebTemplate)]
#[template(path = "accounts/recovery_codes.html")]
struct CodesPage {
    shell: Shell,
    codes: Vec<String>,
}

/// The recovery codes, once: whoever looks again has to make new ones.
pub(super) async fn codes(State(app): State<App>, user: User, shell: Shell) -> Result<Response> {
    let mut tx = app.db.write().await?;
    let Some(sealed) = store::take_unseen(&mut tx, user.id).await? else { return Ok(see_other(PAGE)) };
    tx.commit().await?;
    let plain = app.second_factors.unseal(&owner_of(user.id), &sealed)?;
    let plain = String::from_utf8(plain).context("recovery codes are damaged")?;
    Ok(CodesPage { shell, codes: plain.lines().map(str::to_owned).collect() }.into_response())
}

pub(super) async fn new_codes(
    State(app): State<App>,
    user: User,
    shell: Shell,
    peer: Option<Extension<Peer>>,
    Form(form): Form<FactorForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    if !user.second {
        return Ok(see_other(PAGE));
    }
    let mut errors = Errors::default();
    confirm::second_beside(&app, &user, peer, ("factor_codes", &form.factor_codes), &mut errors).await?;
    if !errors.is_empty() {
        return Ok(invalid(page(&app, shell, &user, form, errors).await?));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    write_codes(&app, &mut once, &user).await?;
    audit::store::note(&mut once.tx, "made new recovery codes", &user.name, user.id, once.now).await?;
    once.commit(CODES).await
}

/// Doing without one again, where nobody has to have one.
pub(super) async fn remove(
    State(app): State<App>,
    user: User,
    shell: Shell,
    peer: Option<Extension<Peer>>,
    Form(form): Form<FactorForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    if !user.second {
        return Ok(see_other(PAGE));
    }
    let errors = if duty::of(&app, user.id).await?.is_some() {
        Errors::one("factor_off", OWED)
    } else {
        prove(&app, &user, peer, ("current_off", &form.current_off), ("factor_off", &form.factor_off)).await?
    };
    if !errors.is_empty() {
        return Ok(invalid(page(&app, shell, &user, form, errors).await?));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::remove(&mut once.tx, user.id).await?;
    keeping::end_sessions(&mut once.tx, user.id, Some(user.session)).await?;
    audit::store::note(&mut once.tx, "removed a second factor", &user.name, user.id, once.now).await?;
    flash(&mut once.tx, &user, "You sign in with your password alone. Your other browsers are signed out.")
        .await?;
    once.commit(PAGE).await
}

/// An owner puts it off, until the day that the page has named.
pub(super) async fn later(
    State(app): State<App>,
    user: User,
    Form(form): Form<FactorForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::put_off(&mut once.tx, user.id).await?;
    once.commit(own_page(&form.next)).await
}
