//! The letters of a visit, and the page on which one is written.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;

use super::{
    answers::Typed,
    facts::{Facts, earlier},
    names::{EARLIER, NAMES},
    store::{self, Kept, New},
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::{
        catalogue,
        letters::{Asked, Asks, Letter},
    },
    clock::Day,
    formulary,
    horses::{self, Card},
    ids::VisitId,
    practice,
    reasoning::fill::fill,
    visits,
    web::{Begun, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "letters/list.html")]
pub(super) struct ListPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    zone: TimeZone,
    kept: Vec<Kept>,
    usual: Vec<&'static Letter>,
}

pub(super) async fn list(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<VisitId>,
) -> Result<ListPage> {
    let db = app.db.read();
    let visit = visits::store::get(db, id).await?;
    let zone = practice::store::get(db).await?.zone;
    let place = formulary::store::prescribing(db).await?.jurisdiction;
    Ok(ListPage {
        shell,
        visit_id: id,
        card: horses::store::card(db, visit.horse_id).await?,
        today: app.clock.now().day(&zone),
        kept: store::of_visit(db, id).await?,
        usual: usual(&place),
        zone,
    })
}

impl ListPage {
    fn writes(&self) -> bool {
        self.shell.may(Act::Examine)
    }
}

/// The letters that are usual where the practice is; all while it has not said where.
fn usual(place: &str) -> Vec<&'static Letter> {
    let here = |letter: &&Letter| {
        place.is_empty()
            || letter.jurisdictions.is_empty()
            || letter.jurisdictions.iter().any(|one| one == place)
    };
    catalogue().letters.letters.iter().filter(here).collect()
}

#[derive(Template, WebTemplate)]
#[template(path = "letters/write.html")]
struct WritePage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    letter: &'static Letter,
    typed: Typed,
}

impl WritePage {
    fn asked(&self) -> Vec<&'static Asked> {
        catalogue().letters.of(self.letter).collect()
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn kind(&self, asked: &Asked) -> &'static str {
        match asked.kind {
            Asks::Line | Asks::Span => "line",
            Asks::Words => "words",
            Asks::Day => "date",
            Asks::Tick => "tick",
        }
    }
}

fn letter(kind: &str) -> Result<&'static Letter> {
    catalogue().letters.letters.get(kind).ok_or(Error::NotFound)
}

pub(super) async fn write(
    State(app): State<App>,
    _: Can<act::Examine>,
    shell: Shell,
    Path((id, kind)): Path<(VisitId, String)>,
) -> Result<Response> {
    let letter = letter(&kind)?;
    let facts = Facts::load(&app, id).await?;
    let (own, _) = store::wording(app.db.read(), &kind).await?;
    let mut typed = Typed::default();
    for asked in catalogue().letters.of(letter) {
        typed.answers.insert(asked.key.clone(), facts.proposed(asked));
    }
    // What is asked stays a name until the letter is kept.
    let stays = |name: &str| name == EARLIER || catalogue().letters.of(letter).any(|asked| asked.key == name);
    let known = |name: &str| if stays(name) { Some(format!("{{{name}}}")) } else { facts.known(name) };
    let words = own.unwrap_or_else(|| letter.words.clone());
    // Words that cannot be filled are shown as they are; keeping them says what is wrong.
    typed.words = fill(&words, known).unwrap_or(words);
    let Facts { card, today, .. } = facts;
    Ok(WritePage { shell, errors: Errors::default(), visit_id: id, card, today, letter, typed }
        .into_response())
}

pub(super) async fn keep(
    State(app): State<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path((id, kind)): Path<(VisitId, String)>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let letter = letter(&kind)?;
    let facts = Facts::load(&app, id).await?;
    let earlier = earlier(&app, &facts.visit, letter.history && typed.leave()).await?;
    let (words, addressee) = match typed.check(letter, &facts, &earlier) {
        Ok(read) => read,
        Err(errors) => {
            let Facts { card, today, .. } = facts;
            return Ok(invalid(WritePage { shell, errors, visit_id: id, card, today, letter, typed }));
        }
    };
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let new = New { visit: id, kind: &kind, name: &letter.name, addressee: &addressee, words: &words };
    let kept = store::insert(&mut once.tx, &new, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Kept. Nothing was sent: print it, or send it as PDF.").await?;
    once.commit(&format!("/letters/{kept}")).await
}

/// What the names of a letter stand for: the record's, then its own.
pub(super) fn meanings(letter: &Letter) -> Vec<(String, String)> {
    let record = NAMES.iter().filter(|(name, _)| letter.history || *name != EARLIER);
    let record = record.map(|(name, words)| ((*name).to_owned(), (*words).to_owned()));
    let own = catalogue().letters.of(letter).filter(|asked| asked.kind != Asks::Tick);
    record.chain(own.map(|asked| (asked.key.clone(), asked.name.to_lowercase()))).collect()
}
