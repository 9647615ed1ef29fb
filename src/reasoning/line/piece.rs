//! Tokens put together into pieces: phrases of the vocabulary, numbers, breaks, and words that nobody knows.

use std::ops::Range;

use super::{
    numbers,
    numbers::Number,
    signs::{
        ABSENT, NOT, denies, is_asked_and_answered, is_minus, is_off_fore, is_score, is_two_faced, look,
        sign, without_limbs,
    },
    token::Token,
    vocabulary::{Found, Vocabulary},
};
use crate::catalogue::{Limb, Side, words::Meaning};

/// What a piece is.
#[derive(Clone, Debug)]
pub(super) enum Sense<'v> {
    /// A phrase; several meanings are told apart by what stands around it.
    Means(&'v [Meaning]),
    Number(Number),
    /// A limb that a correction put together.
    Limbs(Vec<Limb>),
    /// Moved elsewhere by a correction.
    Gone,
    /// A full stop.
    Stop,
    /// A comma, a colon, a dash, a bracket.
    Pause,
    /// A stroke or a plus between two words.
    Joint,
    /// A sign that says nothing.
    Mute,
    Unknown,
}

/// Tokens `from..to` of the line.
#[derive(Clone, Debug)]
pub(super) struct Piece<'v> {
    pub from: usize,
    pub to: usize,
    pub sense: Sense<'v>,
    pub look: Look,
    /// Which of its meanings holds because its place was named: "flat" after "sole".
    pub holds: Option<usize>,
}

/// How a piece is written, where that matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Look {
    Plain,
    /// A plain "no", which may begin a correction.
    BareNo,
    QuestionMark,
    /// One capital letter: "L" alone is a side.
    Capital,
    /// Several capital letters in a line that has small ones too.
    Capitals,
    /// "near" or "off" alone, where the line names the other side too.
    Paired,
    /// A colon or a dash: what stands before it is a heading.
    Heading,
}

impl<'v> Piece<'v> {
    pub(super) fn means(&self) -> &'v [Meaning] {
        match self.sense {
            Sense::Means(means) => means,
            _ => &[],
        }
    }

    /// The meaning that its place gives it.
    pub(super) fn held(&self) -> Option<&'v Meaning> {
        match self.means().get(self.holds?)? {
            Meaning::Trait { says, .. } => Some(says),
            other => Some(other),
        }
    }

    /// The first of its meanings that `pick` takes.
    pub(super) fn get<T>(&self, pick: impl FnMut(&'v Meaning) -> Option<T>) -> Option<T> {
        self.means().iter().find_map(pick)
    }

    pub(super) fn is(&self, wanted: impl Fn(&Meaning) -> bool) -> bool {
        self.means().iter().any(wanted)
    }

    pub(super) fn number(&self) -> Option<&Number> {
        match &self.sense {
            Sense::Number(number) => Some(number),
            _ => None,
        }
    }

    pub(super) fn limbs(&self) -> Option<&[Limb]> {
        if let Sense::Limbs(limbs) = &self.sense {
            return Some(limbs);
        }
        self.get(|m| if let Meaning::Limbs(limbs) = m { Some(limbs.as_slice()) } else { None })
    }

    pub(super) fn is_break(&self) -> bool {
        self.is_stop() || matches!(self.sense, Sense::Pause)
    }

    pub(super) fn is_stop(&self) -> bool {
        matches!(self.sense, Sense::Stop) || self.is(|m| matches!(m, Meaning::Then))
    }

    /// Joins two words of one kind: "and", "or", a stroke.
    pub(super) fn joins(&self) -> bool {
        matches!(self.sense, Sense::Joint) || self.is(|m| matches!(m, Meaning::And | Meaning::Or))
    }

    /// Says nothing by itself.
    pub(super) fn is_filler(&self) -> bool {
        matches!(self.sense, Sense::Mute)
            || self.holds.is_none()
                && self.is(|m| {
                    matches!(
                        m,
                        Meaning::Fill
                            | Meaning::With
                            | Meaning::Preposition
                            | Meaning::LimbWord
                            | Meaning::OutOf(_)
                    )
                })
    }

    /// Names a limb, a side or a pair.
    pub(super) fn is_limbish(&self) -> bool {
        matches!(self.sense, Sense::Limbs(_))
            || self.is(|m| {
                matches!(m, Meaning::Limbs(_) | Meaning::Side(_) | Meaning::BothSides | Meaning::Pair(_))
            })
    }

    /// Whether both are the same words, or the same number.
    pub(super) fn says_same(&self, other: &Self) -> bool {
        match (&self.sense, &other.sense) {
            (Sense::Means(a), Sense::Means(b)) => std::ptr::eq(*a, *b),
            (Sense::Number(a), Sense::Number(b)) => a == b,
            _ => false,
        }
    }

    /// A side alone, be it one only beside a place.
    pub(super) fn side(&self) -> Option<Side> {
        self.get(|m| match m {
            Meaning::Side(side) | Meaning::WeakSide(side) => Some(*side),
            _ => None,
        })
    }

    /// The side that it names, alone or with its limb.
    pub(super) fn side_of_limb(&self) -> Option<Side> {
        let of_limb = self.limbs().and_then(|limbs| limbs.first()).map(|limb| limb.side());
        of_limb.or_else(|| self.side())
    }

    /// Names a place.
    pub(super) fn is_spot(&self) -> bool {
        self.is(|m| matches!(m, Meaning::Spot { .. }))
    }
}

/// The clause that the piece stands in: from the break before it to the break after it.
pub(super) fn clause_at(pieces: &[Piece<'_>], at: usize) -> Range<usize> {
    let start = pieces[..at].iter().rposition(Piece::is_break).map_or(0, |before| before + 1);
    let end = pieces[at..].iter().position(Piece::is_break).map_or(pieces.len(), |length| at + length);
    start..end
}

/// Puts the tokens of a line together.
pub(super) fn pieces<'v>(line: &str, tokens: &[Token], vocabulary: &'v Vocabulary) -> Vec<Piece<'v>> {
    let ids = vocabulary.ids(tokens);
    let shouted = !line.chars().any(char::is_lowercase);
    let mut out: Vec<Piece> = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let found = vocabulary
            .longest(tokens, &ids, at)
            .map(|found| without_site(found, tokens, &ids, vocabulary, at))
            .map(|found| shorter(found, tokens, &ids, vocabulary, at))
            .and_then(|found| {
                let other_side = is_other_side(&found, tokens, at, &out);
                if other_side { vocabulary.longest(&tokens[..=at], &ids[..=at], at) } else { Some(found) }
            });
        let number = numbers::read(tokens, vocabulary, &ids, at);
        // "effusion one too" counts, "the right one too" does not.
        let graded = out.last().is_some_and(|before| before.is(|m| matches!(m, Meaning::Finding { .. })));
        let same = |found: &Found<'_>| found.means.iter().any(|m| matches!(m, Meaning::Same));
        let found = found.filter(|found| !(graded && number.is_some() && same(found)));
        let phrase_length = found.as_ref().map_or(0, |found| found.length);
        // The grade inside a phrase stands before it, as it would elsewhere.
        let inner = found.as_ref().and_then(|found| {
            let grade = found.grade?;
            let of_finding =
                found.means.iter().any(|m| matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. }));
            let alone = vocabulary.longest(tokens.get(..=grade)?, ids.get(..=grade)?, grade)?;
            of_finding.then_some((grade, alone.means))
        });
        let (length, sense) = match (found, number) {
            (_, Some((length, number))) if length >= phrase_length => (length, Sense::Number(number)),
            (Some(found), _) if is_pointing(&found) => (found.length, Sense::Mute),
            (Some(found), _)
                if is_off_fore(line, tokens, at, &out, shouted)
                    || !is_two_faced(&tokens[at], found.length) =>
            {
                (found.length, Sense::Means(found.means))
            }
            (Some(found), _) => (found.length, Sense::Means(without_limbs(found.means))),
            (None, _) if is_minus(tokens, at, &out) => (1, Sense::Means(&ABSENT)),
            (None, _) if denies(tokens, at) => (1, Sense::Means(&NOT)),
            // "eff:2 heat:1"
            (None, _) if is_score(tokens, at, &out) => (1, Sense::Mute),
            (None, _) => (1, sign(tokens, at)),
        };
        if let Some((grade, means)) = inner {
            let sense = Sense::Means(means);
            out.push(Piece { from: grade, to: grade + 1, sense, look: Look::Plain, holds: None });
        }
        let raw = line.get(tokens[at].from..tokens[at].to).unwrap_or_default();
        let look = if length == 1 { look(raw, &tokens[at].norm, shouted) } else { Look::Plain };
        out.push(Piece { from: at, to: at + length, sense, look, holds: None });
        at += length;
    }
    tell_apart(&mut out, tokens);
    out
}

/// What can only be told when all pieces stand: answers, letters that are sides, words with two senses.
fn tell_apart(pieces: &mut [Piece<'_>], tokens: &[Token]) {
    for at in 1..pieces.len() {
        if is_asked_and_answered(&tokens[pieces[at].from].norm, pieces, at) {
            pieces[at].sense = Sense::Mute;
        }
    }
    let paired: Vec<bool> = (0..pieces.len()).map(|at| is_paired(pieces, at)).collect();
    for (at, paired) in paired.into_iter().enumerate() {
        settle(pieces, at);
        if paired {
            pieces[at].look = Look::Paired;
        }
    }
}

/// "mild on the near, moderate on the off"; a letter is a side where the other letter is one too.
fn is_paired(pieces: &[Piece<'_>], at: usize) -> bool {
    let weak =
        |piece: &Piece<'_>| piece.get(|m| if let Meaning::WeakSide(side) = m { Some(*side) } else { None });
    let letter = |piece: &Piece<'_>| matches!(piece.look, Look::Capital);
    let Some(own) = weak(&pieces[at]) else { return false };
    // "swollen on the near"
    let ends = pieces.get(at + 1).is_none_or(Piece::is_break);
    let of = at > 0 && pieces[at - 1].is(|m| matches!(m, Meaning::Preposition));
    // "hind suspensory branch, off, thick"
    let apart = at > 1 && matches!(pieces[at - 1].sense, Sense::Pause) && pieces[at - 2].is_spot();
    // "capped elbow near"
    let after = at > 0
        && pieces[at - 1].is(|m| match m {
            Meaning::Spot { spot, .. } | Meaning::Sign { spot, .. } => spot.foot.is_empty(),
            _ => false,
        });
    if ends && (of || apart || after) && !letter(&pieces[at]) {
        return true;
    }
    // "curbs both, near one sore"
    let one = pieces.get(at + 1).is_some_and(|one| matches!(one.sense, Sense::Mute));
    let says = |piece: &Piece<'_>| {
        piece.is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Pick { .. } | Meaning::Trait { .. }))
    };
    if one && pieces.get(at + 2).is_some_and(says) && !letter(&pieces[at]) {
        return true;
    }
    // "poll sore 2 l", "loin spasm R"
    let on_axis = |piece: &Piece<'_>| {
        piece.is(
            |m| matches!(m, Meaning::Spot { spot, .. } if !spot.axial.is_empty() && spot.limbs().is_empty()),
        )
    };
    if ends && pieces[..at].iter().any(on_axis) && !pieces[..at].iter().any(Piece::is_limbish) {
        return true;
    }
    pieces.iter().any(|piece| {
        if let Some(side) = weak(piece) {
            return side != own && letter(piece) == letter(&pieces[at]);
        }
        let limbs = piece.limbs().unwrap_or_default();
        !letter(&pieces[at]) && !limbs.is_empty() && limbs.iter().all(|limb| limb.side() != own)
    })
}

/// "dip at the coronet" is no joint; "sl" in small letters is slight, and the suspensory before a part of it or in capitals.
fn settle(pieces: &mut [Piece<'_>], at: usize) {
    let means = pieces[at].means();
    let found = means.iter().position(|m| matches!(m, Meaning::Finding { .. }));
    let coronet =
        |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Spot { spot, .. } if spot.code == "FT_CORO"));
    let placed = pieces.get(at + 1).is_some_and(|next| next.is(|m| matches!(m, Meaning::Preposition)))
        || pieces.iter().any(coronet);
    if let Some(found) = found.filter(|_| placed && pieces[at].is_spot() && pieces[at].look == Look::Plain) {
        pieces[at].sense = Sense::Means(&means[found..=found]);
        return;
    }
    // "okay, left fore fetlock": a breath; "fetlock okay": nothing found.
    let then = means.iter().position(|m| matches!(m, Meaning::Then));
    let nad = means.iter().position(|m| matches!(m, Meaning::Nad));
    if let (Some(then), Some(nad)) = (then, nad) {
        let kept = if at == 0 && pieces.len() > 1 { then } else { nad };
        pieces[at].sense = Sense::Means(&means[kept..=kept]);
        return;
    }
    // "ht 1/3" is heat; "HT toe 2/3", and "ht" before one of their sites, are hoof testers.
    let testers = means.iter().position(is_testers);
    let heat = found.or_else(|| means.iter().position(|m| matches!(m, Meaning::Lacks(_))));
    if let (Some(found), Some(testers)) = (heat, testers) {
        let site = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::TesterSite(_)));
        let sited = pieces[at + 1..].iter().take(4).take_while(|piece| !piece.is_break()).any(site);
        let capital = matches!(pieces[at].look, Look::Capitals | Look::Capital);
        let placed =
            pieces.iter().any(|piece| piece.is_spot() || piece.is(|m| matches!(m, Meaning::Sign { .. })));
        let kept = if sited || capital || !placed { testers } else { found };
        pieces[at].sense = Sense::Means(&means[kept..=kept]);
        return;
    }
    let Some(grade) = means.iter().position(|m| matches!(m, Meaning::Grade(..))) else { return };
    let says = |piece: &&Piece<'_>| piece.is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. }));
    let said = pieces[..at].iter().rfind(says);
    if found.is_some() && said.is_some_and(|said| said.is(|m| matches!(m, Meaning::Sign { .. }))) {
        // "thoroughpin LH, big"
        pieces[at].sense = Sense::Means(&means[grade..=grade]);
    } else if pieces[at].is_spot() {
        let placed = pieces.get(at + 1).is_some_and(Piece::is_spot);
        let after = at > 0 && says(&&pieces[at - 1]);
        let graded = !placed && pieces[at].look == Look::Plain && (after || at + 1 < pieces.len());
        let kept = if graded { &means[grade..=grade] } else { &means[..grade] };
        pieces[at].sense = Sense::Means(kept);
    }
}

/// "one" that is no number: "the off one".
fn is_pointing(found: &Found<'_>) -> bool {
    found.length == 1 && found.means.iter().all(|m| matches!(m, Meaning::Number(1.0)))
}

/// "sore on the left, not on the right" speaks of the other side, where "not right" alone is a lame horse.
fn is_other_side(found: &Found<'_>, tokens: &[Token], at: usize, before: &[Piece<'_>]) -> bool {
    let lame = found.length > 1 && found.means.iter().any(|m| matches!(m, Meaning::Lame));
    let words = tokens[at].norm == "not" && tokens[at + found.length - 1].norm == "right";
    lame && words && before.iter().any(|piece| piece.side_of_limb() == Some(Side::L))
}

/// "knee flexion reduced" is a knee that flexes less, and no test: a phrase gives its last word up to a finding that
/// begins with it.
fn shorter<'v>(
    found: Found<'v>,
    tokens: &[Token],
    ids: &[Option<u32>],
    vocabulary: &'v Vocabulary,
    at: usize,
) -> Found<'v> {
    let is_test = found.means.iter().any(|m| matches!(m, Meaning::Flexion { .. }));
    if !is_test || found.length < 2 {
        return found;
    }
    let last = at + found.length - 1;
    let next = vocabulary.longest(tokens, ids, last).filter(|next| {
        next.length > 1 && next.means.iter().any(|m| matches!(m, Meaning::Finding { .. } | Meaning::Lacks(_)))
    });
    let before = tokens.get(..last).zip(ids.get(..last));
    let kept = next.and(before).and_then(|(tokens, ids)| vocabulary.longest(tokens, ids, at));
    let place = |kept: &Found<'_>| {
        kept.length == found.length - 1 && kept.means.iter().any(|m| matches!(m, Meaning::Spot { .. }))
    };
    kept.filter(place).unwrap_or(found)
}

fn speaks_of_testers(tokens: &[Token], ids: &[Option<u32>], vocabulary: &Vocabulary) -> bool {
    let named =
        |at| vocabulary.longest(tokens, ids, at).is_some_and(|found| found.means.iter().any(is_testers));
    (0..tokens.len()).any(named)
}

fn is_testers(m: &Meaning) -> bool {
    matches!(m, Meaning::Testers(_))
}

/// "medial heel" is one site for hoof testers; where none are spoken of, it is a direction and a place.
fn without_site<'v>(
    mut found: Found<'v>,
    tokens: &[Token],
    ids: &[Option<u32>],
    vocabulary: &'v Vocabulary,
    at: usize,
) -> Found<'v> {
    let is_site = |found: &Found<'_>| {
        found.length > 1 && found.means.iter().all(|m| matches!(m, Meaning::TesterSite(_)))
    };
    if !is_site(&found) || speaks_of_testers(tokens, ids, vocabulary) {
        return found;
    }
    while is_site(&found) {
        let end = at + found.length - 1;
        let Some((tokens, ids)) = tokens.get(..end).zip(ids.get(..end)) else { break };
        let Some(kept) = vocabulary.longest(tokens, ids, at) else { break };
        found = kept;
    }
    found
}
