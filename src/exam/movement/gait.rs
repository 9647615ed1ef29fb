//! How it moves: a grade for each limb under each condition, and what else was seen there.

use askama::Template;
use axum::{extract::State, response::Response};

use super::{
    Asked, Progress, Raised, Scene, Sent, Stage, Typed, capital,
    grades::{self, Cell, Said, last_time},
    scene::FormStamp,
    taken_back,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Caution, Condition, Limb, Scale, Where, catalogue},
    exam::stamp::Writing,
    ids::VisitId,
    papers::words,
    reasoning::cautions::advice,
    record::{Body, Kind, NewEntry},
    web::{Check, Errors, Form, Path, Result},
};

/// The two conditions that every horse is watched under; the rest open when they are wanted.
const ALWAYS: [&str; 2] = ["WLK_S", "TRT_SH"];
pub(in crate::exam) const SCALES: [&str; 2] = ["aaep_0_5", "uk_0_10"];
/// In which part of the stride lameness shows.
const PHASES: [&str; 3] = ["weight-bearing", "swing", "mixed"];

#[derive(Template)]
#[template(path = "exam/movement/_gait.html")]
pub struct View {
    stamp: FormStamp,
    scale: &'static Scale,
    raised: Vec<Raised>,
    advice: Vec<&'static Caution>,
    conditions: Vec<ConditionView>,
    more: Vec<&'static Condition>,
    /// Both conditions of every horse are open on all limbs: one gesture may say level of all.
    level_all: Option<String>,
    highest: Option<String>,
    pub(super) open: bool,
    typed: Typed,
    errors: Errors,
}

struct ConditionView {
    row: &'static Condition,
    name: String,
    cells: Vec<Cell>,
    /// How many limbs have no grade yet.
    open: usize,
    notes: Vec<Said>,
}

impl View {
    pub fn new(scene: &Scene, (typed, errors): (Typed, Errors)) -> Self {
        let scale = scale_of(&scene.practice.lameness_scale);
        let recorded = |code: &str| scene.of(Kind::Gait).any(|(_, body)| body.code.as_deref() == Some(code));
        let (shown, more): (Vec<&Condition>, Vec<&Condition>) =
            catalogue().conditions.iter().partition(|row| {
                ALWAYS.contains(&row.code.as_str())
                    || Asked::names(&scene.asked.gait, &row.code)
                    || recorded(&row.code)
            });
        let conditions: Vec<ConditionView> =
            shown.into_iter().map(|row| condition(scene, scale, row)).collect();
        let untouched = conditions.iter().filter(|c| c.is_always()).all(|c| c.open == Limb::ALL.len());
        View {
            stamp: scene.stamp(),
            scale,
            raised: scene.raised_at(&[Where::Trot, Where::Ridden]),
            advice: advice(Where::Trot),
            conditions,
            more,
            level_all: untouched.then(|| ALWAYS.join(" ")),
            highest: highest(scene),
            open: false,
            typed,
            errors,
        }
    }

    /// Done when every limb has a grade under the conditions of every horse.
    pub(super) fn progress(&self) -> Progress {
        let mut always = self.conditions.iter().filter(|condition| condition.is_always());
        let graded = self.conditions.iter().any(|condition| condition.open < Limb::ALL.len());
        let done = always.all(|condition| condition.open == 0);
        Progress {
            stage: Stage::of(graded, done),
            abnormal: self.highest.is_some(),
            words: match &self.highest {
                Some(words) => words.clone(),
                None if graded => "level".to_owned(),
                None => "not seen moving".to_owned(),
            },
        }
    }
}

impl ConditionView {
    fn is_always(&self) -> bool {
        ALWAYS.contains(&self.row.code.as_str())
    }

    /// The grades that stand, to be taken back by one tap.
    fn standing(&self) -> String {
        let ids = self.cells.iter().filter_map(|cell| Some(cell.said.as_ref()?.entry.to_string()));
        ids.collect::<Vec<_>>().join(" ")
    }
}

/// "RF 2, trot, straight, hard": the highest grade above nought.
fn highest(scene: &Scene) -> Option<String> {
    let graded = scene.of(Kind::Gait).filter_map(|(_, body)| Some((body, body.grade.filter(|g| *g > 0.0)?)));
    let (body, grade) = graded.max_by(|a, b| a.1.total_cmp(&b.1))?;
    let under = catalogue().condition(body.code.as_deref()?)?;
    Some(format!("{} {grade}, {}", body.limb.as_deref()?, under.name))
}

fn condition(scene: &Scene, scale: &'static Scale, row: &'static Condition) -> ConditionView {
    let ours = || scene.of(Kind::Gait).filter(|(_, body)| body.code.as_deref() == Some(row.code.as_str()));
    let cells: Vec<Cell> = Limb::ALL
        .into_iter()
        .map(|limb| {
            let standing = ours().filter(|(_, body)| body.limb.as_deref() == Some(limb.code())).last();
            let grade = standing.and_then(|(_, body)| Some((body.grade?, body.scale.as_deref()?)));
            let chosen = grade.filter(|(_, on)| *on == scale.code).map(|(grade, _)| grade);
            let mut cell = Cell::new(scale, limb.code(), limb.code(), chosen);
            cell.said = standing.map(|(entry, body)| Said::new(scene, entry, words::answer(body)));
            cell.last = last_time(scene, "gait", &row.code, limb, grade);
            cell
        })
        .collect();
    let open = cells.iter().filter(|cell| cell.said.is_none()).count();
    let whole = ours().filter(|(_, body)| body.limb.is_none());
    let notes = whole.map(|(entry, body)| Said::new(scene, entry, words::answer(body))).collect();
    ConditionView { row, name: capital(&row.name), cells, open, notes }
}

/// The practice's scale; the first of the catalogue's two when it names none.
fn scale_of(code: &str) -> &'static Scale {
    let scales = &catalogue().scales;
    scales.get(code).or_else(|| scales.get(SCALES[0])).unwrap_or(&scales[0])
}

pub(super) async fn record(
    State(app): State<App>,
    can: Can<act::Examine>,
    Path(visit): Path<VisitId>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let sent = Sent { app: &app, user: &can.user, visit, section: "gait", typed: Typed(pairs) };
    let say = |writing: &mut Writing, watched: &Watched, typed: &Typed| {
        // The form keeps its words until the page is renewed: a grade tapped meanwhile brings them once more.
        let same = |body: &Body| grades::entry(writing, body.clone(), |said| said == body);
        let whole: Vec<NewEntry> = watched.whole.iter().filter_map(same).collect();
        Ok(whole.into_iter().chain(tapped(writing, watched, typed)?).collect())
    };
    sent.take(check, say, |watched| format!("gait-{}", watched.condition.code)).await
}

/// What a form of one condition says, beside its tap.
struct Watched {
    condition: &'static Condition,
    scale: &'static Scale,
    /// Phase, surface and note of the condition as a whole, when there are any.
    whole: Option<Body>,
}

fn check(typed: &Typed) -> std::result::Result<Watched, Errors> {
    let mut check = Check::new();
    let condition = catalogue().condition(typed.get("condition"));
    let scale = catalogue().scale(typed.get("scale")).filter(|s| SCALES.contains(&s.code.as_str()));
    let code = condition.map_or("", |row| row.code.as_str());
    let field = |name: &str| format!("{name}-{code}");
    let phase = typed.get(&field("phase"));
    if !phase.is_empty() && !PHASES.contains(&phase) {
        check.errors.add(&field("phase"), "Choose one of the list.");
    }
    let surface = check.line(&field("surface"), typed.get(&field("surface")), 60);
    let note = check.words(&field("note"), typed.get(&field("note")), 1000);
    let (Some(condition), Some(scale)) = (condition, scale) else {
        return Err(Errors::one("", "Choose a condition and a grade from the page."));
    };
    let mut body = Body::new(Kind::Gait);
    body.code = Some(condition.code.clone());
    body.value = some(phase);
    body.qualities = some(&surface).into_iter().collect();
    body.text = some(&note);
    let says = body.value.is_some() || body.text.is_some() || !body.qualities.is_empty();
    check.done(Watched { condition, scale, whole: says.then_some(body) })
}

fn some(words: &str) -> Option<String> {
    (!words.is_empty()).then(|| words.to_owned())
}

/// What the tap adds to the record.
fn tapped(
    writing: &mut Writing,
    form: &Watched,
    typed: &Typed,
) -> std::result::Result<Vec<NewEntry>, Errors> {
    let refused = || Errors::one("", "Tap a grade of the scale, or write something first.");
    match typed.tap() {
        ("note", _) if form.whole.is_some() => Ok(Vec::new()),
        ("note", _) => Err(Errors::one(
            &format!("note-{}", form.condition.code),
            "Write what was seen, or choose a phase or surface.",
        )),
        ("back", named) => Ok(taken_back(writing, named, &[Kind::Gait])),
        // Grades that stand are left alone: level is said of the limbs that have none.
        ("level", "") => Ok(level(writing, form)),
        ("level", named) => Ok(level_under(writing, form, named).ok_or_else(refused)?),
        (limb, grade) => {
            let limb: Limb = limb.parse().map_err(|_| refused())?;
            let before = standing(writing, form, limb);
            let grade = grades::read(form.scale, grade, before).ok_or_else(refused)?;
            let body = graded(form, limb, grade);
            let about = |said: &Body| is_about(said, form, limb);
            Ok(grades::entry(writing, body, about).into_iter().collect())
        }
    }
}

fn level(writing: &mut Writing, form: &Watched) -> Vec<NewEntry> {
    let open: Vec<Limb> =
        Limb::ALL.into_iter().filter(|limb| standing(writing, form, *limb).is_none()).collect();
    open.into_iter().map(|limb| writing.entry(graded(form, limb, 0.0))).collect()
}

/// One gesture for several conditions: only those that every horse is watched under may be said so.
fn level_under(writing: &mut Writing, form: &Watched, named: &str) -> Option<Vec<NewEntry>> {
    let mut entries = Vec::new();
    for code in named.split_whitespace() {
        let condition = catalogue().condition(code).filter(|row| ALWAYS.contains(&row.code.as_str()))?;
        entries.extend(level(writing, &Watched { condition, scale: form.scale, whole: None }));
    }
    Some(entries)
}

fn is_about(said: &Body, form: &Watched, limb: Limb) -> bool {
    said.kind == Kind::Gait
        && said.code.as_deref() == Some(form.condition.code.as_str())
        && said.limb.as_deref() == Some(limb.code())
}

fn standing(writing: &Writing, form: &Watched, limb: Limb) -> Option<f64> {
    writing.standing(|said| is_about(said, form, limb))?.body.as_ref()?.grade
}

fn graded(form: &Watched, limb: Limb, grade: f64) -> Body {
    let mut body = Body::new(Kind::Gait);
    body.limb = Some(limb.code().to_owned());
    body.code = Some(form.condition.code.clone());
    body.grade = Some(grade);
    body.scale = Some(form.scale.code.clone());
    body
}
