//! Whom to tell that a visit was moved for an emergency, and whom to ring back: with numbers and words, until it is done.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State, response::Response};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    message::{Said, filled},
    store::{self, ToTell},
    texts,
};
use crate::{
    App,
    accounts::{Can, act},
    ids::TellId,
    practice,
    visits::store::{
        booking::{self, Caller},
        day::{self, Line},
    },
    web::{Begun, Form, Path, Result, Shell, begin, flash},
};

/// Somebody to tell, with what is to be said.
struct Row {
    told: ToTell,
    line: Line,
    people: Vec<Caller>,
    words: String,
}

impl Row {
    fn is_ring_back(&self) -> bool {
        self.told.kind == "ring_back"
    }

    /// Whom to ask for.
    fn who(&self) -> &str {
        self.told.client.as_deref().unwrap_or("nobody is known")
    }

    /// The other people of the horse.
    fn others(&self) -> impl Iterator<Item = &Caller> {
        self.people.iter().filter(|one| Some(one.id) != self.told.client_id)
    }

    /// The page where the message is sent from.
    fn message(&self) -> String {
        let to = self.told.client_id.map_or_else(String::new, |id| format!("&to={id}"));
        format!("/visits/{}/message?kind={}{to}", self.told.visit_id, self.told.kind)
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "contacts/to_tell.html")]
pub(super) struct ToTellPage {
    shell: Shell,
    rows: Vec<Row>,
    zone: TimeZone,
}

pub(super) async fn page(State(app): State<App>, shell: Shell, _: Can<act::SeeDay>) -> Result<ToTellPage> {
    let db = app.db.read();
    let practice = practice::store::get(db).await?;
    let texts = texts::of_practice(&app).await?;
    let mut rows = Vec::new();
    for told in store::to_tell(db).await? {
        let line = day::line(db, told.visit_id).await?;
        let people = booking::callers(db, line.horse_id).await?;
        let text = texts.iter().find(|text| text.kind == told.kind).map_or("", |text| text.words.as_str());
        let client = told.client.clone().unwrap_or_default();
        let said = Said { client: &client, practice: &practice.name, minutes: 0 };
        rows.push(Row { words: filled(text, &line, &said, &practice.zone), told, line, people });
    }
    Ok(ToTellPage { shell, rows, zone: practice.zone })
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct DoneForm {
    submission: String,
}

pub(super) async fn told(
    State(app): State<App>,
    Can { user, .. }: Can<act::Book>,
    Path(id): Path<TellId>,
    Form(form): Form<DoneForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    // Whoever says so second says the same.
    store::told(&mut once.tx, id, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Noted that they were told.").await?;
    once.commit("/to-tell").await
}
