//! The page of a programme: today's exercise, the next gate, what the yard told, and all of it on the calendar.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    calendar::{self, Month, Row},
    forms::{DONE, Typed, YES_NO},
    scene::{Scene, Way, exercise_of, proposal},
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::{
        catalogue,
        programmes::{GateKind, Regress},
    },
    clock::Day,
    ids::{EntryId, ProgrammeId},
    papers::exercise,
    record::{Entry, Exercise},
    web::{Errors, Path, Query, Result, Shell, invalid},
};

/// What the address asks to be open.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Open {
    /// The entry that told signs.
    decide: Option<EntryId>,
    back: Option<EntryId>,
}

#[derive(Template, WebTemplate)]
#[template(path = "programmes/page.html")]
pub(super) struct Page {
    shell: Shell,
    errors: Errors,
    today: Day,
    scene: Scene,
    typed: Typed,
    rows: Vec<Row>,
    months: Vec<Month>,
    /// The entry that is to be taken back.
    back: Option<EntryId>,
}

/// A line of what happened.
struct Line {
    id: EntryId,
    words: String,
    by: String,
    /// Why it was decided; not for whoever may not see the record.
    why: String,
    misfit: bool,
    may_go: bool,
}

impl Page {
    fn new(shell: Shell, scene: Scene, typed: Typed, errors: Errors, back: Option<EntryId>) -> Self {
        let steps = &scene.way.prescribed.steps;
        let rows = calendar::rows(&scene.way.course, steps, scene.today);
        let months = calendar::months(&scene.way.course, steps, scene.today);
        Page { shell, errors, today: scene.today, rows, months, typed, back, scene }
    }

    fn decides(&self) -> bool {
        self.shell.may(Act::Sign) && self.scene.kept.ended_at.is_none()
    }

    fn tells(&self) -> bool {
        self.scene.kept.ended_at.is_none()
    }

    /// Whether the form came back with something wrong in it.
    fn is_slower_wrong(&self) -> bool {
        ["slow_on", "slow_hold", "slow_back", "slow_why"].iter().any(|field| self.errors.on(field).is_some())
    }

    fn is_end_wrong(&self) -> bool {
        ["end_on", "end_why"].iter().any(|field| self.errors.on(field).is_some())
    }

    fn today_words(&self) -> String {
        self.scene.way.today_words(self.scene.today)
    }

    /// The next gate: its words, its day, and the number of its step.
    fn gate(&self) -> Option<(String, String, usize)> {
        let (step, day) = self.scene.way.gate()?;
        let stretch = self.scene.way.course.stretches.get(self.scene.way.course.next_gate()?)?;
        let when =
            if day <= self.scene.today { "due today".to_owned() } else { format!("due {}", day.words()) };
        Some((Way::gate_words(step), when, stretch.step))
    }

    /// What the trade says of the next gate.
    fn references(&self) -> Vec<String> {
        let Some((step, _)) = self.scene.way.gate() else { return Vec::new() };
        let row = |kind: &GateKind| {
            let row = catalogue().programmes.gates.get(kind.code())?;
            let text = row.text.as_deref().unwrap_or_default();
            Some(format!("{text} {} ({})", row.source, row.confidence.words()))
        };
        step.gates.iter().filter_map(row).collect()
    }

    /// Signs that wait: the entry, in words, and what the rules propose.
    fn proposals(&self) -> Vec<(EntryId, String, String)> {
        let line = |entry: &&Entry| {
            let Some(Exercise::Told(told)) = exercise_of(entry) else { return None };
            let (hold, back) = proposal(&told.signs);
            let words = format!("{} told on {}", exercise::signs(told), told.on.words());
            Some((entry.id, words, exercise::slower(hold, back)))
        };
        self.scene.open_signs().iter().filter_map(line).collect()
    }

    fn lines(&self) -> Vec<Line> {
        self.scene.standing.iter().rev().filter_map(|entry| self.line(entry)).collect()
    }

    fn gone(&self) -> Vec<Line> {
        self.scene.gone.iter().filter_map(|entry| self.line(entry)).collect()
    }

    fn line(&self, entry: &Entry) -> Option<Line> {
        let (body, one) = (entry.body.as_ref()?, exercise_of(entry)?);
        let is_told = matches!(one, Exercise::Told(_));
        let sees = is_told || self.shell.may(Act::SeeRecord);
        Some(Line {
            id: entry.id,
            words: exercise::words(one, body),
            by: self.scene.by(entry),
            why: body.text.clone().filter(|_| sees && !is_told).unwrap_or_default(),
            misfit: self.scene.way.misfits.contains(&entry.id),
            may_go: self.tells()
                && !matches!(one, Exercise::Start(_) | Exercise::End(_))
                && (is_told || self.shell.may(Act::Sign)),
        })
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn regress(&self) -> &'static [Regress] {
        &catalogue().programmes.regress
    }

    fn asked(&self) -> Vec<(&'static str, &'static str)> {
        let rows = self.regress().iter().filter(|row| !row.ask.is_empty());
        rows.map(|row| (row.code.as_str(), row.ask.as_str())).collect()
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn done(&self) -> [(&'static str, &'static str); 4] {
        DONE
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn yes_no(&self) -> [(&'static str, &'static str); 2] {
        YES_NO
    }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::FollowUp>,
    shell: Shell,
    Path(id): Path<ProgrammeId>,
    Query(open): Query<Open>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let mut typed = Typed::fresh(scene.today);
    let told = open.decide.and_then(|id| scene.open_signs().into_iter().find(|entry| entry.id == id));
    if let Some((entry, Some(Exercise::Told(told)))) = told.map(|entry| (entry.id, exercise_of(entry))) {
        let (hold, back) = proposal(&told.signs);
        typed.about = entry.to_string();
        (typed.slow_hold, typed.slow_back) = (hold.to_string(), back.to_string());
    }
    let back = open.back.filter(|id| scene.standing(*id).is_some());
    Ok(Page::new(shell, scene, typed, Errors::default(), back).into_response())
}

/// The page with a form as it was typed, and what is wrong with it.
pub(super) fn again(
    scene: Scene,
    shell: Shell,
    typed: Typed,
    errors: Errors,
    back: Option<EntryId>,
) -> Response {
    let fresh = Typed::fresh(scene.today);
    // The days of the forms that were not sent; one that was left empty is told so and stays empty.
    let or = |field, sent: String, fresh: String| {
        if sent.is_empty() && errors.on(field).is_none() { fresh } else { sent }
    };
    let typed = Typed {
        gate_on: or("gate_on", typed.gate_on, fresh.gate_on),
        slow_on: or("slow_on", typed.slow_on, fresh.slow_on),
        told_on: or("told_on", typed.told_on, fresh.told_on),
        end_on: or("end_on", typed.end_on, fresh.end_on),
        ..typed
    };
    invalid(Page::new(shell, scene, typed, errors, back))
}
