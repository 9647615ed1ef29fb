//! The line box: what is said or typed in one line, read, shown to confirm, change or strike, and recorded.
//!
//! Reading records nothing, so it may be done again and again; [`chips`] are what was read, each with what it would
//! record as the answer of a radio group. What was confirmed comes back as entries, is checked against the catalogue
//! ([`rows`]) and goes into the record the way every tap does ([`keep`]), with the line it came from.
//!
//! Without a signal the whole line is kept as a note that says so, and waits in the box until somebody reads it.

mod chips;
mod keep;
mod moving;
mod rows;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::{get, post},
};
use serde::Deserialize;

use super::{
    movement::{self, Raised, Scene},
    stamp::{self, Opened},
    tap::Taking,
    way::Way,
};
use crate::{
    App,
    accounts::{Can, User, act},
    clock::Day,
    horses::Card,
    ids::{EntryId, VisitId},
    record::Entry,
    web::{Check, Errors, Form, Path, Query, Result, Shell, invalid},
};
use chips::Chip;

/// More than anybody says in one breath.
const LONGEST: usize = 1000;

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/exam/line", get(empty).post(read))
        .route("/visits/{id}/exam/line/record", post(record))
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct Asked {
    line: String,
    order: String,
    seen_by: String,
    by: String,
    /// The entry that kept the line until now.
    was: String,
}

/// A line that was kept without a signal and that nobody has read yet.
pub(super) struct Waiting {
    pub entry: EntryId,
    pub line: String,
}

impl Waiting {
    /// Those among a visit's standing entries.
    pub(super) fn among(entries: &[Entry]) -> Vec<Self> {
        let one = |entry: &Entry| Some(Waiting { entry: entry.id, line: keep::waiting(entry)?.to_owned() });
        entries.iter().filter_map(one).collect()
    }
}

/// The box on a page of its own: for whoever works without scripts, and for the script that takes the reading from it.
#[derive(Template, WebTemplate)]
#[template(path = "exam/line.html")]
struct LinePage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    way: Way,
    seen_by: String,
    line: String,
    was: String,
    chips: Vec<Chip>,
    /// What stops the flexion that was read.
    stops: Vec<Raised>,
    reason: String,
    waiting: Vec<Waiting>,
    errors: Errors,
}

impl LinePage {
    /// Whether every chip may be recorded as it stands.
    fn is_certain(&self) -> bool {
        self.chips.iter().all(|chip| chip.read().is_some())
    }
}

async fn empty(
    State(app): State<App>,
    shell: Shell,
    can: Can<act::Examine>,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let asked = Asked { order: asked.order, seen_by: asked.by, ..Asked::default() };
    Ok(page(&app, shell, &can.user, id, (asked, Errors::default())).await?.into_response())
}

/// Reads a line; nothing is recorded.
async fn read(
    State(app): State<App>,
    shell: Shell,
    can: Can<act::Examine>,
    Path(id): Path<VisitId>,
    Form(asked): Form<Asked>,
) -> Result<Response> {
    let page = page(&app, shell, &can.user, id, (asked, Errors::default())).await?;
    Ok(if page.errors.is_empty() { page.into_response() } else { invalid(page) })
}

/// The page with a line and what was read of it. A line that cannot be read stands there as it was typed.
async fn page(
    app: &App,
    shell: Shell,
    user: &User,
    id: VisitId,
    (asked, mut errors): (Asked, Errors),
) -> Result<LinePage> {
    let way = Way::new(id, &asked.order, &asked.seen_by);
    let scene = Scene::load(app, user, &way, movement::Asked::default()).await?;
    let mut check = Check::new();
    let line = check.line("line", &asked.line, LONGEST).split_whitespace().collect::<Vec<_>>().join(" ");
    let readable = check.errors.is_empty();
    if errors.is_empty() {
        errors = check.errors;
    }
    let reader = app.ear.reader(&app.db).await?;
    let chips = chips::of(&reader.read(&line), &scene.practice, &scene.entries);
    let flexes = chips.iter().any(Chip::flexes);
    Ok(LinePage {
        visit_id: id,
        chips,
        stops: if flexes { movement::stops(&scene.raised) } else { Vec::new() },
        waiting: Waiting::among(&scene.entries),
        line: if readable { line } else { asked.line },
        seen_by: scene.seen_by.to_string(),
        card: scene.card,
        today: scene.today,
        was: asked.was,
        reason: String::new(),
        shell,
        way,
        errors,
    })
}

/// Records what was confirmed.
async fn record(
    State(app): State<App>,
    shell: Shell,
    can: Can<act::Examine>,
    Path(id): Path<VisitId>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let typed = movement::Typed(pairs);
    let confirmed = match rows::confirmed(&typed) {
        Ok(confirmed) => confirmed,
        Err(errors) => return again(&app, shell, &can.user, id, (typed, errors)).await,
    };
    let writing = match stamp::open(&app, &can.user, id, &typed.stamped()).await? {
        Opened::Fresh(writing) => writing,
        Opened::Repeat(answer) => return Ok(answer),
        Opened::Wrong(errors) => return again(&app, shell, &can.user, id, (typed, errors)).await,
    };
    let way = Way::new(id, typed.get("order"), typed.get("seen_by"));
    let mut taking = Taking::new(writing);
    match keep::all(&mut taking, confirmed, &app, &can.user).await? {
        Ok(()) => taking.keep(&can.user, &format!("{}#line-box", way.plain())).await,
        Err(errors) => {
            drop(taking);
            again(&app, shell, &can.user, id, (typed, errors)).await
        }
    }
}

/// The reading as it was chosen, with what is wrong.
async fn again(
    app: &App,
    shell: Shell,
    user: &User,
    id: VisitId,
    (typed, errors): (movement::Typed, Errors),
) -> Result<Response> {
    let get = |name: &str| typed.get(name).to_owned();
    let asked = Asked {
        line: get("line"),
        order: get("order"),
        seen_by: get("seen_by"),
        was: get("was"),
        by: String::new(),
    };
    let mut page = page(app, shell, user, id, (asked, errors)).await?;
    let chosen = |name: &str| typed.0.iter().find(|(field, _)| field == name).map(|(_, value)| value.clone());
    chips::again(&mut page.chips, chosen);
    page.reason = get(keep::REASON);
    Ok(invalid(page))
}
