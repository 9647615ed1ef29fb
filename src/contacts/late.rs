//! Running late: whose visits are still to come, and whom to tell what.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use crate::{
    App,
    accounts::{self, Can, act},
    clock::At,
    ids::StaffId,
    practice, rounds,
    visits::{
        State as VisitState,
        store::{
            booking::{self, Caller},
            day::{self, Line},
        },
    },
    web::{Check, Errors, Query, Result, Shell, invalid},
};

/// Somebody who waits.
struct Waits {
    line: Line,
    comes: At,
    people: Vec<Caller>,
}

#[derive(Template, WebTemplate)]
#[template(path = "contacts/late.html")]
struct LatePage {
    shell: Shell,
    errors: Errors,
    vets: Vec<(StaffId, String)>,
    vet: String,
    minutes: String,
    /// Whether it is late enough for a message.
    worth_telling: bool,
    over: i64,
    waits: Vec<Waits>,
    zone: TimeZone,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct LateQuery {
    vet: String,
    minutes: String,
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    Can { user, .. }: Can<act::Book>,
    Query(query): Query<LateQuery>,
) -> Result<Response> {
    let db = app.db.read();
    let (now, zone) = (app.clock.now(), practice::store::get(db).await?.zone);
    let vets: Vec<(StaffId, String)> =
        accounts::store::vets(db).await?.into_iter().map(|vet| (vet.id, vet.name)).collect();
    let asked = query.vet.parse::<StaffId>().ok();
    let vet = asked.or_else(|| vets.iter().map(|(id, _)| *id).find(|id| *id == user.id));
    let today = now.day(&zone);
    let mut lines = day::between(db, today.start(&zone), today.plus_days(1).start(&zone)).await?;
    lines.retain(|line| line.vet_id.is_some() && line.vet_id == vet);
    let mut check = Check::new();
    let typed = check.number("minutes", &query.minutes, 0.0..=720.0, "min");
    #[expect(clippy::cast_possible_truncation, reason = "at most 720")]
    let minutes = typed.map_or_else(|| behind(&lines, now), |minutes| minutes.round() as i64);
    let over = rounds::rules(db).await?.late_over_min;
    let mut waits = Vec::new();
    for line in lines.into_iter().filter(|line| line.state == VisitState::Booked) {
        let people = booking::callers(db, line.horse_id).await?;
        waits.push(Waits { comes: line.starts_at.plus_minutes(minutes), people, line });
    }
    let wrong = !check.errors.is_empty();
    let page = LatePage {
        shell,
        errors: check.errors,
        vets,
        vet: vet.map_or_else(String::new, |id| id.to_string()),
        minutes: if query.minutes.is_empty() { minutes.to_string() } else { query.minutes },
        worth_telling: minutes > over,
        over,
        waits,
        zone,
    };
    Ok(if wrong { invalid(page) } else { page.into_response() })
}

/// How far behind the day is: the visit in hand has outlasted its time, or one that is booked has not begun.
fn behind(lines: &[Line], now: At) -> i64 {
    let in_hand = lines.iter().filter(|line| line.state == VisitState::InHand);
    let outlasted = in_hand.map(|line| now.minutes_since(line.ends_at()));
    let booked = lines.iter().filter(|line| line.state == VisitState::Booked);
    let waited = booked.map(|line| now.minutes_since(line.starts_at));
    outlasted.chain(waited).max().unwrap_or(0).clamp(0, 720)
}
