//! One account, as an owner keeps it: role, licence, password, second factor, sessions, leaving and coming back. Where
//! the owner has a second factor, each asks for a code of it, but for signing somebody out.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::staff::{NAME_TAKEN, is_taken, roles};
use crate::{
    App,
    accounts::{
        self, Can, Role, User, act, confirm, factor,
        keeping::{self, Change, SignedIn},
        store::Staff,
    },
    clock::At,
    ids::{SessionId, StaffId},
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Path, Peer, Result, Shell, begin, flash, invalid,
        repeated,
    },
};

const LAST_OWNER: &str = "This is the only owner. Make somebody else an owner first.";

/// Who sends a form, and from where.
pub(super) type Sender = Option<Extension<Peer>>;

#[derive(Template, WebTemplate)]
#[template(path = "practice/member.html")]
struct MemberPage {
    shell: Shell,
    member: Staff,
    form: MemberForm,
    roles: Vec<(&'static str, Role)>,
    sessions: Vec<SignedIn>,
    /// Booked visits ahead of them.
    booked: i64,
    /// Since when they have a second factor.
    second: Option<At>,
    /// The owner looks at their own account.
    is_self: bool,
    this: SessionId,
    practice: super::Practice,
    errors: Errors,
}

/// Every form of the page: each sends what it is about.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct MemberForm {
    pub(super) submission: String,
    version: String,
    name: String,
    role: String,
    licensed: String,
    password: String,
    password_again: String,
    factor: String,
    factor_password: String,
    factor_leave: String,
    factor_return: String,
    pub(super) factor_off: String,
}

impl MemberForm {
    fn of(member: &Staff) -> Self {
        MemberForm {
            version: member.version.to_string(),
            name: member.name.clone(),
            role: member.role.key().into(),
            licensed: if member.licensed { "yes".into() } else { String::new() },
            ..Self::default()
        }
    }
}

async fn page(
    app: &App,
    shell: Shell,
    user: &User,
    id: StaffId,
    form: Option<MemberForm>,
    errors: Errors,
) -> Result<MemberPage> {
    let (db, now) = (app.db.read(), app.clock.now());
    let member = accounts::store::get(db, id).await?;
    let form = form.unwrap_or_else(|| MemberForm::of(&member));
    let sessions = keeping::sessions(db, id, now).await?;
    let booked = keeping::booked_ahead(db, id, now).await?;
    let second = factor::store::since(db, id).await?;
    let practice = super::store::get(db).await?;
    Ok(MemberPage {
        shell,
        member,
        form,
        roles: roles(),
        sessions,
        booked,
        second,
        is_self: user.id == id,
        this: user.session,
        practice,
        errors,
    })
}

pub(super) async fn show(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Path(id): Path<StaffId>,
) -> Result<Response> {
    Ok(page(&app, shell, &user, id, None, Errors::default()).await?.into_response())
}

pub(super) async fn change(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    peer: Sender,
    Path(id): Path<StaffId>,
    Form(form): Form<MemberForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let mut check = Check::new();
    let name = accounts::form::name(&mut check, "name", &form.name);
    let role = check.choice("role", &form.role, "Choose what this person does.").unwrap_or(Role::Desk);
    let licensed = accounts::form::licence(&mut check, "licensed", role, form.licensed == "yes");
    confirm::second_beside(&app, &user, peer, ("factor", &form.factor), &mut check.errors).await?;
    if !check.errors.is_empty() {
        return Ok(invalid(page(&app, shell, &user, id, Some(form), check.errors).await?));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let stays_owner = role == Role::Owner || keeping::other_owners(&mut once.tx, id).await? > 0;
    let change = Change { name: &name, role, licensed, version: form.version.parse().unwrap_or(0) };
    let errors = match keeping::change(&mut once.tx, id, &change).await {
        Ok(0) => {
            drop(once);
            return Err(conflict(&change, &accounts::store::get(app.db.read(), id).await?));
        }
        Ok(_) if stays_owner => {
            flash(&mut once.tx, &user, &format!("{name}'s account is changed.")).await?;
            return once.commit(&format!("/practice/staff/{id}")).await;
        }
        Ok(_) => Errors::one("role", LAST_OWNER),
        Err(error) if is_taken(&error) => Errors::one("name", NAME_TAKEN),
        Err(error) => return Err(error.into()),
    };
    drop(once);
    Ok(invalid(page(&app, shell, &user, id, Some(form), errors).await?))
}

fn conflict(yours: &Change<'_>, theirs: &Staff) -> Error {
    let licence = |licensed| if licensed { "licensed" } else { "not licensed" };
    let what = format!("{}'s account", theirs.name);
    let clash = Conflict { what, back: format!("/practice/staff/{}", theirs.id), ..Conflict::default() }
        .field("Name", yours.name, &theirs.name)
        .field("Role", &yours.role.to_string(), &theirs.role.to_string())
        .field("Licence", licence(yours.licensed), licence(theirs.licensed));
    Error::Conflict(Box::new(clash))
}

/// A new password for somebody who forgot theirs: whoever was signed in with the old one is not any longer.
pub(super) async fn set_password(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    peer: Sender,
    Path(id): Path<StaffId>,
    Form(form): Form<MemberForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let member = accounts::store::get(app.db.read(), id).await?;
    let mut check = Check::new();
    let known = [member.name.as_str(), shell.practice.as_str(), "limbledger"];
    accounts::form::new_password(&mut check, "password", &form.password, &form.password_again, &known);
    let code = ("factor_password", form.factor_password.as_str());
    confirm::second_beside(&app, &user, peer, code, &mut check.errors).await?;
    if !check.errors.is_empty() {
        return refused(&app, shell, &user, (&member, form), check.errors).await;
    }
    let hash = app.hasher.hash(&form.password).await?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let kept = (id == user.id).then_some(user.session);
    keeping::set_password(&mut once.tx, id, &hash, kept).await?;
    flash(&mut once.tx, &user, &format!("{} has a new password and is signed out everywhere.", member.name))
        .await?;
    once.commit(&format!("/practice/staff/{id}")).await
}

/// Somebody leaves: no sign-in any more, at once. What they entered stays theirs.
pub(super) async fn leave(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    peer: Sender,
    Path(id): Path<StaffId>,
    Form(form): Form<MemberForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let member = accounts::store::get(app.db.read(), id).await?;
    let mut errors = Errors::default();
    confirm::second_beside(&app, &user, peer, ("factor_leave", &form.factor_leave), &mut errors).await?;
    if !errors.is_empty() {
        return refused(&app, shell, &user, (&member, form), errors).await;
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let others = keeping::other_owners(&mut once.tx, id).await?;
    if member.role == Role::Owner && others == 0 {
        drop(once);
        return Ok(invalid(page(&app, shell, &user, id, None, Errors::one("leave", LAST_OWNER)).await?));
    }
    keeping::set_active(&mut once.tx, id, false).await?;
    keeping::end_sessions(&mut once.tx, id, None).await?;
    if id != user.id {
        flash(&mut once.tx, &user, &format!("{} can no longer sign in.", member.name)).await?;
    }
    once.commit("/practice/staff").await
}

pub(super) async fn come_back(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    peer: Sender,
    Path(id): Path<StaffId>,
    Form(form): Form<MemberForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let member = accounts::store::get(app.db.read(), id).await?;
    let mut errors = Errors::default();
    confirm::second_beside(&app, &user, peer, ("factor_return", &form.factor_return), &mut errors).await?;
    if !errors.is_empty() {
        return refused(&app, shell, &user, (&member, form), errors).await;
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    keeping::set_active(&mut once.tx, id, true).await?;
    flash(&mut once.tx, &user, &format!("{} can sign in again, with the password of before.", member.name))
        .await?;
    once.commit(&format!("/practice/staff/{id}")).await
}

/// The page again, the account as it stands: only the codes that were typed are kept.
pub(super) async fn refused(
    app: &App,
    shell: Shell,
    user: &User,
    (member, typed): (&Staff, MemberForm),
    errors: Errors,
) -> Result<Response> {
    let form = MemberForm {
        factor_password: typed.factor_password,
        factor_leave: typed.factor_leave,
        factor_return: typed.factor_return,
        factor_off: typed.factor_off,
        ..MemberForm::of(member)
    };
    Ok(invalid(page(app, shell, user, member.id, Some(form), errors).await?))
}

pub(super) async fn end_session(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    Path((id, session)): Path<(StaffId, SessionId)>,
    Form(form): Form<MemberForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    keeping::end_session_of(&mut once.tx, id, session).await?;
    once.commit(&format!("/practice/staff/{id}")).await
}
