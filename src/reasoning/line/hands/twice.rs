//! What is said twice in one breath, or in two words, is one thing: "swollen lump", "digital pulse bounding".

use super::{
    run::Taker,
    say::{Joined, Say, What},
};
use crate::reasoning::line::piece::Piece;

impl<'v> Taker<'v> {
    /// "digital pulse bounding": the second word says how much.
    pub(super) fn strengthens(&mut self, say: &Say<'v>) -> bool {
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
        // "no sole pain with testers": what is denied at one site is not there.
        if named && last.negated && !last.sites.is_empty() && say.joined == Joined::No && say.sites.is_empty()
        {
            last.of.extend(say.of.iter().cloned());
            return true;
        }
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

    /// "HT + at the toe": a plus alone is an answer and no grade.
    pub(super) fn answers_plus(&mut self, piece: &Piece<'v>) -> bool {
        let alone = piece.to - piece.from == 1;
        let plus = piece.number().is_some_and(|number| number.plus && alone && number.value <= 1.0);
        let open = |say: &&mut Say<'v>| {
            matches!(say.what, What::Testers(None)) && say.grade.is_none() && !say.negated
        };
        let Some(say) = self.run.says.last_mut().filter(open).filter(|_| plus) else { return false };
        say.what = What::Testers(Some(true));
        say.of.push(piece.clone());
        true
    }

    /// "swollen lump": the same thing said twice in one breath.
    pub(super) fn repeats(&mut self, say: &Say<'v>) -> bool {
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

    /// "wire cut scar", "scar from an old cut": no wound any more.
    pub(super) fn scars(&mut self, say: &Say<'v>) -> bool {
        let code =
            |say: &Say<'v>| if let What::Finding(code) = &say.what { code.clone() } else { String::new() };
        let Some(last) = self.run.says.last_mut() else { return false };
        let pair = [code(last), code(say)];
        let scar = pair.contains(&"SCAR".to_owned()) && pair.contains(&"WOND".to_owned());
        let one = scar && say.joined == Joined::No && !say.negated && !last.negated;
        if one {
            last.what = What::Finding("SCAR".to_owned());
            last.of.extend(say.of.iter().cloned());
        }
        one
    }

    /// "normal digital pulses"
    pub(super) fn is_calm(&mut self, say: &mut Say<'v>) {
        let own = matches!(&say.what, What::Sign { code, grade: None, .. } if code == "PULS" || code == "HTMP")
            || matches!(&say.what, What::Testers(None));
        let nad = |last: &mut Say<'v>| matches!(last.what, What::Nad { rest: false });
        if own
            && say.grade.is_none()
            && say.joined == Joined::No
            && let Some(nad) = self.run.says.pop_if(nad)
        {
            say.negated = true;
            say.of.extend(nad.of);
        }
    }

    /// "pulses normal": not a place without findings, but a pulse that is as it should be.
    pub(super) fn calms(&mut self, nad: &Say<'v>) -> bool {
        let Some(last) = self.run.says.last_mut() else { return false };
        let own = matches!(&last.what, What::Sign { code, .. } if code == "PULS" || code == "HTMP")
            || matches!(last.what, What::Testers(_));
        if own && !last.negated && last.grade.is_none() {
            last.negated = true;
            last.of.extend(nad.of.iter().cloned());
            return true;
        }
        // "white line tight and clean": nothing more than that.
        let sound = matches!(last.what, What::Pick { normal: true, .. }) && nad.joined == Joined::And;
        if sound {
            last.of.extend(nad.of.iter().cloned());
        }
        sound
    }
}
