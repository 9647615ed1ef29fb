//! Measures of a radiograph of the foot.

use std::{collections::BTreeMap, fmt};

use serde::{
    Deserialize, Deserializer, Serialize,
    de::{Error, MapAccess, Visitor},
};

use super::references;
use crate::{
    catalogue::{Pair, catalogue},
    reasoning::{
        Refused,
        hoof::{HoofView, Points, measures},
    },
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    view: String,
    limb: Option<Pair>,
    #[serde(deserialize_with = "points")]
    points: Points,
}

/// Points by their names. A name that stands twice is refused: one of the two places would be lost.
fn points<'de, D: Deserializer<'de>>(input: D) -> Result<Points, D::Error> {
    struct Named;
    impl<'de> Visitor<'de> for Named {
        type Value = Points;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("points by their names, each [x, y] in mm")
        }

        fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Points, A::Error> {
            let mut read = Points::new();
            while let Some((name, at)) = map.next_entry::<String, [f64; 2]>()? {
                if read.insert(name.clone(), at).is_some() {
                    return Err(A::Error::custom(format!("`{name}` stands twice")));
                }
            }
            Ok(read)
        }
    }
    input.deserialize_map(Named)
}

#[derive(Serialize)]
pub(super) struct Output {
    measures: BTreeMap<&'static str, f64>,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let view = match input.view.as_str() {
        "LM" => HoofView::Lateral(input.limb.unwrap_or(Pair::Fore)),
        "DPa" | "DPl" => HoofView::Front,
        other => {
            return Err(Refused::new(
                "view",
                format!("`{other}` is not measured: use LM or DPa (hindlimb: DPl)"),
            ));
        }
    };
    Ok(Output { measures: measures(view, &input.points)? })
}

pub(super) fn help() -> String {
    let figures = &catalogue().diagnostics.figures;
    let points: Vec<String> = figures
        .hoof_points
        .iter()
        .map(|row| format!("  {:<3} {:<5} {}", row.code, row.view, row.name))
        .collect();
    let rows = figures.hoof_measures.iter().map(|row| {
        let unit = if row.unit.is_empty() { "ratio" } else { &row.unit };
        let needs = row.points.join(" ");
        let head = format!(
            "  {} ({unit}; {needs}): {} ({}; {})",
            row.code,
            row.name,
            row.source,
            row.confidence.words()
        );
        let beside = references(&row.code).into_iter().map(|line| format!("      {line}"));
        std::iter::once(head).chain(beside).collect::<Vec<_>>().join("\n")
    });
    format!(
        "In:\n  view    LM, or DPa (hindlimb: DPl)\n  limb    fore (when left out) or hind: of a hindlimb the sole's angle is \
         plantar_angle_deg\n  points  name: [x, y] in mm after calibration; x towards the toe (DPa: lateral), y up\n\n\
         Points, with their view:\n{}\n\n\
         G1 and G2 may be left out where the picture is level: x is the ground's direction then, and depths are not \
         reckoned.\n\n\
         Out:\n  measures  every one that the points allow, each with the points it needs and what it is shown beside:\n{}\n\n\
         References are no diagnosis: compare pictures of the same operator and the same markers.",
        points.join("\n"),
        rows.collect::<Vec<_>>().join("\n"),
    )
}
