//! Whether the horse may leave: each condition with its figures, what the practice has not entered yet, and when the
//! gate can be expected to open. Nothing here opens it but what was measured.

use super::scene::Scene;
use crate::{
    catalogue::catalogue,
    clock::At,
    ids::StaffId,
    papers::scan::{figure, hours, meter, point},
    reasoning::release::{self, Gate, Licence, Reading, in_calibration, last_of_each},
    record::{
        Entry,
        scan::{Injection, Rate, Release},
    },
};

/// One condition, and whether it is met.
pub(super) struct Condition {
    pub name: &'static str,
    pub met: bool,
    /// What is asked and what is there.
    pub figures: Vec<String>,
}

/// The gate of an injected horse whose practice has entered its licence.
pub(super) struct Judged {
    pub licence: Licence,
    pub gate: Gate,
    pub conditions: Vec<Condition>,
    /// When it can be expected to open, and why then.
    pub expected: String,
}

/// What the practice has still to enter before any gate can open.
pub(super) fn missing(scene: &Scene) -> Vec<&'static str> {
    let terms = &scene.terms;
    let all = [
        (terms.reference.is_empty(), "the licence's reference"),
        (terms.min_hours.is_none(), "the minimum hours"),
        (terms.max_usv_h.is_none(), "the maximum dose rate at 1 m"),
        (scene.officers.is_empty(), "a responsible officer"),
        (scene.meters.is_empty(), "a survey meter"),
    ];
    all.into_iter().filter(|(is_missing, _)| *is_missing).map(|(_, what)| what).collect()
}

impl Judged {
    /// For `who` looks at it; none before the injection, and while something is missing.
    pub(super) fn of(scene: &Scene, who: Option<StaffId>) -> Option<Self> {
        let (_, injected) = scene.injection()?;
        let licence = Licence { min_hours: scene.terms.min_hours?, max_usv_h: scene.terms.max_usv_h? };
        if !missing(scene).is_empty() {
            return None;
        }
        let passed = hours(injected.at, scene.now);
        let read = readings(scene, injected);
        let gate = Gate::of(licence, passed, &read);
        let conditions = vec![
            Condition {
                name: "Hours since the injection",
                met: gate.hours,
                figures: vec![format!("{} h at least; {} so far", licence.min_hours, hours_words(passed))],
            },
            rate(scene, licence, gate),
            calibration(scene, gate),
            officer(scene, who),
        ];
        Some(Judged { licence, gate, conditions, expected: expected(scene, injected, licence, &read) })
    }
}

/// What was read at 1 m, as the reckoning takes it.
fn readings(scene: &Scene, injected: &Injection) -> Vec<Reading> {
    let at_1_m = scene.rates().into_iter().filter(|(_, rate)| rate.at_1_m);
    at_1_m
        .map(|(_, rate)| Reading {
            point: rate.point.clone(),
            at_h: hours(injected.at, rate.at),
            usv_h: rate.usv_h,
            calibrated: is_calibrated(scene, rate),
        })
        .collect()
}

fn is_calibrated(scene: &Scene, rate: &Rate) -> bool {
    in_calibration(&rate.meter.calibrated_on, &rate.meter.calibration_due, &rate.at.day(&scene.zone))
}

/// The last reading at 1 m of each point.
pub(super) fn last_rates(scene: &Scene) -> Vec<(&Entry, &Rate)> {
    let Some((_, injected)) = scene.injection() else { return Vec::new() };
    let read = readings(scene, injected);
    let last = last_of_each(&read);
    let counts = |rate: &Rate| {
        let at_h = hours(injected.at, rate.at);
        last.iter().any(|one| one.point == rate.point && same_hour(one.at_h, at_h))
    };
    let mut found: Vec<(&Entry, &Rate)> = Vec::new();
    for (entry, rate) in scene.rates().into_iter().filter(|(_, rate)| rate.at_1_m && counts(rate)) {
        // Of two at one time the one that was entered later.
        found.retain(|(_, known)| known.point != rate.point);
        found.push((entry, rate));
    }
    found
}

/// Both were reckoned from the same two instants.
fn same_hour(one: f64, other: f64) -> bool {
    (one - other).abs() < f64::EPSILON
}

fn rate(scene: &Scene, licence: Licence, gate: Gate) -> Condition {
    let mut figures = vec![format!("{} µSv/h at most, the last reading of each point", licence.max_usv_h)];
    let last = last_rates(scene);
    if last.is_empty() {
        figures.push("nothing was read at 1 m yet".into());
    }
    figures.extend(last.iter().map(|(_, rate)| {
        let above = if rate.usv_h > licence.max_usv_h { ", above the limit" } else { "" };
        format!("{}: {} µSv/h, {}{above}", point(&rate.point), rate.usv_h, rate.at.words(&scene.zone))
    }));
    Condition { name: "Dose rate at 1 m", met: gate.rate, figures }
}

fn calibration(scene: &Scene, gate: Gate) -> Condition {
    let mut figures: Vec<String> = Vec::new();
    for (_, rate) in last_rates(scene) {
        let (from, until) = (rate.meter.calibrated_on.words(), rate.meter.calibration_due.words());
        let not = if is_calibrated(scene, rate) { "" } else { ", not in calibration" };
        let read = rate.at.day(&scene.zone).words();
        let words = format!("{}: calibrated {from}, due {until}; read {read}{not}", meter(&rate.meter));
        if !figures.contains(&words) {
            figures.push(words);
        }
    }
    if figures.is_empty() {
        figures.push("nothing was read at 1 m yet".into());
    }
    Condition { name: "Meter in calibration on the day of the reading", met: gate.meter, figures }
}

/// Met by the signature alone; who looks is told whether they are one who may give it.
fn officer(scene: &Scene, who: Option<StaffId>) -> Condition {
    const NAME: &str = "Signed by a responsible officer";
    if let Some((entry, _)) = scene.release() {
        return Condition { name: NAME, met: true, figures: vec![scene.by(entry)] };
    }
    let names: Vec<&str> = scene.officers.iter().map(|officer| officer.name.as_str()).collect();
    let may = who.is_some_and(|who| scene.is_officer(who));
    let you = if may { "you are one of them" } else { "you are not one of them" };
    let figures = vec![format!("to be signed with the password by {}; {you}", names.join(" or "))];
    Condition { name: NAME, met: false, figures }
}

fn expected(scene: &Scene, injected: &Injection, licence: Licence, read: &[Reading]) -> String {
    let Ok(earliest) = release::earliest(licence, read, injected.half_life_h) else { return String::new() };
    let at = after_hours(injected.at, earliest.hours).words(&scene.zone);
    let half_life = figure(injected.half_life_h, 4);
    let why = match earliest.point {
        Some(code) => format!(
            "by physical decay with a half-life of {half_life} h the {} comes down to {} µSv/h {} h after the injection",
            point(&code),
            licence.max_usv_h,
            figure(earliest.hours, 2)
        ),
        None if read.is_empty() => {
            "the minimum hours are over then; nothing was measured at 1 m yet".to_owned()
        }
        None => "the minimum hours are over then, and by decay the rates are down before".to_owned(),
    };
    format!("{at}: {why}")
}

/// The first whole minute that is so many hours later.
fn after_hours(from: At, hours: f64) -> At {
    const MS_PER_MIN: i64 = 60_000;
    // Bounded by the form of the licence and by the decay of what a meter can show.
    #[expect(clippy::cast_possible_truncation, reason = "far below 2^63")]
    let minutes = (hours * 60.0).ceil() as i64;
    At(from.0.saturating_add(minutes.saturating_mul(MS_PER_MIN)))
}

/// "23 h 59 min": whole minutes that have passed.
pub(super) fn hours_words(passed: f64) -> String {
    #[expect(clippy::cast_possible_truncation, reason = "hours of a practice")]
    let minutes = (passed * 60.0 + 1e-6).floor() as i64;
    format!("{} h {} min", minutes / 60, minutes % 60)
}

/// What has to be said loudly after a release.
pub(super) fn alarms(scene: &Scene, released: (&Entry, &Release)) -> Vec<String> {
    let (entry, release) = released;
    let mut alarms: Vec<String> = Vec::new();
    for (_, rate) in scene.rates() {
        if rate.at_1_m && rate.at > release.at && rate.usv_h > release.max_usv_h {
            alarms.push(format!(
                "{} µSv/h at 1 m from the {} on {}, after the release: the limit is {} µSv/h.",
                rate.usv_h,
                point(&rate.point),
                rate.at.words(&scene.zone),
                release.max_usv_h
            ));
        }
    }
    let rests_on = entry.body.as_ref().and_then(|body| body.about);
    if rests_on.is_some_and(|id| scene.standing.iter().all(|one| one.id != id)) {
        alarms.push("The reading that the release rests on was amended or taken back.".into());
    }
    match scene.injection() {
        None => alarms.push("The injection was taken back after the release.".into()),
        Some((_, injected)) if hours(injected.at, release.at) < release.min_hours => {
            alarms
                .push("By the injection as it stands the minimum hours were not over at the release.".into());
        }
        Some(_) => {}
    }
    alarms
}

/// Where the horse is measured, with when it is the hottest.
pub(super) fn points() -> Vec<(&'static str, String)> {
    let rows = catalogue().diagnostics.scintigraphy.points.iter();
    rows.map(|row| (row.code.as_str(), row.name.clone())).collect()
}
