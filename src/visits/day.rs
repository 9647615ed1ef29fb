//! The day page: who is next, where, in which state, and what waits for the one who looks.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State as FromApp;
use jiff::tz::TimeZone;
use serde::Deserialize;
use sqlx::SqlitePool;

use super::{
    State, about,
    store::day::{self, Line},
};
use crate::{
    App,
    accounts::{Act, Can, User, act},
    biosecurity, charges,
    clock::{At, Day},
    contacts, diagnostics, practice, programmes,
    reasoning::watch::Part,
    record, retention,
    rota::{self, OnCall, Rota},
    rounds::route::{self, Route},
    web::{Check, Errors, Query, Result, Shell},
    workup::{
        clock::{self, Ticking},
        course,
    },
};

/// So many minutes after its time a booked visit is worth a question.
const LATE_AFTER: i64 = 15;
/// More lanes than this are too narrow to read; the day is one list then.
const MOST_LANES: usize = 4;

#[derive(Template, WebTemplate)]
#[template(path = "visits/day.html")]
pub(super) struct DayPage {
    shell: Shell,
    errors: Errors,
    zone: TimeZone,
    day: Day,
    today: Day,
    waiting: Waiting,
    next: Option<Row>,
    rows: Vec<Row>,
    folded: Vec<Row>,
    lanes: Vec<String>,
    /// How each vet's day is driven.
    routes: Vec<Route>,
    /// Who is on call: at this moment, or by day and at night of another day.
    on_call: Vec<OnCall>,
    /// How many are still to be told of another time.
    to_tell: i64,
    /// Copies of records that should have been given by now.
    copies: i64,
    /// What is to be done about charges, for those who hand them over.
    charges: Option<String>,
}

/// What waits from the days before for the one who looks.
#[derive(Default)]
struct Waiting {
    offers: Vec<Line>,
    unsigned: Vec<Row>,
    left_open: Vec<Row>,
    diagnostics: Vec<diagnostics::Waiting>,
    /// Gates that are due, and signs that a yard told.
    programmes: Vec<programmes::Now>,
}

/// A line and what this user may do with it.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) line: Line,
    /// What is open about it, in words.
    pub(super) open: Vec<String>,
    /// Steps that take one tap: key and label.
    steps: Vec<(&'static str, &'static str)>,
    /// A page that is the next thing: address and label.
    go: Option<(String, &'static str)>,
    next: bool,
    lane: usize,
    /// What a block's clock says, while one runs.
    clock: Option<Running>,
    /// Where a shared stop begins: how many horses it has, and the minutes of all of them.
    pub(super) stop: Option<(usize, i64)>,
    /// It belongs to the stop of the line before.
    pub(super) goes_on: bool,
}

/// A clock in words; it counts on where a block waits to be read.
#[derive(Debug, Clone)]
pub(super) struct Running {
    words: String,
    ticking: Option<Ticking>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct DayQuery {
    day: String,
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::SeeDay>,
    shell: Shell,
    Query(query): Query<DayQuery>,
) -> Result<DayPage> {
    let db = app.db.read();
    let look = Look { user, now: app.clock.now(), zone: practice::store::get(db).await?.zone };
    let today = look.now.day(&look.zone);
    let mut check = Check::new();
    let day = check.day("day", &query.day).unwrap_or(today);
    let lines = day::between(db, day.start(&look.zone), day.plus_days(1).start(&look.zone)).await?;
    let (folded, lines): (Vec<Line>, Vec<Line>) =
        lines.into_iter().partition(|l| l.state == State::Cancelled);
    let heads = look.lanes(&lines);
    let mut lines = lines;
    day::side_by_side(&mut lines);
    let mut rows: Vec<Row> = lines.into_iter().map(|l| look.row(l, day == today)).collect();
    for row in &mut rows {
        row.clock = look.clock(&app, &row.line).await?;
        row.lane = 1 + heads.iter().position(|name| *name == lane_name(&row.line)).unwrap_or_default();
    }
    about::stops(&mut rows);
    about::marks(&mut rows, &biosecurity::store::standing(db).await?, day);
    about::owed(&mut rows, &contacts::store::to_tell(db).await?);
    let next = if day == today { look.mark_next(&mut rows) } else { None };
    let waiting = if day == today { look.waiting(&app, today).await? } else { Waiting::default() };
    let on_call = on_call(db, day, look.now, &look.zone).await?;
    let to_tell = contacts::store::count_to_tell(db).await?;
    let copies = retention::store::count_overdue(db, today).await?;
    let hands = look.user.may(Act::HandCharges) && day == today;
    let charges = if hands { charges::waiting(&app, today, look.now).await? } else { None };
    let routes = route::of_day(db, day, look.now, &look.zone).await?;
    let folded = folded.into_iter().map(|l| look.row(l, false)).collect();
    Ok(DayPage {
        shell,
        errors: check.errors,
        zone: look.zone,
        day,
        today,
        waiting,
        next,
        rows,
        folded,
        lanes: heads,
        routes,
        on_call,
        to_tell,
        copies,
        charges,
    })
}

/// Who is on call: now where the day is today, else by day and at night.
async fn on_call(db: &SqlitePool, day: Day, now: At, zone: &TimeZone) -> Result<Vec<OnCall>> {
    if day == now.day(zone) {
        return Ok(vec![rota::at(db, now, zone).await?]);
    }
    let rota = Rota::load(db, day, day).await?;
    Ok(Part::BOTH.map(|part| rota.on(day, part, zone)).into())
}

/// Who looks at the day, and when.
struct Look {
    user: User,
    now: At,
    zone: TimeZone,
}

impl Look {
    fn rows(&self, lines: Vec<Line>) -> Vec<Row> {
        lines.into_iter().map(|l| self.row(l, true)).collect()
    }

    async fn waiting(&self, app: &App, today: Day) -> Result<Waiting> {
        let db = app.db.read();
        let start = today.start(&self.zone);
        let left_open = self.rows(day::left_open(db, start).await?);
        let sees = self.user.may(Act::SeeRecord);
        let diagnostics = if sees { diagnostics::waiting(app, today).await? } else { Vec::new() };
        let programmes = programmes::due::waiting(app, today).await?;
        if !self.user.may(Act::Sign) {
            return Ok(Waiting { left_open, diagnostics, programmes, ..Waiting::default() });
        }
        let offers = day::offered(db, self.user.id).await?;
        let unsigned = self.rows(day::unsigned(db, self.user.id, start).await?);
        Ok(Waiting { offers, unsigned, left_open, diagnostics, programmes })
    }

    fn row(&self, line: Line, actions: bool) -> Row {
        let open = self.open(&line);
        let steps = if actions { self.steps(&line) } else { vec![] };
        let go = self.go(&line);
        Row { line, open, steps, go, next: false, lane: 1, clock: None, stop: None, goes_on: false }
    }

    /// What the blocks of a horse in hand wait for: no word of what is blocked, since the desk reads it too.
    async fn clock(&self, app: &App, line: &Line) -> Result<Option<Running>> {
        if line.state != State::InHand {
            return Ok(None);
        }
        let rows = app.weighing.rows(app.db.read(), None).await?;
        let shots = course::shots(&record::current_of_visit(app.db.read(), line.id).await?, &rows);
        let said = clock::for_the_day(&shots, self.now, &self.zone);
        Ok(said.map(|(words, ticking)| Running { words, ticking }))
    }

    /// What waits, in words that the desk may read too.
    fn open(&self, line: &Line) -> Vec<String> {
        let mut open = Vec::new();
        if line.state == State::Booked && self.is_overdue(line) {
            open.push(format!("overdue since {}", line.starts_at.hm(&self.zone)));
        }
        if matches!(line.state, State::InHand | State::ToSign)
            && line.starts_at.day(&self.zone) < self.now.day(&self.zone)
        {
            open.push("not signed yet".into());
        }
        if let (Some(to), Some(by)) = (line.offered_to, &line.offered_by) {
            open.push(if to == self.user.id {
                format!("offered to you by {by}")
            } else {
                format!("{by} has offered it to another vet")
            });
        }
        open
    }

    fn steps(&self, line: &Line) -> Vec<(&'static str, &'static str)> {
        super::steps::from(line.state)
            .filter(|s| self.user.may(s.act))
            .filter(|s| matches!(s.key, "begin" | "arrived"))
            .map(|s| (s.key, s.label))
            .collect()
    }

    fn go(&self, line: &Line) -> Option<(String, &'static str)> {
        match line.state {
            State::InHand if self.user.may(Act::Examine) => {
                Some((format!("/visits/{}/exam", line.id), "Go on with the exam"))
            }
            State::ToSign if self.user.may(Act::Sign) && self.is_mine(line) => {
                Some((format!("/visits/{}/assessment", line.id), "Assess and sign"))
            }
            State::Booked if self.user.may(Act::Book) && self.is_overdue(line) => {
                Some((format!("/visits/{}#no-show", line.id), "Did not come?"))
            }
            _ => None,
        }
    }

    fn is_overdue(&self, line: &Line) -> bool {
        self.now.minutes_since(line.starts_at) >= LATE_AFTER
    }

    /// A visit that nobody has is everybody's; whoever is no vet helps them all.
    fn is_mine(&self, line: &Line) -> bool {
        line.vet_id.is_none_or(|vet| vet == self.user.id) || !self.user.may(Act::Sign)
    }

    /// The lanes: the vets of the day by name, the one who looks first.
    fn lanes(&self, lines: &[Line]) -> Vec<String> {
        let mut names: Vec<String> = lines.iter().map(lane_name).collect();
        names.sort_by_key(|name| (*name != self.user.name, name.clone()));
        names.dedup();
        if names.len() > MOST_LANES { vec![] } else { names }
    }

    /// Finds and marks the line that this user has to see to next.
    fn mark_next(&self, rows: &mut [Row]) -> Option<Row> {
        let next = rows
            .iter_mut()
            .filter(|r| self.is_mine(&r.line) && (r.go.is_some() || !r.steps.is_empty()))
            .min_by_key(|r| (turn(r.line.state), !r.line.urgent, r.line.starts_at))?;
        next.next = true;
        Some(next.clone())
    }
}

/// A horse in hand goes before one that waits, that before one on its way, and paper comes last.
fn turn(state: State) -> u8 {
    match state {
        State::InHand => 0,
        State::Arrived => 1,
        State::Booked => 2,
        _ => 3,
    }
}

fn lane_name(line: &Line) -> String {
    line.vet.clone().unwrap_or_else(|| "no vet yet".into())
}
