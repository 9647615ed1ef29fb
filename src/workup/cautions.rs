//! Before the block form opens: a caution that a person says holds, and going on over those that stop.

use axum::{extract::State, response::Response};

use super::{
    block::BlockPage,
    form::{Typed, address},
    write,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Limb, Where, catalogue},
    exam::stamp::Writing,
    ids::VisitId,
    record::{Body, Kind},
    web::{Check, Form, Path, Result, Shell},
};

/// Back to the block that was about to be done.
fn back(id: VisitId, typed: &Typed) -> String {
    match (typed.limb.parse::<Limb>(), catalogue().block(&typed.block)) {
        (Ok(limb), Some(block)) => address(id, limb, &block.code),
        _ => format!("/visits/{id}/work-up/block"),
    }
}

/// Goes on over what stops a needle: one reason, one entry for each.
pub(super) async fn go_on(
    State(app): State<App>,
    can: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut check = Check::new();
    let missing = "Write why it is done all the same; it stays in the record with your name.";
    let reason = check.needed_words("reason", &typed.reason, 500, missing);
    if let Err(errors) = check.done(()) {
        return Ok(BlockPage::new(&app, shell, id, typed).await?.again(errors, false));
    }
    let mut writing = match write::open_own(&app, &can.user, id, &typed.submission).await? {
        Ok(writing) => writing,
        Err(answer) => return Ok(answer),
    };
    let stops = write::stops(&mut writing, &typed).await?;
    let named = stops.iter().filter(|stop| typed.code.iter().any(|code| code == stop.code));
    let bodies = named.map(|stop| stop.passed_with(Where::Blocks, &reason)).collect();
    write::keep(writing, &can.user, bodies, &back(id, &typed)).await
}

/// Says that cautions hold.
pub(super) async fn raise(
    State(app): State<App>,
    can: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut check = Check::new();
    let words = check.line("words", &typed.words, 200);
    let named: Vec<&str> = typed.code.iter().map(String::as_str).collect();
    let known =
        |code: &str| catalogue().caution(code).is_some_and(|row| row.shown_at.contains(&Where::Blocks));
    if named.is_empty() || !named.iter().copied().all(known) {
        check.errors.add("code", "Choose what holds.");
    }
    if let Err(errors) = check.done(()) {
        return Ok(BlockPage::new(&app, shell, id, typed).await?.again(errors, false));
    }
    let writing = match write::open(&app, &can.user, id, &typed.submission).await? {
        Ok(writing) => writing,
        Err(answer) => return Ok(answer),
    };
    let bodies = said(&writing, &named, &words);
    write::keep(writing, &can.user, bodies, &back(id, &typed)).await
}

/// One entry for each caution that nobody said yet.
fn said(writing: &Writing, named: &[&str], words: &str) -> Vec<Body> {
    let about = |code: &str, body: &Body| body.kind == Kind::Caution && body.code.as_deref() == Some(code);
    let new = named.iter().filter(|code| writing.standing(|body| about(code, body)).is_none());
    new.map(|code| Body {
        code: Some((*code).to_owned()),
        present: Some(true),
        text: (!words.is_empty()).then(|| words.to_owned()),
        ..Body::new(Kind::Caution)
    })
    .collect()
}
