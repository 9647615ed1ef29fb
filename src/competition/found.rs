//! What a set of rules means for a horse and an event: every rule that a treatment meets, with its day; what no rule is kept
//! for; and the earliest day of all.

use jiff::tz::TimeZone;
use sqlx::SqlitePool;

use super::{
    Restriction, RuleSet,
    margin::Added,
    rules::margin_words,
    store,
    treatment::{Treatment, end_of},
};
use crate::{
    clock::{At, Day},
    ids::{EntryId, HorseId},
    reasoning::competition::{Earliest, Free, Interval, Margin, Treated, clear_days, reckon},
};

/// What is asked: the rules, the day, and what is planned before it.
#[derive(Debug, Clone)]
pub(super) struct Question {
    pub set: RuleSet,
    pub event: Day,
    pub planned: Option<Planned>,
}

#[derive(Debug, Clone)]
pub(super) struct Planned {
    pub name: String,
    pub on: Day,
    pub margin: Option<Margin>,
}

#[derive(Debug, Clone)]
pub(super) struct Found {
    pub set: RuleSet,
    pub event: Day,
    /// Treatments that a rule meets, the newest first.
    pub met: Vec<Met>,
    /// What no rule of the set is about, with the newest time of each.
    pub no_rule: Vec<(String, At)>,
    pub earliest: Earliest,
    /// The treatment and the rule that decide.
    pub decides: Option<(String, String)>,
}

/// A treatment with what it meets.
#[derive(Debug, Clone)]
pub(super) struct Met {
    pub treatment: Treatment,
    pub added: Option<Added>,
    pub margin: Option<Margin>,
    pub end: Option<At>,
    pub lines: Vec<Line>,
}

/// One rule that a treatment meets.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub restriction: Restriction,
    pub free: Free,
}

impl Found {
    pub(super) async fn load(
        db: &SqlitePool,
        horse: HorseId,
        zone: &TimeZone,
        question: Question,
    ) -> sqlx::Result<Self> {
        let kept = store::restrictions(db, question.set.id).await?;
        let rules: Vec<Restriction> =
            kept.into_iter().filter(|kept| kept.struck.is_none()).map(|kept| kept.restriction).collect();
        let margins = store::margins(db, horse).await?;
        let mut treatments = treatments(db, horse, zone).await?;
        let planned = question.planned.as_ref();
        treatments.extend(planned.map(|one| Treatment::planned(&one.name, one.on, &rules, zone)));
        treatments.sort_by_key(|one| std::cmp::Reverse(one.began));
        let mut found = Found {
            set: question.set,
            event: question.event,
            met: Vec::new(),
            no_rule: no_rule(&treatments, &rules),
            earliest: Earliest::NoRule,
            decides: None,
        };
        for treatment in treatments {
            let added = treatment.entry.and_then(|(entry, _)| of_entry(&margins, entry));
            let margin = match treatment.entry {
                Some(_) => added.as_ref().and_then(|added| added.margin),
                None => planned.and_then(|one| one.margin),
            };
            found.met.extend(Met::of(treatment, added, margin, &rules, zone));
        }
        found.decide(zone);
        Ok(found)
    }

    fn decide(&mut self, zone: &TimeZone) {
        let flat: Vec<(usize, usize)> = self
            .met
            .iter()
            .enumerate()
            .flat_map(|(at, met)| (0..met.lines.len()).map(move |line| (at, line)))
            .collect();
        let treated: Vec<Treated> = flat.iter().map(|&(at, line)| self.met[at].treated(line)).collect();
        let (each, earliest) = reckon(&treated, zone);
        for (&(at, line), free) in flat.iter().zip(each) {
            self.met[at].lines[line].free = free;
        }
        self.earliest = earliest;
        if let Earliest::From { by, .. } = earliest
            && let Some(&(at, line)) = flat.get(by)
        {
            let met = &self.met[at];
            let rule = met.lines[line].restriction.words();
            let margin = met.margin.map(|margin| format!(" and a margin of {}", margin_words(margin)));
            self.decides = Some((met.treatment.name.clone(), rule + &margin.unwrap_or_default()));
        }
    }

    /// The earliest day, if nothing is missing.
    pub(super) fn day(&self) -> Option<Day> {
        match self.earliest {
            Earliest::From { day, .. } => Some(day),
            Earliest::NoRule | Earliest::Open => None,
        }
    }

    /// Treatments for which a margin or an end is missing.
    pub(super) fn open(&self) -> Vec<&Met> {
        let is_open = |met: &&Met| met.lines.iter().any(|line| !matches!(line.free, Free::From(_)));
        self.met.iter().filter(is_open).collect()
    }
}

impl Met {
    /// Nothing where no rule is about the treatment.
    fn of(
        treatment: Treatment,
        added: Option<Added>,
        margin: Option<Margin>,
        rules: &[Restriction],
        zone: &TimeZone,
    ) -> Option<Self> {
        let meets = |rule: &&Restriction| treatment.things.iter().any(|thing| thing.meets(rule));
        let lines: Vec<Line> = rules
            .iter()
            .filter(meets)
            .map(|rule| Line { restriction: rule.clone(), free: Free::NoEnd })
            .collect();
        // What a person said of the last dose goes before what the days of the record let expect.
        let said = added.as_ref().and_then(|added| added.last_on).map(|day| end_of(day, zone));
        let end = said.or(treatment.end);
        (!lines.is_empty()).then_some(Met { treatment, added, margin, end, lines })
    }

    fn treated(&self, line: usize) -> Treated {
        Treated { end: self.end, rule: self.lines[line].restriction.rule, margin: self.margin }
    }

    pub(super) fn margin_words(&self) -> Option<String> {
        self.margin.map(margin_words)
    }

    /// The latest day of its rules, if none is missing.
    pub(super) fn day(&self) -> Option<Day> {
        let days = self.lines.iter().map(|line| match line.free {
            Free::From(day) => Some(day),
            Free::NoMargin | Free::NoEnd => None,
        });
        days.collect::<Option<Vec<Day>>>()?.into_iter().max()
    }
}

impl Line {
    /// What follows from it, as a sentence.
    pub(super) fn says(&self) -> String {
        match self.free {
            Free::From(day) => format!("earliest {}", day.long()),
            Free::NoMargin => "no earliest day: a veterinarian must add a margin".to_owned(),
            Free::NoEnd => "no earliest day: it is not known when the last was given".to_owned(),
        }
    }

    /// "6 clear days until the event", where the rule counts these.
    pub(super) fn clear(&self, end: Option<At>, event: Day, zone: &TimeZone) -> Option<String> {
        let Interval::ClearDays(_) = self.restriction.rule.interval else { return None };
        let days = clear_days(end?.day(zone), event).max(0);
        Some(if days == 1 {
            "1 clear day until the event".into()
        } else {
            format!("{days} clear days until the event")
        })
    }
}

/// Every treatment of a horse, in no order.
pub(super) async fn treatments(
    db: &SqlitePool,
    horse: HorseId,
    zone: &TimeZone,
) -> sqlx::Result<Vec<Treatment>> {
    Ok(store::told(db, horse).await?.iter().map(|told| Treatment::of(told, zone)).collect())
}

pub(super) fn of_entry(margins: &[(EntryId, Added)], entry: EntryId) -> Option<Added> {
    margins.iter().find(|(of, _)| *of == entry).map(|(_, added)| added.clone())
}

/// Things that no rule is about, once each with its newest time; the treatments come newest first.
fn no_rule(treatments: &[Treatment], rules: &[Restriction]) -> Vec<(String, At)> {
    let mut found: Vec<(String, At)> = Vec::new();
    for treatment in treatments {
        for thing in &treatment.things {
            let is_new = !found.iter().any(|(name, _)| *name == thing.name);
            if is_new && !rules.iter().any(|rule| thing.meets(rule)) {
                found.push((thing.name.clone(), treatment.began));
            }
        }
    }
    found
}
