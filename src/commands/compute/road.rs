//! What the calculators of the road share: places, instants, rules, and how they are told.

use jiff::{civil::DateTime, tz::TimeZone};
use serde::Deserialize;

use crate::{
    catalogue::catalogue,
    clock::{At, Day},
    reasoning::{
        Refused,
        road::{Place, Rules, Spot},
    },
};

/// A place; without a position drives to it are guessed.
#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PlaceIn {
    name: String,
    lat: Option<f64>,
    lon: Option<f64>,
}

impl PlaceIn {
    pub(super) fn place(&self, name: &str) -> Result<Place, Refused> {
        let spot = match (self.lat, self.lon) {
            (Some(lat), Some(lon)) => Some(Spot { lat, lon }.checked(name)?),
            (None, None) => None,
            _ => return Err(Refused::new(name, "must have lat and lon, or neither")),
        };
        Ok(Place::new(&self.name, &self.name, spot))
    }
}

/// Numbers in the place of the shipped ones, by their codes.
pub(super) fn rules(own: &std::collections::BTreeMap<String, f64>) -> Result<Rules, Refused> {
    for (code, value) in own {
        let name = format!("figures.{code}");
        let row = catalogue().road.figures.get(code);
        let row = row.ok_or_else(|| Refused::new(&name, "is no figure of the road"))?;
        if !(row.least..=row.most).contains(value) {
            return Err(Refused::new(
                name,
                format!("must be from {} to {}, not {value}", row.least, row.most),
            ));
        }
    }
    Ok(Rules::with(own.iter().map(|(code, value)| (code.clone(), *value)).collect()))
}

pub(super) fn zone(name: &str) -> Result<TimeZone, Refused> {
    TimeZone::get(name).map_err(|_| Refused::new("zone", format!("`{name}` is no time zone")))
}

pub(super) fn utc() -> String {
    "UTC".to_owned()
}

/// The instant of a wall-clock time such as `2026-03-11T09:30`.
pub(super) fn instant(name: &str, text: &str, zone: &TimeZone) -> Result<At, Refused> {
    let civil: DateTime = text
        .parse()
        .map_err(|_| Refused::new(name, format!("must be like 2026-03-11T09:30, not `{text}`")))?;
    Ok(Day(civil.date()).at(civil.hour(), civil.minute(), zone))
}

/// An instant on the wall clock.
pub(super) fn wall(at: At, zone: &TimeZone) -> String {
    format!("{}T{}", at.day(zone), at.hm(zone))
}

/// Minutes that a stop can take.
pub(super) fn minutes(name: &str, minutes: i64) -> Result<i64, Refused> {
    if (1..=720).contains(&minutes) {
        Ok(minutes)
    } else {
        Err(Refused::new(name, format!("must be from 1 to 720, not {minutes}")))
    }
}

/// The figures with their sources, for a help.
pub(super) fn figures() -> String {
    let lines: Vec<String> = catalogue()
        .road
        .figures
        .iter()
        .map(|row| {
            let sure = row.confidence.words();
            format!("  {:<17} {}: {} ({}; {sure})", row.code, row.shown(row.value), row.name, row.source)
        })
        .collect();
    lines.join("\n")
}
