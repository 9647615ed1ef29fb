//! Where the numbers behind a work-up come from: each with how sure one can be of it.

use super::scene::Scene;
use crate::catalogue::{Row, catalogue};

pub(super) struct Number {
    pub what: String,
    pub source: String,
    /// Published, common practice or memory, working rule.
    pub sure: String,
}

impl Number {
    fn of(what: String, row: &impl Row) -> Self {
        Number { what, source: row.source().to_owned(), sure: row.confidence().words() }
    }
}

/// The numbers that this visit's blocks rest on, then those that every reckoning rests on.
pub(super) fn numbers(scene: &Scene) -> Vec<Number> {
    let rows = &catalogue().localise;
    let mut all = Vec::new();
    let mut blocks: Vec<&str> = scene.shots.iter().map(|shot| shot.block.code.as_str()).collect();
    blocks.sort_unstable();
    blocks.dedup();
    for clock in blocks.iter().filter_map(|code| rows.clocks.get(code)) {
        let what = format!(
            "{}: read from {} min, again at {}, late after {}; {} to {} ml at {} sites",
            clock.code,
            clock.assess_min,
            clock.again_min,
            clock.late_min,
            clock.ml_least,
            clock.ml_most,
            clock.sites
        );
        all.push(Number::of(what, clock));
    }
    for row in
        rows.overrides.iter().filter(|row| row.blocks.iter().any(|code| blocks.contains(&code.as_str())))
    {
        all.push(Number::of(format!("{}: {}", row.code, row.text), row));
    }
    let mut agents: Vec<&str> = scene.shots.iter().map(super::course::Shot::agent).collect();
    agents.sort_unstable();
    agents.dedup();
    for agent in agents.iter().filter_map(|code| rows.agents.get(code)) {
        all.push(Number::of(format!("{}: may work for {} min", agent.name, agent.active_min), agent));
    }
    for row in &rows.weights {
        all.push(Number::of(format!("chance that a structure that {}: {}", row.says, row.chance), row));
    }
    for row in rows.answers.iter().filter(|row| row.at_least_pct > -100.0) {
        all.push(Number::of(format!("{}: better by {} % or more", row.code, row.at_least_pct), row));
    }
    for row in &rows.standings {
        let name = super::reason::standing_words(&row.code);
        all.push(Number::of(format!("{name}: explains the answers to {} or more, of 1", row.at_least), row));
    }
    if let Some(row) = rows.numbers.get("dose_mg_per_kg") {
        all.push(Number::of(format!("ceiling of local anaesthetic: {} mg a kg", row.is), row));
    }
    all
}
