//! Severity of a tendon's lesion from the areas of its zones.

use serde::{Deserialize, Serialize};

use super::references;
use crate::{
    catalogue::catalogue,
    reasoning::{
        Refused,
        tendon::{Traced, lesion_volume_mm3, severity},
    },
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    zones: Vec<Areas>,
    spacing_mm: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Areas {
    zone: String,
    total_mm2: f64,
    lesion_mm2: f64,
}

#[derive(Serialize)]
pub(super) struct Output {
    zones: Vec<Share>,
    total_pct: f64,
    class: &'static str,
    worst_zone: Option<String>,
    lesion_volume_mm3: Option<f64>,
}

#[derive(Serialize)]
struct Share {
    zone: String,
    lesion_pct: f64,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let traced: Vec<Traced> = input
        .zones
        .iter()
        .map(|row| Traced { zone: &row.zone, total_mm2: row.total_mm2, lesion_mm2: row.lesion_mm2 })
        .collect();
    let found = severity(&traced)?;
    let lesions: Vec<f64> = traced.iter().map(|row| row.lesion_mm2).collect();
    let volume = input.spacing_mm.map(|spacing| lesion_volume_mm3(&lesions, spacing)).transpose()?;
    let names = input.zones.iter().map(|row| row.zone.clone());
    let zones: Vec<Share> =
        names.zip(&found.lesion_pct).map(|(zone, share)| Share { zone, lesion_pct: *share }).collect();
    Ok(Output {
        worst_zone: found.worst.and_then(|place| zones.get(place)).map(|row| row.zone.clone()),
        zones,
        total_pct: found.total_pct,
        class: found.class,
        lesion_volume_mm3: volume,
    })
}

pub(super) fn help() -> String {
    let diagnostics = &catalogue().diagnostics;
    let mut above = String::new();
    let classes: Vec<String> = diagnostics
        .figures
        .severities
        .iter()
        .map(|row| {
            let line = format!(
                "  {:<9} {above}up to {} % ({}; {})",
                row.code,
                row.at_most_pct,
                row.source,
                row.confidence.words()
            );
            above = format!("above {} %, ", row.at_most_pct);
            line
        })
        .collect();
    let zones = &diagnostics.zones;
    let codes = |rows: &[crate::catalogue::diagnostics::Zone]| {
        rows.iter().map(|row| row.code.as_str()).collect::<Vec<_>>().join(", ")
    };
    let changes = references("csa_change_pct").into_iter().chain(references("asymmetry_pct"));
    format!(
        "In:\n  zones       proximal first, each with\n    zone        fore: {}\n                hind: {}\n                \
         pastern: {}, or {}\n    total_mm2   area of the tendon, mm2, more than 0\n    lesion_mm2  area of the lesion \
         in it, mm2, 0 for none\n  spacing_mm  from zone to zone, mm, more than 0; without it no volume\n\n\
         Out:\n  zones              each zone with lesion_pct, its lesion's share in percent\n  total_pct          share of \
         all lesion areas in all tendon areas, percent\n  class              of total_pct, see below\n  worst_zone         \
         zone of the largest share, null without a lesion\n  lesion_volume_mm3  between first and last zone, mm3, by \
         straight sides from zone to zone; null without spacing_mm\n\n\
         Classes:\n{}\n\n\
         Beside changes and the other limb:\n{}\n\n\
         A zone that could not be measured is left out. A class is no diagnosis.",
        codes(&zones.fore),
        codes(&zones.hind),
        codes(&zones.pastern),
        codes(&zones.pastern_thirds),
        classes.join("\n"),
        changes.map(|line| format!("  {line}")).collect::<Vec<_>>().join("\n"),
    )
}
