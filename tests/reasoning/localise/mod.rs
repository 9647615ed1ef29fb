//! Localising pain with blocks: worked cases from published facts, and what holds for any work-up.

mod cases;
mod examination;
mod next;
mod numb;
mod props;
mod published;
mod stops;
mod weights;
mod worked;

use limbledger::{
    catalogue::{catalogue, localise::Localising},
    reasoning::localise::{Candidate, Localised, WorkUp, localise},
};
use serde_json::{Value, json};

fn work_up(json: Value) -> WorkUp {
    serde_json::from_value(json).expect("a work-up")
}

fn shipped() -> &'static Localising {
    &catalogue().localise
}

fn reason(json: Value) -> Localised {
    localise(&work_up(json), shipped()).expect("a work-up that can be meant")
}

/// A block with one reading, its skin numb, on a limb that was lame before it.
fn block(code: &str, minutes: u32, pct: i32) -> Value {
    json!({"block": code, "read": [{"minutes": minutes, "improvement_pct": pct}],
           "skin_numb": true, "clean_baseline": true})
}

fn blocks(limb: &str, blocks: &[Value]) -> Localised {
    reason(json!({"limb": limb, "blocks": blocks}))
}

fn of<'a>(found: &'a Localised, structure: &str) -> &'a Candidate {
    found.candidates.iter().find(|row| row.structure == structure).expect("a structure of the limb")
}

fn standing(found: &Localised, structure: &str) -> String {
    of(found, structure).standing.clone()
}

fn rank(found: &Localised, structure: &str) -> usize {
    found.candidates.iter().position(|row| row.structure == structure).expect("a structure of the limb")
}

fn has_caveat(found: &Localised, code: &str) -> bool {
    found.caveats.iter().any(|row| row.code == code)
}

fn next_codes(found: &Localised) -> Vec<&str> {
    found.next.iter().map(|row| row.block.as_str()).collect()
}
