//! The bar of sections: where everything stands, how far it has come, and one tap to each. From it follows which
//! section is open.

use super::{
    movement::Sections,
    sections::{Progress, Stage},
    view::PartView,
    way::Way,
};

/// One section in the bar, in the order of the work.
pub(super) struct Stop {
    pub id: &'static str,
    pub word: &'static str,
    pub progress: Progress,
    pub href: String,
}

/// What decides which section is open.
#[derive(Debug, Default)]
pub(super) struct Wanted<'a> {
    /// Something in it is wrong, or somebody asked for it, or for one of its places.
    pub named: Vec<&'a str>,
    /// A form of this section was taken.
    pub from: &'a str,
}

pub(super) fn stops(moving: &Sections, parts: &[PartView], way: &Way) -> Vec<Stop> {
    let hands = parts.iter().map(|view| (view.part.id(), view.part.short(), view.progress()));
    let all = moving.before().into_iter().chain(hands).chain(moving.after());
    all.map(|(id, word, progress)| Stop { id, word, progress, href: way.to(id) }).collect()
}

/// The section to unfold: what was named; else where the last tap was, until that is finished; else the next one
/// that is under way or not begun.
pub(super) fn unfolded<'a>(stops: &'a [Stop], wanted: &Wanted<'a>) -> Option<&'a str> {
    if let Some(named) = wanted.named.iter().find(|name| stops.iter().any(|stop| stop.id == **name)) {
        return Some(named);
    }
    let from = stops.iter().position(|stop| stop.id == wanted.from);
    let open = |stop: &&Stop| !stop.progress.is_done();
    let next = from.and_then(|at| stops[at..].iter().find(open));
    let under_way = || stops.iter().find(|stop| stop.progress.stage == Stage::Begun);
    next.or_else(under_way).or_else(|| stops.iter().find(open)).map(|stop| stop.id)
}

impl Stop {
    /// In words, for those who hear the bar.
    pub(super) fn state(&self) -> &'static str {
        match (self.progress.stage, self.progress.abnormal) {
            (Stage::Whole, false) => "done",
            (Stage::Whole, true) => "done, abnormal",
            (_, true) => "begun, abnormal",
            (Stage::Begun | Stage::Done, false) => "begun",
            (Stage::Untouched, false) => "",
        }
    }

    pub(super) fn sign(&self) -> &'static str {
        match (self.progress.stage, self.progress.abnormal) {
            (_, true) => "\u{25cf}",
            (Stage::Whole, false) => "\u{2713}",
            (Stage::Begun | Stage::Done, false) => "\u{25d0}",
            (Stage::Untouched, false) => "",
        }
    }
}
