//! How a token is written, and what that says: capitals, stops, a minus behind a finding.

use super::{
    piece::{Look, Piece, Sense},
    token::Token,
};
use crate::catalogue::words::{Meaning, Outcome};

pub(super) fn look(raw: &str, norm: &str, shouted: bool) -> Look {
    let capitals = !shouted && raw.chars().all(char::is_uppercase);
    match (norm, capitals, raw.chars().count()) {
        ("no", _, _) => Look::BareNo,
        ("sl", _, _) if raw == "SL" => Look::Capitals,
        ("?", _, _) => Look::QuestionMark,
        (":" | "-" | "\u{2013}" | "\u{2014}", _, _) => Look::Heading,
        (_, true, 1) => Look::Capital,
        (_, true, _) => Look::Capitals,
        _ => Look::Plain,
    }
}

/// "of" is the off fore only in capitals, or where a limb is expected.
pub(super) fn is_two_faced(token: &Token, length: usize) -> bool {
    length == 1 && token.norm == "of"
}

pub(super) fn is_off_fore(line: &str, tokens: &[Token], at: usize, before: &[Piece], shouted: bool) -> bool {
    let token = &tokens[at];
    is_two_faced(token, 1)
        && ((!shouted && line.get(token.from..token.to) == Some("OF"))
            || before.last().is_none_or(Piece::is_break))
}

/// The meanings after the first, which is the limb.
pub(super) fn without_limbs(means: &[Meaning]) -> &[Meaning] {
    let limbs = means.iter().take_while(|m| matches!(m, Meaning::Limbs(_))).count();
    means.get(limbs..).unwrap_or_default()
}

/// What a minus right behind a finding means.
pub(super) static ABSENT: [Meaning; 1] = [Meaning::Absent];

/// "heat- pain-": the minus belongs to the finding before it.
pub(super) fn is_minus(tokens: &[Token], at: usize, before: &[Piece]) -> bool {
    // "LF ++, RF +, hinds -"
    let scored = tokens.iter().any(|token| token.norm.starts_with('+'));
    let found = |piece: &Piece| {
        piece.is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Testers(_)))
            || scored && (piece.limbs().is_some() || piece.is(|m| matches!(m, Meaning::Side(_))))
    };
    let sign = |token: &Token| matches!(token.norm.as_str(), "," | ";" | "." | ")");
    matches!(tokens[at].norm.as_str(), "-" | "\u{2212}")
        && match tokens.get(at + 1) {
            Some(next) => sign(next) || !next.glued && (tokens[at].glued || scored && next.is_word),
            None => true,
        }
        && before.iter().rev().find(|piece| !matches!(piece.sense, Sense::Pause)).is_some_and(found)
        && before.last().is_some_and(|last| found(last) || tokens[at - 1].norm == "(")
}

/// "-heat -pain +effusion": what stands after the minus is not there.
pub(super) fn denies(tokens: &[Token], at: usize) -> bool {
    let signed = |at: usize, sign: &str| {
        let leads = tokens.get(at + 1).is_some_and(|next| next.glued && next.is_word);
        tokens[at].norm == sign && !tokens[at].glued && leads
    };
    let minus = |at: usize| signed(at, "-") || signed(at, "\u{2212}");
    let others = (0..tokens.len()).filter(|&other| other != at && (minus(other) || signed(other, "+")));
    minus(at) && others.count() > 0
}

/// A colon between what was found and its grade.
pub(super) fn is_score(tokens: &[Token], at: usize, before: &[Piece]) -> bool {
    let found = |piece: &Piece| piece.is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. }));
    tokens[at].norm == ":"
        && tokens.get(at + 1).is_some_and(|next| next.number.is_some())
        && before.last().is_some_and(found)
}

/// "hot? no. sore? yes", "heat: no, pain: no", "LF - normal": a sign between what is asked and its answer.
pub(super) fn is_asked_and_answered(sign: &str, pieces: &[Piece], at: usize) -> bool {
    let Some([asked, _, answer]) = at.checked_sub(1).and_then(|before| pieces.get(before..at + 2)) else {
        return false;
    };
    let yes = answer.is(|m| matches!(m, Meaning::Present));
    let yes_or_no = yes || answer.is(|m| matches!(m, Meaning::Not | Meaning::Absent));
    let found = asked.is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. }));
    let limb = asked.limbs().is_some() || asked.side().is_some();
    let calm = answer.is(|m| matches!(m, Meaning::Nad | Meaning::Outcome(Outcome::Negative)));
    let ends = pieces.get(at + 2).is_none_or(|next| next.is_break() || matches!(next.sense, Sense::Mute));
    match sign {
        "?" => yes_or_no,
        // "pain: yes 2", but "pain: no heat" denies what comes.
        ":" | "-" | "\u{2013}" => found && yes || ends && (found && yes_or_no || limb && (yes_or_no || calm)),
        _ => false,
    }
}

/// What such a minus means.
pub(super) static NOT: [Meaning; 1] = [Meaning::Not];

/// What a token outside the vocabulary is.
pub(super) fn sign<'v>(tokens: &[Token], at: usize) -> Sense<'v> {
    let token = &tokens[at];
    if token.is_word || token.number.is_some() {
        return Sense::Unknown;
    }
    let next_glued = tokens.get(at + 1).is_some_and(|next| next.glued);
    match token.norm.as_str() {
        "." if is_abbreviation(tokens, at) => Sense::Mute,
        "." | ";" | "!" | "\u{2022}" => Sense::Stop,
        "-" if token.glued && next_glued => Sense::Mute,
        "=" if tokens.get(at + 1).is_some_and(|next| next.number.is_some()) => Sense::Mute,
        "," | ":" | "-" | "\u{2013}" | "\u{2014}" | "(" | ")" | "[" | "]" | "|" | ">" | "=" | "\u{2192}" => {
            Sense::Pause
        }
        "/" | "+" | "&" => Sense::Joint,
        "\"" | "\u{201c}" | "\u{201d}" | "'" | "\u{2018}" | "\u{2019}" | "*" | "~" | "_" | "\u{b0}"
        | "\u{2026}" => Sense::Mute,
        _ => Sense::Unknown,
    }
}

/// A full stop after a short word, with a small letter or a digit after it, ends no sentence: "mod. effusion".
fn is_abbreviation(tokens: &[Token], at: usize) -> bool {
    let short = at.checked_sub(1).and_then(|before| tokens.get(before));
    let short = short.is_some_and(|word| word.is_word && tokens[at].glued && word.norm.chars().count() <= 4);
    short && ABBREVIATED.contains(&tokens[at - 1].norm.as_str())
}

/// Words that are written with a full stop when they are cut short.
const ABBREVIATED: [&str; 20] = [
    "eff", "mod", "mld", "sev", "sl", "slt", "lat", "med", "prox", "dist", "temp", "resp", "pos", "neg",
    "susp", "lig", "l", "r", "dors", "palm",
];
