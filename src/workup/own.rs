//! Which of the practice's own values a limb is reckoned with.

use crate::{
    catalogue::{
        Limb, Pair, catalogue,
        localise::{Address, Localising},
    },
    practice::weights::href,
};

/// Where each stands, and its words.
pub(super) fn of(rows: &Localising, limb: Limb) -> Vec<(String, String)> {
    let here = rows.own.keys().filter(|at| bears(rows, at, limb));
    here.filter_map(|at| Some((href(at), rows.own_words(at)?))).collect()
}

/// Whether a number can bear on this limb at all.
fn bears(rows: &Localising, at: &Address, limb: Limb) -> bool {
    let does = |block: &String| catalogue().block(block).is_some_and(|block| block.suits(limb));
    match at.list.as_str() {
        "fore" => limb.is_fore(),
        "hind" => !limb.is_fore(),
        "rung" => rows.ladder.get(&at.row).is_some_and(|rung| rung.limb == Pair::of(limb)),
        "clock" => does(&at.row),
        "override" => rows
            .overrides
            .get(&at.row)
            .is_some_and(|row| row.blocks.is_empty() || row.blocks.iter().any(does)),
        "together" => rows.together.get(&at.row).is_some_and(|row| row.blocks.iter().any(does)),
        _ => true,
    }
}
