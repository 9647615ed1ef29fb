//! An entry in the few words that fit beside a place.

use super::question::Question;
use crate::{
    catalogue::{Place, catalogue},
    record::{Body, Kind},
};

/// "effusion 2, medial", "no heat", "nothing found", "not examined: bandage".
pub fn entry(body: &Body) -> String {
    match (body.kind, body.present) {
        (Kind::Place, Some(false)) => "nothing found".to_owned(),
        (Kind::Place, _) => format!("not examined: {}", body.text.as_deref().unwrap_or("no reason given")),
        (Kind::Withdrawal, _) => format!("taken back: {}", body.reason.as_deref().unwrap_or_default()),
        _ => finding(body),
    }
}

fn finding(body: &Body) -> String {
    let place = super::state::place_of(body);
    let code = body.code.as_deref().unwrap_or_default();
    let site = body.region.as_deref().and_then(|region| catalogue().tester_site(region));
    let question = place.and_then(|place| Question::find(place, site.map_or(code, |site| &site.code)));
    let mut words = vec![name(question, place, code)];
    if body.present == Some(false) && body.value.is_none() && question.is_none_or(has_absence) {
        words.insert(0, "no".to_owned());
    } else if let Some(grade) = body.grade {
        words.push(grade.to_string());
    }
    words.extend(body.value.iter().filter_map(|value| pick_words(question, value)));
    words.extend(body.number.map(|number| format!("{number}{}", unit(question))));
    words.retain(|word| !word.is_empty());
    let said = std::iter::once(words.join(" "));
    said.chain(body.aspect.iter().chain(&body.qualities).cloned()).collect::<Vec<_>>().join(", ")
}

/// What it is called beside its place, where a title would only repeat it.
fn name(question: Option<Question>, place: Option<Place>, code: &str) -> String {
    match question {
        Some(Question::Score(_)) => "score".to_owned(),
        Some(Question::Field(field)) if Some(field.key.as_str()) == place.map(own_field) => String::new(),
        Some(question) => question.label().to_lowercase(),
        None => code.to_owned(),
    }
}

/// The item's first field, which carries the item's own name.
fn own_field(place: Place) -> &'static str {
    place.region().fields.first().map_or("", |field| &field.key)
}

/// A response or a pulse of nought is written as a number; a sign that is not there as "no".
fn has_absence(question: Question) -> bool {
    !matches!(question, Question::Site(_) | Question::Score(_))
}

fn pick_words(question: Option<Question>, value: &str) -> Option<String> {
    let Some(Question::Field(field)) = question else { return Some(value.to_owned()) };
    let words = value.split(' ').map(|code| field.pick(code).map_or(code, |pick| &pick.name));
    Some(words.collect::<Vec<_>>().join(", ")).filter(|words| !words.is_empty())
}

fn unit(question: Option<Question>) -> String {
    let unit = match question {
        Some(Question::Field(field)) => field.unit.as_deref(),
        Some(Question::Finding(finding)) => finding.measure_unit.as_deref(),
        _ => None,
    };
    unit.map_or_else(String::new, |unit| format!(" {unit}"))
}
