//! The first-run page: the practice and its first owner, against the one-time code on the server's own screen.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Response},
};
use serde::Deserialize;
use sha2::{Digest, Sha256};

use super::{
    Practice,
    settings::{self, SettingsForm},
    store, zones,
};
use crate::{
    App,
    accounts::{self, Role, store::NewStaff},
    ids::{StaffId, SubmissionId},
    web::{Begun, Check, Error, Errors, Form, Peer, Result, begin, invalid, see_other},
};

/// What wrong codes are counted under.
const THROTTLED: &str = "\u{1}set-up code";
const SIGN_IN: &str = "/sign-in?ready=yes";

#[derive(Template, WebTemplate)]
#[template(path = "practice/set_up.html")]
struct SetUpPage {
    form: SetUpForm,
    errors: Errors,
    zones: Vec<String>,
    scales: Vec<(&'static str, &'static str)>,
    submission: SubmissionId,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct SetUpForm {
    submission: String,
    code: String,
    #[serde(flatten)]
    settings: SettingsForm,
    name: String,
    password: String,
    password_again: String,
    licensed: String,
}

/// What is set up: the practice, its owner's name and licence.
struct SetUp {
    practice: Practice,
    name: String,
    licensed: bool,
}

impl SetUpForm {
    fn check(&self, code_is_right: bool) -> std::result::Result<SetUp, Errors> {
        let mut check = Check::new();
        if self.code.trim().is_empty() {
            check.errors.add("code", "Enter the code that stands on the server's screen.");
        } else if !code_is_right {
            check
                .errors
                .add("code", "This is not the code. It stands in the window where limbledger was started.");
        }
        let practice = self.settings.check(&mut check);
        let name = accounts::form::name(&mut check, "name", &self.name);
        let known = [self.name.as_str(), self.settings.practice.as_str(), "limbledger"];
        accounts::form::new_password(&mut check, "password", &self.password, &self.password_again, &known);
        if !check.errors.is_empty()
            && check.errors.on("password").is_none()
            && check.errors.on("password_again").is_none()
        {
            check.errors.add("password", "Enter the password again: it is never sent back to a page.");
        }
        check.done(SetUp { practice, name, licensed: self.licensed == "yes" })
    }
}

fn page(form: SetUpForm, errors: Errors) -> SetUpPage {
    SetUpPage {
        form: SetUpForm { password: String::new(), password_again: String::new(), ..form },
        errors,
        zones: zones::names(),
        scales: settings::lameness_scales(),
        submission: SubmissionId::new(),
    }
}

pub(super) async fn show(State(app): State<App>) -> Result<Response> {
    if app.is_set_up().await? {
        return Ok(see_other("/"));
    }
    let form = SetUpForm { settings: SettingsForm::proposed(), ..SetUpForm::default() };
    Ok(page(form, Errors::default()).into_response())
}

pub(super) async fn set_up(
    State(app): State<App>,
    peer: Option<Extension<Peer>>,
    Form(mut form): Form<SetUpForm>,
) -> Result<Response> {
    form.settings.exam_order = SettingsForm::proposed().exam_order;
    if app.is_set_up().await? {
        return match begin(&app, &form.submission, None).await? {
            Begun::Repeat(answer) => Ok(answer),
            Begun::Fresh(_) => Err(Error::BadRequest("The practice is set up already; sign in".into())),
        };
    }
    let (now, from) = (app.clock.now(), peer.map_or([127, 0, 0, 1].into(), |Extension(p)| p.addr.ip()));
    if let Some(seconds) = app.throttle.wait(THROTTLED, from, now) {
        let errors =
            Errors::one("code", format!("Too many wrong codes. Wait {seconds} seconds, then try again."));
        return Ok((StatusCode::TOO_MANY_REQUESTS, page(form, errors)).into_response());
    }
    let right = is_code(app.set_up_code.as_deref(), &form.code);
    if !right && !form.code.trim().is_empty() {
        app.throttle.failed(THROTTLED, now);
    }
    match form.check(right) {
        Ok(set_up) => store_it(&app, &form, &set_up).await,
        Err(errors) => Ok(invalid(page(form, errors))),
    }
}

async fn store_it(app: &App, form: &SetUpForm, set_up: &SetUp) -> Result<Response> {
    let password_hash = app.hasher.hash(&form.password).await?;
    let mut once = match begin(app, &form.submission, None).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let owner = NewStaff {
        id: StaffId::new(),
        name: set_up.name.clone(),
        role: Role::Owner,
        licensed: set_up.licensed,
        password_hash,
    };
    store::insert(&mut once.tx, &set_up.practice, once.now).await?;
    accounts::store::insert(&mut once.tx, &owner, once.now).await?;
    once.commit(SIGN_IN).await
}

/// Compared by digest, so that the time it takes says nothing of how much was right.
fn is_code(code: Option<&str>, typed: &str) -> bool {
    let plain = |text: &str| -> String {
        text.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
    };
    code.is_some_and(|code| Sha256::digest(plain(code)) == Sha256::digest(plain(typed)))
}
