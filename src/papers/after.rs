//! What happened to a visit's record besides the examination: corrections, erasures, what was added after signing,
//! and a move to another horse. Each with who and when.

use std::collections::HashMap;

use super::{
    report::{Names, name},
    words::{self, Units},
};
use crate::{
    clock::At,
    ids::{EntryId, HorseId},
    record::{Body, Entry, Kind},
};

/// A line with its date and its author.
#[derive(Debug, Clone)]
pub(super) struct Dated {
    pub at: At,
    pub by: String,
    pub words: String,
    pub note: String,
}

/// A late entry, and who took it into the record.
#[derive(Debug, Clone)]
pub(super) struct Late {
    pub said: Dated,
    pub received: At,
    pub adopted: Option<(String, At)>,
}

#[derive(Debug, Default)]
pub(super) struct After {
    pub addenda: Vec<Dated>,
    pub late: Vec<Late>,
    pub moved: Vec<Dated>,
    pub corrected: Vec<Dated>,
}

impl After {
    /// From all entries of the visit, in order of receipt.
    pub(super) fn of(all: &[Entry], names: &Names, horses: &HashMap<HorseId, String>, units: Units) -> Self {
        let by_id: HashMap<EntryId, &Entry> = all.iter().map(|e| (e.id, e)).collect();
        let mut after = After::default();
        for entry in all {
            let words =
                entry.body.as_ref().map_or_else(|| "words erased".into(), |b| words::sentence(b, units));
            let said = Dated { at: entry.seen(), by: name(names, entry.seen_by), words, note: String::new() };
            if entry.late {
                let adopted = adoption(all, entry.id).map(|e| (name(names, e.seen_by), e.received_at));
                after.late.push(Late { said, received: entry.received_at, adopted });
                continue;
            }
            if let Some(earlier) = entry.supersedes.and_then(|id| by_id.get(&id)) {
                after.corrected.push(correction(earlier, entry, said.clone(), units));
            }
            match entry.body.as_ref() {
                Some(body) if body.kind == Kind::Addendum => after.addenda.push(said),
                Some(body) if body.kind == Kind::Moved => {
                    after.moved.push(Dated { words: moved(body, horses), ..said });
                }
                _ => {}
            }
        }
        after
    }
}

fn adoption(all: &[Entry], late: EntryId) -> Option<&Entry> {
    all.iter().find(|e| e.body.as_ref().is_some_and(|b| b.kind == Kind::Adoption && b.about == Some(late)))
}

/// What it said before, what it says now, and why.
fn correction(earlier: &Entry, now: &Entry, said: Dated, units: Units) -> Dated {
    let was = earlier.body.as_ref().map_or_else(|| "words erased".into(), |b| words::sentence(b, units));
    let taken_back = now.body.as_ref().is_some_and(|b| b.kind == Kind::Withdrawal);
    let words = if taken_back { format!("taken back: {was}") } else { format!("{was}, now: {}", said.words) };
    let reason = now.body.as_ref().and_then(|b| b.reason.clone()).unwrap_or_default();
    Dated { words, note: reason, ..said }
}

fn moved(body: &Body, horses: &HashMap<HorseId, String>) -> String {
    let horse = |id: Option<HorseId>| {
        id.and_then(|id| horses.get(&id)).cloned().unwrap_or_else(|| "another horse".to_owned())
    };
    let why = body.reason.as_deref().or(body.text.as_deref()).unwrap_or("no reason given");
    format!("entered under {}, moved to {}: {why}", horse(body.from_horse), horse(body.to_horse))
}
