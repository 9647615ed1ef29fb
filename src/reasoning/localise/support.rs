//! What the examination of the same visit says of structures, by the rules of `support.toml`.

use super::{
    input::{Seen, WorkUp},
    own,
};
use crate::catalogue::{
    catalogue,
    localise::{Address, Effect, Localising, Support},
};

/// How a sentence begins that comes from the examination and not from a block.
pub const SEEN: &str = "Seen at this visit, apart from the blocks: ";

/// One thing seen that points at structures, or away from them.
#[derive(Debug)]
pub(super) struct Hint<'a> {
    pub(super) structures: &'a [String],
    pub(super) effect: Effect,
    pub(super) sentence: String,
}

pub(super) fn seen<'a>(work: &WorkUp, rows: &'a Localising) -> Vec<Hint<'a>> {
    let here = |seen: &&Seen| seen.limb.is_none_or(|limb| limb == work.limb);
    let hints = work.findings.iter().filter(here).flat_map(|seen| {
        rows.support.iter().filter(|row| matches(row, seen)).map(|row| Hint {
            structures: &row.structures,
            effect: row.effect,
            sentence: sentence(row, seen, rows),
        })
    });
    hints.collect()
}

fn matches(row: &Support, seen: &Seen) -> bool {
    let among = |codes: &[String], code: Option<&String>| code.is_some_and(|code| codes.contains(code));
    let is_named = match &seen.flexion {
        Some(flexion) => row.flexions.contains(flexion) && seen.grade.is_some(),
        None => among(&row.findings, seen.finding.as_ref()) && among(&row.regions, seen.region.as_ref()),
    };
    let is_there = seen.present.unwrap_or(true);
    let enough = row.at_least.is_none_or(|least| seen.grade.is_none_or(|grade| grade >= least));
    is_named
        && match row.effect {
            Effect::Supports => {
                is_there && enough && (row.values.is_empty() || among(&row.values, seen.value.as_ref()))
            }
            Effect::Weakens => !is_there || (seen.grade == Some(0.0) && row.values.is_empty()),
        }
}

fn sentence(row: &Support, seen: &Seen, rows: &Localising) -> String {
    let lists = catalogue();
    let name = |code: &str| {
        lists.finding(code).map(|row| row.name.as_str()).or(lists.flexion(code).map(|row| row.name.as_str()))
    };
    let code = seen.flexion.as_deref().or(seen.finding.as_deref()).unwrap_or_default();
    let mut what = name(code).unwrap_or(code).to_owned();
    if seen.flexion.is_some() {
        what.push_str(" flexion");
    }
    if let Some(region) = seen.region.as_deref().and_then(|code| lists.region(code)) {
        what = format!("{what}, {}", region.name);
    }
    if row.effect == Effect::Weakens {
        what.push_str(", not there");
    } else if let Some(grade) = seen.grade {
        what = format!("{what}, grade {grade}");
    }
    let verb = if row.effect == Effect::Supports { "supports" } else { "weakens" };
    let own = own::rests_on(rows, &[Address::new("support", &row.code, "at_least")]);
    format!("{SEEN}{what}; {verb} it. {}{own}", row.text)
}
