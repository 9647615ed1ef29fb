//! How far a "no" reaches: over what comes next, and over the rest of its list.

use super::{
    run::{Taker, is_say},
    say::{Joined, Say, What},
};
use crate::{
    catalogue::words::{Meaning, Outcome},
    reasoning::line::piece::Piece,
};

impl<'v> Taker<'v> {
    /// "nil heat nil swelling", "neg heat", "testers 1/3 at the toe, neg heel": of what comes, not of what stood before.
    pub(super) fn denies_next(&self, pieces: &[Piece<'v>], at: usize) -> bool {
        let absent = pieces[at].is(|m| matches!(m, Meaning::Absent | Meaning::Outcome(Outcome::Negative)));
        let not = pieces[at].is(|m| matches!(m, Meaning::Not));
        let next = pieces.get(at + 1);
        let says = not && next.is_some_and(is_say);
        let finds = absent && at == 0 && next.is_some_and(|next| next.is(is_finding));
        let site = (not || absent)
            && self.testers
            && next.is_some_and(|next| next.is(|m| matches!(m, Meaning::TesterSite(_))));
        let free = self.run.says.last().is_none_or(|say| say.negated || say.grade.is_some());
        free && (says || finds && !is_graded(pieces.get(2)) || site)
    }

    /// Whether the last thing said was denied by its own word, or by one before it: "not hot or swollen or sore".
    fn lacks(&self) -> bool {
        let lacks = |piece: &Piece<'v>| {
            piece.held().map_or_else(
                || piece.is(|m| matches!(m, Meaning::Lacks(_))),
                |m| matches!(m, Meaning::Lacks(_)),
            )
        };
        let denied = |say: &Say<'v>| say.negated && say.of.first().is_some_and(lacks);
        let list = self.run.says.iter().rev().skip_while(|say| say.negated && say.joined == Joined::Or);
        list.take(1).any(denied)
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
        } else if say.joined == Joined::Or && say.grade.is_none() && self.lacks() {
            // "painless or thickened": the word itself denies.
            say.negated = true;
        } else {
            self.listing = false;
        }
    }
}

/// "no heat pain or swelling": spoken without a comma, the "no" holds for all of them.
pub(super) fn deny_list(says: &mut [Say<'_>]) {
    let open = |say: &Say<'_>| {
        let noun = matches!(say.what, What::Finding(_)) && !say.says_so;
        noun && !say.negated && say.grade.is_none() && say.mm.is_none()
    };
    for end in 1..says.len() {
        let last = Say { says_so: false, ..says[end].clone() };
        if !(open(&last) && says[end].joined == Joined::Or) {
            continue;
        }
        let listed = says[..end].iter().rev().take_while(|say| open(say)).count();
        let start = end - listed;
        if start > 0 && says[start - 1].negated {
            says[start..=end].iter_mut().for_each(|say| say.negated = true);
        }
    }
}

/// "neg heat", "-ve thk", "absent digital pulses": of which it is said that it is not there.
fn is_finding(m: &Meaning) -> bool {
    matches!(m, Meaning::Finding { .. } | Meaning::Sign { or_place: false, .. })
}

fn is_graded(piece: Option<&Piece<'_>>) -> bool {
    piece.is_some_and(|piece| piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Grade(..))))
}
