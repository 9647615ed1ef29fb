//! A letter as it was kept.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State;
use jiff::tz::TimeZone;

use super::{
    store::{self, Kept},
    text::{Part, parts},
};
use crate::{
    App,
    accounts::{Can, act},
    horses::{self, Card},
    ids::{LetterId, VisitId},
    practice, visits,
    web::{Error, Path, Result, Shell},
};

#[derive(Template, WebTemplate)]
#[template(path = "letters/paper.html")]
pub(super) struct LetterPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    zone: TimeZone,
    letter: Kept,
    parts: Vec<Part>,
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<LetterId>,
) -> Result<LetterPage> {
    let db = app.db.read();
    let letter = store::get(db, id).await?.ok_or(Error::NotFound)?;
    let visit = visits::store::get(db, letter.visit_id).await?;
    Ok(LetterPage {
        shell,
        visit_id: visit.id,
        card: horses::store::card(db, visit.horse_id).await?,
        zone: practice::store::get(db).await?.zone,
        parts: parts(&letter.words),
        letter,
    })
}
