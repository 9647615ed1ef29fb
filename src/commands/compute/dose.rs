//! A dose by a row of the shipped formulary.

use serde::{Deserialize, Serialize};

use crate::{
    catalogue::{
        catalogue,
        formulary::{Basis, Dose},
    },
    reasoning::{
        Refused,
        dose::{self, Ask, Each, Kg, MgPerKg, MgPerMl},
    },
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    drug: String,
    route: String,
    weight_kg: f64,
    mg_per_kg: Option<f64>,
    concentration_mg_per_ml: Option<f64>,
    every_h: Option<f64>,
    days: Option<u32>,
    jurisdiction: Option<String>,
}

#[derive(Serialize)]
pub(super) struct Output {
    #[serde(skip_serializing_if = "Option::is_none")]
    dose_mg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    volume_ml: Option<f64>,
    /// Where no amount was asked for, of one dose or of a day as `per` says.
    #[serde(skip_serializing_if = "Option::is_none")]
    range_mg_per_kg: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    range_mg: Option<[f64; 2]>,
    per: &'static str,
    warnings: Vec<String>,
    source: &'static str,
    tag: String,
    label_status: String,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let row = dose::row(&input.drug, &input.route, input.jurisdiction.as_deref())?;
    let weight = Kg(input.weight_kg);
    let found = dose::reckon(
        row,
        &Ask {
            weight,
            each: input.mg_per_kg.map(|n| Each::PerKg(MgPerKg(n))),
            strength: input.concentration_mg_per_ml.map(MgPerMl),
            every_h: input.every_h,
            days: input.days,
        },
    )?;
    let asked = found.dose.is_some();
    let (low, high) = found.range;
    let per_kg = [row.low, row.high];
    Ok(Output {
        dose_mg: found.dose.map(|mg| mg.0),
        volume_ml: found.volume.map(|ml| ml.0),
        range_mg_per_kg: (!asked && row.basis == Basis::MgPerKg).then_some(per_kg),
        range_mg: (!asked).then_some([low.0, high.0]),
        per: if row.per == crate::catalogue::formulary::Per::Day { "day" } else { "dose" },
        warnings: found.warnings.into_iter().map(|warning| warning.words).collect(),
        source: &row.source,
        tag: row.confidence.to_string(),
        label_status: status(row),
    })
}

fn status(row: &Dose) -> String {
    let status = if row.label { "label" } else { "extra-label" };
    format!("{status}, {}", row.jurisdiction)
}

pub(super) fn help() -> String {
    let rows = catalogue().formulary.doses.iter().map(|row| {
        let (drug, routes) = (&row.medicine, row.routes.join(", "));
        let sure = row.confidence.words();
        format!("  {drug:<19} {routes:<30} {}; {}, {} ({sure})", row.amount(), status(row), row.source)
    });
    format!(
        "In:\n  drug                     generic name in lower case\n  route                    as listed below\n  \
         weight_kg                kilograms, 1 to 2000\n  mg_per_kg                one dose; a range is answered when left \
         out\n  concentration_mg_per_ml  for the volume; may be left out\n  every_h, days            hours from dose to \
         dose, and for how many days; may be left out\n  jurisdiction             whose row; the first when left out\n\n\
         Out:\n  dose_mg, volume_ml         one dose\n  range_mg_per_kg, range_mg  instead of them, where no amount was \
         asked for\n  per                        what the row's amounts are of: dose or day\n  \
         warnings                   sentences; the veterinarian decides\n  source, tag, label_status  where the row is \
         from, how sure, and whose label\n\nRows as shipped; in a practice each waits for a veterinarian to confirm it:\n{}",
        rows.collect::<Vec<_>>().join("\n"),
    )
}
