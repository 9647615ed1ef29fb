//! A run of words between two places: what was found, how much, and what was looked for in vain.

use super::goes_with::hurts_bent;
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
        .find(|piece| !piece.is(|m| matches!(m, Meaning::Fill)))
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
    let noun = |m: &Meaning| matches!(m, Meaning::Finding { says_so: false, .. } | Meaning::Sign { .. });
    let passes = |piece: &&Piece<'_>| {
        piece.is(|m| matches!(m, Meaning::Quality | Meaning::Finding { says_so: true, .. })) || piece.joins()
    };
    let next = pieces[at + 1..].iter().find(|piece| !passes(piece));
    pieces[at].is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Nad))
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

/// "neg heat": a noun, of which it is said that it is not there.
fn is_plain_finding(m: &Meaning) -> bool {
    matches!(m, Meaning::Finding { says_so: false, .. })
}

fn is_graded(piece: Option<&Piece<'_>>) -> bool {
    piece.is_some_and(|piece| piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Grade(..))))
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

    /// "nil heat nil swelling", "neg heat", "testers 1/3 at the toe, neg heel": of what comes, not of what stood before.
    fn denies_next(&self, pieces: &[Piece<'v>], at: usize) -> bool {
        let absent = pieces[at].is(|m| matches!(m, Meaning::Absent | Meaning::Outcome(Outcome::Negative)));
        let not = pieces[at].is(|m| matches!(m, Meaning::Not));
        let next = pieces.get(at + 1);
        let says = not && next.is_some_and(is_say);
        let finds = absent && at == 0 && next.is_some_and(|next| next.is(is_plain_finding));
        let site = (not || absent)
            && self.testers
            && next.is_some_and(|next| next.is(|m| matches!(m, Meaning::TesterSite(_))));
        let free = self.run.says.last().is_none_or(|say| say.negated || say.grade.is_some());
        free && (says || finds && !is_graded(pieces.get(2)) || site)
    }

    /// Words that turn or join what stands around them.
    fn small(&mut self, pieces: &[Piece<'v>], at: usize) {
        let piece = &pieces[at];
        // "no core, minimal heat": it may be the strange word that is denied.
        self.strange_not |= self.not.is_some() && matches!(piece.sense, Sense::Unknown);
        if matches!(piece.sense, Sense::Unknown) && self.run.says.is_empty() {
            self.run.strange = if piece.look == Look::Capitals { Strange::Capitals } else { Strange::Word };
        }
        if piece.is(|m| matches!(m, Meaning::Bends)) {
            self.bend(piece);
            return;
        }
        let them = piece.is(|m| matches!(m, Meaning::Them)) && !piece.is(|m| matches!(m, Meaning::Not));
        if let Some(say) = self.run.says.last_mut().filter(|_| them) {
            say.of_all = true;
            say.of.push(piece.clone());
            return;
        }
        let last_is_say = at > 0 && is_say(&pieces[at - 1]);
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
        } else if piece.is(|m| matches!(m, Meaning::Outcome(_))) {
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
        } else if piece.is(|m| matches!(m, Meaning::Quality | Meaning::TesterSite(_)))
            || piece.number().is_some_and(|part| part.value < 1.0)
        {
            self.quality(piece);
        } else if piece.is(|m| matches!(m, Meaning::Rest | Meaning::Whole)) {
            self.held.rest = Some(piece.clone());
        }
    }

    pub(super) fn say(&mut self, piece: &Piece<'v>) {
        let Some((mut what, says_so)) = what(piece) else { return };
        if self.testers && matches!(&what, What::Finding(code) if code == "PAIN") {
            // "testers near fore, sore at the toe"
            what = What::Testers(Some(true));
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
        if self.strengthens(&say) || self.repeats(&say) || self.answers(&say) {
            return;
        }
        if matches!(say.what, What::Nad { .. }) && self.calms(&say) {
            return;
        }
        self.run.says.push(say);
    }

    /// "digital pulse bounding": the second word says how much.
    fn strengthens(&mut self, say: &Say<'v>) -> bool {
        let What::Sign { code, grade: Some(_), .. } = &say.what else { return false };
        let Some(last) = self.run.says.last_mut() else { return false };
        let same = matches!(&last.what, What::Sign { code: before, grade: None, .. } if before == code)
            && last.grade.is_none();
        if same && say.joined == Joined::No {
            last.what = say.what.clone();
            last.of.extend(say.of.iter().cloned());
        }
        same && say.joined == Joined::No
    }

    /// "toe sore to testers": the site stood before the answer.
    pub(super) fn answers(&mut self, say: &Say<'v>) -> bool {
        let Some(last) = self.run.says.last_mut() else { return false };
        let unanswered = last.grade.is_none() && !last.negated;
        let named = matches!(last.what, What::Testers(_)) && matches!(say.what, What::Testers(_));
        // "sore at the toe on testers"
        if named
            && unanswered
            && say.joined == Joined::No
            && say.sites.is_empty()
            && !say.negated
            && !last.sites.is_empty()
        {
            last.of.extend(say.of.iter().cloned());
            last.grade.clone_from(&say.grade);
            if matches!(last.what, What::Testers(None)) {
                last.what = say.what.clone();
            }
            return true;
        }
        let answers = matches!(last.what, What::Testers(None)) && unanswered && named;
        if answers {
            let of = std::mem::take(&mut last.of).into_iter().chain(say.of.iter().cloned()).collect();
            let sites = last.sites.iter().chain(&say.sites).cloned().collect();
            *last = Say { of, sites, joined: last.joined, ..say.clone() };
        }
        answers
    }

    /// "swollen lump": the same thing said twice in one breath.
    fn repeats(&mut self, say: &Say<'v>) -> bool {
        let Some(last) = self.run.says.last_mut() else { return false };
        let same = match (&last.what, &say.what) {
            (What::Finding(before), What::Finding(code)) => before == code,
            _ => false,
        };
        let end = last.of.iter().map(|piece| piece.to).max();
        let adjoins = say.joined == Joined::No && end == say.of.iter().map(|piece| piece.from).min();
        if !(same && adjoins && last.negated == say.negated && (last.grade.is_none() || say.grade.is_none()))
        {
            return false;
        }
        last.of.extend(say.of.iter().cloned());
        last.grade = last.grade.take().or_else(|| say.grade.clone());
        last.aspect = last.aspect.take().or_else(|| say.aspect.clone());
        true
    }

    /// "pulses normal": not a place without findings, but a pulse that is as it should be.
    fn calms(&mut self, nad: &Say<'v>) -> bool {
        let Some(last) = self.run.says.last_mut() else { return false };
        let own = matches!(&last.what, What::Sign { code, .. } if code == "PULS" || code == "HTMP")
            || matches!(last.what, What::Testers(_));
        if own && !last.negated && last.grade.is_none() {
            last.negated = true;
            last.of.extend(nad.of.iter().cloned());
            return true;
        }
        false
    }

    pub(super) fn negate(&mut self, say: &mut Say<'v>) {
        if let Some(not) = self.not.take() {
            if std::mem::take(&mut self.strange_not) && say.grade.is_some() {
                return;
            }
            say.of_all = say.says_so && not.is(|m| matches!(m, Meaning::Them));
            say.negated = true;
            say.of.push(not);
            self.listing = true;
        } else if self.listing && say.joined != Joined::No && say.grade.is_none() {
            say.negated = true;
        } else {
            self.listing = false;
        }
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

/// "no heat pain or swelling": spoken without a comma, the "no" holds for all of them.
fn deny_list(says: &mut [Say<'_>]) {
    let open = |say: &Say<'_>| {
        let noun = matches!(say.what, What::Finding(_)) && !say.says_so;
        noun && !say.negated && say.grade.is_none() && say.mm.is_none()
    };
    for end in 1..says.len() {
        if !(open(&says[end]) && says[end].joined == Joined::Or) {
            continue;
        }
        let listed = says[..end].iter().rev().take_while(|say| open(say)).count();
        let start = end - listed;
        if start > 0 && says[start - 1].negated {
            says[start..=end].iter_mut().for_each(|say| say.negated = true);
        }
    }
}

impl<'v> Held<'v> {
    pub(super) fn grade_pieces(&self, grade: Option<&Grading<'v>>) -> Vec<Piece<'v>> {
        grade.map(|grade| grade.of.clone()).unwrap_or_default()
    }
}
