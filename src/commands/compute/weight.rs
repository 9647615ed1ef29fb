//! A horse's weight from a measuring tape.

use serde::{Deserialize, Serialize};

use crate::{
    catalogue::catalogue,
    reasoning::{
        Refused,
        weight::{self, Measures},
    },
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    method: String,
    girth_cm: Option<f64>,
    length_cm: Option<f64>,
    height_cm: Option<f64>,
    neck_cm: Option<f64>,
}

#[derive(Serialize)]
pub(super) struct Output {
    weight_kg: f64,
    /// `dose` or `ideal`: an ideal weight is never dosed by.
    use_for: &'static str,
    length_method: &'static str,
    error: &'static str,
    source: &'static str,
    tag: String,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let measures = Measures {
        girth_cm: input.girth_cm,
        length_cm: input.length_cm,
        height_cm: input.height_cm,
        neck_cm: input.neck_cm,
    };
    if let Some(row) = catalogue().weighing.ideals.get(&input.method) {
        return Ok(Output {
            weight_kg: weight::ideal(&row.code, &measures)?,
            use_for: "ideal",
            length_method: &row.length,
            error: &row.error,
            source: &row.source,
            tag: row.confidence.to_string(),
        });
    }
    let row = weight::formula(&input.method)?;
    Ok(Output {
        weight_kg: weight::reckon(row, &measures)?,
        use_for: "dose",
        length_method: &row.length,
        error: &row.error,
        source: &row.source,
        tag: row.confidence.to_string(),
    })
}

pub(super) fn help() -> String {
    let weighing = &catalogue().weighing;
    let formulas = weighing.formulas.iter().map(|row| {
        let refused = row.refused.as_ref().map(|why| format!("; refused: {why}")).unwrap_or_default();
        (row.code.as_str(), format!("{}; {} ({}){refused}", row.name, row.source, row.confidence.words()))
    });
    let ideals = weighing.ideals.iter().map(|row| {
        (
            row.code.as_str(),
            format!("ideal weight, {}; {} ({})", row.name, row.source, row.confidence.words()),
        )
    });
    let rows: Vec<String> =
        formulas.chain(ideals).map(|(code, words)| format!("  {code:<26} {words}")).collect();
    let lengths: Vec<String> =
        weighing.lengths.iter().map(|row| format!("  {:<26} {}", row.code, row.name)).collect();
    format!(
        "In:\n  method      which formula\n  girth_cm    round the trunk behind withers and elbow, cm\n  \
         length_cm   as the formula wants it, cm\n  height_cm   at the withers, cm; where asked for\n  \
         neck_cm     round the middle of the neck, cm; where asked for\n\n\
         Out:\n  weight_kg      kilograms\n  use_for        dose, or ideal: never dosed by\n  length_method  how the \
         length is measured\n  error          how far off it is\n  source, tag    where it is from and how sure\n\n\
         Formulas:\n{}\n\nLengths:\n{}",
        rows.join("\n"),
        lengths.join("\n"),
    )
}
