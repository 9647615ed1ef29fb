//! Where the numbers behind a work-up come from: each with how sure one can be of it, and what of it is the practice's own.

use super::scene::Scene;
use crate::catalogue::{Row, localise::Localising};

pub(super) struct Number {
    pub what: String,
    pub source: String,
    /// Published, common practice or memory, working rule.
    pub sure: String,
    /// What the practice set in place of a shipped value; empty where it set none.
    pub own: String,
}

impl Number {
    fn of(what: String, rows: &Localising, list: &str, row: &impl Row) -> Self {
        let here = rows.own.keys().filter(|at| at.list == list && at.row == row.code());
        let own: Vec<String> = here.filter_map(|at| rows.own_words(at)).collect();
        Number { what, source: row.source().to_owned(), sure: row.confidence().words(), own: own.join("; ") }
    }
}

/// The numbers that this visit's blocks rest on, then those that every reckoning rests on.
pub(super) fn numbers(scene: &Scene) -> Vec<Number> {
    let rows = &*scene.rows;
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
        all.push(Number::of(what, rows, "clock", clock));
    }
    for row in
        rows.overrides.iter().filter(|row| row.blocks.iter().any(|code| blocks.contains(&code.as_str())))
    {
        all.push(Number::of(format!("{}: {}", row.code, row.text), rows, "override", row));
    }
    let mut agents: Vec<&str> = scene.shots.iter().map(super::course::Shot::agent).collect();
    agents.sort_unstable();
    agents.dedup();
    for agent in agents.iter().filter_map(|code| rows.agents.get(code)) {
        let what = format!("{}: may work for {} min", agent.name, agent.active_min);
        all.push(Number::of(what, rows, "agent", agent));
    }
    for row in &rows.weights {
        let what = format!("chance that a structure that {}: {}", row.says, row.chance);
        all.push(Number::of(what, rows, "letter", row));
    }
    for row in rows.answers.iter().filter(|row| row.at_least_pct > -100.0) {
        let what = format!("{}: better by {} % or more", row.code, row.at_least_pct);
        all.push(Number::of(what, rows, "answer", row));
    }
    for row in &rows.standings {
        let name = super::reason::standing_words(&row.code);
        let what = format!("{name}: explains the answers to {} or more, of 1", row.at_least);
        all.push(Number::of(what, rows, "standing", row));
    }
    if let Some(row) = rows.numbers.get("dose_mg_per_kg") {
        all.push(Number::of(
            format!("ceiling of local anaesthetic: {} mg a kg", row.is),
            rows,
            "number",
            row,
        ));
    }
    if let Some(row) = rows.numbers.get("dose_window_h") {
        all.push(Number::of(format!("local anaesthetic is summed over {} h", row.is), rows, "number", row));
    }
    all
}
