//! What hands find: places, findings and what goes with them, bound together clause by clause.

mod bind;
mod record;
mod run;

use super::{
    piece::Piece,
    place::{self, Phrase, Tells},
    scene::Scene,
};
use crate::catalogue::words::Meaning;
use bind::Binder;
use run::Run;

/// A stretch between two breaks.
struct Clause<'v> {
    items: Vec<Item<'v>>,
    /// A full stop stands before it.
    after_stop: bool,
}

enum Item<'v> {
    Places(Vec<Phrase<'v>>),
    Run(Run<'v>),
}

pub(super) fn read<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>]) {
    let mut binder = Binder::new(scene);
    for (after_stop, range) in clauses(pieces) {
        let clause = Clause { items: items(range), after_stop };
        binder.clause(clause);
    }
    binder.finish();
}

/// The stretches between breaks, and whether a full stop stands before each.
fn clauses<'a, 'v>(pieces: &'a [Piece<'v>]) -> Vec<(bool, &'a [Piece<'v>])> {
    let mut out = Vec::new();
    let mut after_stop = false;
    for stretch in pieces.split_inclusive(Piece::is_break) {
        let (words, stops) = match stretch.split_last() {
            Some((last, words)) if last.is_break() => (words, last.is_stop()),
            _ => (stretch, false),
        };
        if !words.is_empty() {
            out.push((after_stop, words));
            after_stop = stops;
        } else {
            after_stop |= stops;
        }
    }
    out
}

fn items<'v>(pieces: &[Piece<'v>]) -> Vec<Item<'v>> {
    let testers = pieces.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Testers(_))));
    let mut items = Vec::new();
    let (mut start, mut at) = (0, 0);
    while at < pieces.len() {
        let tells = Tells { testers, dual_is_place: is_dual_place(pieces, at) };
        match place::phrases(pieces, at, &tells) {
            Some((phrases, end)) => {
                flush(&mut items, &pieces[start..at], testers);
                items.push(Item::Places(phrases));
                (start, at) = (end, end);
            }
            None => at += 1,
        }
    }
    flush(&mut items, &pieces[start..], testers);
    items
}

fn flush<'v>(items: &mut Vec<Item<'v>>, pieces: &[Piece<'v>], testers: bool) {
    if !pieces.is_empty() {
        items.push(Item::Run(run::read(pieces, testers)));
    }
}

/// "splint" and "curb" name the place where something else is said of it in the clause; after "no" they never do.
fn is_dual_place(pieces: &[Piece<'_>], at: usize) -> bool {
    let dual = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Sign { or_place: true, .. }));
    let Some(index) = (at..pieces.len()).find(|&index| dual(&pieces[index])) else { return false };
    let denied = index > 0 && pieces[index - 1].is(|m| matches!(m, Meaning::Not));
    let says = |piece: &Piece<'_>| {
        !dual(piece)
            && piece.is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. } | Meaning::Nad))
    };
    let mut after = pieces[index + 1..].iter().take_while(|piece| !piece.is_limbish() && !piece.is_spot());
    !denied && (after.any(says) || pieces[..index].iter().any(says))
}
