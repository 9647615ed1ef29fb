//! What a result rests on of the practice's own values, in the open.

use super::{evidence::Piece, likelihood::Setting};
use crate::catalogue::{
    Block, Pair,
    localise::{Address, Localising, Structure},
};

/// " Rests on the practice's own value: PDN, sole at the toe, …"; empty where none of these is one.
pub(super) fn rests_on(rows: &Localising, at: &[Address]) -> String {
    let mut own: Vec<String> = at.iter().filter_map(|at| rows.own_words(at)).collect();
    own.sort();
    own.dedup();
    match own.len() {
        0 => String::new(),
        1 => format!(" Rests on the practice's own value: {}.", own.join("; ")),
        _ => format!(" Rests on the practice's own values: {}.", own.join("; ")),
    }
}

/// Of one answer and one structure.
pub(super) fn evidence(row: &Structure, piece: &Piece<'_>, setting: &Setting<'_>) -> String {
    let rows = setting.rows;
    if rows.own.is_empty() {
        return String::new();
    }
    let mut blocks = vec![piece.block.code.as_str()];
    blocks.extend(piece.active.iter().map(|earlier| earlier.block.code.as_str()));
    let mut at: Vec<Address> = blocks.iter().flat_map(|block| chance(row, block, setting)).collect();
    at.extend(bounds(rows.answers.iter().map(|row| row.code.as_str()), &piece.answer.code, |code| {
        Address::new("answer", code, "at_least_pct")
    }));
    at.extend(["slope", "base"].map(|field| Address::new("answer", &piece.answer.code, field)));
    at.push(Address::new("number", "numb_from", "is"));
    if piece.way.wide {
        at.push(Address::new("number", "widened_to", "is"));
    }
    if let Some(agent) = piece.agent.filter(|_| piece.is_negative()) {
        at.push(Address::new("agent", &agent.code, "negative_cap"));
    }
    rests_on(rows, &at)
}

/// Of the word for a score.
pub(super) fn standing(code: &str, rows: &Localising) -> Option<String> {
    let codes = rows.standings.iter().map(|row| row.code.as_str());
    let words = rests_on(rows, &bounds(codes, code, |code| Address::new("standing", code, "at_least")));
    (!words.is_empty()).then(|| format!("How its score is called: {}", words.trim_start()))
}

/// Of a block that would be next.
pub(super) fn next(block: &Block, setting: &Setting<'_>) -> String {
    let rows = setting.rows;
    let pair = Pair::of(setting.limb);
    let mut at: Vec<Address> =
        rows.sources(setting.limb).flat_map(|row| chance(row, &block.code, setting)).collect();
    let rung = rows.ladder.iter().find(|rung| rung.limb == pair && rung.block == block.code);
    at.extend(rung.map(|rung| Address::new("rung", &rung.code, "step")));
    rests_on(rows, &at)
}

/// All that the chance of a block numbing a structure comes from, whether or not it bears this time.
fn chance(row: &Structure, block: &str, setting: &Setting<'_>) -> Vec<Address> {
    let rows = setting.rows;
    let cell = Address::cell(setting.limb, &row.code, block);
    let mut at = Vec::new();
    if rows.shipped(&cell).is_some() {
        at.push(cell);
    } else {
        let letter = rows.weight(setting.limb, &row.code, block);
        at.extend(letter.map(|letter| Address::new("letter", &letter.code, "chance")));
    }
    let published = rows.overrides.iter().filter(|known| {
        (known.blocks.is_empty() || known.blocks.iter().any(|code| code == block))
            && known.structures.contains(&row.code)
    });
    for known in published {
        let fields = ["chance", "cap", "from_min", "before_min", "over_ml"];
        at.extend(fields.map(|field| Address::new("override", &known.code, field)));
        if known.severe {
            at.extend(rows.severe.iter().map(|row| Address::new("severe", &row.code, "at_least")));
        }
    }
    at.extend(["assess_min", "late_min", "ml_most"].map(|field| Address::new("clock", block, field)));
    at
}

/// The limits on both sides of one of several words in a row, best first: its own, and that of the word above.
fn bounds<'a>(
    codes: impl Iterator<Item = &'a str>,
    code: &str,
    address: impl Fn(&str) -> Address,
) -> Vec<Address> {
    let codes: Vec<&str> = codes.collect();
    let place = codes.iter().position(|known| *known == code);
    let above = place.and_then(|place| place.checked_sub(1)).and_then(|above| codes.get(above));
    place.and_then(|place| codes.get(place)).into_iter().chain(above).map(|code| address(code)).collect()
}
