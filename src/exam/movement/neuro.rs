//! The neurological screen: every item by its own tap, normal, abnormal or not done, left and right apart where
//! they may differ; ataxia graded fore and hind. Nothing here is ever swept.

use askama::Template;
use axum::{extract::State, response::Response};

use super::{
    Progress, Raised, Scene, Sent, Stage, Typed, capital,
    grades::{self, Cell, Said},
    scene::FormStamp,
    taken_back,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Caution, NeuroItem, NeuroPattern, Scale, Side, Where, catalogue},
    exam::stamp::Writing,
    ids::VisitId,
    papers::words,
    reasoning::cautions::advice,
    record::{Body, Kind, NewEntry},
    web::{Check, Errors, Form, Path, Result},
};

const ATAXIA: &str = "ATAX";
const ATAXIA_SCALE: &str = "ataxia_0_5";
const NOT_DONE: &str = "not done";

#[derive(Template)]
#[template(path = "exam/movement/_neuro.html")]
pub struct View {
    pub(super) stamp: FormStamp,
    raised: Vec<Raised>,
    advice: Vec<&'static Caution>,
    short: Vec<ItemView>,
    more: Vec<ItemView>,
    /// An item outside the short screen has an answer, or all were asked for.
    pub(super) all: bool,
    ataxia: Option<(&'static Scale, [Cell; 2])>,
    /// Shown when something is abnormal: how the pattern reads.
    patterns: &'static [NeuroPattern],
    notes: Vec<Said>,
    /// Nobody asked for the items yet: they come when the section is opened.
    pub(super) shown: bool,
    pub(super) open: bool,
    typed: Typed,
    errors: Errors,
}

struct ItemView {
    row: &'static NeuroItem,
    name: String,
    /// One, or left and right.
    answers: Vec<AnswerView>,
    not_done: Option<Said>,
}

struct AnswerView {
    side: Option<Side>,
    key: String,
    spoken: String,
    abnormal: Option<bool>,
    said: Option<Said>,
}

impl View {
    pub fn new(scene: &Scene, (typed, errors): (Typed, Errors)) -> Self {
        let (short, more): (Vec<&NeuroItem>, Vec<&NeuroItem>) =
            catalogue().neuro.iter().partition(|row| row.short);
        let views = |rows: Vec<&'static NeuroItem>| rows.into_iter().map(|row| item(scene, row)).collect();
        let more: Vec<ItemView> = views(more);
        let abnormal = scene
            .of(Kind::Neuro)
            .any(|(_, body)| body.present == Some(true) || body.grade.is_some_and(|grade| grade > 0.0));
        let is_ours = |body: &Body| body.code.as_deref() == Some("neuro");
        let notes: Vec<Said> = scene
            .of(Kind::Note)
            .filter(|(_, body)| is_ours(body))
            .map(|(e, body)| Said::new(scene, e, body.text.clone().unwrap_or_default()))
            .collect();
        View {
            stamp: scene.stamp(),
            raised: scene.raised_at(&[Where::Neuro]),
            advice: advice(Where::Neuro),
            short: views(short),
            all: more.iter().any(ItemView::is_answered) || scene.asked.neuro == "all",
            shown: scene.of(Kind::Neuro).next().is_some()
                || !notes.is_empty()
                || !errors.is_empty()
                || scene.asked.opens("neuro"),
            open: false,
            more,
            ataxia: catalogue().scale(ATAXIA_SCALE).map(|scale| (scale, ataxia(scene, scale))),
            patterns: if abnormal { &catalogue().neuro_patterns } else { &[] },
            notes,
            typed,
            errors,
        }
    }
}

impl View {
    /// Done when every item of the short screen has an answer.
    pub(super) fn progress(&self) -> Progress {
        let answered = self.short.iter().filter(|item| item.is_answered()).count();
        let done = answered == self.short.len();
        Progress {
            stage: Stage::of(self.shown && answered > 0, done),
            abnormal: !self.patterns.is_empty(),
            words: match answered {
                0 => "not done".to_owned(),
                n => format!("{n} of {} answered", self.short.len()),
            },
        }
    }
}

impl ItemView {
    fn is_answered(&self) -> bool {
        self.not_done.is_some() || self.answers.iter().any(|answer| answer.said.is_some())
    }
}

/// The sides on which an item is answered; none stands for the horse as a whole.
fn sides(row: &NeuroItem) -> &'static [Option<Side>] {
    if row.sided { &[Some(Side::L), Some(Side::R)] } else { &[None] }
}

fn item(scene: &Scene, row: &'static NeuroItem) -> ItemView {
    let answers = sides(row).iter().map(|&side| {
        let standing = scene.of(Kind::Neuro).filter(|(_, body)| is_answer(body, row, side)).last();
        let at = side.map(|side| format!(", {}", side.name())).unwrap_or_default();
        AnswerView {
            side,
            key: side.map_or_else(|| row.code.clone(), |side| format!("{}.{side}", row.code)),
            spoken: format!("{}{at}", row.name),
            abnormal: standing.and_then(|(_, body)| body.present),
            said: standing.map(|(entry, body)| Said::new(scene, entry, words::answer(body))),
        }
    });
    let not_done = scene.of(Kind::Neuro).filter(|(_, body)| is_not_done(body, row)).last();
    ItemView {
        row,
        name: capital(&row.name),
        answers: answers.collect(),
        not_done: not_done.map(|(entry, _)| Said::new(scene, entry, NOT_DONE.to_owned())),
    }
}

fn is_about(body: &Body, row: &NeuroItem) -> bool {
    body.kind == Kind::Neuro && body.code.as_deref() == Some(row.code.as_str())
}

fn is_answer(body: &Body, row: &NeuroItem, side: Option<Side>) -> bool {
    is_about(body, row) && body.present.is_some() && body.side.as_deref() == side.map(Side::code)
}

fn is_not_done(body: &Body, row: &NeuroItem) -> bool {
    is_about(body, row) && body.value.as_deref() == Some(NOT_DONE)
}

fn is_ataxia(body: &Body, pair: &str) -> bool {
    body.kind == Kind::Neuro && body.code.as_deref() == Some(ATAXIA) && body.value.as_deref() == Some(pair)
}

fn ataxia(scene: &Scene, scale: &'static Scale) -> [Cell; 2] {
    ["fore", "hind"].map(|pair| {
        let standing = scene.of(Kind::Neuro).filter(|(_, body)| is_ataxia(body, pair)).last();
        let mut cell = Cell::new(scale, pair, pair, standing.and_then(|(_, body)| body.grade));
        cell.said = standing.map(|(entry, body)| {
            Said::new(scene, entry, words::grade(Some(&scale.code), body.grade.unwrap_or_default()))
        });
        cell
    })
}

pub(super) async fn record(
    State(app): State<App>,
    can: Can<act::Examine>,
    Path(visit): Path<VisitId>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let sent = Sent { app: &app, user: &can.user, visit, section: "neuro", typed: Typed(pairs) };
    let say = |writing: &mut Writing, note: &Option<Body>, typed: &Typed| match note {
        Some(note) => Ok(vec![writing.entry(note.clone())]),
        None => tapped(writing, typed),
    };
    sent.take(check, say, |_| "neuro".to_owned()).await
}

fn check(typed: &Typed) -> std::result::Result<Option<Body>, Errors> {
    if typed.tap().0 != "note" {
        return Ok(None);
    }
    let mut check = Check::new();
    let text = check.needed_words("neuro_note", typed.get("neuro_note"), 1000, "Write what was seen.");
    let mut body = Body::new(Kind::Note);
    body.code = Some("neuro".to_owned());
    body.text = Some(text);
    check.done(Some(body))
}

/// What a tap adds: `N2.L:abnormal`, `N16:normal`, `N2:normal` for both sides, `N2:undone`, `hind:2`.
fn tapped(writing: &mut Writing, typed: &Typed) -> std::result::Result<Vec<NewEntry>, Errors> {
    let unknown = || Errors::one("", "Tap one of the buttons of the page.");
    let (key, answer) = typed.tap();
    match key {
        "back" => {
            let kinds = [Kind::Neuro, Kind::Note];
            return Ok(taken_back(writing, answer, &kinds));
        }
        "fore" | "hind" => return graded(writing, key, answer).ok_or_else(unknown),
        _ => {}
    }
    let (code, side) = key.split_once('.').map_or((key, None), |(code, side)| (code, Some(side)));
    let row = catalogue().neuro(code).ok_or_else(unknown)?;
    let side = side.map(str::parse::<Side>).transpose().map_err(|_| unknown())?;
    let sides = match side {
        None => sides(row),
        Some(side) => {
            sides(row).iter().find(|s| **s == Some(side)).map(std::slice::from_ref).ok_or_else(unknown)?
        }
    };
    match answer {
        "normal" => Ok(sides.iter().filter_map(|&side| answered(writing, row, side, false)).collect()),
        "abnormal" => Ok(sides.iter().filter_map(|&side| answered(writing, row, side, true)).collect()),
        "undone" => Ok(not_done(writing, row).into_iter().collect()),
        _ => Err(unknown()),
    }
}

/// An answer; it corrects what was said of that side, or that the item was not done.
fn answered(writing: &mut Writing, row: &NeuroItem, side: Option<Side>, abnormal: bool) -> Option<NewEntry> {
    let mut body = Body::new(Kind::Neuro);
    body.side = side.map(|side| side.code().to_owned());
    body.code = Some(row.code.clone());
    body.present = Some(abnormal);
    if writing.standing(|said| is_answer(said, row, side)).is_some() {
        return grades::entry(writing, body, |said| is_answer(said, row, side));
    }
    let first_side =
        side != Some(Side::R) || writing.standing(|said| is_answer(said, row, Some(Side::L))).is_some();
    grades::entry(writing, body, |said| first_side && is_not_done(said, row))
}

/// Not done is said of an item that has no answer.
fn not_done(writing: &mut Writing, row: &NeuroItem) -> Option<NewEntry> {
    if writing.standing(|said| is_about(said, row)).is_some() {
        return None;
    }
    let mut body = Body::new(Kind::Neuro);
    body.code = Some(row.code.clone());
    body.value = Some(NOT_DONE.to_owned());
    Some(writing.entry(body))
}

fn graded(writing: &mut Writing, pair: &str, tapped: &str) -> Option<Vec<NewEntry>> {
    let scale = catalogue().scale(ATAXIA_SCALE)?;
    let standing = writing.standing(|said| is_ataxia(said, pair)).and_then(|e| e.body.as_ref()?.grade);
    let mut body = Body::new(Kind::Neuro);
    body.code = Some(ATAXIA.to_owned());
    body.grade = Some(grades::read(scale, tapped, standing)?);
    body.scale = Some(scale.code.clone());
    body.value = Some(pair.to_owned());
    Some(grades::entry(writing, body, |said| is_ataxia(said, pair)).into_iter().collect())
}
