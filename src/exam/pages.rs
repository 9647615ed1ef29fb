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
    bar::{self, Stop, Wanted},
    form::Typed,
    line::Waiting,
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
    diagnostics,
    horses::Card,
    ids::{StaffId, VisitId},
    record::{self, Entry},
    visits::{State as VisitState, Visit},
    web::{Errors, Path, Query, Result, Shell},
};

pub(super) fn router() -> Router<App> {
    Router::new().route("/visits/{id}/exam", get(exam))
}

/// What the address asks for: another order, another examiner, a section to go to, the section a form came back
/// from, a place to open, one of its entries to tell in more detail.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    order: String,
    by: String,
    to: String,
    at: String,
    open: String,
    edit: String,
    gait: String,
    flexion: String,
    flexion_scale: String,
    neuro: String,
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

    /// What a form of the other sections had asked for.
    pub(super) fn of_section(typed: &movement::Typed) -> Self {
        let get = |name: &str| typed.get(name).to_owned();
        Asked {
            order: get("order"),
            by: get("seen_by"),
            gait: get("condition"),
            flexion: get("test"),
            flexion_scale: get("scale"),
            ..Asked::default()
        }
    }

    /// What the sections of the horse in motion are asked to open.
    fn moving(&self) -> movement::Asked {
        movement::Asked {
            gait: self.gait.clone(),
            flexion: self.flexion.clone(),
            flexion_scale: self.flexion_scale.clone(),
            neuro: self.neuro.clone(),
            to: self.to.clone(),
            at: self.at.clone(),
        }
    }
}

/// A form that is shown again, and what is wrong with it.
pub(super) enum Wrong {
    Nothing,
    Hands(Typed, Errors),
    /// In one of the sections that are not places under the hands.
    Moving(&'static str, movement::Typed, Errors),
}

impl From<Option<(Typed, Errors)>> for Wrong {
    fn from(wrong: Option<(Typed, Errors)>) -> Self {
        wrong.map_or(Wrong::Nothing, |(typed, errors)| Wrong::Hands(typed, errors))
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
    /// What was ordered from which place, for the tablet: `fetlock@FETL_D.L`, spaces between.
    ordered: String,
    plan: Plan,
    stops: Vec<Stop>,
    parts: Vec<PartView>,
    moving: movement::Sections,
    /// Lines that were kept without a signal.
    waiting: Vec<Waiting>,
    /// Taps are taken: the visit is open and the role may examine.
    writes: bool,
    /// Something that was typed was not taken, here or in another section.
    wrong: bool,
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
    (asked, wrong): (Asked, impl Into<Wrong>),
) -> Result<ExamPage> {
    let wrong = wrong.into();
    // Asked before the entries are read: a page that shows more than it says is renewed once too often, never too
    // seldom.
    let newest = record::newest_of_visit(app.db.read(), id).await?;
    let way = Way::new(id, &asked.order, &asked.by);
    // Side by side: the page waits for the slowest instead of for all.
    let (scene, last, late, ordered) = tokio::try_join!(
        Scene::load(app, user, &way, asked.moving()),
        async { Ok(store::last_time(app.db.read(), id).await?) },
        async { Ok(store::late(app.db.read(), id).await?) },
        async { Ok(diagnostics::store::ordered_at_places(app.db.read(), id).await?) },
    )?;
    let mut moving = movement::Sections::of(&scene, &wrong);
    let Scene { visit, card, practice, today, staff, entries, seen_by, .. } = scene;

    let state = ExamState::fold(&entries);
    let initials = staff.iter().map(|s| (s.id, initials(&s.name))).collect();
    let several = entries.iter().any(|e| Some(e.seen_by) != entries.first().map(|first| first.seen_by));
    let seen = Seen {
        state: &state,
        last: &last,
        way: &way,
        zone: &practice.zone,
        initials: &initials,
        several,
        ordered: &ordered,
    };
    let order = if way.order.is_empty() { practice.exam_order.clone() } else { way.order.clone() };
    let mut parts = parts(&order, &asked, &wrong, &seen);
    let stops = bar::stops(&moving, &parts, &way);
    let unfolded = bar::unfolded(&stops, &wanted(&asked, &wrong)).unwrap_or_default();
    moving.unfold(unfolded);
    for part in &mut parts {
        part.unfolded = part.part.id() == unfolded;
    }
    let takes = !matches!(visit.state, VisitState::Signed | VisitState::DidNotCome | VisitState::Cancelled);
    let examiners = staff.iter().filter(|s| s.active && (s.licensed || s.id == user.id || s.id == seen_by));
    Ok(ExamPage {
        visit_id: id,
        today,
        seen_by: seen_by.to_string(),
        examiners: examiners.map(|s| (s.id, s.name.clone())).collect(),
        orders: catalogue().orders.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect(),
        order_note: catalogue().order(&order).map_or("", |row| &row.note),
        order,
        waiting: Waiting::among(&entries),
        saved: saved(&entries, &initials, &practice.zone),
        late,
        newest,
        ordered: ordered.join(" "),
        plan: plan(&card, &seen),
        stops,
        parts,
        moving,
        writes: takes && shell.may(Act::Examine),
        wrong: !matches!(wrong, Wrong::Nothing),
        errors: if let Wrong::Hands(_, errors) = wrong { errors } else { Errors::default() },
        shell,
        visit,
        card,
        way,
    })
}

/// A section with something wrong in it stands open before one that was asked for.
fn wanted<'a>(asked: &'a Asked, wrong: &'a Wrong) -> Wanted<'a> {
    let wrong = match wrong {
        Wrong::Moving("caution", ..) => Some("flexion"),
        Wrong::Moving(section, ..) => Some(*section),
        _ => None,
    };
    let place = asked.open.parse::<Place>().ok().map(|place| Part::of(place).id());
    let opened = [
        ("gait", &asked.gait),
        ("flexion", &asked.flexion),
        ("flexion", &asked.flexion_scale),
        ("neuro", &asked.neuro),
    ];
    let opened = opened.into_iter().filter(|(_, asked)| !asked.is_empty()).map(|(section, _)| section);
    let named = wrong.into_iter().chain([asked.to.as_str()]).chain(place).chain(opened).collect();
    Wanted { named, from: &asked.at }
}

/// The sections of places, and the picker where one is open.
fn parts(order: &str, asked: &Asked, wrong: &Wrong, seen: &Seen) -> Vec<PartView> {
    let typed = if let Wrong::Hands(typed, _) = wrong { Some(typed) } else { None };
    let edit = asked.edit.parse().ok();
    let open: Option<Place> = asked.open.parse().ok();
    let mut picker = open.map(|place| (place, Picker::new(place, edit, typed, seen)));
    let layout = layout(order).into_iter();
    layout
        .map(|(part, rows)| {
            let here = picker.take_if(|(place, _)| Part::of(*place) == part);
            PartView::new(part, &rows, seen, here)
        })
        .collect()
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
