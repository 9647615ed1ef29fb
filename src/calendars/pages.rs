//! The feed itself, and the page where a vet makes or withdraws its address.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::State,
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use qrcode::{QrCode, render::svg};
use serde::Deserialize;
use sha2::{Digest, Sha256};

use super::{feed as writing, store, together};
use crate::{
    App,
    accounts::{Can, Token, act},
    audit,
    clock::At,
    practice,
    reasoning::watch::monday,
    record::hex,
    rota::{self, Rota},
    web::{Begun, Error, Form, Path, Peer, Result, Shell, begin, flash},
};

/// Watches are shown for so many days from Monday on, so that the calendar changes once a week.
const WATCHES_AHEAD: i64 = 56;
/// So many days back a calendar shows; what lies behind is in the practice.
const DAYS_BACK: i64 = 60;

/// The calendar behind a secret address. A wrong one is a page that is not there.
pub(super) async fn feed(
    State(app): State<App>,
    Path(file): Path<String>,
    headers: HeaderMap,
) -> Result<Response> {
    let secret = file.strip_suffix(".ics").ok_or(Error::NotFound)?;
    let db = app.db.read();
    let (vet, name) = store::vet_of(db, secret).await?.ok_or(Error::NotFound)?;
    let practice = practice::store::get(db).await?;
    let today = app.clock.now().day(&practice.zone);
    let events = store::events(db, vet, today.plus_days(-DAYS_BACK).start(&practice.zone)).await?;
    let monday = monday(today);
    let rota = Rota::load(db, monday, monday.plus_days(WATCHES_AHEAD)).await?;
    let duties = together::duties(&rota, vet, (monday, WATCHES_AHEAD), &practice.zone);
    let set_at = rota::store::last_change(db).await?.map_or(At(0), |change| change.at);
    let title = format!("{name}, {}", practice.name);
    let entries = together::entries(&events);
    let text = writing::calendar(&title, &entries, (&duties, set_at), &store::shows(db).await?);
    let tag = format!("\"{}\"", hex(&Sha256::digest(text.as_bytes())[..16]));
    if headers.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes()) {
        return Ok((StatusCode::NOT_MODIFIED, [(header::ETAG, tag)]).into_response());
    }
    let kind = [
        (header::CONTENT_TYPE, writing::MEDIA_TYPE.to_owned()),
        (header::ETAG, tag),
        (header::CACHE_CONTROL, "private, no-cache".to_owned()),
    ];
    Ok((kind, text).into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "calendars/page.html")]
pub(super) struct CalendarPage {
    shell: Shell,
    /// The address as it was asked for here, and since when it is good.
    address: Option<(String, At)>,
    /// The same for the camera of a telephone, as SVG.
    code: String,
    shows: &'static str,
    zone: TimeZone,
}

pub(super) async fn page(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    peer: Option<Extension<Peer>>,
    headers: HeaderMap,
) -> Result<CalendarPage> {
    let db = app.db.read();
    let scheme = if peer.is_some_and(|Extension(peer)| peer.tls) { "https" } else { "http" };
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let address = store::of_vet(db, user.id).await?;
    let address = address.map(|(secret, at)| (format!("{scheme}://{host}/calendar/{secret}.ics"), at));
    let code = address.as_ref().map_or_else(String::new, |(address, _)| drawn(address));
    let shows = super::settings::words(&store::shows(db).await?);
    Ok(CalendarPage { shell, address, code, shows, zone: practice::store::get(db).await?.zone })
}

/// The address as a picture that a camera reads.
fn drawn(address: &str) -> String {
    let Ok(code) = QrCode::new(address.as_bytes()) else { return String::new() };
    let drawing = code.render::<svg::Color<'_>>().min_dimensions(200, 200).build();
    // Without the line that a file of its own begins with.
    drawing.find("<svg").map_or_else(String::new, |start| drawing[start..].to_owned())
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct StepForm {
    pub submission: String,
}

pub(super) async fn make(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    Form(form): Form<StepForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::make(&mut once.tx, user.id, Token::new()?.as_str(), once.now).await?;
    audit::store::note(&mut once.tx, "calendar address made", &user.name, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Your calendar has an address. One that you had before is no good now.")
        .await?;
    once.commit("/me/calendar").await
}

pub(super) async fn withdraw(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    Form(form): Form<StepForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::withdraw(&mut once.tx, user.id).await? == 1 {
        audit::store::note(&mut once.tx, "calendar address withdrawn", &user.name, user.id, once.now).await?;
    }
    flash(&mut once.tx, &user, "The address is withdrawn: nobody reads your calendar by it.").await?;
    once.commit("/me/calendar").await
}
