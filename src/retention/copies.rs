//! Copies of records: who asked, by when, when it was given; and all that are still to be given.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State, response::Response};

use super::{
    forms::CopyForm,
    horse::{RecordPage, way},
    store::{self, Asked},
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::catalogue,
    clock::Day,
    ids::{CopyId, HorseId},
    practice,
    web::{Begun, Conflict, Error, Form, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "retention/copies.html")]
pub(super) struct CopiesPage {
    shell: Shell,
    today: Day,
    copies: Vec<Asked>,
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeClients>,
    shell: Shell,
) -> Result<CopiesPage> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    Ok(CopiesPage { shell, today: app.clock.now().day(&zone), copies: store::open_copies(db).await? })
}

pub(super) async fn ask(
    State(app): State<App>,
    Can { user, .. }: Can<act::EditHorses>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Form(copy): Form<CopyForm>,
) -> Result<Response> {
    let page = RecordPage::new(&app, shell, id).await?;
    let setting = store::setting(app.db.read()).await?;
    let rule = catalogue().records.copies.get(&setting.copy_rule);
    let new = match copy.check(page.today, rule) {
        Ok(new) => new,
        Err(errors) => return Ok(invalid(page.with_copy(copy, errors, None))),
    };
    let mut once = match begin(&app, &copy.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::insert_copy(&mut once.tx, id, &new, user.id, once.now).await?;
    let words = match new.due_on {
        Some(due) => format!("Noted: the copy is due on {}.", due.words()),
        None => "Noted. No rule says by when: look at your own.".to_owned(),
    };
    flash(&mut once.tx, &user, &words).await?;
    once.commit(&way(id)).await
}

pub(super) async fn give(
    State(app): State<App>,
    Can { user, .. }: Can<act::EditHorses>,
    shell: Shell,
    Path((id, giving)): Path<(HorseId, CopyId)>,
    Form(copy): Form<CopyForm>,
) -> Result<Response> {
    let page = RecordPage::new(&app, shell, id).await?;
    let asked_on =
        page.copies.iter().find(|one| one.id == giving).map(|one| one.asked_on).ok_or(Error::NotFound)?;
    let (on, how) = match copy.check_given(asked_on, page.today) {
        Ok(given) => given,
        Err(errors) => return Ok(invalid(page.with_copy(copy, errors, Some(giving)))),
    };
    let mut once = match begin(&app, &copy.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::give(&mut once.tx, (id, giving), (on, &how), user.id, once.now).await? == 0 {
        let what = "A copy that was given meanwhile".to_owned();
        let clash = Conflict { what, back: way(id), ..Conflict::default() };
        return Err(clash.field("How", &how, "").into());
    }
    flash(&mut once.tx, &user, "Noted: the copy was given.").await?;
    once.commit(&way(id)).await
}
