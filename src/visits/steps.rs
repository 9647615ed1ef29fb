//! How a visit may go on from each state: one table, asked by the buttons and by the handler.

use super::State;
use crate::accounts::Act;

/// One way on.
#[derive(Debug)]
pub struct Step {
    /// What forms send.
    pub key: &'static str,
    /// What the button says.
    pub label: &'static str,
    pub from: &'static [State],
    pub to: State,
    pub act: Act,
    /// What the visit's own history says.
    pub said: &'static str,
}

/// What the history says of a visit that was begun, by the button or by the first thing recorded.
pub const BEGUN: &str = "begun";

/// The likeliest step of a state stands first. Signing is not here: it has a page and a password of its own.
const STEPS: [Step; 7] = [
    Step {
        key: "begin",
        label: "Begin",
        from: &[State::Booked, State::Arrived],
        to: State::InHand,
        act: Act::Examine,
        said: BEGUN,
    },
    Step {
        key: "arrived",
        label: "Arrived",
        from: &[State::Booked],
        to: State::Arrived,
        act: Act::Book,
        said: "arrived",
    },
    Step {
        key: "did_not_come",
        label: "Did not come",
        from: &[State::Booked, State::Arrived],
        to: State::DidNotCome,
        act: Act::Book,
        said: "did not come",
    },
    Step {
        key: "cancel",
        label: "Cancel this visit",
        from: &[State::Booked, State::Arrived],
        to: State::Cancelled,
        act: Act::Book,
        said: "cancelled",
    },
    Step {
        key: "to_sign",
        label: "Exam is done, sign later",
        from: &[State::InHand],
        to: State::ToSign,
        act: Act::Examine,
        said: "exam done",
    },
    Step {
        key: "again",
        label: "Go on examining",
        from: &[State::ToSign],
        to: State::InHand,
        act: Act::Examine,
        said: "exam taken up again",
    },
    Step {
        key: "back",
        label: "Back to booked",
        from: &[State::Arrived, State::InHand, State::DidNotCome, State::Cancelled],
        to: State::Booked,
        act: Act::Book,
        said: "back to booked",
    },
];

/// The step that a form names.
pub fn named(key: &str) -> Option<&'static Step> {
    STEPS.iter().find(|step| step.key == key)
}

/// Every way on from a state.
pub fn from(state: State) -> impl Iterator<Item = &'static Step> {
    STEPS.iter().filter(move |step| step.from.contains(&state))
}
