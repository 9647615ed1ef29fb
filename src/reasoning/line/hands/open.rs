//! What could be at several places is asked, with the row that each choice comes to.

use super::{
    made::{code_of, rows},
    record::{Recorder, limbs_of},
    say::Say,
};
use crate::{
    catalogue::{Limb, Place, Section, words::Spot},
    reasoning::line::{
        piece::Piece,
        place::{self, At, Chosen, Phrase},
        reading::{Answer, Ask, Choice, Made},
    },
};

impl<'v> Recorder<'_, 'v> {
    /// The limb or side is open; where one place would follow from it, the choice names it.
    pub(super) fn ask_limb(
        &mut self,
        say: &Say<'v>,
        (spot, code): (&Spot, &str),
        (question, choices): (String, Vec<Choice>),
        phrase: &Phrase<'v>,
        of: &[Piece<'v>],
    ) {
        let mut open = Open::default();
        for choice in choices {
            let limb = choice.limb.as_deref().and_then(|limb| limb.parse().ok()).map(At::Limb);
            let side = choice.side.as_deref().and_then(|side| side.parse().ok()).map(At::Side);
            let chosen = limb.or(side).map(|at| place::choose(spot, at, code, phrase.aspect.as_deref()));
            match chosen {
                Some(Chosen::One { place, finding, aspect }) => open.add(say, place, &finding, aspect),
                _ => open.leave(Choice { finding: Some(code.to_owned()), ..choice }),
            }
        }
        self.scene.push(Made::Ask(open.ask(&question)), of.to_vec());
    }

    /// A finding without a place: the places of the limb that offer it, or the bare finding.
    pub(super) fn ask_where(&mut self, say: &Say<'v>, phrase: &Phrase<'v>, of: &[Piece<'v>]) {
        let code = code_of(say);
        let limbs = limbs_of(phrase, &self.scene.context.limbs);
        let mut open = Open::default();
        // For several limbs a list of all their places would be no question any more.
        for limb in limbs.iter().filter(|_| limbs.len() == 1) {
            let places = Section::Limb(*limb).places().into_iter();
            places
                .filter(|place| place.region().offer.contains(&code))
                .for_each(|place| open.add(say, place, &code, say.aspect.clone()));
        }
        if open.choices.is_empty() {
            let whole = |limb: Option<&Limb>| Choice {
                side: limb.map(|limb| limb.side().code().to_owned()),
                limb: limb.map(|limb| limb.code().to_owned()),
                finding: Some(code.clone()),
                ..Choice::default()
            };
            if limbs.is_empty() {
                open.leave(whole(None));
            }
            for limb in &limbs {
                open.leave(whole(Some(limb)));
            }
        }
        self.scene.context.limbs.clone_from(&limbs);
        self.scene.push(Made::Ask(open.ask("Where is it?")), of.to_vec());
    }
}

/// The choices of a question, each with the row it comes to.
#[derive(Default)]
pub(super) struct Open {
    pub(super) choices: Vec<Choice>,
    pub(super) answers: Vec<Option<Answer>>,
}

impl Open {
    pub(super) fn add(&mut self, say: &Say<'_>, place: Place, finding: &str, aspect: Option<String>) {
        self.choices.push(place::place_choice(place, Some(finding)));
        self.answers.push(rows(say, place, finding, aspect).into_iter().next().map(Answer::Finding));
    }

    /// A choice that leaves something open.
    pub(super) fn leave(&mut self, choice: Choice) {
        self.choices.push(choice);
        self.answers.push(None);
    }

    pub(super) fn ask(self, question: &str) -> Ask {
        Ask { question: question.to_owned(), choices: self.choices, answers: self.answers, ..Ask::default() }
    }
}
