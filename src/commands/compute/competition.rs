//! From when a treated horse may compete, by the rules that are handed in: none is shipped.

use jiff::{
    civil::{Date, DateTime},
    tz::TimeZone,
};
use serde::{Deserialize, Serialize};

use crate::{
    catalogue::{Choice, Row, catalogue},
    clock::{At, Day},
    reasoning::{
        Refused,
        competition::{Earliest, Free, Interval, Kind, Margin, Rule, Treated, Validity, reckon},
    },
};

/// More than any list knows; beyond it a number is a slip.
const MOST_HOURS: u32 = 20_000;
const MOST_DAYS: u32 = 1_000;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    event: Option<Day>,
    zone: Option<String>,
    valid_from: Option<Day>,
    valid_to: Option<Day>,
    treatments: Vec<Treatment>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Treatment {
    name: String,
    /// `2026-06-01` or `2026-06-01T14:30`, on the clock of the zone.
    end: Option<String>,
    #[serde(default)]
    rules: Vec<RuleIn>,
    margin_hours: Option<u32>,
    margin_days: Option<u32>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RuleIn {
    kind: Kind,
    hours: Option<u32>,
    clear_days: Option<u32>,
}

#[derive(Serialize)]
pub(super) struct Output {
    /// None while a margin or an end is missing, and where no rule was met.
    earliest: Option<Day>,
    decided_by: Option<String>,
    /// Whether the event is not before the earliest day.
    clear: Option<bool>,
    valid_on_event: Option<bool>,
    each: Vec<Each>,
    no_rule: Vec<String>,
}

#[derive(Serialize)]
struct Each {
    name: String,
    kind: Kind,
    earliest: Option<Day>,
    #[serde(skip_serializing_if = "Option::is_none")]
    missing: Option<&'static str>,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let zone = zone(input.zone.as_deref())?;
    let mut met = Vec::new();
    for (at, one) in input.treatments.iter().enumerate() {
        let path = format!("treatments[{at}]");
        let (end, margin) = (one.end(&path, &zone)?, one.margin(&path)?);
        for (number, rule) in one.rules.iter().enumerate() {
            let rule = rule.read(&format!("{path}.rules[{number}]"))?;
            met.push((one.name.clone(), Treated { end, rule, margin }));
        }
    }
    let treated: Vec<Treated> = met.iter().map(|(_, one)| *one).collect();
    let (each, earliest) = reckon(&treated, &zone);
    let (day, by) = match earliest {
        Earliest::From { day, by } => (Some(day), met.get(by).map(|(name, _)| name.clone())),
        Earliest::NoRule | Earliest::Open => (None, None),
    };
    let valid = input
        .event
        .zip(input.valid_from)
        .map(|(event, from)| Validity { from, to: input.valid_to, read_on: from }.holds_on(event));
    Ok(Output {
        earliest: day,
        decided_by: by,
        clear: day.zip(input.event).map(|(day, event)| event >= day),
        valid_on_event: valid,
        each: met.into_iter().zip(each).map(|((name, one), free)| Each::of(name, one.rule, free)).collect(),
        no_rule: input.treatments.iter().filter(|t| t.rules.is_empty()).map(|t| t.name.clone()).collect(),
    })
}

fn zone(name: Option<&str>) -> Result<TimeZone, Refused> {
    let Some(name) = name else { return Ok(TimeZone::UTC) };
    TimeZone::get(name)
        .map_err(|_| Refused::new("zone", format!("must be a zone such as Europe/Berlin, not {name}")))
}

impl Treatment {
    /// A day alone is taken to its last minute: the hour was not said.
    fn end(&self, path: &str, zone: &TimeZone) -> Result<Option<At>, Refused> {
        let Some(typed) = &self.end else { return Ok(None) };
        if let Ok(day) = typed.parse::<Date>().map(Day)
            && !typed.contains(['T', ' '])
        {
            return Ok(Some(day.plus_days(1).start(zone).plus_minutes(-1)));
        }
        let civil: DateTime = typed.parse().map_err(|_| {
            Refused::new(
                format!("{path}.end"),
                format!("must be 2026-06-01 or 2026-06-01T14:30, not {typed}"),
            )
        })?;
        Ok(Some(Day(civil.date()).at(civil.hour(), civil.minute(), zone)))
    }

    fn margin(&self, path: &str) -> Result<Option<Margin>, Refused> {
        match (self.margin_hours, self.margin_days) {
            (Some(_), Some(_)) => {
                Err(Refused::new(format!("{path}.margin_hours"), "and margin_days: give one of them"))
            }
            (Some(hours), None) => {
                Ok(Some(Margin::Hours(within(format!("{path}.margin_hours"), hours, MOST_HOURS)?)))
            }
            (None, Some(days)) => {
                Ok(Some(Margin::Days(within(format!("{path}.margin_days"), days, MOST_DAYS)?)))
            }
            (None, None) => Ok(None),
        }
    }
}

impl RuleIn {
    fn read(&self, path: &str) -> Result<Rule, Refused> {
        let interval = match (self.hours, self.clear_days) {
            (Some(hours), None) => Interval::Hours(within(format!("{path}.hours"), hours, MOST_HOURS)?),
            (None, Some(days)) => Interval::ClearDays(within(format!("{path}.clear_days"), days, MOST_DAYS)?),
            _ => return Err(Refused::new(path, "needs hours or clear_days, and not both")),
        };
        Ok(Rule { kind: self.kind, interval })
    }
}

fn within(name: String, number: u32, most: u32) -> Result<u32, Refused> {
    if number <= most {
        Ok(number)
    } else {
        Err(Refused::new(name, format!("must be 0 to {most}, not {number}")))
    }
}

impl Each {
    fn of(name: String, rule: Rule, free: Free) -> Self {
        let (earliest, missing) = match free {
            Free::From(day) => (Some(day), None),
            Free::NoMargin => (None, Some("margin")),
            Free::NoEnd => (None, Some("end")),
        };
        Each { name, kind: rule.kind, earliest, missing }
    }
}

pub(super) fn help() -> String {
    let known = &catalogue().competition;
    let row = |row: &Choice| {
        let text = row.text.as_deref().unwrap_or_default();
        format!("  {}: {text} ({}; {})", row.name, row.source(), row.confidence.words())
    };
    let rows: Vec<String> = known.kinds.iter().chain(known.facts.iter()).map(row).collect();
    format!(
        "In:\n  event        day of the event, YYYY-MM-DD; may be left out\n  zone         whose clock and calendar; UTC \
         when left out\n  valid_from   first day of the set of rules; may be left out\n  valid_to     its last day; may be \
         left out\n  treatments   each with\n    name          as it is answered with\n    end           when the last was \
         given, 2026-06-01T14:30, or the day\n    rules         each with kind (detection, stand_down) and hours or \
         clear_days; none: no rule is kept\n    margin_hours  what the veterinarian adds, or margin_days in its place\n\n\
         Out:\n  earliest        the first day, or null while something is missing or no rule was met\n  decided_by      \
         the treatment that decides\n  clear           whether the event is not before that day\n  valid_on_event  whether \
         the set holds on the day of the event\n  each            each treatment and rule: name, kind, earliest, and \
         missing: margin or end\n  no_rule         treatments without a rule: ask the body\n\nNo rule is shipped.\n{}",
        rows.join("\n"),
    )
}
