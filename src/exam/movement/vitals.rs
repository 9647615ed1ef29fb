//! Vital signs: one small form, one save. What cannot be is refused, what is unusual is asked about once, and the
//! resting range stands beside the field as a reference.

use askama::Template;
use axum::{extract::State, response::Response};

use super::{
    Progress, Scene, Sent, Stage, Typed, capital,
    grades::Said,
    scene::FormStamp,
    store::{self, Weighed},
    taken_back,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Plausibility, Vital, catalogue},
    exam::stamp::Writing,
    ids::{EntryId, VisitId},
    papers::words::{self, Units},
    practice,
    record::{Body, Kind, NewEntry},
    web::{Check, Errors, Form, Path, Result},
};

/// The fields of the form, in the order in which they are taken.
const FIELDS: [&str; 6] = ["temp_c", "pulse_bpm", "resp_bpm", "bcs", "crest", "weight_kg"];
/// How a weight was come by.
pub(in crate::exam) const METHODS: [(&str, &str); 3] =
    [("scale", "scales"), ("tape", "tape"), ("estimate", "by eye")];
const KG_PER_LB: f64 = 0.453_592_37;

#[derive(Template)]
#[template(path = "exam/movement/_vitals.html")]
pub struct View {
    stamp: FormStamp,
    fields: Vec<FieldView>,
    methods: [(&'static str, &'static str); 3],
    pub(super) open: bool,
    typed: Typed,
    errors: Errors,
}

struct FieldView {
    row: &'static Vital,
    label: String,
    unit: String,
    hint: String,
    /// What was typed is unusual and waits for a yes.
    asked: bool,
    said: Option<Said>,
}

impl View {
    pub fn new(scene: &Scene, (typed, errors): (Typed, Errors)) -> Self {
        let units = scene.units();
        let fields = FIELDS.iter().filter_map(|code| catalogue().vital(code));
        let fields = fields
            .map(|row| {
                let standing =
                    scene.of(Kind::Vital).filter(|(_, b)| b.code.as_deref() == Some(&row.code)).last();
                let said = standing.map(|(entry, body)| {
                    let number = body.number.unwrap_or_default();
                    Said::new(scene, entry, words::vital_number(&row.code, number, units))
                });
                let typed = typed.get(&row.code);
                let asked = !typed.is_empty() && errors.on(&row.code).is_some() && {
                    let number = read(&mut Check::new(), row, typed, units);
                    number.is_some_and(|n| row.judge(n) == Plausibility::Ask)
                };
                FieldView {
                    row,
                    label: capital(&row.name),
                    unit: unit(row, units),
                    hint: hint(row, units),
                    asked,
                    said,
                }
            })
            .collect();
        View { stamp: scene.stamp(), fields, methods: METHODS, open: false, typed, errors }
    }

    /// Done when what belongs to every examination was taken.
    pub(super) fn progress(&self) -> Progress {
        let taken: Vec<&str> = self
            .fields
            .iter()
            .filter(|field| field.said.is_some())
            .map(|field| field.row.code.as_str())
            .collect();
        let done = FIELDS[..3].iter().all(|code| taken.contains(code));
        Progress {
            stage: Stage::of(!taken.is_empty(), done),
            abnormal: false,
            words: match taken.len() {
                0 => "none taken".to_owned(),
                n => format!("{n} of {} taken", FIELDS.len()),
            },
        }
    }
}

/// The unit the practice types in.
fn unit(row: &Vital, units: Units) -> String {
    match row.code.as_str() {
        "temp_c" if units.fahrenheit => "°F".to_owned(),
        "weight_kg" if units.pounds => "lb".to_owned(),
        _ => row.unit.clone(),
    }
}

/// From what the practice types to what the record keeps, fine enough to be shown as it was typed.
fn to_record(row: &Vital, number: f64, units: Units) -> f64 {
    match row.code.as_str() {
        "temp_c" if units.fahrenheit => hundredths((number - 32.0) / 1.8),
        "weight_kg" if units.pounds => hundredths(number * KG_PER_LB),
        _ => number,
    }
}

fn from_record(row: &Vital, number: f64, units: Units) -> f64 {
    match row.code.as_str() {
        "temp_c" if units.fahrenheit => (number * 18.0).round() / 10.0 + 32.0,
        "weight_kg" if units.pounds => (number / KG_PER_LB).round(),
        _ => number,
    }
}

fn hundredths(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}

/// "resting adult 37.2–38.3 (from memory ...)": the range with where it comes from.
fn hint(row: &Vital, units: Units) -> String {
    let Some(range) = row.reference else { return String::new() };
    let (min, max) = (from_record(row, range.min, units), from_record(row, range.max, units));
    let whose = if row.scale.is_some() { "usual" } else { "resting adult" };
    format!("{whose} {min}–{max}")
}

/// A number as typed, in the record's unit.
fn read(check: &mut Check, row: &Vital, typed: &str, units: Units) -> Option<f64> {
    let (min, max) = (from_record(row, row.possible.min, units), from_record(row, row.possible.max, units));
    let number = check.number(&row.code, typed, min..=max, &unit(row, units))?;
    let scale = row.scale.as_deref().and_then(|code| catalogue().scale(code));
    if scale.is_some_and(|scale| !scale.allows(number)) {
        check.errors.add(&row.code, format!("Whole and half points only, from {min} to {max}."));
        return None;
    }
    let counted = row.decimals == 0 && row.code != "weight_kg";
    if counted && number.fract() != 0.0 {
        check.errors.add(&row.code, "Enter a whole number.");
        return None;
    }
    Some(to_record(row, number, units))
}

/// What the form says, checked.
struct Measured {
    bodies: Vec<Body>,
    method: String,
}

fn check(typed: &Typed, units: Units) -> std::result::Result<Measured, Errors> {
    let mut check = Check::new();
    let mut bodies = Vec::new();
    for row in FIELDS.iter().filter_map(|code| catalogue().vital(code)) {
        let words = typed.get(&row.code).trim();
        let Some(number) = read(&mut check, row, words, units) else { continue };
        let mut body = Body::new(Kind::Vital);
        body.code = Some(row.code.clone());
        body.number = Some(number);
        body.scale.clone_from(&row.scale);
        if row.judge(number) == Plausibility::Ask {
            // The yes is about this very number: a changed one is asked about again.
            if typed.get(&format!("{}_sure", row.code)) == words {
                body.qualities.push("as measured".to_owned());
            } else {
                let unit = unit(row, units);
                check.errors.add(
                    &row.code,
                    format!("{words} {unit} is unusual. Correct it, or tick that it was measured so."),
                );
            }
        }
        bodies.push(body);
    }
    let method = typed.get("weight_method");
    let weighed = bodies.iter().any(|body| body.code.as_deref() == Some("weight_kg"));
    if weighed && !METHODS.iter().any(|(key, _)| *key == method) {
        check.errors.add("weight_method", "Choose how it was weighed.");
    }
    if bodies.is_empty() && check.errors.is_empty() {
        check.errors.add("temp_c", "Enter at least one of these.");
    }
    check.done(Measured { bodies, method: method.to_owned() })
}

pub(super) async fn record(
    State(app): State<App>,
    can: Can<act::Examine>,
    Path(visit): Path<VisitId>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let sent = Sent { app: &app, user: &can.user, visit, section: "vitals", typed: Typed(pairs) };
    let practice = practice::store::get(app.db.read()).await?;
    let back = match sent.typed.tap() {
        ("back", entry) => Some(entry.to_owned()),
        _ => None,
    };
    let nothing = Measured { bodies: Vec::new(), method: String::new() };
    let read = if back.is_some() { Ok(nothing) } else { check(&sent.typed, Units::of(&practice)) };
    let measured = match read {
        Ok(measured) => measured,
        Err(errors) => return sent.again(errors).await,
    };
    let mut writing = match sent.open().await? {
        Ok(writing) => writing,
        Err(answer) => return Ok(answer),
    };
    let mut entries: Vec<NewEntry> =
        measured.bodies.iter().filter_map(|body| measured_entry(&mut writing, body)).collect();
    entries.extend(back.into_iter().flat_map(|named| taken_back(&mut writing, &named, &[Kind::Vital])));
    let day = writing.now().day(&practice.zone);
    keep_weights(&mut writing, &entries, &measured.method, day, can.user.id).await?;
    writing.keep(entries, &sent.way().at("vitals", "vitals")).await
}

/// A measurement: a second one corrects the first, and the very same again says nothing new.
fn measured_entry(writing: &mut Writing, body: &Body) -> Option<NewEntry> {
    let code = body.code.clone();
    let about = move |said: &Body| said.kind == Kind::Vital && said.code == code;
    super::grades::entry(writing, body.clone(), about)
}

/// The horse's own lists of weights and scores follow the record: what was measured comes in, and goes when it was wrong.
pub(super) async fn keep_weights(
    writing: &mut Writing,
    entries: &[NewEntry],
    method: &str,
    on: crate::clock::Day,
    by: crate::ids::StaffId,
) -> Result<()> {
    let (horse, now, late) = (writing.visit.horse_id, writing.now(), writing.is_late());
    for new in entries {
        let wrong: Option<EntryId> = new.supersedes.filter(|_| !late);
        if let Some(entry) = wrong {
            store::remove_measured(writing.tx(), entry).await?;
        }
        if let (Some("weight_kg"), Some(kg)) = (new.body.code.as_deref(), new.body.number) {
            let weighed = Weighed { entry: new.id, horse, kg, method, on, by, now };
            store::insert_weight(writing.tx(), &weighed).await?;
        }
        if let (Some(code @ ("bcs" | "crest")), Some(score)) = (new.body.code.as_deref(), new.body.number) {
            store::insert_condition(writing.tx(), (new.id, horse), (code, score), on, (by, now)).await?;
        }
    }
    Ok(())
}
