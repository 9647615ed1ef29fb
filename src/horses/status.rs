//! Whether a horse is here, retired, sold or dead, and since when. Sold and dead stop everything at once.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{Card, Status, measure, store};
use crate::{
    App,
    accounts::{Can, act},
    clock::Day,
    ids::HorseId,
    practice,
    visits::{self, Visit},
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct StatusForm {
    submission: String,
    version: String,
    status: String,
    since: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "horses/status.html")]
pub(super) struct StatusPage {
    shell: Shell,
    card: Card,
    today: Day,
    zone: jiff::tz::TimeZone,
    /// What would be cancelled.
    booked: Vec<Visit>,
    form: StatusForm,
    errors: Errors,
}

impl StatusPage {
    async fn new(
        app: &App,
        shell: Shell,
        id: HorseId,
        form: Option<StatusForm>,
        errors: Errors,
    ) -> Result<Self> {
        let db = app.db.read();
        let card = store::card(db, id).await?;
        let zone = practice::store::get(db).await?.zone;
        let today = app.clock.now().day(&zone);
        let mut booked = visits::store::of_horse(db, id).await?;
        booked.retain(|v| matches!(v.state, visits::State::Booked | visits::State::Arrived));
        let form = match form {
            Some(form) => form,
            None => StatusForm {
                version: store::details(db, id).await?.1.to_string(),
                status: card.status.key().into(),
                since: today.words(),
                ..StatusForm::default()
            },
        };
        Ok(StatusPage { shell, card, today, zone, booked, form, errors })
    }

    fn choices(&self) -> &'static [(&'static str, &'static str)] {
        Status::CHOICES
    }
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
) -> Result<StatusPage> {
    StatusPage::new(&app, shell, id, None, Errors::default()).await
}

pub(super) async fn change(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
    Form(form): Form<StatusForm>,
) -> Result<Response> {
    let card = store::card(app.db.read(), id).await?;
    let today = app.clock.now().day(&practice::store::get(app.db.read()).await?.zone);
    let (status, since) = match form.check(&card, today) {
        Ok(meant) => meant,
        Err(errors) => return Ok(invalid(StatusPage::new(&app, shell, id, Some(form), errors).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let version = form.version.parse().unwrap_or(0);
    if store::set_status(&mut once.tx, id, version, status, since).await? == 0 {
        return Err(form.clash(&card));
    }
    let mut words = format!("{}: {status} since {}.", card.name, since.words());
    if !status.is_seen() {
        let cancelled =
            visits::store::booking::cancel_future_of_horse(&mut once.tx, id, &words, who.user.id, once.now)
                .await?;
        words = match cancelled {
            0 => format!("{words} Nothing was booked."),
            1 => format!("{words} 1 booked visit is cancelled."),
            n => format!("{words} {n} booked visits are cancelled."),
        };
    }
    flash(&mut once.tx, &who.user, &words).await?;
    once.commit(&format!("/horses/{id}")).await
}

impl StatusForm {
    fn check(&self, card: &Card, today: Day) -> std::result::Result<(Status, Day), Errors> {
        let mut c = Check::new();
        let status = c.choice("status", &self.status, "Choose what became of the horse.");
        let since = c.day("since", &self.since);
        match since {
            Some(day) if day > today => c.errors.add("since", "This day is still to come."),
            Some(day) if measure::before_birth(day, &card.born) => {
                let born = measure::born_words(&card.born);
                c.errors.add("since", format!("This day lies before its birth ({born})."));
            }
            None if self.since.trim().is_empty() => c.errors.add("since", "Enter since when."),
            _ => {}
        }
        c.done((status.unwrap_or(Status::Here), since.unwrap_or(today)))
    }

    fn clash(&self, now: &Card) -> Error {
        let since = now.status_on.map_or_else(String::new, Day::words);
        let conflict = Conflict {
            what: format!("{}: whether it is still here", now.name),
            back: format!("/horses/{}/status", now.id),
            ..Conflict::default()
        };
        Error::Conflict(Box::new(conflict.field("Status", &self.status, now.status.key()).field(
            "Since",
            &self.since,
            &since,
        )))
    }
}
