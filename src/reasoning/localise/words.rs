//! The sentences of localising.

use super::{
    evidence::{Evidence, Piece},
    input::{WorkUp, block_on},
    likelihood::{Chance, Setting},
    output::Code,
    own,
    score::Scored,
};
use crate::catalogue::{Block, Limb, Pair, catalogue, localise::Clock};

/// Up to three names, and how many more.
pub(super) fn list(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [one, two] => format!("{one} and {two}"),
        [one, two, three] => format!("{one}, {two} and {three}"),
        [one, two, three, rest @ ..] => format!("{one}, {two}, {three} and {} more", rest.len()),
    }
}

fn name(block: &Block) -> String {
    format!("{} block ({})", block.name, block.code)
}

/// What one answer says of one structure.
pub(super) fn evidence(
    row: &crate::catalogue::localise::Structure,
    piece: &Piece<'_>,
    found: &Chance<'_>,
    setting: &Setting<'_>,
) -> String {
    let usually = setting.rows.number("numb_from");
    let partly = setting.rows.number("widened_to").min(usually);
    let seldom = partly / 2.0;
    let not_reached = setting.rows.weights.last().map_or(0.0, |row| row.chance);
    let how_numb = match found.p {
        p if p >= usually => "usually numbs it",
        p if p >= partly => "numbs it in part or in some limbs",
        p if p >= seldom => "numbs it in a few limbs",
        p if p > not_reached => "seldom numbs it",
        _ => "does not reach it",
    };
    let verdict = match (piece.is_better(), piece.is_negative()) {
        (true, _) if found.p >= usually => "this fits",
        (true, _) if found.p >= seldom => "this fits in part",
        (true, _) => "it does not explain this",
        (_, true) if found.p >= usually => "this speaks against it",
        (_, true) if found.p >= seldom => "this speaks a little against it",
        (_, true) => "this leaves it standing",
        _ => "this says little either way",
    };
    let before = if piece.active.is_empty() { "" } else { ", or a block before it that still held," };
    let mut words = format!(
        "{}, {}: {} % better at {} min; the block{before} {how_numb} (chance {:.2}), so {verdict}.",
        name(piece.block),
        piece.answer.code,
        piece.pct,
        piece.way.minutes,
        found.p
    );
    if found.is_widened {
        words.push_str(" Widened, for the late reading or the volume.");
    }
    if let Some(by) = found.by.filter(|by| by.structures.contains(&row.code)) {
        words = format!("{words} {}", by.text);
    }
    words.push_str(&own::evidence(row, piece, setting));
    words
}

/// What a block is worth next.
pub(super) struct Worth<'a> {
    pub(super) block: &'a Block,
    pub(super) clock: Option<&'a Clock>,
    pub(super) gain: f64,
    pub(super) of_bits: f64,
    /// The chance of a yes.
    pub(super) yes: f64,
    pub(super) is_repeat: bool,
    pub(super) must_wait: bool,
}

pub(super) fn why(
    worth: &Worth<'_>,
    scored: &[Scored<'_>],
    chances: &[f64],
    setting: &Setting<'_>,
) -> String {
    let usually = setting.rows.number("numb_from");
    let standing = || scored.iter().zip(chances).filter(|(row, _)| row.stands());
    let yes: Vec<&str> =
        standing().filter(|(_, p)| **p >= usually).map(|(row, _)| row.structure.name.as_str()).collect();
    let no: Vec<&str> =
        standing().filter(|(_, p)| **p < 0.3).map(|(row, _)| row.structure.name.as_str()).collect();
    let mut words = format!(
        "{}: {:.2} of {:.1} bits, a yes in {:.0} of 100",
        name(worth.block),
        worth.gain,
        worth.of_bits,
        worth.yes * 100.0
    );
    match (yes.is_empty(), no.is_empty()) {
        (false, false) => {
            words = format!("{words}; a yes points at {}, a no leaves {}", list(&yes), list(&no));
        }
        (false, true) => words = format!("{words}; it reaches all that stands ({})", list(&yes)),
        (true, _) => words.push_str("; it usually numbs nothing that still stands"),
    }
    if worth.is_repeat {
        words.push_str("; again, since its answer did not count");
    }
    if worth.must_wait {
        words.push_str("; only when the lameness is back (4 to 6 hours after mepivacaine, or another day)");
    }
    if let Some(clock) = worth.clock {
        words = format!("{words}; read from {} and until {} min", clock.assess_min, clock.late_min);
    }
    words.push('.');
    words.push_str(&own::next(worth.block, setting));
    words
}

/// Parts of the limb that candidates lie in, distal first.
pub(super) fn field(evidence: &Evidence<'_>, scored: &[Scored<'_>], setting: &Setting<'_>) -> Vec<String> {
    if !evidence.pieces.iter().any(Piece::is_better) {
        return Vec::new();
    }
    let stands = |code: &str| scored.iter().any(|row| row.structure.code == code && row.is_candidate());
    let limb = setting.limb;
    let rows = setting.rows.sources(limb).filter(|row| stands(&row.code));
    let mut parts: Vec<String> = Vec::new();
    for part in rows.map(|row| row.part(limb)) {
        if parts.iter().all(|known| known != part) {
            parts.push(part.to_owned());
        }
    }
    parts
}

/// Whether the highest blocks of the limb were answered with no.
pub(super) fn is_unblocked(evidence: &Evidence<'_>) -> bool {
    const HIGH: [&str; 4] = ["TPB", "ELBJ", "SHOJ", "BICB"];
    evidence.pieces.iter().any(|piece| piece.is_negative() && HIGH.contains(&piece.block.code.as_str()))
}

pub(super) fn unblocked() -> Option<Code> {
    let row = catalogue().caution("GN_UNBLOCKED")?;
    Some(Code::new(&row.code, format!("{}: {}", row.name, row.text)))
}

pub(super) fn skin_failed(block: &Block) -> Code {
    Code::new(
        "SKIN_FAILED",
        format!("{}: the skin was not numb, so the answer says nothing and excludes nothing.", name(block)),
    )
}

pub(super) fn skin_untested(block: &Block) -> Code {
    Code::new(
        "SKIN_UNTESTED",
        format!("{}: a no is only as good as the block; its skin was not tested.", name(block)),
    )
}

pub(super) fn too_early(block: &Block, clock: &Clock) -> Code {
    Code::new(
        "TOO_EARLY",
        format!("{}: a no before {} min is none; look again.", name(block), clock.assess_min),
    )
}

pub(super) fn late(block: &Block, minutes: f64, clock: &Clock) -> Code {
    Code::new(
        "LATE",
        format!(
            "{}: first better at {minutes} min; after {} min it no longer means the intended field, which is widened.",
            name(block),
            clock.late_min
        ),
    )
}

pub(super) fn large(block: &Block, clock: &Clock) -> Code {
    Code::new(
        "VOLUME",
        format!(
            "{}: more than the usual {} ml a site spreads; the field is widened.",
            name(block),
            clock.ml_most
        ),
    )
}

pub(super) fn worse(block: &Block, minutes: f64) -> Code {
    Code::new(
        "WORSE",
        format!(
            "{}: worse at {minutes} min: a numb foot, more work or the wrong phase; it says nothing of the place.",
            name(block)
        ),
    )
}

pub(super) fn not_clean(block: &Block) -> Code {
    Code::new(
        "NOT_CLEAN",
        format!("{}: the lameness was not back before it, so its answer excludes nothing.", name(block)),
    )
}

pub(super) fn switched(from: Limb, to: Limb, setting: &Setting<'_>) -> Code {
    let ladder = &setting.rows.ladder;
    let first = ladder.iter().find(|rung| rung.limb == Pair::of(to)).map_or("", |rung| &rung.block);
    Code::new(
        "SWITCHED",
        format!(
            "The lameness moved to the {}: the {} is taken as answered with yes, both limbs may be sore; block the {} from its first step ({first}).",
            to.name(),
            from.name(),
            to.name()
        ),
    )
}

pub(super) fn several() -> Code {
    Code::new("SEVERAL", "No single place explains the answers well: think of more than one source.")
}

/// The drug of the whole visit, when it comes near to what is too much.
pub(super) fn dose(work: &WorkUp, setting: &Setting<'_>) -> Option<Code> {
    let most = setting.rows.number("dose_mg_per_kg");
    let weight_kg = work.weight_kg?;
    let mg: f64 = work
        .blocks
        .iter()
        .filter_map(|done| {
            let clock = setting.rows.clocks.get(&block_on(work.limb, &done.block).ok()?.code)?;
            let mg_per_ml = done.mg_per_ml.or(work.mg_per_ml).unwrap_or(20.0);
            Some(done.volume_ml? * clock.sites * mg_per_ml)
        })
        .sum();
    let given = mg / weight_kg;
    (given > most).then(|| {
        Code::new(
            "DOSE",
            format!(
                "{given:.1} mg a kg of local anaesthetic at this visit, above {most}: check the data sheet."
            ),
        )
    })
}
