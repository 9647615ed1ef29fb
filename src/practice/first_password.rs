//! The one page that is open to somebody who came in with a one-use code: their first password.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use crate::{
    App,
    accounts::{self, User, keeping},
    web::{Begun, Check, Errors, Form, Result, Shell, begin, flash, invalid, repeated, see_other},
};

#[derive(Template, WebTemplate)]
#[template(path = "practice/first_password.html")]
struct FirstPasswordPage {
    shell: Shell,
    name: String,
    errors: Errors,
}

/// The password is never shown again.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct FirstPasswordForm {
    submission: String,
    password: String,
    password_again: String,
}

pub(super) async fn show(user: User, shell: Shell) -> Response {
    if !user.must_choose {
        return see_other("/me");
    }
    FirstPasswordPage { shell, name: user.name, errors: Errors::default() }.into_response()
}

/// The code is gone with this. Who has a password already changes it with the old one, not here.
pub(super) async fn choose(
    State(app): State<App>,
    user: User,
    shell: Shell,
    Form(form): Form<FirstPasswordForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    if !user.must_choose {
        return Ok(see_other("/me"));
    }
    let mut check = Check::new();
    let known = [user.name.as_str(), shell.practice.as_str(), "limbledger"];
    accounts::form::new_password(&mut check, "password", &form.password, &form.password_again, &known);
    if !check.errors.is_empty() {
        return Ok(invalid(FirstPasswordPage { shell, name: user.name, errors: check.errors }));
    }
    let hash = app.hasher.hash(&form.password).await?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    keeping::set_password(&mut once.tx, user.id, &hash, Some(user.session)).await?;
    flash(&mut once.tx, &user, "Your password is set. The code does not work any more.").await?;
    once.commit("/").await
}
