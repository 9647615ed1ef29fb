//! A line parted by what it speaks of: hands, vital signs, gait, flexion tests, blocks.
//!
//! Some words say at once what they belong to ("trot", "effusion", "PDN"); the words between two of different kinds
//! go to the one or the other by where the pause is, or by where the next place is named.

use std::ops::Range;

use super::{
    piece::{Look, Piece, Sense, clause_at},
    vitals,
};
use crate::catalogue::words::{Meaning, Unit};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Hands,
    Vital,
    Gait,
    Flexion,
    Block,
    /// A question, a plan, history: left unread.
    Aside,
}

#[derive(Debug)]
pub(super) struct Part {
    pub kind: Kind,
    pub range: Range<usize>,
}

pub(super) fn parts(pieces: &[Piece<'_>]) -> Vec<Part> {
    let teller = Teller { pieces };
    let mut parts: Vec<Part> = Vec::new();
    let mut open: Option<(Kind, usize)> = None;
    let mut last = 0;
    let mut at = 0;
    while at < pieces.len() {
        let Some(kind) = teller.kind(at, open.map(|(kind, _)| kind)) else {
            at += 1;
            continue;
        };
        if kind == Kind::Aside {
            let end = clause_at(pieces, at).end;
            let start = teller.aside_start(at).max(parts.last().map_or(0, |part| part.range.end));
            let before = parts.last().map_or(0, |part| part.range.end);
            close(&mut parts, open.take().or(Some((Kind::Hands, before))), start);
            parts.push(Part { kind, range: start..end });
            (last, at) = (end, end);
            continue;
        }
        match open {
            Some((was, start)) if was != kind => {
                let border = teller.border(start, last, at, (was, kind));
                close(&mut parts, open, border);
                open = Some((kind, border));
            }
            Some(_) => {}
            None => {
                let before = parts.last().map_or(0, |part| part.range.end);
                let start = teller.hands_before(before, at, kind).unwrap_or(before);
                close(&mut parts, Some((Kind::Hands, before)), start);
                open = Some((kind, start));
            }
        }
        last = at;
        at += 1;
    }
    let rest = parts.last().map_or(0, |part| part.range.end);
    close(&mut parts, open.or(Some((Kind::Hands, rest))), pieces.len());
    parts
}

fn close(parts: &mut Vec<Part>, open: Option<(Kind, usize)>, end: usize) {
    if let Some((kind, start)) = open.filter(|(_, start)| *start < end) {
        parts.push(Part { kind, range: start..end });
    }
}

/// A word for a flexion test.
fn is_flexion(m: &Meaning) -> bool {
    matches!(m, Meaning::FlexionWord | Meaning::Flexion { .. })
}

struct Teller<'a, 'v> {
    pieces: &'a [Piece<'v>],
}

impl Teller<'_, '_> {
    /// What the piece says it belongs to; `None` leaves it to its neighbours.
    fn kind(&self, at: usize, open: Option<Kind>) -> Option<Kind> {
        let piece = &self.pieces[at];
        if piece.is(|m| matches!(m, Meaning::Aside)) {
            return Some(Kind::Aside);
        }
        if self.is_side(at) {
            return None;
        }
        if open == Some(Kind::Block) && piece.is(|m| matches!(m, Meaning::Change(_) | Meaning::Improved)) {
            return Some(Kind::Block);
        }
        if open == Some(Kind::Flexion) && piece.is(|m| matches!(m, Meaning::Outcome(_))) {
            return Some(Kind::Flexion);
        }
        if piece.is(|m| matches!(m, Meaning::Outcome(_))) && self.flexes_in_clause(at) {
            return Some(Kind::Flexion);
        }
        if let Some(number) = piece.number() {
            if open == Some(Kind::Vital) && self.goes_on(at) {
                return None;
            }
            return (matches!(number.of, Some(5.0 | 10.0)) && self.stands_alone(at, open))
                .then_some(Kind::Gait);
        }
        if self.is_vital(at) {
            return Some(Kind::Vital);
        }
        let nad = |m: &Meaning| matches!(m, Meaning::Nad);
        if open == Some(Kind::Vital) && piece.is(nad) && self.number_after(at).is_some_and(|n| n >= 4.0) {
            // "temperature normal at 37.8"
            return None;
        }
        if self.is_block(at) {
            return Some(Kind::Block);
        }
        if piece.is(is_flexion) && !self.is_test(at) {
            return Some(Kind::Hands);
        }
        if piece.is(is_flexion) && piece.is(|m| matches!(m, Meaning::Sign { .. })) {
            return Some(Kind::Flexion);
        }
        piece.get(|m| match m {
            Meaning::FlexionWord if self.hurts_bent(at) || self.is_of_axis(at) || self.is_less(at) => None,
            Meaning::FlexionWord | Meaning::Flexion { .. } => Some(Kind::Flexion),
            Meaning::FlexionLevel { .. } if self.in_flexion(at, open) => Some(Kind::Flexion),
            // "tail limp"
            // "wall sound"
            Meaning::Lame | Meaning::Sound if self.is_trait(at) => None,
            Meaning::Move(_) | Meaning::Lame | Meaning::Sound | Meaning::NonWeightBearing => Some(Kind::Gait),
            Meaning::Finding { .. }
            | Meaning::Lacks(_)
            | Meaning::Sign { .. }
            | Meaning::Pick { .. }
            | Meaning::Measure { .. }
            | Meaning::Testers(_)
            | Meaning::Nad
            | Meaning::Rest => Some(Kind::Hands),
            _ => None,
        })
    }

    /// An adjective of the place right before it.
    fn is_trait(&self, at: usize) -> bool {
        let of_place = self.pieces[at].is(|m| matches!(m, Meaning::Trait { .. }));
        of_place && at > 0 && self.pieces[at - 1].is_spot()
    }

    /// "off" beside a place is a side, and no lameness.
    fn is_side(&self, at: usize) -> bool {
        let weak = self.pieces[at].is(|m| matches!(m, Meaning::WeakSide(_)));
        let next = self.pieces[at + 1..].iter().find(|piece| !piece.is_filler());
        self.pieces[at].look == Look::Paired
            || weak && next.is_some_and(|next| next.is_spot() || next.is(|m| matches!(m, Meaning::Pair(_))))
    }

    /// "38.2/36/10", "cresty neck, three out of five": the number belongs to the sign before it.
    fn goes_on(&self, at: usize) -> bool {
        let before = self.pieces[..at].iter().rev();
        let mut before = before.filter(|piece| !piece.is_filler() && !matches!(piece.sense, Sense::Pause));
        before.next().is_some_and(|piece| {
            matches!(piece.sense, Sense::Joint) || piece.is(|m| matches!(m, Meaning::Vital(_)))
        })
    }

    /// A fraction that no finding, vital sign or test stands before.
    fn stands_alone(&self, at: usize, open: Option<Kind>) -> bool {
        if open == Some(Kind::Flexion) && !self.pieces[..at].last().is_some_and(Piece::is_break) {
            return false;
        }
        let before = self.pieces[..at].iter().rev().find(|piece| {
            !piece.is_filler() && !piece.is(|m| matches!(m, Meaning::GradeWord | Meaning::Grade(..)))
        });
        let graded = |m: &Meaning| {
            matches!(
                m,
                Meaning::Finding { .. }
                    | Meaning::Sign { .. }
                    | Meaning::Vital(_)
                    | Meaning::Testers(_)
                    | Meaning::TesterSite(_)
            )
        };
        !before.is_some_and(|piece| piece.is(graded))
    }

    /// The next piece that says something, if it is a number.
    fn number_after(&self, at: usize) -> Option<f64> {
        // "temperature's a bit up at 38.8", but "lunge R hard 4/10" counts no breaths.
        let words = self.pieces[at].look != Look::Capital;
        let next = self.pieces.get(at + 1..)?.iter().find(|piece| {
            let between = piece.is_filler()
                || matches!(piece.sense, Sense::Joint | Sense::Pause)
                || piece.is(|m| matches!(m, Meaning::GradeWord | Meaning::Nad))
                || words && piece.is(|m| matches!(m, Meaning::Quality | Meaning::Grade(..)));
            !between
        })?;
        next.number().map(|number| number.value)
    }

    fn is_vital(&self, at: usize) -> bool {
        let piece = &self.pieces[at];
        if let Some(code) =
            piece.get(|m| if let Meaning::Vital(code) = m { Some(code.as_str()) } else { None })
        {
            if piece.look == Look::Paired {
                return false;
            }
            let least = match code {
                "pulse_bpm" | "temp_c" => 8.0,
                "resp_bpm" => 4.0,
                _ => 0.0,
            };
            let valued = self.number_after(at).is_some_and(|number| number >= least);
            let valued = valued || vitals::number_leads(self.pieces, at).is_some_and(|n| n >= least);
            return valued || self.is_unvalued(at, code);
        }
        if piece.is(|m| matches!(m, Meaning::Tpr)) {
            let vital = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Vital(_)));
            return self.number_after(at).is_some() || self.pieces[at + 1..].iter().take(3).any(vital);
        }
        let unit = |m: &Meaning| {
            matches!(
                m,
                Meaning::Unit(
                    Unit::Beats | Unit::Breaths | Unit::Kg | Unit::Lb | Unit::Celsius | Unit::Fahrenheit
                )
            )
        };
        piece.is(unit) && at > 0 && self.pieces[at - 1].number().is_some_and(|number| number.value > 3.0)
    }

    /// "pulse and respiration normal": a vital sign that no number was given for is none of what hands find.
    fn is_unvalued(&self, at: usize, code: &str) -> bool {
        let is = |step: isize, wanted: fn(&Meaning) -> bool| {
            let says = |piece: &&Piece<'_>| {
                !piece.is_filler() && !piece.joins() && !matches!(piece.sense, Sense::Pause)
            };
            let next = if step > 0 {
                self.pieces[at + 1..].iter().find(says)
            } else {
                self.pieces[..at].iter().rev().find(says)
            };
            next.is_some_and(|piece| piece.is(wanted))
        };
        let vital = |m: &Meaning| matches!(m, Meaning::Vital(_));
        let named_so = self.pieces[at].look != Look::Capital
            && matches!(code, "temp_c" | "resp_bpm" | "bcs" | "weight_kg");
        is(1, vital)
            || is(-1, vital)
            || (named_so && is(1, |m| matches!(m, Meaning::Nad | Meaning::Lacks(_))))
    }

    /// A word for a block; one that also names a place is one only with signs of a block beside it.
    fn is_block(&self, at: usize) -> bool {
        let piece = &self.pieces[at];
        let sign = |m: &Meaning| {
            matches!(m, Meaning::BlockWord | Meaning::Unit(Unit::Percent | Unit::Ml) | Meaning::Agent)
        };
        if piece.is(|m| matches!(m, Meaning::BlockWord)) {
            return true;
        }
        if piece.is(|m| matches!(m, Meaning::Unit(Unit::Percent))) {
            return at > 0 && self.pieces[at - 1].number().is_some();
        }
        let named = piece.is(|m| matches!(m, Meaning::Block { .. }));
        // "navicular bursa block" says so itself.
        let only = !piece.is(|m| matches!(m, Meaning::Spot { .. } | Meaning::Aspect(_)));
        // A finding between the two parts them: "fetlock effusion, blocked the fetlock joint".
        let finds = |piece: &&Piece<'_>| !piece.is(|m| matches!(m, Meaning::Finding { .. }));
        let clause = clause_at(self.pieces, at);
        let before = self.pieces[clause.start..at].iter().rev().take_while(finds);
        let nearby =
            before.chain(self.pieces[at..clause.end].iter().take_while(finds)).any(|piece| piece.is(sign));
        named && (only && !self.finds_in(clause) || nearby)
    }

    /// "fem-pat no effusion": what is found there, and no block of it.
    fn finds_in(&self, clause: Range<usize>) -> bool {
        self.pieces[clause].iter().any(|piece| {
            piece.is(|m| matches!(m, Meaning::Finding { .. }))
                && !piece.is(|m| matches!(m, Meaning::Change(_) | Meaning::Improved | Meaning::Outcome(_)))
        })
    }

    /// Whether a flexion test is named in the clause of this piece.
    fn flexes_in_clause(&self, at: usize) -> bool {
        clause_at(self.pieces, at).any(|at| self.is_test(at))
    }

    /// "spavin" is the test where an answer or a time stands beside it, and a finding elsewhere.
    fn is_test(&self, at: usize) -> bool {
        let piece = &self.pieces[at];
        if !piece.is(|m| matches!(m, Meaning::Sign { .. })) {
            return piece.is(is_flexion);
        }
        let time = |m: &Meaning| matches!(m, Meaning::Unit(Unit::Seconds) | Meaning::Hold(_));
        let sentence = self.pieces[at..].iter().take_while(|piece| !matches!(piece.sense, Sense::Stop));
        let timed = sentence.clone().any(|piece| piece.is(time));
        let side = |piece: &&Piece<'_>| {
            !piece.is_filler() && !piece.is_limbish() && !piece.is(|m| matches!(m, Meaning::WeakSide(_)))
        };
        let next = sentence.skip(1).find(side);
        let answered = next.is_some_and(|next| {
            next.is(|m| matches!(m, Meaning::Outcome(_))) && !next.is(|m| matches!(m, Meaning::Nad))
        });
        piece.is(is_flexion) && (timed || answered)
    }

    /// "flexing it passively is painful": hands bend the joint, and no test is made.
    fn hurts_bent(&self, at: usize) -> bool {
        self.pieces[clause_at(self.pieces, at)].iter().any(|piece| piece.is(|m| matches!(m, Meaning::Bends)))
    }

    /// "flexion of the left carpus is reduced": the joint gives less, and no test is made.
    fn is_less(&self, at: usize) -> bool {
        let clause = &self.pieces[at..clause_at(self.pieces, at).end];
        let of = clause.get(1).is_some_and(|next| next.is(|m| matches!(m, Meaning::Preposition)));
        of && clause.iter().any(Piece::is_spot)
            && clause.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Bent(_))))
    }

    /// "flexion of the thoracic back limited": backs and necks are flexed by no test.
    fn is_of_axis(&self, at: usize) -> bool {
        let clause = &self.pieces[clause_at(self.pieces, at)];
        let spots = || {
            clause.iter().filter_map(|piece| {
                piece.get(|m| if let Meaning::Spot { spot, .. } = m { Some(spot) } else { None })
            })
        };
        spots().next().is_some()
            && spots().all(|spot| spot.limbs().is_empty())
            && !clause.iter().any(|piece| piece.limbs().is_some())
    }

    /// A level ("upper", "distal") speaks of a flexion test only where one is spoken of.
    fn in_flexion(&self, at: usize, open: Option<Kind>) -> bool {
        let end = (at..self.pieces.len()).find(|&p| self.pieces[p].is_stop()).unwrap_or(self.pieces.len());
        open == Some(Kind::Flexion) || (at..end).take(6).any(|p| self.is_test(p))
    }

    /// Where an aside begins: with its clause when nothing of it was read yet. A question mark ends what it asks.
    fn aside_start(&self, at: usize) -> usize {
        if self.pieces[at].look == Look::QuestionMark { clause_at(self.pieces, at).start } else { at }
    }

    /// "near knee full, two, temp 38.4": where a place before the vital signs ends, of which no word says that it is one
    /// of the hands'.
    fn hands_before(&self, start: usize, at: usize, kind: Kind) -> Option<usize> {
        let pause = (start..at).rfind(|&p| self.pieces[p].is_break())?;
        let placed = self.pieces[start..pause].iter().any(Piece::is_spot);
        (kind == Kind::Vital && placed).then_some(pause + 1)
    }

    /// Where the one kind ends and the next begins, between two pieces that say what they are.
    fn border(&self, start: usize, last: usize, at: usize, kinds: (Kind, Kind)) -> usize {
        let between = last + 1..at;
        let size =
            |p: usize| self.pieces[p].is(|m| matches!(m, Meaning::Unit(Unit::Mm | Unit::Cm | Unit::Inch)));
        let pauses = |&p: &usize| self.pieces[p].is_break() && !(p..at).any(size);
        let pause =
            if kinds.1 == Kind::Vital { between.clone().rfind(pauses) } else { between.clone().find(pauses) };
        if let Some(pause) = pause {
            return pause + 1;
        }
        let names = |p: usize| self.pieces[p].is_limbish() || self.pieces[p].is_spot();
        if let Some(place) = between.clone().find(|&p| names(p) && !self.is_direction(p)) {
            let placed = (start..last).any(names);
            if placed || kinds.0 != Kind::Hands {
                return self.pulled_back(place, last, None);
            }
            let end =
                (place..at).find(|&p| !names(p) && !self.pieces[p].is_filler() && !self.pieces[p].joins());
            return end.unwrap_or(at);
        }
        self.pulled_back(at, last, Some(kinds.1))
    }

    /// A side beside "rein" or "circle" is a direction and no place.
    fn is_direction(&self, at: usize) -> bool {
        let moves = |p: Option<usize>| {
            p.and_then(|p| self.pieces.get(p))
                .is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Move(_) | Meaning::Diagonal)))
        };
        let side =
            self.pieces[at].is(|m| matches!(m, Meaning::Side(_) | Meaning::WeakSide(_) | Meaning::BothSides));
        side && (moves(at.checked_sub(1)) || moves(Some(at + 1)))
    }

    /// Small words, "no", and what belongs to the piece after it go with it: a grade with its finding, a number with
    /// its unit.
    fn pulled_back(&self, at: usize, last: usize, kind: Option<Kind>) -> usize {
        let mut border = at;
        while border > last + 1 {
            let piece = &self.pieces[border - 1];
            let graded = kind == Some(Kind::Hands)
                && (piece.is(|m| {
                    matches!(m, Meaning::Grade(..) | Meaning::GradeWord | Meaning::Quality | Meaning::Whole)
                }) || (piece.number().is_some()
                    && border > 1
                    && self.pieces[border - 2].is(|m| matches!(m, Meaning::GradeWord))));
            let counted = border == at
                && piece.number().is_some()
                && self.pieces[at].is(|m| matches!(m, Meaning::Unit(_)));
            let goes = piece.is_filler()
                || piece.joins()
                || piece.is(|m| matches!(m, Meaning::Not | Meaning::But | Meaning::Aspect(_)))
                || graded
                || counted;
            if !goes {
                break;
            }
            border -= 1;
        }
        border
    }
}
