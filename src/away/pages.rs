//! What a tablet takes along.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State as FromApp;
use jiff::tz::TimeZone;

use super::{blank, store};
use crate::{
    App,
    accounts::{Can, act},
    clock::{At, Day},
    horses::Card,
    practice,
    visits::{
        State,
        store::day::{self, Line},
    },
    web::{Result, Shell},
};

/// This vet's day, and what of it the tablet keeps: every element with `data-keep` names a page.
#[derive(Template, WebTemplate)]
#[template(path = "away/day.html")]
pub(super) struct DayPage {
    shell: Shell,
    zone: TimeZone,
    today: Day,
    /// The end of the day, after which what was taken along is stale.
    until: At,
    visits: Vec<Line>,
    blank_exam: String,
}

pub(super) async fn day(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
) -> Result<DayPage> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let today = app.clock.now().day(&zone);
    let until = today.plus_days(1).start(&zone);
    let mut visits = day::between(db, today.start(&zone), until).await?;
    visits.retain(|line| line.state != State::Cancelled && line.state != State::DidNotCome);
    if user.licensed {
        visits.retain(|line| line.vet_id.is_none_or(|vet| vet == user.id));
    }
    let blank_exam = format!("/visits/{}/exam", blank::VISIT);
    Ok(DayPage { shell, zone, today, until, visits, blank_exam })
}

/// The horses on call: all that are still seen, with what to know before hands go near them.
#[derive(Template, WebTemplate)]
#[template(path = "away/pack.html")]
pub(super) struct PackPage {
    shell: Shell,
    today: Day,
    cards: Vec<Card>,
}

pub(super) async fn pack(FromApp(app): FromApp<App>, _: Can<act::Examine>, shell: Shell) -> Result<PackPage> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    Ok(PackPage { shell, today: app.clock.now().day(&zone), cards: store::cards(db).await? })
}

/// What the tablet shows in place of a page it did not take along. Holds nobody's data.
#[derive(Template, WebTemplate)]
#[template(path = "away/missing.html")]
pub(super) struct MissingPage;

pub(super) async fn missing() -> MissingPage {
    MissingPage
}
