//! A run of words between two places: what was found, how much, and what was looked for in vain.

use super::deny::deny_list;
use super::goes_with::hurts_bent;
use super::movement::moves_here;
use super::say::{Joined, Run, Say, Strange, What, share_grade, what};
use crate::{
    catalogue::words::{Meaning, Outcome},
    reasoning::line::{
        graded::{Grading, millimetres},
        piece::{Look, Piece, Sense},
    },
};

/// Takes a run apart. `testers`: the words for tester sites are read as such.
pub(super) fn read<'v>(pieces: &[Piece<'v>], testers: bool) -> Run<'v> {
    let mut taker = Taker {
        run: Run::default(),
        testers,
        not: None,
        strange_not: false,
        listing: false,
        join: Joined::No,
        held: Held::default(),
    };
    taker.run.preposition = pieces
        .iter()
        .rev()
        .find(|piece| !piece.is(|m| matches!(m, Meaning::Fill | Meaning::With)))
        .is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Preposition)));
    taker.run.joins = pieces.first().is_some_and(Piece::joins);
    let leading = leads_with_grade(pieces);
    let mut at = 0;
    while at < pieces.len() {
        at = taker.take(pieces, at, leading);
    }
    taker.finish()
}

/// "big" is a grade before a swelling, and a swelling where none is named; "clear" likewise.
fn is_finding_here(pieces: &[Piece<'_>], at: usize) -> bool {
    // "a clear response"
    let noun = |m: &Meaning| {
        matches!(m, Meaning::Finding { says_so: false, .. } | Meaning::Sign { .. })
            || matches!(m, Meaning::Outcome(Outcome::Positive))
    };
    let passes = |piece: &&Piece<'_>| {
        piece.is(|m| matches!(m, Meaning::Quality | Meaning::Finding { says_so: true, .. })) || piece.joins()
    };
    let next = pieces[at + 1..].iter().find(|piece| !passes(piece));
    // "a clear two"
    let counts =
        pieces[at].is(|m| matches!(m, Meaning::Nad)) && next.is_some_and(|piece| piece.number().is_some());
    pieces[at].is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Nad))
        && !counts
        && !next.is_some_and(|piece| piece.is(noun))
}

/// Whether grades stand before their findings in this run ("mild heat, moderate pain").
fn leads_with_grade(pieces: &[Piece<'_>]) -> bool {
    let graded =
        |piece: &Piece<'_>| piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Grade(..)));
    let first_grade = pieces.iter().position(graded);
    let first_say = pieces.iter().position(is_say);
    matches!((first_grade, first_say), (Some(grade), Some(say)) if grade < say)
}

/// The first meaning of a piece that says something.
fn said(m: &Meaning) -> Option<&Meaning> {
    is_said(m).then_some(m)
}

pub(super) fn is_say(piece: &Piece<'_>) -> bool {
    piece.holds.is_some() || piece.is(is_said)
}

fn is_said(m: &Meaning) -> bool {
    matches!(
        m,
        Meaning::Finding { .. }
            | Meaning::Sign { .. }
            | Meaning::Lacks(_)
            | Meaning::Pick { .. }
            | Meaning::Measure { .. }
            | Meaning::Testers(_)
            | Meaning::Nad
            | Meaning::Same
    )
}

/// Said before its finding: waits for the next one.
#[derive(Default)]
pub(super) struct Held<'v> {
    pub(super) grade: Option<Grading<'v>>,
    pub(super) mm: Option<(f64, Vec<Piece<'v>>)>,
    pub(super) aspect: Option<(String, Piece<'v>)>,
    pub(super) qualities: Vec<Piece<'v>>,
    pub(super) rest: Option<Piece<'v>>,
}

pub(super) struct Taker<'v> {
    pub(super) run: Run<'v>,
    /// Hoof testers are spoken of.
    pub(super) testers: bool,
    pub(super) not: Option<Piece<'v>>,
    /// A word that nobody knows stands after the "no".
    pub(super) strange_not: bool,
    /// A list of things that are not there is going on.
    pub(super) listing: bool,
    pub(super) join: Joined,
    pub(super) held: Held<'v>,
}

impl<'v> Taker<'v> {
    fn take(&mut self, pieces: &[Piece<'v>], at: usize, leading: bool) -> usize {
        let piece = &pieces[at];
        if piece.is(|m| matches!(m, Meaning::Extent)) {
            return self.extent(pieces, at);
        }
        if piece.holds.is_some() {
            self.say(piece);
            return at + 1;
        }
        if let Some((mm, end)) = millimetres(pieces, at) {
            let before = at.checked_sub(1).map(|before| &pieces[before]);
            let apart = before.is_some_and(|piece| piece.is_filler() || piece.joins());
            self.measure((mm, pieces[at..end].to_vec()), pieces.get(end), apart);
            return end;
        }
        if let Some(end) = self.measured_number(pieces, at) {
            return end;
        }
        if self.answers_plus(piece) {
            return at + 1;
        }
        if let Some((grading, end)) = Grading::read(pieces, at).filter(|_| !is_finding_here(pieces, at)) {
            self.grade(grading, pieces, end, leading);
            return end;
        }
        if self.testers
            && let Some(site) =
                piece.get(|m| if let Meaning::TesterSite(site) = m { Some(site.clone()) } else { None })
        {
            self.site(site, piece);
            return at + 1;
        }
        if is_say(piece) && !self.is_absent_here(piece) {
            self.say(piece);
            return at + 1;
        }
        self.small(pieces, at);
        at + 1
    }

    /// How far it reaches: the words stand with what reaches so far.
    fn extent(&mut self, pieces: &[Piece<'v>], at: usize) -> usize {
        let place = |piece: &Piece<'v>| {
            piece.is_filler()
                || piece.is_limbish()
                || piece.is(|m| matches!(m, Meaning::Spot { .. } | Meaning::Aspect(_) | Meaning::WeakSide(_)))
        };
        let end = (at + 1..pieces.len()).find(|&next| !place(&pieces[next])).unwrap_or(pieces.len());
        match self.run.says.last_mut() {
            Some(say) => say.of.extend(pieces[at..end].iter().cloned()),
            None => self.run.loose_qualities.extend(pieces[at..end].iter().cloned()),
        }
        end
    }

    /// "negative" after a finding means that it is absent, even where the word has other meanings.
    fn is_absent_here(&self, piece: &Piece<'_>) -> bool {
        piece.is(|m| matches!(m, Meaning::Absent)) && !self.run.says.is_empty()
    }

    /// "increased" answers for another limb; beside what it is said of, it only describes it.
    fn is_quality_here(&self, piece: &Piece<'_>) -> bool {
        let said = self.not.is_some() || !self.run.says.is_empty();
        said && piece.is(|m| matches!(m, Meaning::Quality))
    }

    /// Words that turn or join what stands around them.
    fn small(&mut self, pieces: &[Piece<'v>], at: usize) {
        let piece = &pieces[at];
        if self.speaks_of_said(piece) {
            return;
        }
        self.run.presses |= piece.is(|m| matches!(m, Meaning::Press));
        // "no core, minimal heat": it may be the strange word that is denied.
        self.strange_not |= self.not.is_some() && matches!(piece.sense, Sense::Unknown);
        if matches!(piece.sense, Sense::Unknown) && self.run.says.is_empty() {
            self.run.strange = if piece.look == Look::Capitals { Strange::Capitals } else { Strange::Word };
        }
        if moves_here(piece) {
            // "pain 1/3, range of motion reduced": the movement is spoken of for itself.
            let less = |piece: &Piece<'v>| {
                piece.holds.is_some()
                    || piece.is(|m| matches!(m, Meaning::Finding { code, .. } if code == "ROMR"))
            };
            let own = !self.run.says.is_empty() && pieces[at + 1..].iter().any(less);
            if !own {
                self.bend(piece);
            }
            return;
        }
        // "effusion? no"
        let asked = |piece: &&Piece<'v>| matches!(piece.sense, Sense::Mute);
        let last_is_say = pieces[..at].iter().rev().find(|piece| !asked(piece)).is_some_and(is_say);
        let absent = piece.is(|m| matches!(m, Meaning::Absent | Meaning::Outcome(Outcome::Negative)));
        let not = piece.is(|m| matches!(m, Meaning::Not));
        let ends = pieces.get(at + 1).is_none();
        let leads = self.denies_next(pieces, at);
        if !leads && absent && (last_is_say || !not || ends) || not && last_is_say && ends {
            self.absent(piece);
        } else if not || leads {
            if self.run.says.is_empty() {
                self.run.begins_with_not = true;
            }
            self.not = Some(piece.clone());
            self.listing = false;
        } else if piece.is(|m| matches!(m, Meaning::Outcome(_))) && !self.is_quality_here(piece) {
            self.outcome(piece);
        } else if piece.joins() {
            let or = piece.is(|m| matches!(m, Meaning::Or)) || matches!(piece.sense, Sense::Joint);
            self.join = if or { Joined::Or } else { Joined::And };
            if self.run.says.is_empty() && self.held.grade.is_none() {
                self.run.begins_with_or = or;
            }
        } else if piece.is(|m| matches!(m, Meaning::But)) {
            self.not = None;
            self.listing = false;
            self.run.but |= self.run.says.is_empty();
        } else if let Some(aspect) =
            piece.get(|m| if let Meaning::Aspect(aspect) = m { Some(aspect.clone()) } else { None })
        {
            let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
            let leads = next.is_some_and(|next| is_say(next) || next.is(|m| matches!(m, Meaning::Not)));
            self.aspect(aspect, piece, leads);
        } else if piece.is(|m| matches!(m, Meaning::Quality | Meaning::Partway | Meaning::TesterSite(_)))
            || piece.number().is_some_and(|part| part.value < 1.0)
        {
            self.quality(piece);
        } else if piece.is(|m| matches!(m, Meaning::Rest | Meaning::Whole)) {
            self.held.rest = Some(piece.clone());
        }
    }

    /// Words that only tell more of what was said before them.
    fn speaks_of_said(&mut self, piece: &Piece<'v>) -> bool {
        if piece.is(|m| matches!(m, Meaning::Elsewhere))
            && let Some(say) = self.run.says.pop_if(|say| say.negated)
        {
            // "no pain elsewhere": nothing of the place that was named.
            self.run.loose_qualities.extend(say.of);
            self.run.loose_qualities.push(piece.clone());
            return true;
        }
        if piece.is(|m| matches!(m, Meaning::Present)) && self.not.is_none() {
            self.affirm(piece);
            return true;
        }
        let them = piece.is(|m| matches!(m, Meaning::Them)) && !piece.is(|m| matches!(m, Meaning::Not));
        if let Some(say) = self.run.says.last_mut().filter(|_| them) {
            say.of_all = true;
            say.of.push(piece.clone());
            return true;
        }
        false
    }

    /// "effusion present", "pain none, swelling yes"
    fn affirm(&mut self, piece: &Piece<'v>) {
        let denied = |say: &Say<'v>| {
            say.of.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Not | Meaning::Absent)))
        };
        if let Some(say) = self.run.says.last_mut().filter(|say| !denied(say) && say.joined != Joined::Or) {
            say.affirmed = true;
            say.negated = false;
            say.of.push(piece.clone());
        }
    }

    /// "flexion reduced and painful": it hurts when it is moved.
    fn is_of_movement(&self, what: &What) -> bool {
        let is = |what: &What, wanted: &str| matches!(what, What::Finding(code) if code == wanted);
        // "range reduced two out of three and sore" is over: what follows a number is said for itself.
        let over = |say: &Say<'v>| say.grade.as_ref().is_some_and(|grade| !grade.in_words);
        let moved = |say: &Say<'v>| is(&say.what, "ROMR") && !say.says_so && !say.negated && !over(say);
        is(what, "PAIN") && self.run.says.last().is_some_and(moved)
    }

    pub(super) fn say(&mut self, piece: &Piece<'v>) {
        let Some((mut what, says_so)) = what(piece) else { return };
        if self.testers && matches!(&what, What::Finding(code) if code == "PAIN") {
            // "testers near fore, sore at the toe"
            what = What::Testers(Some(true));
        }
        if says_so && self.join == Joined::And && self.is_of_movement(&what) {
            what = What::Finding("ROMP".into());
        }
        let mut say = Say {
            grade: self.held.grade.take(),
            says_so,
            joined: std::mem::replace(&mut self.join, Joined::No),
            ..Say::new(what, vec![piece.clone()])
        };
        if let What::Nad { rest } = &mut say.what
            && let Some(word) = self.held.rest.take()
        {
            *rest = word.is(|m| matches!(m, Meaning::Rest));
            say.of.push(word);
        }
        say.of.extend(self.held.grade_pieces(say.grade.as_ref()));
        say.of.append(&mut self.held.qualities);
        if let Some((mm, of)) = self.held.mm.take() {
            say.mm = Some(mm);
            say.of.extend(of);
        }
        if let Some((aspect, of)) = self.held.aspect.take() {
            say.aspect = Some(aspect);
            say.of.push(of);
        }
        if matches!(&say.what, What::Finding(code) if code == "PAIN")
            && let Some(bends) = self.run.loose_bends.take()
        {
            hurts_bent(&mut say, &bends);
        }
        self.negate(&mut say);
        let meant = piece.held().or_else(|| piece.get(said));
        if meant.is_some_and(|m| matches!(m, Meaning::Lacks(_))) {
            say.negated = !say.of.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Not)));
        }
        self.is_calm(&mut say);
        if self.scars(&say) || self.strengthens(&say) || self.repeats(&say) || self.answers(&say) {
            return;
        }
        if matches!(say.what, What::Nad { .. }) && self.calms(&say) {
            return;
        }
        self.run.says.push(say);
    }

    fn finish(mut self) -> Run<'v> {
        deny_list(&mut self.run.says);
        share_grade(&mut self.run.says);
        if let Some(grade) = self.held.grade.take() {
            self.run.loose_grade.get_or_insert(grade);
        }
        if self.run.loose_mm.is_none() {
            self.run.loose_mm = self.held.mm.take();
        }
        self.run.loose_aspect = self.held.aspect.take();
        self.run.loose_qualities.append(&mut self.held.qualities);
        self.run.loose_rest = self.held.rest.take();
        self.run.open_not = self.not.take().filter(|_| !self.strange_not);
        self.run
    }
}

impl<'v> Held<'v> {
    pub(super) fn grade_pieces(&self, grade: Option<&Grading<'v>>) -> Vec<Piece<'v>> {
        grade.map(|grade| grade.of.clone()).unwrap_or_default()
    }
}
