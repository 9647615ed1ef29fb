//! The page of the examination.

use std::collections::HashMap;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::get,
};
use serde::Deserialize;

use super::{
    form::Typed,
    movement::{self, Scene},
    picker::Picker,
    sections::{Part, layout},
    state::ExamState,
    store,
    view::{self, PartView, Seen},
    way::Way,
};
use crate::{
    App,
    accounts::{Act, Can, User, act},
    body::{self, Plan},
    catalogue::{Place, catalogue},
    clock::Day,
    horses::Card,
    ids::{StaffId, VisitId},
    record::{self, Entry},
    visits::{State as VisitState, Visit},
    web::{Errors, Path, Query, Result, Shell},
};

pub(super) fn router() -> Router<App> {
    Router::new().route("/visits/{id}/exam", get(exam))
}

/// What the address asks for: another order, another examiner, a section to unfold, a place to open, one of its
/// entries to tell in more detail.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    order: String,
    by: String,
    at: String,
    open: String,
    edit: String,
    gait: String,
    flexion: String,
    flexion_scale: String,
}

impl Asked {
    /// What a form that is shown again had asked for.
    pub(super) fn of(typed: &Typed) -> Self {
        Asked {
            order: typed.order.clone(),
            by: typed.seen_by.clone(),
            open: typed.place.clone(),
            edit: typed.was.clone(),
            ..Asked::default()
        }
    }

    /// What the sections of the horse in motion are asked to open.
    fn moving(&self) -> movement::Asked {
        movement::Asked {
            gait: self.gait.clone(),
            flexion: self.flexion.clone(),
            flexion_scale: self.flexion_scale.clone(),
        }
    }
}

/// The page. Its sections stand in the order of the work: the horse at rest first, then hands on, then moving.
/// The sections that are not hands on belong to `movement`.
#[derive(Template, WebTemplate)]
#[template(path = "exam/index.html")]
pub(super) struct ExamPage {
    shell: Shell,
    visit: Visit,
    visit_id: VisitId,
    card: Card,
    today: Day,
    way: Way,
    /// Whose words a tap is, unless another examiner is chosen.
    seen_by: String,
    examiners: Vec<(StaffId, String)>,
    order: String,
    orders: Vec<(&'static str, &'static str)>,
    order_note: &'static str,
    saved: Option<Saved>,
    late: i64,
    /// The newest entry that the page shows.
    newest: i64,
    plan: Plan,
    parts: Vec<PartView>,
    moving: movement::Sections,
    /// Taps are taken: the visit is open and the role may examine.
    writes: bool,
    errors: Errors,
}

/// The newest entry: when it was safe, whose it is, and how many there are.
struct Saved {
    at: String,
    iso: String,
    by: String,
    entries: usize,
}

async fn exam(
    State(app): State<App>,
    shell: Shell,
    can: Can<act::SeeRecord>,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    Ok(build(&app, shell, &can.user, id, (asked, None)).await?.into_response())
}

/// The page for what the address asked, or for a form that is shown again with what is wrong.
pub(super) async fn build(
    app: &App,
    shell: Shell,
    user: &User,
    id: VisitId,
    (asked, wrong): (Asked, Option<(Typed, Errors)>),
) -> Result<ExamPage> {
    let db = app.db.read();
    // Asked before the entries are read: a page that shows more than it says is renewed once too often, never too
    // seldom.
    let newest = record::newest_of_visit(db, id).await?;
    let scene = Scene::load(app, user, id, asked.moving()).await?;
    let last = store::last_time(db, scene.visit.horse_id, id, scene.visit.starts_at).await?;
    let late = store::late(db, id).await?;
    let moving = movement::Sections::of(&scene);
    let Scene { visit, card, practice, today, staff, entries, .. } = scene;

    let way = Way::new(id, &asked.order, &asked.by);
    let state = ExamState::fold(&entries);
    let initials = staff.iter().map(|s| (s.id, initials(&s.name))).collect();
    let several = entries.iter().any(|e| Some(e.seen_by) != entries.first().map(|first| first.seen_by));
    let seen =
        Seen { state: &state, last: &last, way: &way, zone: &practice.zone, initials: &initials, several };
    let order = if way.order.is_empty() { practice.exam_order.clone() } else { way.order.clone() };
    let (typed, errors) = wrong.unzip();
    let parts = parts(&order, &asked, typed.as_ref(), &seen);
    let takes = !matches!(visit.state, VisitState::Signed | VisitState::DidNotCome | VisitState::Cancelled);
    let examiners = staff.iter().filter(|s| s.active && (s.licensed || s.id == user.id));
    Ok(ExamPage {
        visit_id: id,
        today,
        seen_by: seen_by(&way, &visit, user),
        examiners: examiners.map(|s| (s.id, s.name.clone())).collect(),
        orders: catalogue().orders.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect(),
        order_note: catalogue().order(&order).map_or("", |row| &row.note),
        order,
        saved: saved(&entries, &initials, &practice.zone),
        late,
        newest,
        plan: plan(&card, &seen),
        parts,
        moving,
        writes: takes && shell.may(Act::Examine),
        errors: errors.unwrap_or_default(),
        shell,
        visit,
        card,
        way,
    })
}

/// The examiner chosen for this page, else the visit's vet, else whoever is signed in.
fn seen_by(way: &Way, visit: &Visit, user: &User) -> String {
    if way.by.is_empty() { visit.vet_id.unwrap_or(user.id).to_string() } else { way.by.clone() }
}

/// The sections; the one asked for is unfolded, else the one that is under way.
fn parts(order: &str, asked: &Asked, typed: Option<&Typed>, seen: &Seen) -> Vec<PartView> {
    let open: Option<Place> = asked.open.parse().ok();
    let edit = asked.edit.parse().ok();
    let mut picker = open.map(|place| (place, Picker::new(place, edit, typed, seen)));
    let mut parts: Vec<PartView> = Vec::new();
    for (part, rows) in layout(order) {
        let here = picker.take_if(|(place, _)| Part::of(*place) == part);
        let mut view = PartView::new(part, &rows, seen, here);
        view.unfolded = part.id() == asked.at || open.is_some_and(|place| Part::of(place) == part);
        parts.push(view);
    }
    if parts.iter().all(|part| !part.unfolded)
        && let Some(next) = parts.iter_mut().find(|part| part.count.recorded > 0 && !part.count.is_done())
    {
        next.unfolded = true;
    }
    parts
}

/// The plan of the horse: each spot leads to its row and opens it.
fn plan(card: &Card, seen: &Seen) -> Plan {
    let mark = |key: &str| match key.parse::<Place>() {
        Ok(place) => {
            let known = seen.state.at(place);
            let words: Vec<String> = known.signs.iter().map(|line| super::say::entry(&line.body)).collect();
            let found = known.is_abnormal().then(|| words.join(", "));
            body::Seen { mark: view::mark(known, seen.last.get(&place)), found }
        }
        Err(_) => body::Seen::default(),
    };
    let href = |key: &str| key.parse::<Place>().ok().map(|place| seen.way.open(place));
    Plan::new(mark, href).titled(format!("Plan of the horse, {}", card.name))
}

fn saved(entries: &[Entry], initials: &HashMap<StaffId, String>, zone: &jiff::tz::TimeZone) -> Option<Saved> {
    let newest = entries.iter().max_by_key(|entry| entry.seq)?;
    Some(Saved {
        at: newest.received_at.hm(zone),
        iso: newest.received_at.iso(),
        by: initials.get(&newest.entered_by).cloned().unwrap_or_default(),
        entries: entries.len(),
    })
}

/// "Vala Test" is VT.
fn initials(name: &str) -> String {
    name.split_whitespace()
        .filter_map(|word| word.chars().next())
        .flat_map(char::to_uppercase)
        .take(3)
        .collect()
}
