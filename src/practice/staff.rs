//! Who works here: the list, and one more.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use crate::{
    App,
    accounts::{
        self, Can, Role, act, confirm,
        store::{NewStaff, Staff},
    },
    ids::StaffId,
    web::{Begun, Check, Errors, Form, Peer, Result, Shell, begin, flash, invalid, repeated},
};

pub(super) const NAME_TAKEN: &str = "Somebody with this name has an account already. Add an initial.";

#[derive(Template, WebTemplate)]
#[template(path = "practice/staff.html")]
struct StaffPage {
    shell: Shell,
    staff: Vec<Staff>,
    form: AddForm,
    roles: Vec<(&'static str, Role)>,
    errors: Errors,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct AddForm {
    submission: String,
    name: String,
    role: String,
    licensed: String,
    password: String,
    password_again: String,
    factor: String,
}

/// The roles as a form offers them.
pub(super) fn roles() -> Vec<(&'static str, Role)> {
    Role::ALL.into_iter().map(|role| (role.key(), role)).collect()
}

pub(super) async fn list(_: Can<act::RunPractice>, State(app): State<App>, shell: Shell) -> Result<Response> {
    Ok(page(&app, shell, AddForm::default(), Errors::default()).await?.into_response())
}

async fn page(app: &App, shell: Shell, form: AddForm, errors: Errors) -> Result<StaffPage> {
    let staff = accounts::store::all(app.db.read()).await?;
    let form = AddForm { password: String::new(), password_again: String::new(), ..form };
    Ok(StaffPage { shell, staff, form, roles: roles(), errors })
}

impl AddForm {
    fn check(&self, practice: &str) -> std::result::Result<NewStaff, Errors> {
        let mut check = Check::new();
        let name = accounts::form::name(&mut check, "name", &self.name);
        let role = check.choice("role", &self.role, "Choose what this person does.").unwrap_or(Role::Desk);
        let licensed = accounts::form::licence(&mut check, "licensed", role, self.licensed == "yes");
        let known = [self.name.as_str(), practice, "limbledger"];
        accounts::form::new_password(&mut check, "password", &self.password, &self.password_again, &known);
        let id = StaffId::new();
        check.done(NewStaff { id, name, role, licensed, password_hash: String::new() })
    }
}

pub(super) async fn add(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    peer: Option<Extension<Peer>>,
    Form(form): Form<AddForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let mut new = match form.check(&shell.practice) {
        Ok(new) => new,
        Err(errors) => return Ok(invalid(page(&app, shell, form, errors).await?)),
    };
    let mut errors = Errors::default();
    confirm::second_beside(&app, &user, peer, ("factor", &form.factor), &mut errors).await?;
    if !errors.is_empty() {
        return Ok(invalid(page(&app, shell, form, errors).await?));
    }
    new.password_hash = app.hasher.hash(&form.password).await?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if let Err(error) = accounts::store::insert(&mut once.tx, &new, once.now).await {
        if !is_taken(&error) {
            return Err(error.into());
        }
        drop(once);
        return Ok(invalid(page(&app, shell, form, Errors::one("name", NAME_TAKEN)).await?));
    }
    flash(
        &mut once.tx,
        &user,
        &format!(
            "{} can sign in now. Tell them the password, and that it can be changed under their own name.",
            new.name
        ),
    )
    .await?;
    once.commit("/practice/staff").await
}

/// Whether the database refused a name that is there already.
pub(super) fn is_taken(error: &sqlx::Error) -> bool {
    error.as_database_error().is_some_and(sqlx::error::DatabaseError::is_unique_violation)
}
