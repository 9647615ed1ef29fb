//! Flexion tests: both limbs of a pair side by side, how long it was held and by whom. Where work has to stop, the
//! grades give way to the caution and the question why it is done all the same.

use askama::Template;
use axum::{extract::State, response::Response};

use super::{
    Asked, Progress, Raised, Scene, Sent, Stage, Typed, capital,
    grades::{self, Cell, Said, last_time},
    raised_under,
    scene::FormStamp,
    stops, taken_back,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Caution, Fact, Flexion, Limb, Range, Scale, Where, catalogue},
    exam::stamp::Writing,
    ids::VisitId,
    papers::words,
    reasoning::cautions::advice,
    record::{Body, Kind, NewEntry},
    web::{Check, Errors, Form, Path, Result},
};

/// The tests that most horses get; the rest open when they are wanted.
const ALWAYS: [&str; 3] = ["FX_DF", "FX_DH", "FX_HK"];
pub(in crate::exam) const SCALES: [&str; 2] = ["flexion_0_4", "flexion_0_3"];

#[derive(Template)]
#[template(path = "exam/movement/_flexion.html")]
pub struct View {
    stamp: FormStamp,
    scale: &'static Scale,
    other_scale: Option<&'static Scale>,
    raised: Vec<Raised>,
    stops: Vec<Raised>,
    advice: Vec<&'static Caution>,
    facts: &'static [Fact],
    tests: Vec<TestView>,
    more: Vec<&'static Flexion>,
    /// Nobody asked for the tests yet: they come when the section is opened.
    pub(super) shown: bool,
    pub(super) open: bool,
    grades: usize,
    typed: Typed,
    errors: Errors,
}

struct TestView {
    row: &'static Flexion,
    name: String,
    cells: Vec<Cell>,
    seconds: Vec<String>,
    chosen_seconds: String,
    other_seconds: String,
    holder: String,
}

impl View {
    pub fn new(scene: &Scene, (typed, errors): (Typed, Errors)) -> Self {
        let scale = scale_of(scene);
        let recorded =
            |code: &str| scene.of(Kind::Flexion).any(|(_, body)| body.code.as_deref() == Some(code));
        let (shown, more): (Vec<&Flexion>, Vec<&Flexion>) = catalogue().flexions.iter().partition(|row| {
            ALWAYS.contains(&row.code.as_str())
                || Asked::names(&scene.asked.flexion, &row.code)
                || recorded(&row.code)
        });
        let raised = scene.raised_at(&[Where::Flexion]);
        let grades = scene.of(Kind::Flexion).count();
        View {
            stamp: scene.stamp(),
            scale,
            other_scale: SCALES
                .iter()
                .find(|code| **code != scale.code)
                .and_then(|code| catalogue().scale(code)),
            stops: stops(&raised),
            raised,
            advice: advice(Where::Flexion),
            facts: &catalogue().flexion_facts,
            tests: shown.into_iter().map(|row| test(scene, scale, row, &typed)).collect(),
            more,
            shown: grades > 0 || !errors.is_empty() || scene.asked.opens("flexion"),
            open: false,
            grades,
            typed,
            errors,
        }
    }

    /// Done when the tests of every horse are graded on both limbs.
    pub(super) fn progress(&self) -> Progress {
        let mut usual = self.tests.iter().filter(|test| ALWAYS.contains(&test.row.code.as_str()));
        let done = usual.all(|test| test.cells.iter().all(|cell| cell.said.is_some()));
        Progress {
            stage: Stage::of(self.grades > 0, done),
            abnormal: false,
            words: match (self.grades, self.stops.is_empty()) {
                (_, false) => "stopped".to_owned(),
                (0, true) => "not done".to_owned(),
                (1, true) => "1 grade".to_owned(),
                (n, true) => format!("{n} grades"),
            },
        }
    }
}

/// The scale asked for, else the one this visit was graded on, else the first.
fn scale_of(scene: &Scene) -> &'static Scale {
    let used = scene.of(Kind::Flexion).filter_map(|(_, body)| body.scale.as_deref()).last();
    let wanted = [scene.asked.flexion_scale.as_str(), used.unwrap_or_default(), SCALES[0]];
    let code = wanted.into_iter().find(|code| SCALES.contains(code)).unwrap_or(SCALES[0]);
    catalogue().scale(code).unwrap_or(&catalogue().scales[0])
}

fn test(scene: &Scene, scale: &'static Scale, row: &'static Flexion, typed: &Typed) -> TestView {
    let ours = || scene.of(Kind::Flexion).filter(|(_, body)| body.code.as_deref() == Some(row.code.as_str()));
    let cells = Limb::ALL.into_iter().filter(|limb| row.suits(*limb)).map(|limb| {
        let standing = ours().filter(|(_, body)| body.limb.as_deref() == Some(limb.code())).last();
        let grade = standing.and_then(|(_, body)| Some((body.grade?, body.scale.as_deref()?)));
        let chosen = grade.filter(|(_, on)| *on == scale.code).map(|(grade, _)| grade);
        let mut cell = Cell::new(scale, limb.code(), limb.code(), chosen);
        cell.said = standing.map(|(entry, body)| Said::new(scene, entry, words::answer(body)));
        cell.last = last_time(scene, "flexion", &row.code, limb, grade);
        cell
    });
    let seconds = row.hold_s.map_or_else(Vec::new, choices);
    // The second limb is held as long as the first, and by the same hands.
    let held = ours().last().and_then(|(_, body)| body.number).map_or_else(String::new, |s| s.to_string());
    let holder =
        scene.of(Kind::Flexion).filter_map(|(_, body)| body.held_by.clone()).last().unwrap_or_default();
    let sent = |name: &str, else_: String| {
        if typed.0.iter().any(|(field, _)| *field == field_of(name, row)) {
            typed.get(&field_of(name, row)).to_owned()
        } else {
            else_
        }
    };
    let usual = seconds.contains(&held);
    TestView {
        row,
        name: capital(&row.name),
        cells: cells.collect(),
        chosen_seconds: sent("seconds", if usual { held.clone() } else { String::new() }),
        other_seconds: sent("other", if usual { String::new() } else { held }),
        holder: sent("holder", holder),
        seconds,
    }
}

impl TestView {
    /// The seconds to hold for: a minute where the test allows it, else as long as it may be.
    fn target(&self) -> &str {
        let minute = self.seconds.iter().find(|seconds| *seconds == "60");
        minute.or(self.seconds.last()).map_or("", String::as_str)
    }

    fn seconds_options(&self) -> Vec<(&str, &str)> {
        self.seconds.iter().map(|s| (s.as_str(), s.as_str())).collect()
    }
}

/// The ends of the range, and a minute where it lies between.
fn choices(range: Range) -> Vec<String> {
    let mut all = vec![range.min, range.max];
    if range.min < 60.0 && 60.0 < range.max {
        all.insert(1, 60.0);
    }
    all.dedup();
    all.iter().map(ToString::to_string).collect()
}

fn field_of(name: &str, row: &Flexion) -> String {
    format!("{name}-{}", row.code)
}

/// What one test's form says beside its tap.
struct Held {
    row: &'static Flexion,
    scale: &'static Scale,
    seconds: Option<f64>,
    by: String,
}

fn check(typed: &Typed) -> std::result::Result<Held, Errors> {
    let row = catalogue().flexion(typed.get("test"));
    let scale = catalogue().scale(typed.get("scale")).filter(|scale| SCALES.contains(&scale.code.as_str()));
    let (Some(row), Some(scale)) = (row, scale) else {
        return Err(Errors::one("", "Choose a test and a grade from the page."));
    };
    let mut check = Check::new();
    let by = field_of("holder", row);
    let by = check.line(&by, typed.get(&by), 120);
    let seconds = row.hold_s.and_then(|_| seconds(&mut check, row, typed));
    check.done(Held { row, scale, seconds, by })
}

/// Seconds as picked, or others as typed, which stand over the pick.
fn seconds(check: &mut Check, row: &Flexion, typed: &Typed) -> Option<f64> {
    let other = field_of("other", row);
    let picked = field_of("seconds", row);
    let (field, words) = match typed.get(&other).trim() {
        "" => (picked, typed.get(&field_of("seconds", row)).trim()),
        words => (other, words),
    };
    if words.is_empty() {
        check.errors.add(&field, "Choose how long it was held.");
        return None;
    }
    let number = check.number(&field, words, 1.0..=600.0, "s")?;
    if number.fract() != 0.0 {
        check.errors.add(&field, "Enter whole seconds.");
    }
    Some(number)
}

pub(super) async fn record(
    State(app): State<App>,
    can: Can<act::Examine>,
    Path(visit): Path<VisitId>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let sent = Sent { app: &app, user: &can.user, visit, section: "flexion", typed: Typed(pairs) };
    let back = sent.typed.tap().0 == "back";
    let held = match check(&sent.typed) {
        Err(errors) if !back => return sent.again(errors).await,
        held => held.ok(),
    };
    let mut writing = match sent.open().await? {
        Ok(writing) => writing,
        Err(answer) => return Ok(answer),
    };
    let entries = match &held {
        Some(held) if !back => graded(&mut writing, held, &sent.typed).await?,
        _ => Ok(taken_back(&mut writing, sent.typed.tap().1, &[Kind::Flexion])),
    };
    match entries {
        Ok(entries) => {
            let at = held.map_or("flexion".to_owned(), |held| format!("flexion-{}", held.row.code));
            writing.keep(entries, &sent.way().at("flexion", &at)).await
        }
        Err(errors) => {
            drop(writing);
            sent.again(errors).await
        }
    }
}

/// The entry for a tapped grade, unless a caution stops the test: the page may have been open since before it was
/// raised.
async fn graded(
    writing: &mut Writing,
    held: &Held,
    typed: &Typed,
) -> Result<std::result::Result<Vec<NewEntry>, Errors>> {
    let stops = stops(&raised_under(writing, &[]).await?);
    if let Some(stop) = stops.first() {
        let words = format!("Flexion is stopped: {}. Give a reason below to go on all the same.", stop.name);
        return Ok(Err(Errors::one("caution_reason", words)));
    }
    let (limb, grade) = typed.tap();
    let limb: Option<Limb> = limb.parse().ok().filter(|limb| held.row.suits(*limb));
    let grade = grades::read(held.scale, grade, None);
    let (Some(limb), Some(grade)) = (limb, grade) else {
        return Ok(Err(Errors::one("", "Tap a grade of the scale for a limb that this test is done on.")));
    };
    let mut body = Body::new(Kind::Flexion);
    body.limb = Some(limb.code().to_owned());
    body.code = Some(held.row.code.clone());
    body.grade = Some(grade);
    body.scale = Some(held.scale.code.clone());
    body.number = held.seconds;
    body.held_by = (!held.by.is_empty()).then(|| held.by.clone());
    let (code, limb) = (body.code.clone(), body.limb.clone());
    let about = move |said: &Body| said.kind == Kind::Flexion && said.code == code && said.limb == limb;
    Ok(Ok(grades::entry(writing, body, about).into_iter().collect()))
}
