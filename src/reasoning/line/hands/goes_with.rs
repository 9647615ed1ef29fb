//! What goes with something said: how much, how big, on which side, at which site, and that it is not there.

use super::{
    run::{Taker, is_say},
    say::{Joined, Say, What, has_scale, takes_grade},
};
use crate::{
    catalogue::{
        catalogue,
        words::{Meaning, Outcome, Unit},
    },
    reasoning::line::{graded::Grading, piece::Piece},
};

impl<'v> Taker<'v> {
    /// "sore when I bend it": the joint hurts when it is moved.
    pub(super) fn bend(&mut self, piece: &Piece<'v>) {
        let sore = |say: &&mut Say<'v>| matches!(&say.what, What::Finding(code) if code == "PAIN");
        if let Some(say) = self.run.says.last_mut().filter(sore) {
            hurts_bent(say, piece);
        } else if self.run.says.is_empty() {
            self.run.loose_bends = Some(piece.clone());
        }
    }

    pub(super) fn absent(&mut self, piece: &Piece<'v>) {
        if self.run.says.is_empty() {
            self.run.loose_absent = Some(piece.clone());
            return;
        }
        let mut first = true;
        for say in self.run.says.iter_mut().rev() {
            if say.grade.is_some() || say.negated {
                break;
            }
            say.negated = true;
            if first {
                say.of.push(piece.clone());
                first = false;
            }
            if say.joined == Joined::No {
                break;
            }
        }
    }

    /// "positive" and "negative" answer the testers.
    pub(super) fn outcome(&mut self, piece: &Piece<'v>) {
        let positive = piece.is(|m| matches!(m, Meaning::Outcome(Outcome::Positive)));
        if positive && self.run.says.is_empty() {
            self.run.loose_positive = Some(piece.clone());
            return;
        }
        match self.run.says.last_mut() {
            Some(Say { what: What::Testers(answer), of, .. }) if answer.is_none() && positive => {
                *answer = Some(true);
                of.push(piece.clone());
            }
            Some(say) if positive && !say.negated => say.of.push(piece.clone()),
            _ if positive => self.held.qualities.push(piece.clone()),
            _ => {}
        }
    }

    /// A grade goes to the finding after it or before it, by how the run is built.
    pub(super) fn grade(&mut self, grading: Grading<'v>, pieces: &[Piece<'v>], end: usize, leading: bool) {
        let next = pieces[end..].iter().find(|piece| {
            let passes = piece.is(|m| matches!(m, Meaning::Quality | Meaning::Aspect(_)));
            piece.holds.is_some() || !(passes || piece.is_filler())
        });
        let finding_next = next.is_some_and(|piece| takes_before(&grading, piece));
        let several = |piece: &&Piece<'v>| piece.is(|m| matches!(m, Meaning::Sign { plural: true, .. }));
        if let [count] = grading.of.as_slice()
            && count.number().is_some_and(|count| count.of.is_none() && !count.plus && count.value > 1.0)
            && pieces.get(end).as_ref().is_some_and(several)
        {
            // "two splints on the right fore"
            self.quality(count);
            return;
        }
        if !finding_next && self.all_graded(&grading) {
            return;
        }
        self.has_grade(&grading, finding_next);
        // "thickened 18 mm moderate heat"
        let measured = |say: &Say<'v>| finding_next && say.mm.is_some();
        let last_open = self.run.says.last().is_some_and(|say| can_be_graded(say) && !measured(say));
        let parts = |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::With));
        let first = grading.of.first().map_or(0, |piece| piece.from);
        let mere = |piece: &Piece<'v>| {
            piece.is(|m| matches!(m, Meaning::GradeWord)) || piece.is_filler() && !parts(piece)
        };
        let before = pieces.iter().rev().find(|piece| piece.to <= first && !mere(piece));
        if last_open && !finding_next && grading.in_words && before.is_some_and(parts) {
            // "thickened with moderate sheath effusion": of what the next place has.
            self.run.loose_grade.get_or_insert(grading);
            return;
        }
        let close =
            pieces.iter().rev().find(|piece| piece.to <= first).is_some_and(|piece| !piece.is_filler());
        if last_open && finding_next && close && self.each_its_grade(&grading) {
            return;
        }
        let site = |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::TesterSite(_)));
        if self.testers && self.join == Joined::And && next.is_some_and(site) {
            // "1/3 over the toe and 2/3 over the quarter"
            self.held.grade = Some(grading);
            self.join = Joined::No;
            return;
        }
        if last_open && finding_next && before.is_some_and(parts) {
            // "warm with a grade two swelling"
            self.held.grade = Some(grading);
            return;
        }
        // "effusion moderate with heat": "with" parts them.
        let with = grading.in_words && pieces.get(end).is_some_and(parts);
        let trailed = next.is_some_and(|next| self.is_trailed(&grading, next));
        let trailing = trailed || !leading && (end_with_grade(&pieces[end..]) || with);
        let forward = finding_next
            && !(last_open
                && self.join == Joined::No
                && (trailing || !grading.in_words)
                && (trailed || !leading));
        if forward {
            self.held.grade = Some(grading);
        } else {
            self.grade_before(grading, last_open);
        }
    }

    /// The grade of what was said last.
    fn grade_before(&mut self, grading: Grading<'v>, last_open: bool) {
        let Some(say) = self.run.says.last_mut() else {
            self.run.loose_grade.get_or_insert(grading);
            return;
        };
        if last_open {
            say.of.extend(grading.of.iter().cloned());
            say.grade = Some(grading);
        } else if grading.in_words && takes_grade(&say.what) {
            say.of.extend(grading.of);
        }
    }

    /// "swelling moderate tender": the grade is of the noun before it, not of the adjective.
    fn is_trailed(&self, grading: &Grading<'v>, next: &Piece<'v>) -> bool {
        let of_noun = |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::OfNoun));
        let adjective = next.is(|m| matches!(m, Meaning::Finding { says_so: true, .. }));
        let noun_said = self.run.says.last().is_some_and(|say| !say.says_so);
        noun_said && adjective && grading.of.iter().all(of_noun)
    }

    /// "swelling and pain all 2/3"
    fn all_graded(&mut self, grading: &Grading<'v>) -> bool {
        let all = self.run.says.len() > 1 && self.run.says.iter().all(can_be_graded);
        let whole = |piece: &mut Piece<'v>| piece.is(|m| matches!(m, Meaning::Whole));
        let Some(word) = self.held.rest.take_if(|piece| all && whole(piece)) else { return false };
        for say in &mut self.run.says {
            say.grade = Some(grading.clone());
        }
        if let Some(say) = self.run.says.last_mut() {
            say.of.push(word);
            say.of.extend(grading.of.iter().cloned());
        }
        true
    }

    /// "no pain, movement reduced ++": what has a grade is there, whatever list it stands in.
    fn has_grade(&mut self, grading: &Grading<'v>, finding_next: bool) {
        let denies =
            |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::Not | Meaning::Absent | Meaning::Lacks(_)));
        let listed = self.listing && !finding_next && grading.value() > 0.0;
        let open = |say: &&mut Say<'v>| say.negated && say.grade.is_none() && !say.of.iter().any(denies);
        if let Some(say) = self.run.says.last_mut().filter(|_| listed).filter(open) {
            say.negated = false;
            self.listing = false;
        }
    }

    /// "effusion mild slight heat": one grade for what was said, and one for what comes.
    fn each_its_grade(&mut self, grading: &Grading<'v>) -> bool {
        let graded = |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::Grade(..)));
        if let [first, second] = grading.of.as_slice()
            && graded(first)
            && graded(second)
            && self.join == Joined::No
            && let Some((before, _)) = Grading::read(std::slice::from_ref(first), 0)
            && let Some((after, _)) = Grading::read(std::slice::from_ref(second), 0)
            && let Some(say) = self.run.says.last_mut()
        {
            say.of.push(first.clone());
            say.grade = Some(before);
            self.held.grade = Some(after);
            return true;
        }
        false
    }

    /// `apart`: a small word stands between what was said before and the size.
    pub(super) fn measure(&mut self, (mm, of): (f64, Vec<Piece<'v>>), next: Option<&Piece<'v>>, apart: bool) {
        let noun = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Finding { says_so: false, .. }));
        // "swollen with a two inch wound"
        let taken =
            self.run.says.last().is_none_or(|say| say.mm.is_some()) || apart && next.is_some_and(noun);
        let says = |piece: &Piece<'v>| {
            is_say(piece) || piece.is(|m| matches!(m, Meaning::Quality | Meaning::Grade(..)))
        };
        let forward = taken && next.is_some_and(says);
        match self.run.says.last_mut().filter(|_| !forward) {
            Some(Say { what: What::Measure { .. }, number, of: words, .. }) => {
                *number = Some(mm);
                words.extend(of);
            }
            Some(say) => {
                say.mm = Some(mm);
                say.of.extend(of);
            }
            None if forward => self.held.mm = Some((mm, of)),
            None => self.run.loose_mm = Some((mm, of)),
        }
    }

    /// A number right after a measured item, in degrees or without a unit.
    pub(super) fn measured_number(&mut self, pieces: &[Piece<'v>], at: usize) -> Option<usize> {
        let value = pieces[at].number()?.value;
        let say = self.run.says.last_mut().filter(|say| say.number.is_none())?;
        let What::Measure { .. } = say.what else { return None };
        let degrees =
            pieces.get(at + 1).is_some_and(|unit| unit.is(|m| matches!(m, Meaning::Unit(Unit::Degrees))));
        let end = at + 1 + usize::from(degrees);
        say.number = Some(value);
        say.of.extend(pieces[at..end].iter().cloned());
        Some(end)
    }

    /// `leads`: something is said right after it.
    pub(super) fn aspect(&mut self, aspect: String, piece: &Piece<'v>, leads: bool) {
        // "thickened medially and laterally"
        let twice = self.run.says.last().filter(|say| say.aspect.is_some() && self.join == Joined::And);
        if let Some(say) = twice.filter(|_| self.held.grade.is_none()) {
            let mut other = say.clone();
            other.aspect = Some(aspect);
            other.of.push(piece.clone());
            self.join = Joined::No;
            self.run.says.push(other);
            return;
        }
        let open = self
            .run
            .says
            .last_mut()
            .filter(|say| say.aspect.is_none() && !matches!(say.what, What::Nad { .. }))
            .filter(|say| !(leads && (say.grade.is_some() || say.negated)));
        match open.filter(|_| self.held.grade.is_none() && self.join == Joined::No) {
            Some(say) => {
                let and = say.joined == Joined::And && !say.negated;
                say.aspect = Some(aspect.clone());
                say.of.push(piece.clone());
                // "sore and swollen on the outside"
                let before = self.run.says.iter_mut().rev().nth(1).filter(|_| and);
                if let Some(say) = before.filter(|say| say.aspect.is_none() && !say.negated) {
                    say.aspect = Some(aspect);
                }
            }
            None => self.held.aspect = Some((aspect, piece.clone())),
        }
    }

    /// A site after an answer, or without one before it here, is an answer of its own: "toe 1/3, medial heel 2/3".
    pub(super) fn site(&mut self, site: String, piece: &Piece<'v>) {
        let open = |say: &&mut Say<'v>| {
            matches!(say.what, What::Testers(_))
                && (say.sites.is_empty() || (say.grade.is_none() && !say.negated))
        };
        if let Some(say) = self.run.says.iter_mut().next_back().filter(open) {
            if self.join == Joined::No {
                say.sites.retain(|wide| !covers(wide, &site));
            }
            if self.join != Joined::No || !say.sites.iter().any(|narrow| covers(&site, narrow)) {
                say.sites.push(site);
            }
            say.of.push(piece.clone());
            return;
        }
        let first = self.run.says.is_empty();
        let before = if first { self.run.loose_grade.take() } else { None };
        if first {
            // "neg toe"
            self.not = self.not.take().or(self.run.loose_absent.take());
        }
        let grade = self.held.grade.take().or(before);
        // "nothing across the heels"
        if let Some(nad) = self.run.says.pop_if(|say| matches!(say.what, What::Nad { rest: false })) {
            self.not = nad.of.into_iter().next();
        }
        let mut of = vec![piece.clone()];
        of.extend(self.held.grade_pieces(grade.as_ref()));
        let mut say = Say { grade, sites: vec![site], ..Say::new(What::Testers(None), of) };
        self.negate(&mut say);
        self.run.says.push(say);
    }

    pub(super) fn quality(&mut self, piece: &Piece<'v>) {
        // "pulses are not increased"; of a swelling that is not pitting only that is denied.
        let answers = piece.is(|m| matches!(m, Meaning::Outcome(_)));
        if self.not.is_some() && !answers && !self.run.says.is_empty() {
            let not = self.not.take();
            if let Some(say) = self.run.says.last_mut() {
                say.of.extend(not);
                say.of.push(piece.clone());
            }
            return;
        }
        let open = |say: &&mut Say<'v>| say.grade.is_none() && !say.negated && self.join == Joined::No;
        if self.not.is_some()
            && let Some(say) = self.run.says.last_mut().filter(open)
        {
            say.negated = true;
            say.of.extend(self.not.take());
            say.of.push(piece.clone());
            return;
        }
        match self.run.says.last_mut() {
            Some(say) if self.join == Joined::No => say.of.push(piece.clone()),
            _ => self.held.qualities.push(piece.clone()),
        }
    }
}

/// Whether the one site lies in the other.
pub(super) fn covers(wide: &str, narrow: &str) -> bool {
    catalogue().tester_site(wide).is_some_and(|site| site.covers.iter().any(|code| code == narrow))
}

/// "passive flexion is painful": what hurts, hurts when it is bent.
pub(super) fn hurts_bent<'v>(say: &mut Say<'v>, piece: &Piece<'v>) {
    say.what = What::Finding("ROMP".to_owned());
    say.of.push(piece.clone());
}

fn can_be_graded(say: &Say<'_>) -> bool {
    say.grade.is_none() && !say.negated && takes_grade(&say.what)
}

/// Whether what stands next can have the grade before it; one out of so many goes with no finding that has no scale:
/// "two out of four, wound".
fn takes_before(grading: &Grading<'_>, next: &Piece<'_>) -> bool {
    let unscaled = next.is(|m| matches!(m, Meaning::Finding { code, .. } if !has_scale(code)));
    is_say(next)
        && !next.is(|m| matches!(m, Meaning::Nad | Meaning::Lacks(_)))
        && !(grading.of_number.is_some() && unscaled)
}

/// Whether more grades follow, and the last word that tells anything is one: each stands behind its finding.
fn end_with_grade(pieces: &[Piece<'_>]) -> bool {
    let tells = |piece: &Piece<'_>| {
        piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Grade(..) | Meaning::Absent))
    };
    pieces.iter().rfind(|piece| is_say(piece) || tells(piece)).is_some_and(tells)
}
