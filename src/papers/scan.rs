//! What was done and measured for a bone scan, in words. Times are said where the reader's zone is known.

use jiff::tz::TimeZone;

use crate::{
    catalogue::catalogue,
    clock::At,
    reasoning::decay::{Measured, administered},
    record::{
        Scan,
        scan::{Injection, Meter, Rate, Region, Release, Spill},
    },
};

const MS_PER_H: f64 = 3_600_000.0;

/// Hours from one instant to another.
pub fn hours(from: At, to: At) -> f64 {
    // Milliseconds between two times of a practice are far below 2^53.
    #[expect(clippy::cast_precision_loss, reason = "exact up to 285,000 years")]
    let ms = to.0.saturating_sub(from.0) as f64;
    ms / MS_PER_H
}

/// A number with at most so many decimals, the zeros at its end left out.
pub fn figure(number: f64, decimals: usize) -> String {
    let words = format!("{number:.decimals$}");
    if words.contains('.') { words.trim_end_matches('0').trim_end_matches('.').to_owned() } else { words }
}

/// Activity that the horse got, reckoned to the injection; none where syringe and rest contradict each other.
pub fn given_mbq(injection: &Injection) -> Option<f64> {
    let of = |mbq, at| Measured { activity_mbq: mbq, at_h: hours(injection.at, at) };
    let full = of(injection.full_mbq, injection.full_at);
    let left = of(injection.left_mbq, injection.left_at);
    administered(full, left, 0.0, injection.half_life_h).ok()
}

/// The whole of it, without times.
pub fn words(scan: &Scan) -> String {
    said(scan, None)
}

/// The whole of it, with times.
pub fn timed(scan: &Scan, zone: &TimeZone) -> String {
    said(scan, Some(zone))
}

fn said(scan: &Scan, zone: Option<&TimeZone>) -> String {
    let at = |at: At| zone.map_or_else(String::new, |zone| format!(", {}", at.words(zone)));
    match scan {
        Scan::Injection(one) => format!("{}{}", injected(one), at(one.at)),
        Scan::Region(one) => region(one),
        Scan::Rate(one) => format!("{}{}", rate(one), at(one.at)),
        Scan::Spill(one) => format!("{}{}", spill(one, zone), at(one.at)),
        Scan::Release(one) => release(one, zone),
    }
}

fn injected(one: &Injection) -> String {
    let given =
        given_mbq(one).map_or_else(|| "activity unknown".to_owned(), |n| format!("{} MBq", figure(n, 0)));
    let mut words = format!("injected for a bone scan: {given} of {} {}", one.nuclide, one.agent);
    for more in [&one.site, &one.by].into_iter().flatten() {
        words = format!("{words}, {more}");
    }
    words
}

/// The place on the horse.
pub fn point(code: &str) -> &str {
    catalogue().diagnostics.scintigraphy.points.get(code).map_or(code, |row| row.name.as_str())
}

/// "2, moderate"
pub fn grade(number: u8) -> String {
    let code = number.to_string();
    let row = catalogue().diagnostics.scintigraphy.grades.get(&code);
    row.map_or_else(|| code.clone(), |row| format!("{code}, {}", row.name))
}

fn region(one: &Region) -> String {
    let mut words = format!("uptake of {} by protocol {}", one.name, one.protocol);
    for (side, area) in
        [("left", one.left), ("right", one.right), ("reference", one.reference), ("soft tissue", one.soft)]
    {
        if let Some(area) = area {
            words = format!("{words}; {side} {} counts in {} pixels", area.counts, area.pixels);
        }
    }
    for (side, seen) in [("left", one.seen_left), ("right", one.seen_right)] {
        if let Some(seen) = seen {
            words = format!("{words}; {side} by eye {}", grade(seen));
        }
    }
    words
}

/// "5 µSv/h at 1 m from the ventrum, scan room (S1)"
fn rate(one: &Rate) -> String {
    let from = if one.at_1_m { "at 1 m from" } else { "at the surface of" };
    let mut words = format!("{} µSv/h {from} the {}, {}", one.usv_h, point(&one.point), meter(&one.meter));
    if let Some(background) = one.background_usv_h {
        words = format!("{words}, background {background} µSv/h");
    }
    if let Some(by) = &one.by {
        words = format!("{words}, by {by}");
    }
    words
}

/// "scan room (S1)"
pub fn meter(one: &Meter) -> String {
    format!("{} ({})", one.name, one.serial)
}

fn spill(one: &Spill, zone: Option<&TimeZone>) -> String {
    let what = if one.held_until.is_some() { "bedding held" } else { "spill" };
    let mut words = format!("{what}, {}: {}", one.place, one.done);
    if let (Some(until), Some(zone)) = (one.held_until, zone) {
        words = format!("{words}; held until {}", until.words(zone));
    }
    if let Some(after) = one.usv_h_after {
        words = format!("{words}; {after} µSv/h after");
    }
    words
}

fn release(one: &Release, zone: Option<&TimeZone>) -> String {
    let (released, measured) = match zone {
        Some(zone) => (format!(" on {}", one.at.words(zone)), format!(", {}", one.measured_at.words(zone))),
        None => (String::new(), String::new()),
    };
    format!(
        "released after the bone scan{released}: {} µSv/h at 1 m from the {} with {}{measured}; at most {} µSv/h and at \
         least {} h by {}",
        one.usv_h,
        point(&one.point),
        meter(&one.meter),
        one.max_usv_h,
        one.min_hours,
        one.licence,
    )
}
