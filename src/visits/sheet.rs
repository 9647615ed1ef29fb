//! The day on paper: where to drive, what to know before hands go near, what to bring, what is open.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State as FromApp;
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    State,
    store::{
        self,
        booking::{self, Caller},
        day::{self, Line},
    },
};
use crate::{
    App,
    accounts::{self, Act, Can, act},
    biosecurity::{self, Marks},
    catalogue::{Choice, Table, catalogue},
    clients::yards::{self, store::Yard},
    clock::Day,
    diagnostics, followups,
    horses::{self, Card},
    ids::StaffId,
    practice,
    web::{Check, Errors, Query, Result, Shell},
};

/// A stop of the day.
struct Stop {
    line: Line,
    card: Card,
    yard: Option<Yard>,
    people: Vec<Caller>,
    bring: Vec<&'static str>,
    open: Vec<String>,
    /// What others have to be kept safe from.
    marks: Vec<String>,
    /// It belongs to the stop of the one before.
    goes_on: bool,
}

#[derive(Template, WebTemplate)]
#[template(path = "visits/sheet.html")]
pub(super) struct SheetPage {
    shell: Shell,
    errors: Errors,
    day: Day,
    zone: TimeZone,
    vets: Vec<(StaffId, String)>,
    vet: String,
    stops: Vec<Stop>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct SheetQuery {
    day: String,
    vet: String,
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::SeeDay>,
    shell: Shell,
    Query(query): Query<SheetQuery>,
) -> Result<SheetPage> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let today = app.clock.now().day(&zone);
    let mut check = Check::new();
    let day = check.day("day", &query.day).unwrap_or(today);
    let vets: Vec<(StaffId, String)> =
        accounts::store::vets(db).await?.into_iter().map(|vet| (vet.id, vet.name)).collect();
    // A vet looks for the own day, everybody else for all of them.
    let asked = query.vet.parse::<StaffId>().ok();
    let own = vets.iter().map(|(id, _)| *id).find(|id| *id == user.id && query.vet.is_empty());
    let vet = asked.or(own);
    let mut lines = day::between(db, day.start(&zone), day.plus_days(1).start(&zone)).await?;
    lines.retain(|line| !matches!(line.state, State::Cancelled | State::DidNotCome));
    lines.retain(|line| vet.is_none_or(|vet| line.vet_id == Some(vet)));
    let orders = if user.may(Act::SeeRecord) { diagnostics::store::undone(db).await? } else { Vec::new() };
    let marks = biosecurity::store::standing(db).await?;
    day::side_by_side(&mut lines);
    let mut stops: Vec<Stop> = Vec::new();
    let mut said = Vec::new();
    for line in lines {
        let of_last = |last: &Stop| line.stop_id.is_some() && last.line.stop_id == line.stop_id;
        let goes_on = stops.last().is_some_and(of_last);
        let mut stop = Stop { goes_on, ..Stop::read(&app, line, (&orders, &marks), day).await? };
        // What holds for the whole yard is said once a stop.
        if goes_on && stop.marks == said {
            stop.marks.clear();
        } else {
            said.clone_from(&stop.marks);
        }
        stops.push(stop);
    }
    let vet = vet.map_or_else(String::new, |id| id.to_string());
    Ok(SheetPage { shell, errors: check.errors, day, zone, vets, vet, stops })
}

impl SheetPage {
    fn kit() -> &'static Table<Choice> {
        &catalogue().biosecurity.kit
    }

    fn cleaning() -> &'static Table<Choice> {
        &catalogue().biosecurity.cleaning
    }

    /// How many horses are seen on the stop that begins here.
    fn horses(&self, stop: &Stop) -> usize {
        let shares = |other: &&Stop| stop.line.stop_id.is_some() && other.line.stop_id == stop.line.stop_id;
        self.stops.iter().filter(shares).count()
    }
}

impl Stop {
    async fn read(
        app: &App,
        line: Line,
        (orders, marks): (&[diagnostics::Order], &Marks),
        day: Day,
    ) -> Result<Self> {
        let db = app.db.read();
        let visit = store::get(db, line.id).await?;
        let yard = match visit.yard_id {
            Some(id) if line.place == "yard" => Some(yards::store::get(db, id).await?),
            _ => None,
        };
        let marks = marks.of(Some(visit.horse_id), visit.yard_id.filter(|_| visit.place == "yard"), day);
        let marks = marks.iter().map(|mark| mark.words()).collect();
        let of_horse = || orders.iter().filter(|order| order.horse_id == line.horse_id);
        let planned = of_horse().filter(|order| order.planned_on == Some(day) || order.visit_id == line.id);
        let kinds: Vec<&str> = planned.map(|order| order.kind.code()).collect();
        let bring = catalogue().desk.bring.iter().filter(|row| kinds.contains(&row.code.as_str()));
        let bring = bring.map(|row| row.name.as_str()).collect();
        let open = open_words(app, &line, orders).await?;
        Ok(Stop {
            card: horses::store::card(db, line.horse_id).await?,
            people: booking::callers(db, line.horse_id).await?,
            yard,
            bring,
            open,
            marks,
            goes_on: false,
            line,
        })
    }
}

/// What is open about a visit's horse: follow-ups, orders that are not finished, and visits that nobody signed.
pub(super) async fn open_words(app: &App, line: &Line, orders: &[diagnostics::Order]) -> Result<Vec<String>> {
    let db = app.db.read();
    let mut open: Vec<String> = Vec::new();
    for due in followups::store::open_of_horse(db, line.horse_id).await? {
        open.push(format!("{}, due {}", due.what, due.due_on.words()));
    }
    let of_horse = orders.iter().filter(|order| order.horse_id == line.horse_id);
    open.extend(of_horse.map(|order| format!("{}: not finished", order.name)));
    let visits = store::of_horse(db, line.horse_id).await?;
    let unsigned = visits.iter().filter(|v| v.id != line.id && v.state.is_open()).count();
    if unsigned > 0 {
        open.push(format!("{unsigned} earlier visits not signed"));
    }
    Ok(open)
}
