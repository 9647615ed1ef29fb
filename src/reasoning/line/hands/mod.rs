//! What hands find: places, findings and what goes with them, bound together clause by clause.

mod after;
mod again;
mod bind;
mod both;
mod deny;
mod direct;
mod expand;
mod goes_with;
mod loose;
mod made;
mod movement;
mod nothing;
mod open;
mod order;
mod pairs;
mod placed;
mod record;
mod run;
mod say;
mod senses;
mod stretch;
mod traits;
mod turn;
mod twice;
mod two;
mod waiting;
mod within;

use super::{
    phrase::{self, Tells},
    piece::{Look, Piece},
    place::Phrase,
    scene::Scene,
};
use crate::catalogue::words::Meaning;
use bind::Binder;
use say::Run;

/// A stretch between two breaks.
struct Clause<'v> {
    items: Vec<Item<'v>>,
    /// A full stop stands before it.
    after_stop: bool,
    /// A colon or a dash stands after it.
    heads: bool,
}

enum Item<'v> {
    Places(Vec<Phrase<'v>>),
    Run(Run<'v>),
}

pub(super) fn read<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>]) {
    let mut binder = Binder::new(scene);
    let mut testers = false;
    let pieces = traits::held(pieces, binder.carried());
    let clauses = clauses(&pieces);
    for (at, stretch) in clauses.iter().enumerate() {
        let (words, after_stop) = (stretch.words, stretch.after_stop);
        testers = speaks_of_testers(words, testers);
        let says = |next: &Stretch<'_, 'v>| next.words.iter().any(|piece| piece.is(is_found));
        let heads = stretch.heads && clauses.get(at + 1).is_some_and(says) || is_calm(&clauses[at..]);
        binder.clause(&Clause { items: items(words, testers, heads), after_stop, heads: stretch.heads });
    }
    binder.finish();
}

fn is_trait(m: &Meaning) -> bool {
    matches!(m, Meaning::Trait { .. })
}

fn is_found(m: &Meaning) -> bool {
    matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. } | Meaning::Nad)
}

/// Words between two breaks.
struct Stretch<'a, 'v> {
    words: &'a [Piece<'v>],
    after_stop: bool,
    /// A colon or a dash stands after it.
    heads: bool,
}

fn clauses<'a, 'v>(pieces: &'a [Piece<'v>]) -> Vec<Stretch<'a, 'v>> {
    let mut out = Vec::new();
    let mut after_stop = false;
    for stretch in stretches(pieces) {
        let (words, stops, heads) = match stretch.split_last() {
            Some((last, words)) if last.is_break() => (words, last.is_stop(), last.look == Look::Heading),
            _ => (stretch, false, false),
        };
        if words.is_empty() {
            after_stop |= stops;
        } else {
            out.push(Stretch { words, after_stop, heads });
            after_stop = stops;
        }
    }
    out
}

/// Testers are named here, or were before and only their sites are.
fn speaks_of_testers(pieces: &[Piece<'_>], before: bool) -> bool {
    let named = pieces.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Testers(_))));
    let site = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::TesterSite(_)));
    let says = |piece: &Piece<'_>| {
        !site(piece)
            && (piece.is(is_part)
                || piece.is(|m| {
                    matches!(m, Meaning::Sign { .. } | Meaning::Pick { .. })
                        || matches!(m, Meaning::Finding { code, .. } if code != "PAIN")
                }))
    };
    named || (before && !pieces.iter().any(says))
}

/// A place, and not the whole foot: "testers: no response in the left forefoot".
fn is_part(m: &Meaning) -> bool {
    matches!(m, Meaning::Spot { spot, .. } if spot.foot.len() < 2)
}

/// "splints, both fronts, clean": the word only names the place of which nothing was found.
fn is_calm(clauses: &[Stretch<'_, '_>]) -> bool {
    let found = |stretch: &Stretch<'_, '_>| stretch.words.iter().any(|piece| piece.is(is_found));
    let dual = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Sign { or_place: true, .. }));
    let [first, rest @ ..] = clauses else { return false };
    let names =
        first.words.iter().all(|piece| dual(piece) || !piece.is(is_found)) && first.words.iter().any(dual);
    let next = rest.iter().take_while(|next| !next.after_stop).find(|next| found(next));
    let nad = |piece: &Piece<'_>| !piece.is(is_found) || piece.is(|m| matches!(m, Meaning::Nad));
    let placed = |piece: &Piece<'_>| piece.is_limbish() || piece.is_spot();
    names && next.is_some_and(|next| next.words.iter().all(|piece| nad(piece) && !placed(piece)))
}

/// The pieces up to each break, from each "but" on, and from a "not" of which only a limb is said.
fn stretches<'a, 'v>(pieces: &'a [Piece<'v>]) -> impl Iterator<Item = &'a [Piece<'v>]> {
    let turns = |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::But));
    pieces.split_inclusive(Piece::is_break).flat_map(move |stretch| {
        let turn = stretch.iter().skip(1).position(turns).map(|at| at + 1);
        let turn = turn.or_else(|| denied_limb(stretch)).unwrap_or(stretch.len());
        let (before, after) = stretch.split_at(turn);
        [before, after].into_iter().filter(|part| !part.is_empty())
    })
}

/// "sore on the left and not on the right": where the denial of the other side begins.
fn denied_limb(stretch: &[Piece<'_>]) -> Option<usize> {
    let not = stretch.iter().rposition(|piece| piece.is(|m| matches!(m, Meaning::Not)))?;
    let (before, after) = (&stretch[..not], &stretch[not + 1..]);
    let limb = after.iter().any(Piece::is_limbish)
        && after.iter().all(|piece| piece.is_limbish() || piece.is_filler() || piece.is_break());
    let of_other = before.iter().any(|piece| piece.is(is_found)) && before.iter().any(Piece::is_limbish);
    let joined = before.last().is_some_and(Piece::joins);
    (limb && of_other).then_some(not - usize::from(joined))
}

/// `heads`: a heading, of which the next clause says something.
fn items<'v>(pieces: &[Piece<'v>], testers: bool, heads: bool) -> Vec<Item<'v>> {
    let mut items = Vec::new();
    let (mut start, mut at) = (0, 0);
    while at < pieces.len() {
        let tells = Tells { testers, dual_is_place: heads || is_dual_place(pieces, at) };
        // "up to the stifle, effusion": where the hands are now.
        let found = pieces[..at].iter().any(|piece| piece.is(is_found) || piece.is(is_trait));
        if pieces[at].is(|m| matches!(m, Meaning::Extent)) && found {
            // "filled up to the hock": no finding at the hock.
            let next = (at + 1..pieces.len()).find(|&next| !pieces[next].is_filler());
            let end = next.and_then(|next| phrase::phrases(pieces, next, &tells)).map(|(_, end)| end);
            // "left 2/4 versus right 1/4": that one is graded too.
            let graded = end.and_then(|end| pieces.get(end)).is_some_and(|piece| {
                piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Grade(..)))
            });
            at = if graded { at + 1 } else { end.unwrap_or(at + 1) };
            continue;
        }
        match phrase::phrases(pieces, at, &tells) {
            Some((phrases, end)) => {
                flush(&mut items, &pieces[start..at], testers);
                for phrases in parted(phrases, items.last(), &pieces[end..]) {
                    items.push(Item::Places(phrases));
                }
                (start, at) = (end, end);
            }
            None => at += 1,
        }
    }
    flush(&mut items, &pieces[start..], testers);
    items
}

/// "effusion in the sheath and the annular ligament is thick": the first place ends one finding, the second begins
/// the next.
fn parted<'v>(
    mut phrases: Vec<Phrase<'v>>,
    before: Option<&Item<'v>>,
    after: &[Piece<'v>],
) -> Vec<Vec<Phrase<'v>>> {
    let leads = matches!(before, Some(Item::Run(run)) if run.preposition && !run.says.is_empty());
    let next = after.iter().find(|piece| !piece.is_filler());
    let follows = next.is_some_and(|piece| {
        piece.is(|m| {
            matches!(
                m,
                Meaning::Finding { .. }
                    | Meaning::Sign { .. }
                    | Meaning::Nad
                    | Meaning::Not
                    | Meaning::Grade(..)
            )
        })
    });
    if phrases.len() > 1 && leads && follows {
        let last = phrases.split_off(phrases.len() - 1);
        return vec![phrases, last];
    }
    vec![phrases]
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
    let says = |piece: &Piece<'_>| !dual(piece) && piece.is(is_found);
    let mut after = pieces[index + 1..].iter().take_while(|piece| !piece.is_limbish() && !piece.is_spot());
    // "the splints in front are clean"
    let next = pieces[index + 1..].iter().find(|piece| !piece.is_filler() && !piece.is_limbish());
    if next.is_some_and(|next| next.is(|m| matches!(m, Meaning::Nad))) {
        return !denied;
    }
    // "curb 2 sore 1"
    let follows = |at: usize| {
        let next = pieces.get(at + 1).filter(|next| next.number().is_some());
        next.is_some() && pieces.get(at).is_some_and(|piece| dual(piece) || says(piece))
    };
    if follows(index) && (index + 1..pieces.len()).any(|at| says(&pieces[at]) && follows(at)) {
        return false;
    }
    !denied && (after.any(says) || pieces[..index].iter().any(says))
}
