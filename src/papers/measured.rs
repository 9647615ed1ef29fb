//! What was measured on a picture, as words.

use super::words::join;
use crate::{
    catalogue::catalogue,
    record::{Body, Marked},
};

/// "LM: palmar angle 5.1°, sole depth under the tip 14.2 mm; by a marker of 25 mm", without the limb.
pub fn measured(body: &Body) -> String {
    let Some(marked) = &body.marked else { return body.text.clone().unwrap_or_default() };
    let what = body.value.as_deref().unwrap_or_default();
    let said = match catalogue().diagnostics.item(what) {
        Some(item) => join(&[&item.name, &zone(marked)], ", "),
        None => what.to_owned(),
    };
    let numbers: Vec<String> = in_order(marked).map(|(key, number)| named(key, number)).collect();
    let why_not = marked.with.get("unmeasurable").map(|why| format!("not measurable: {why}"));
    let rest = [Some(numbers.join(", ")), why_not, scores(marked), lengths(marked), body.text.clone()];
    let rest: Vec<String> = rest.into_iter().flatten().filter(|part| !part.is_empty()).collect();
    join(&[&said, &rest.join("; ")], ": ")
}

fn zone(marked: &Marked) -> String {
    marked.with.get("zone").map(|zone| format!("zone {zone}")).unwrap_or_default()
}

/// Where its lengths come from, where it has any.
fn lengths(marked: &Marked) -> Option<String> {
    let uncorrected =
        if marked.uncorrected { ", uncorrected at the detector: the horse is smaller" } else { "" };
    let has_any = marked.measures.keys().any(|key| is_length(key));
    marked.scale.as_ref().filter(|_| has_any).map(|scale| format!("{scale}{uncorrected}"))
}

/// Whether a measure needs to know the size of a pixel.
pub fn is_length(key: &str) -> bool {
    key.ends_with("_mm") || key.ends_with("_mm2")
}

/// "echogenicity, 0 to 3: 2, about half echogenic"
pub fn scores(marked: &Marked) -> Option<String> {
    let scales = catalogue().diagnostics.figures.scores.iter();
    let said = scales.filter_map(|scale| {
        let step = marked.with.get(&scale.code)?;
        let words = step.parse::<usize>().ok().and_then(|step| scale.steps.get(step));
        Some(format!("{}: {step}{}", scale.name, words.map(|w| format!(", {w}")).unwrap_or_default()))
    });
    let said: Vec<String> = said.collect();
    (!said.is_empty()).then(|| said.join("; "))
}

/// "palmar angle 5.1°"
pub fn named(key: &str, number: f64) -> String {
    format!("{} {}", label(key), with_unit(key, number))
}

/// How a table calls a measure.
pub fn label(key: &str) -> &str {
    let row = catalogue().diagnostics.figures.hoof_measures.get(key);
    row.map_or_else(|| area_label(key).unwrap_or(key), |row| &row.label)
}

/// What is measured of a structure in a zone.
const AREAS: [(&str, &str); 3] =
    [("total_mm2", "area"), ("lesion_mm2", "lesion"), ("lesion_pct", "lesion's share")];

pub fn area_label(key: &str) -> Option<&'static str> {
    AREAS.iter().find(|(code, _)| *code == key).map(|(_, label)| *label)
}

/// What was reckoned, as a table has it.
pub fn in_order(marked: &Marked) -> impl Iterator<Item = (&'static str, f64)> {
    let feet = catalogue().diagnostics.figures.hoof_measures.iter().map(|row| row.code.as_str());
    let keys = feet.chain(AREAS.iter().map(|(code, _)| *code));
    keys.filter_map(|key| Some((key, *marked.measures.get(key)?)))
}

/// A number as it is read: a tenth of a degree or a millimetre is finer than any hand marks.
pub fn with_unit(key: &str, number: f64) -> String {
    let unit = catalogue().diagnostics.figures.hoof_measures.get(key).map(|row| row.unit.as_str());
    let unit = unit.or_else(|| key.rsplit('_').next()).unwrap_or_default();
    match unit {
        "deg" => format!("{}°", near(number, 1)),
        "mm" => format!("{} mm", near(number, 1)),
        "mm2" => format!("{} mm²", near(number, 0)),
        "pct" => format!("{} %", near(number, 1)),
        _ => near(number, 2),
    }
}

/// Rounded; what is nothing then lies on neither side of it.
fn near(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    match text.strip_prefix('-') {
        Some(bare) if bare.chars().all(|c| matches!(c, '0' | '.')) => bare.to_owned(),
        _ => text,
    }
}
