//! The line box: what is said or typed in one line, read, shown to confirm, change or strike, and recorded.
//!
//! Reading records nothing, so it may be done again and again; [`chips`] are what was read, each with what it would
//! record as the answer of a radio group. What was confirmed comes back as entries, is checked against the catalogue
//! ([`rows`]) and goes into the record the way every tap does ([`keep`]), with the line it came from.

mod chips;
mod keep;
mod rows;

use std::sync::LazyLock;

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
    movement::{self, Scene},
    stamp::{self, Opened},
    tap::Taking,
    way::Way,
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::catalogue,
    clock::Day,
    horses::Card,
    ids::VisitId,
    reasoning::line::Reader,
    web::{Errors, Form, Path, Query, Result, Shell, invalid},
};
use chips::Chip;

/// The vocabulary made ready, once.
static READER: LazyLock<Reader> = LazyLock::new(|| {
    Reader::new(catalogue(), &[]).expect("the catalogue was read, and no words of a practice's own are added")
});

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
    chips: Vec<Chip>,
    errors: Errors,
}

impl LinePage {
    /// How many chips would be recorded as they stand.
    fn certain(&self) -> usize {
        self.chips.iter().filter(|chip| chip.is_certain()).count()
    }
}

async fn empty(
    State(app): State<App>,
    shell: Shell,
    can: Can<act::Examine>,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let asked = Asked { line: String::new(), seen_by: asked.by.clone(), ..asked };
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
    let errors = if asked.line.chars().count() > LONGEST {
        Errors::one("line", format!("Say it in several lines: one holds {LONGEST} letters at most."))
    } else {
        Errors::default()
    };
    let wrong = !errors.is_empty();
    let page = page(&app, shell, &can.user, id, (asked, errors)).await?;
    Ok(if wrong { invalid(page) } else { page.into_response() })
}

async fn page(
    app: &App,
    shell: Shell,
    user: &User,
    id: VisitId,
    (asked, errors): (Asked, Errors),
) -> Result<LinePage> {
    let way = Way::new(id, &asked.order, &asked.seen_by);
    let scene = Scene::load(app, user, &way, movement::Asked::default()).await?;
    let line = asked.line.split_whitespace().collect::<Vec<_>>().join(" ");
    let chips = if errors.is_empty() { chips::of(&READER.read(&line), &scene.practice) } else { Vec::new() };
    Ok(LinePage {
        visit_id: id,
        seen_by: scene.seen_by.to_string(),
        card: scene.card,
        today: scene.today,
        shell,
        way,
        line,
        chips,
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
    let get = |name: &str| typed.get(name).to_owned();
    let asked = Asked { line: get("line"), order: get("order"), seen_by: get("seen_by"), by: String::new() };
    let confirmed = match rows::confirmed(&typed) {
        Ok(confirmed) => confirmed,
        Err(errors) => {
            return Ok(invalid(page(&app, shell, &can.user, id, (asked, errors)).await?));
        }
    };
    let writing = match stamp::open(&app, &can.user, id, &typed.stamped()).await? {
        Opened::Fresh(writing) => writing,
        Opened::Repeat(answer) => return Ok(answer),
        Opened::Wrong(errors) => {
            return Ok(invalid(page(&app, shell, &can.user, id, (asked, errors)).await?));
        }
    };
    let way = Way::new(id, &asked.order, &asked.seen_by);
    let mut taking = Taking::new(writing);
    match keep::all(&mut taking, confirmed, &app, can.user.id).await? {
        Ok(()) => taking.keep(&can.user, &format!("{}#line-box", way.plain())).await,
        Err(errors) => {
            drop(taking);
            Ok(invalid(page(&app, shell, &can.user, id, (asked, errors)).await?))
        }
    }
}
