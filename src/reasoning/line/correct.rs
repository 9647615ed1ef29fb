//! Corrections within a line: "no, right fore", "make that two", "scratch that".
//!
//! The right word takes the place of the wrong one, so that the line reads as if it had stood there from the start;
//! what was cancelled is kept apart.

use super::piece::{Look, Piece, Sense};
use crate::catalogue::{Limb, Pair, Side, words::Meaning};

/// A line after its corrections.
pub(super) struct Corrected<'v> {
    pub pieces: Vec<Piece<'v>>,
    pub withdrawn: Vec<Piece<'v>>,
}

/// What one word can stand in for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Class {
    Limb,
    Spot,
    Aspect,
    Grade,
    Finding,
    Test,
}

pub(super) fn correct(pieces: Vec<Piece<'_>>) -> Corrected<'_> {
    let mut work = Work { pieces, withdrawn: Vec::new() };
    let mut at = 0;
    while at < work.pieces.len() {
        if work.is_fix(at) {
            at = work.fix(at);
        } else if work.pieces[at].is(|m| matches!(m, Meaning::Scratch)) {
            at = work.scratch(at);
        } else {
            at += 1;
        }
    }
    Corrected { pieces: work.pieces, withdrawn: work.withdrawn }
}

struct Work<'v> {
    pieces: Vec<Piece<'v>>,
    withdrawn: Vec<Piece<'v>>,
}

fn class(piece: &Piece<'_>) -> Option<Class> {
    if piece.number().is_some() {
        return Some(Class::Grade);
    }
    if matches!(piece.sense, Sense::Limbs(_)) {
        return Some(Class::Limb);
    }
    if piece.is_spot() && piece.is(|m| matches!(m, Meaning::Trait { .. })) && piece.look == Look::Plain {
        // "no dip"
        return Some(Class::Finding);
    }
    piece.get(|m| match m {
        Meaning::Limbs(_)
        | Meaning::Side(_)
        | Meaning::WeakSide(_)
        | Meaning::BothSides
        | Meaning::Pair(_) => Some(Class::Limb),
        Meaning::Spot { .. } => Some(Class::Spot),
        Meaning::Aspect(_) => Some(Class::Aspect),
        Meaning::Grade(..) => Some(Class::Grade),
        Meaning::Finding { .. } | Meaning::Sign { .. } | Meaning::Pick { .. } => Some(Class::Finding),
        Meaning::Block { .. } | Meaning::Flexion { .. } => Some(Class::Test),
        _ => None,
    })
}

impl Work<'_> {
    fn passes(piece: &Piece<'_>) -> bool {
        piece.is_filler()
            || matches!(piece.sense, Sense::Pause)
            || piece.is(|m| matches!(m, Meaning::Fix | Meaning::GradeWord))
    }

    /// The first piece after `at` that says something.
    fn after(&self, at: usize) -> Option<usize> {
        (at + 1..self.pieces.len()).find(|&next| !Self::passes(&self.pieces[next]))
    }

    /// The same, past full stops.
    fn after_breaks(&self, at: usize) -> Option<usize> {
        let passes = |piece: &Piece<'_>| piece.is_break() || Self::passes(piece);
        (at + 1..self.pieces.len()).find(|&next| !passes(&self.pieces[next]))
    }

    fn class_at(&self, at: usize) -> Option<Class> {
        self.pieces.get(at).and_then(class)
    }

    fn earlier(&self, before: usize, wanted: Class) -> Option<usize> {
        (0..before).rev().find(|&at| self.class_at(at) == Some(wanted))
    }

    /// Whether a correction begins here: a word that says so, or a "no" that what follows shows to be one.
    fn is_fix(&self, at: usize) -> bool {
        let piece = &self.pieces[at];
        let Some(next) = self.after(at) else { return false };
        let Some(class) = self.class_at(next) else { return false };
        let placed = self.is_sign(next) && self.earlier(at, Class::Spot).is_some();
        if self.earlier(at, class).is_none() && !placed {
            return false;
        }
        if piece.is(|m| matches!(m, Meaning::Fix)) {
            return true;
        }
        if piece.is(|m| matches!(m, Meaning::Scratch)) {
            // "effusion moderate, scratch that, mild": only the grade was wrong.
            let ends = self.pieces.get(self.group_end(next)).is_none_or(Piece::is_break);
            return matches!(class, Class::Grade | Class::Aspect) && ends;
        }
        let is_no = piece.is(|m| matches!(m, Meaning::Not)) && piece.look == Look::BareNo;
        let breaks = |at: Option<usize>| at.and_then(|at| self.pieces.get(at)).is_some_and(Piece::is_break);
        if !is_no {
            return false;
        }
        if self.is_echo(at, next) {
            return true;
        }
        if breaks(Some(at + 1)) {
            return class != Class::Finding || breaks(at.checked_sub(1));
        }
        let end = self.group_end(next);
        let ends = self
            .pieces
            .get(end)
            .is_none_or(|piece| piece.is_break() || piece.is(|m| matches!(m, Meaning::Fix)));
        class != Class::Finding && ends
    }

    /// "left no right", "right gluteal no left gluteal": the same kinds of words stand on either side of the "no".
    fn is_echo(&self, at: usize, next: usize) -> bool {
        let place = |at: &usize| matches!(self.class_at(*at), Some(Class::Limb | Class::Spot));
        let before = (0..at).rev().take_while(place).count();
        let start = at - before;
        let begins = before > 0 && next == at + 1 && (start == 0 || self.pieces[start - 1].is_break());
        begins && (0..before).all(|step| self.class_at(start + step) == self.class_at(next + step))
    }

    /// The end of the words that correct: a place with its limb, a grade, a finding with its grade.
    fn group_end(&self, start: usize) -> usize {
        let group = |class: Option<Class>| match class {
            Some(Class::Limb | Class::Spot | Class::Aspect) => Some(0),
            Some(Class::Grade) => Some(1),
            Some(Class::Finding) => Some(2),
            Some(Class::Test) => Some(3),
            None => None,
        };
        let first = group(self.class_at(start));
        // "capped elbow near fore, no, capped hock near hind"
        let follows = |here: Option<u8>| first == Some(2) && matches!(here, Some(0 | 1));
        let mut end = start;
        while end < self.pieces.len() {
            let here = group(self.class_at(end));
            if here != first && !follows(here) && !(here.is_none() && self.pieces[end].is_filler()) {
                break;
            }
            end += 1;
        }
        end
    }

    fn is_unit(&self, at: usize) -> bool {
        self.pieces.get(at).is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Unit(_))))
    }

    /// Puts the right words where the wrong ones stood; returns where to read on.
    fn fix(&mut self, at: usize) -> usize {
        let Some(start) = self.after(at) else { return at + 1 };
        let end = self.group_end(start);
        // "LF medial, no, lateral suspensory branch": the words go on as if nothing had been between.
        let goes_on = self.pieces.get(end).is_some_and(|next| !next.is_break());
        let from = if goes_on && at > 0 && self.pieces[at - 1].is_break() { at - 1 } else { at };
        for marker in from..start {
            if goes_on || !self.pieces[marker].is_break() {
                self.pieces[marker].sense = Sense::Mute;
            }
        }
        // "no, right fore, sorry": the apology corrects nothing more.
        if self.pieces.get(end).is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Fix))) {
            self.pieces[end].sense = Sense::Mute;
        }
        self.withdraw_echo(at, start, end);
        for right in start..end {
            let Some(wanted) = self.class_at(right) else { continue };
            let Some(wrong) = self.earlier(at, wanted) else {
                self.withdraw_place(at, right);
                continue;
            };
            self.withdraw_grade_word(wrong, right);
            if self.is_unit(right + 1) && self.pieces[right].number().is_some() {
                // "60 %, no, 80 %", "320, no, 330 kilos": the right number keeps its place and its unit.
                let end = wrong + 1 + usize::from(self.is_unit(wrong + 1));
                for old in &mut self.pieces[wrong..end] {
                    self.withdrawn.push(old.clone());
                    old.sense = Sense::Gone;
                }
                continue;
            }
            let mut piece = self.pieces[right].clone();
            piece.sense = merged(&self.pieces[wrong], piece.sense);
            self.pieces[right].sense = Sense::Gone;
            let old = std::mem::replace(&mut self.pieces[wrong], piece);
            self.withdrawn.push(old);
        }
        self.pieces.retain(|piece| !matches!(piece.sense, Sense::Gone));
        at + 1
    }

    fn is_sign(&self, at: usize) -> bool {
        self.pieces[at].is(|m| matches!(m, Meaning::Sign { .. }))
    }

    fn withdraw(&mut self, at: usize) {
        self.withdrawn.push(self.pieces[at].clone());
        self.pieces[at].sense = Sense::Gone;
    }

    /// "tarsal sheath, sorry, tarsocrural effusion": the right word names a place too.
    fn withdraw_place(&mut self, at: usize, right: usize) {
        if let Some(place) = self.earlier(at, Class::Spot).filter(|_| self.is_sign(right)) {
            self.withdraw(place);
        }
    }

    /// "grade 1, correction, grade 2": the word before the number goes with it.
    fn withdraw_grade_word(&mut self, wrong: usize, right: usize) {
        let word = |at: usize| self.pieces[at].is(|m| matches!(m, Meaning::GradeWord));
        let said_again = right > 0 && matches!(self.pieces[right - 1].sense, Sense::Mute);
        if let Some(before) = wrong.checked_sub(1).filter(|&before| said_again && word(before)) {
            self.withdraw(before);
        }
    }

    /// "left pain mild, correction, right pain mild": what is said again word for word is withdrawn where it stood first.
    fn withdraw_echo(&mut self, at: usize, start: usize, end: usize) {
        let Some(wanted) = self.class_at(start) else { return };
        let Some(wrong) = self.earlier(at, wanted) else { return };
        let says = |p: &usize| {
            !self.pieces[*p].is_break() && !self.pieces[*p].is_filler() && self.class_at(*p) != Some(wanted)
        };
        let before: Vec<usize> = (wrong + 1..at).filter(says).collect();
        let after: Vec<usize> = (end..self.pieces.len()).filter(says).take(before.len()).collect();
        let alike = before.iter().zip(&after).all(|(&a, &b)| self.pieces[a].says_same(&self.pieces[b]));
        if before.len() == after.len() && alike {
            for at in before {
                self.withdraw(at);
            }
        }
    }

    /// Cancels what was said since the last break; the place stays when none is named after.
    fn scratch(&mut self, at: usize) -> usize {
        let mut end = at;
        while end > 0 && self.pieces[end - 1].is_break() {
            end -= 1;
        }
        let mut start =
            (0..end).rev().find(|&before| self.pieces[before].is_break()).map_or(0, |before| before + 1);
        let says = |piece: &Piece<'_>| class(piece) == Some(Class::Finding);
        if self.pieces[start..end].iter().filter(|piece| says(piece)).count() > 1 {
            // Spoken without commas: only what stands after the last place but one finding.
            let last =
                (start..end).rev().find(|&p| matches!(self.class_at(p), Some(Class::Limb | Class::Spot)));
            start = last.filter(|&last| self.pieces[last..end].iter().any(says)).unwrap_or(start);
            while start > 0 && matches!(self.class_at(start - 1), Some(Class::Limb)) {
                start -= 1;
            }
        }
        let next = self.after_breaks(at);
        let moves_on = next.is_none()
            || matches!(next.and_then(|next| self.class_at(next)), Some(Class::Limb | Class::Spot));
        let remains = |piece: &Piece<'_>| {
            !moves_on && matches!(class(piece), Some(Class::Limb | Class::Spot | Class::Aspect))
        };
        let mut kept = Vec::with_capacity(self.pieces.len());
        let mut read_on = 0;
        for (index, piece) in std::mem::take(&mut self.pieces).into_iter().enumerate() {
            if index == at {
                read_on = kept.len();
                kept.push(Piece { sense: Sense::Mute, ..piece });
            } else if (start..end).contains(&index) && !remains(&piece) {
                self.withdrawn.push(piece);
            } else {
                kept.push(piece);
            }
        }
        self.pieces = kept;
        read_on
    }
}

/// A side alone, or "hind" alone, keeps what the wrong word said besides: LF, "no, right" is RF.
fn merged<'v>(wrong: &Piece<'v>, right: Sense<'v>) -> Sense<'v> {
    let Some(&[limb]) = wrong.limbs() else { return right };
    let Sense::Means(means) = right else { return right };
    let said = means.iter().find_map(|m| match m {
        Meaning::Side(side) | Meaning::WeakSide(side) => of(limb.is_fore(), *side),
        Meaning::Pair(pair) => of(*pair == Pair::Fore, limb.side()),
        _ => None,
    });
    said.map_or(right, |limb| Sense::Limbs(vec![limb]))
}

fn of(fore: bool, side: Side) -> Option<Limb> {
    Limb::ALL.into_iter().find(|limb| limb.is_fore() == fore && limb.side() == side)
}
