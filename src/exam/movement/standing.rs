//! The horse at rest: how it stands, what its shape shows, the laminitis grade when it is suspected, and a score
//! of its face or its ridden behaviour as a number. The checklists behind such scores are licensed and stay away.

use askama::Template;
use axum::{extract::State, response::Response};

use super::{
    Progress, Scene, Sent, Stage, Typed,
    grades::{self, Cell, Said},
    scene::FormStamp,
    taken_back,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Limb, Scale, Vital, catalogue},
    exam::stamp::Writing,
    ids::VisitId,
    papers::words,
    record::{Body, Kind, NewEntry},
    web::{Check, Errors, Form, Path, Result},
};

const STANCE: &str = "POST";
const OBEL: &str = "obel_0_4";
/// Scores kept as a number alone.
const SCORES: [&str; 2] = ["pain_face", "ridden_score"];

#[derive(Template)]
#[template(path = "exam/movement/_standing.html")]
pub struct View {
    stamp: FormStamp,
    square: Option<Said>,
    limbs: Vec<LimbView>,
    /// A stance was picked: nothing seen can no longer be said.
    picked: bool,
    obel: Option<(&'static Scale, Cell)>,
    scores: Vec<&'static Vital>,
    said: Vec<Said>,
    pub(super) open: bool,
    typed: Typed,
    errors: Errors,
}

struct LimbView {
    limb: Limb,
    picks: Vec<grades::Button>,
}

impl View {
    pub fn new(scene: &Scene, (typed, errors): (Typed, Errors)) -> Self {
        let stance = || scene.of(Kind::Finding).filter(|(_, body)| is_stance(body));
        let square = stance().find(|(_, body)| body.present == Some(false));
        let limbs: Vec<LimbView> = Limb::ALL.into_iter().map(|limb| limb_view(scene, limb)).collect();
        let obel = catalogue().scale(OBEL).map(|scale| (scale, obel_cell(scene, scale)));
        let notes = scene.of(Kind::Note).filter(|(_, body)| body.code.as_deref() == Some("conformation"));
        let scores = scene
            .of(Kind::Vital)
            .filter(|(_, body)| body.code.as_deref().is_some_and(|code| SCORES.contains(&code)));
        let said = notes.chain(scores);
        View {
            stamp: scene.stamp(),
            square: square.map(|(entry, _)| Said::new(scene, entry, "stood square, nothing seen".to_owned())),
            picked: limbs.iter().any(|limb| limb.picks.iter().any(|pick| pick.pressed)),
            limbs,
            obel,
            scores: SCORES.iter().filter_map(|code| catalogue().vital(code)).collect(),
            said: said.map(|(e, body)| Said::new(scene, e, words::sentence(body, scene.units()))).collect(),
            open: false,
            typed,
            errors,
        }
    }

    pub(super) fn progress(&self) -> Progress {
        let graded = self.obel.as_ref().is_some_and(|(_, cell)| cell.said.is_some());
        let words = match (&self.square, self.picked) {
            (Some(_), _) => "stood square",
            (None, true) => "stands oddly",
            (None, false) if graded || !self.said.is_empty() => "noted",
            (None, false) => "not looked at",
        };
        let done = self.square.is_some() || self.picked;
        Progress {
            stage: Stage::of(words != "not looked at", done),
            abnormal: self.picked,
            words: words.to_owned(),
        }
    }
}

fn is_stance(body: &Body) -> bool {
    body.kind == Kind::Finding && body.code.as_deref() == Some(STANCE) && body.region.is_none()
}

/// The ways to stand, from the catalogue.
fn stances() -> &'static [String] {
    let finding = catalogue().finding(STANCE);
    finding.and_then(|row| row.attributes.first()).map_or(&[], |attribute| &attribute.picks)
}

fn limb_view(scene: &Scene, limb: Limb) -> LimbView {
    let is_picked = |stance: &str| {
        scene.of(Kind::Finding).any(|(_, body)| is_pick(body, limb, stance) && body.present == Some(true))
    };
    let picks = stances().iter().map(|stance| grades::Button {
        value: format!("{}:{stance}", limb.code()),
        label: stance.clone(),
        words: format!("{} {stance}", limb.name()),
        pressed: is_picked(stance),
    });
    LimbView { limb, picks: picks.collect() }
}

fn is_pick(body: &Body, limb: Limb, stance: &str) -> bool {
    is_stance(body) && body.limb.as_deref() == Some(limb.code()) && body.value.as_deref() == Some(stance)
}

fn is_obel(body: &Body) -> bool {
    body.kind == Kind::Vital && body.code.as_deref() == Some("obel")
}

fn obel_cell(scene: &Scene, scale: &'static Scale) -> Cell {
    let standing = scene.of(Kind::Vital).filter(|(_, body)| is_obel(body)).last();
    let mut cell = Cell::new(scale, "obel", "Obel", standing.and_then(|(_, body)| body.grade));
    cell.said = standing.map(|(entry, body)| {
        Said::new(scene, entry, words::grade(Some(&scale.code), body.grade.unwrap_or_default()))
    });
    cell
}

/// What the fields of the form say beside a tap on a button.
fn check(typed: &Typed) -> std::result::Result<Vec<Body>, Errors> {
    let mut check = Check::new();
    let mut bodies = Vec::new();
    match typed.tap() {
        ("conformation", _) => {
            let missing = "Write what the shape shows.";
            let text = check.needed_words("conformation", typed.get("conformation"), 1000, missing);
            let mut body = Body::new(Kind::Note);
            body.code = Some("conformation".to_owned());
            body.text = Some(text);
            bodies.push(body);
        }
        ("score", _) => bodies.extend(score(&mut check, typed)),
        _ => {}
    }
    check.done(bodies)
}

fn score(check: &mut Check, typed: &Typed) -> Option<Body> {
    let code = typed.get("score_kind");
    let row = catalogue().vital(code).filter(|row| SCORES.contains(&row.code.as_str()));
    if row.is_none() {
        check.errors.add("score_kind", "Choose which score it is.");
    }
    let (min, max) = row.map_or((0.0, 100.0), |row| (row.possible.min, row.possible.max));
    let number = check.number("score_number", typed.get("score_number"), min..=max, "");
    if number.is_some_and(|n| n.fract() != 0.0) {
        check.errors.add("score_number", "Enter a whole number.");
    } else if typed.get("score_number").trim().is_empty() {
        check.errors.add("score_number", "Enter the score as a number.");
    }
    let who = check.needed("score_by", typed.get("score_by"), 120, "Enter who scored it.");
    let which = check.line("score_scale", typed.get("score_scale"), 120);
    let mut body = Body::new(Kind::Vital);
    body.code = Some(row?.code.clone());
    body.number = Some(number?);
    body.held_by = Some(who);
    body.text = (!which.is_empty()).then_some(which);
    Some(body)
}

pub(super) async fn record(
    State(app): State<App>,
    can: Can<act::Examine>,
    Path(visit): Path<VisitId>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let sent = Sent { app: &app, user: &can.user, visit, section: "standing", typed: Typed(pairs) };
    let say = |writing: &mut Writing, bodies: &Vec<Body>, typed: &Typed| {
        if bodies.is_empty() {
            return tapped(writing, typed);
        }
        Ok(bodies.iter().map(|body| writing.entry(body.clone())).collect())
    };
    sent.take(check, say, |_| "standing".to_owned()).await
}

fn tapped(writing: &mut Writing, typed: &Typed) -> std::result::Result<Vec<NewEntry>, Errors> {
    let unknown = || Errors::one("", "Tap one of the buttons of the page.");
    match typed.tap() {
        ("square", _) => {
            if writing.standing(|body| is_stance(body) && body.present == Some(true)).is_some() {
                return Err(Errors::one("", "A limb is noted as standing oddly: take that back first."));
            }
            let mut body = stance(None);
            body.present = Some(false);
            Ok(grades::entry(writing, body, is_stance).into_iter().collect())
        }
        ("back", entry) => Ok(taken_back(writing, entry, &[Kind::Finding, Kind::Vital, Kind::Note])),
        ("obel", grade) => {
            let scale = catalogue().scale(OBEL).ok_or_else(unknown)?;
            let mut body = Body::new(Kind::Vital);
            body.code = Some("obel".to_owned());
            body.grade = Some(grades::read(scale, grade, None).ok_or_else(unknown)?);
            body.scale = Some(scale.code.clone());
            Ok(grades::entry(writing, body, is_obel).into_iter().collect())
        }
        (limb, pick) => {
            let limb: Limb = limb.parse().map_err(|_| unknown())?;
            let pick = stances().iter().find(|stance| *stance == pick).ok_or_else(unknown)?;
            Ok(vec![toggle(writing, limb, pick)])
        }
    }
}

fn stance(limb: Option<Limb>) -> Body {
    let mut body = Body::new(Kind::Finding);
    body.limb = limb.map(|limb| limb.code().to_owned());
    body.code = Some(STANCE.to_owned());
    body
}

/// A pick that stands is taken back by a second tap. The first pick corrects "nothing seen".
fn toggle(writing: &mut Writing, limb: Limb, pick: &str) -> NewEntry {
    if let Some(id) = writing.standing(|body| is_pick(body, limb, pick)).map(|entry| entry.id) {
        return writing.entry(Body::new(Kind::Withdrawal)).superseding(id);
    }
    let square = writing.standing(|body| is_stance(body) && body.present == Some(false)).map(|e| e.id);
    let mut body = stance(Some(limb));
    body.present = Some(true);
    body.value = Some(pick.to_owned());
    let new = writing.entry(body);
    match square {
        Some(id) => new.superseding(id),
        None => new,
    }
}
