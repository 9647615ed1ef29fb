//! Decay of a nuclide between two times.

use serde::{Deserialize, Serialize};

use crate::{
    catalogue::catalogue,
    reasoning::{Refused, decay},
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    #[serde(default = "usual")]
    nuclide: String,
    activity_mbq: f64,
    hours: f64,
}

fn usual() -> String {
    decay::USUAL_NUCLIDE.to_owned()
}

#[derive(Serialize)]
pub(super) struct Output {
    activity_mbq: f64,
    fraction: f64,
    half_life_h: f64,
    source: &'static str,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let row = decay::half_life(&input.nuclide)?;
    Ok(Output {
        activity_mbq: decay::activity_after(input.activity_mbq, row.hours, input.hours)?,
        fraction: decay::fraction_left(row.hours, input.hours)?,
        half_life_h: row.hours,
        source: &row.source,
    })
}

pub(super) fn help() -> String {
    let rows = catalogue().diagnostics.figures.half_lives.iter();
    let rows: Vec<String> = rows
        .map(|row| format!("  {:<16} {} h: {} ({})", row.code, row.hours, row.source, row.confidence.words()))
        .collect();
    format!(
        "In:\n  nuclide       which half-life; {} when left out\n  activity_mbq  activity at the start, MBq, more than 0\n  \
         hours         time passed, hours, 0 or more\n\n\
         Out:\n  activity_mbq  activity left, MBq\n  fraction      share left, 0 to 1\n  half_life_h   the half-life \
         reckoned with, hours\n  source        where it is from\n\n\
         Half-lives:\n{}\n\n\
         Physical decay alone: A = A0 x 2^(-t/T). For planning; only a measurement lets a horse go home.",
        decay::USUAL_NUCLIDE,
        rows.join("\n"),
    )
}
