//! Handing a tablet its key, and the page it shows when it is locked out of the practice's reach.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::State,
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use serde::{Deserialize, Serialize};

use super::{store, wrap::TabletKey};
use crate::{
    App,
    accounts::{self, User},
    ids::{DeviceId, StaffId},
    record::hex,
    web::{Error, Form, Peer, Result},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct KeyForm {
    device: String,
    /// Typed once more, so that the tablet may keep a copy that it opens.
    pin: String,
}

/// What the tablet is told.
#[derive(Serialize)]
struct Handed<'a> {
    account: StaffId,
    name: &'a str,
    key: String,
    idle_minutes: i64,
    has_pin: bool,
}

/// The same key for the same account on the same tablet. Asked twice it answers the same, so it needs no
/// submission id; the answer is not stored by any cache.
pub(super) async fn key(
    State(app): State<App>,
    user: User,
    peer: Option<Extension<Peer>>,
    Form(form): Form<KeyForm>,
) -> Result<Response> {
    let device: DeviceId =
        form.device.parse().map_err(|_| Error::BadRequest("The tablet did not say which it is".into()))?;
    if !form.pin.is_empty() && !accounts::pin_is(&app, &user, peer, &form.pin).await? {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, "This is not your PIN.").into_response());
    }
    let has_pin = accounts::store::get(app.db.read(), user.id).await?.has_pin;
    let key = hex(&key_of(&app, &user, device).await?);
    let handed = Handed { account: user.id, name: &user.name, key, idle_minutes: user.idle_minutes, has_pin };
    let json = serde_json::to_string(&handed).map_err(anyhow::Error::from)?;
    Ok(([(header::CONTENT_TYPE, "application/json")], json).into_response())
}

async fn key_of(app: &App, user: &User, device: DeviceId) -> Result<TabletKey> {
    let of = format!("{} {device}", user.id);
    if let Some(wrapped) = store::wrapped(app.db.read(), user.id, device).await? {
        return Ok(app.tablet_keys.unwrap(of.as_bytes(), &wrapped)?);
    }
    let mut tx = app.db.write().await?;
    // Asked again under the lock: two pages of one tablet may have passed the first question together.
    if let Some(wrapped) = store::wrapped(&mut *tx, user.id, device).await? {
        return Ok(app.tablet_keys.unwrap(of.as_bytes(), &wrapped)?);
    }
    let (key, wrapped) = app.tablet_keys.make(of.as_bytes())?;
    store::insert(&mut tx, user.id, device, &wrapped, app.clock.now()).await?;
    tx.commit().await?;
    Ok(key)
}

/// Holds nobody's data: the tablet keeps it, and fills in whose PIN it asks for.
#[derive(Template, WebTemplate)]
#[template(path = "tablet/locked.html")]
pub(super) struct LockedPage;

pub(super) async fn locked() -> LockedPage {
    LockedPage
}
