//! Somebody lost the device of their second factor: an owner takes it away.

use axum::{extract::State, response::Response};

use super::member::{MemberForm, Sender, refused};
use crate::{
    App,
    accounts::{self, Can, act, confirm, factor},
    audit,
    ids::StaffId,
    web::{Begun, Errors, Form, Path, Result, Shell, begin, flash, repeated},
};

const YOURS: &str = "Your own second factor is changed under your own name.";

/// The account does without a second factor until another is set up, and is signed out everywhere.
pub(super) async fn take_away(
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
    let mut errors = if id == user.id { Errors::one("", YOURS) } else { Errors::default() };
    confirm::second_beside(&app, &user, peer, ("factor_off", &form.factor_off), &mut errors).await?;
    if !errors.is_empty() {
        return refused(&app, shell, &user, (&member, form), errors).await;
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    factor::take_away(&mut once.tx, id).await?;
    audit::store::note(&mut once.tx, "removed a second factor", &member.name, user.id, once.now).await?;
    let said = format!("{} signs in with the password alone, and is signed out everywhere.", member.name);
    flash(&mut once.tx, &user, &said).await?;
    once.commit(&format!("/practice/staff/{id}")).await
}
