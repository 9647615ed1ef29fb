//! A programme of the practice's own as it is typed: a step a line, its parts between strokes.

use serde::Deserialize;

use super::{forms::LONGEST, store::Own};
use crate::{
    catalogue::programmes::GateKind,
    ids::OwnProgrammeId,
    reasoning::programme::Step,
    web::{Check, Errors},
};

const LONGEST_NAME: usize = 200;
const LONGEST_STEPS: usize = 8_000;
const MOST_STEPS: usize = 120;
const MOST_DAYS: u16 = 365;
const MOST_MINUTES: u16 = 240;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct OwnForm {
    pub submission: String,
    pub version: String,
    pub name: String,
    pub ground: String,
    pub source: String,
    pub steps: String,
    pub in_use: String,
}

impl OwnForm {
    pub(super) fn of(one: &Own) -> Self {
        OwnForm {
            version: one.version.to_string(),
            name: one.name.clone(),
            ground: one.ground.clone(),
            source: one.source.clone(),
            steps: one.steps.clone(),
            in_use: if one.in_use { "yes".into() } else { String::new() },
            ..OwnForm::default()
        }
    }

    pub(super) fn check(&self, id: OwnProgrammeId) -> Result<Own, Errors> {
        let mut check = Check::new();
        let own = Own {
            id,
            name: check.needed("name", &self.name, LONGEST_NAME, "Enter a name."),
            ground: check.line("ground", &self.ground, LONGEST),
            source: check.needed("source", &self.source, LONGEST, "Say whose experience it is."),
            steps: check.needed_words("steps", &self.steps, LONGEST_STEPS, "Enter the steps, one a line."),
            in_use: self.in_use == "yes",
            version: self.version.parse().unwrap_or(-1),
        };
        if check.errors.on("steps").is_none()
            && let Err(what) = read(&own.steps)
        {
            check.errors.add("steps", what);
        }
        check.done(own)
    }
}

/// A step as a line: `28 | 40 | 5 | 0 | walk and trot | ultrasound, soundness`.
pub(super) fn line(step: &Step) -> String {
    let gates: Vec<&str> = step.gates.iter().map(|kind| kind.code()).collect();
    let Step { days, walk_min, trot_min, canter_min, words, .. } = step;
    let line = format!("{days} | {walk_min} | {trot_min} | {canter_min} | {words}");
    if gates.is_empty() { line } else { format!("{line} | {}", gates.join(", ")) }
}

/// The steps, or which line cannot be read and why.
pub(super) fn read(text: &str) -> Result<Vec<Step>, String> {
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let steps: Vec<Step> = lines
        .enumerate()
        .map(|(at, line)| read_line(line).map_err(|what| format!("Line {}: {what}", at + 1)))
        .collect::<Result<_, _>>()?;
    match steps.len() {
        0 => Err("Enter the steps, one a line.".into()),
        n if n > MOST_STEPS => Err(format!("These are {n} steps: {MOST_STEPS} at most.")),
        _ => Ok(steps),
    }
}

fn read_line(line: &str) -> Result<Step, String> {
    let parts: Vec<&str> = line.split('|').map(str::trim).collect();
    let (days, walk, trot, canter, words, gates) = match *parts.as_slice() {
        [days, walk, trot, canter, words] => (days, walk, trot, canter, words, ""),
        [days, walk, trot, canter, words, gates] => (days, walk, trot, canter, words, gates),
        _ => return Err("write days | walk | trot | canter | words | gates.".into()),
    };
    let number = |what: &str, typed: &str, from: u16, most: u16| {
        let read = typed.parse::<u16>().ok().filter(|n| (from..=most).contains(n));
        read.ok_or_else(|| format!("{what} is a whole number from {from} to {most}."))
    };
    if words.is_empty() || words.chars().count() > LONGEST_NAME {
        return Err("say in a few words what is done.".into());
    }
    let gates = gates.split(',').map(str::trim).filter(|code| !code.is_empty());
    let gates =
        gates.map(|code| GateKind::of(code).ok_or("gates are ultrasound and soundness, a comma between."));
    Ok(Step {
        days: number("days", days, 1, MOST_DAYS)?,
        walk_min: number("walk", walk, 0, MOST_MINUTES)?,
        trot_min: number("trot", trot, 0, MOST_MINUTES)?,
        canter_min: number("canter", canter, 0, MOST_MINUTES)?,
        words: words.to_owned(),
        gates: gates.collect::<Result<_, _>>()?,
    })
}
