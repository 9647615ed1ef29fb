//! How a client does not want to be reached, and when they do again. Every word of it is kept.

use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{CHANNELS, is_known, pages::ClientPage, store};
use crate::{
    App,
    accounts::{Can, act},
    clients,
    ids::ClientId,
    web::{Begun, Check, Form, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct WishForm {
    submission: String,
    wish_channel: String,
    wanted: String,
    wish_words: String,
}

pub(super) async fn change(
    State(app): State<App>,
    shell: Shell,
    Can { user, .. }: Can<act::EditClients>,
    Path(id): Path<ClientId>,
    Form(form): Form<WishForm>,
) -> Result<Response> {
    clients::store::get(app.db.read(), id).await?;
    let mut check = Check::new();
    if !is_known(&CHANNELS[..4], &form.wish_channel) {
        check.errors.add("wish_channel", "Choose the way.");
    }
    if !matches!(form.wanted.as_str(), "yes" | "no") {
        check.errors.add("wanted", "Choose whether it is wanted.");
    }
    let words = check.line("wish_words", &form.wish_words, 500);
    if !check.errors.is_empty() {
        let page = ClientPage::new(&app, shell, id, None).await?;
        return Ok(invalid(page.with_wish(check.errors, form.wish_words)));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let said = (form.wish_channel.as_str(), form.wanted == "yes", words.as_str());
    store::wish(&mut once.tx, id, said, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Noted.").await?;
    once.commit(&format!("/clients/{id}/contacts")).await
}
