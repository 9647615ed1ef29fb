//! Making room for an emergency: every visit in the way gets its new time or is to be rung back, in the one transaction
//! that books the emergency, and whoever has to be told is listed.

use super::form::when_words;
use crate::{
    accounts::User,
    clock::At,
    contacts::{self, store::Owed},
    ids::{StaffId, VisitId},
    practice, rounds,
    visits::{
        State,
        store::{
            self,
            changes::{self, NewChange},
            day::{self, Line},
            stop,
        },
    },
    web::{Conflict, Error, Once, Result},
};

/// A visit, or the stop that begins with it, and where it goes: to a vet at a time, or nowhere yet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clearing {
    visit: VisitId,
    to: Option<(StaffId, At)>,
    /// Tells whether any of it was changed since it was shown.
    stamp: i64,
}

impl Clearing {
    pub(super) fn read(id: &str, choice: &str) -> Option<Self> {
        let (to, stamp) = rounds::nearest::read_choice(choice)?;
        Some(Clearing { visit: id.parse().ok()?, to, stamp })
    }
}

/// What was taken out of the way: each visit as it stood, and by how much it moves.
pub(super) struct Aside {
    lines: Vec<(Line, Option<(StaffId, At)>)>,
}

/// Takes what the vet has in the way out of it. What other vets have, which the page names too, stays.
pub(super) async fn set_aside(once: &mut Once, vet: StaffId, moves: &[Clearing]) -> Result<Aside> {
    let mut lines = Vec::new();
    for one in moves {
        let visit = store::get(&mut *once.tx, one.visit).await?;
        if visit.vet_id != Some(vet) {
            continue;
        }
        let group = stop::moved_with(&mut *once.tx, &visit).await?;
        let mut stamp = 0;
        for line in &group {
            stamp += store::get(&mut *once.tx, line.id).await?.version;
        }
        if visit.state != State::Booked || stamp != one.stamp {
            return Err(changed());
        }
        let begins = group.first().map_or(visit.starts_at, |line| line.starts_at);
        for line in group {
            rounds::store::set_aside(&mut once.tx, line.id).await?;
            let to = one.to.map(|(vet, at)| (vet, at.plus_minutes(line.starts_at.minutes_since(begins))));
            lines.push((line, to));
        }
    }
    Ok(Aside { lines })
}

/// Gives what was set aside its new time, and lists whom to tell. Gives the words for the desk.
pub(super) async fn place(once: &mut Once, aside: Aside, user: &User) -> Result<Vec<String>> {
    let zone = practice::store::get(&mut *once.tx).await?.zone;
    let mut told = Vec::new();
    for (line, to) in aside.lines {
        let version = store::get(&mut *once.tx, line.id).await?.version;
        let at = to.map_or(line.starts_at, |(_, at)| at);
        if rounds::store::retime(&mut once.tx, line.id, version, at).await? == 0 {
            return Err(changed());
        }
        let (what, detail, kind) = if let Some((vet, at)) = to {
            match rounds::store::give_back(&mut once.tx, line.id, vet).await {
                Err(error) if store::is_overlap(&error) => return Err(changed()),
                given => given?,
            }
            let now = day::line(&mut *once.tx, line.id).await?;
            let vet = now.vet.clone().unwrap_or_default();
            let to = when_words(at, now.minutes, &zone, &vet, now.where_());
            told.push(format!("{} {} → {}", line.horse, line.starts_at.hm(&zone), at.words(&zone)));
            ("moved", format!("from {} to {to}", line.starts_at.words(&zone)), "moved")
        } else {
            told.push(format!("{} to be rung back", line.horse));
            let stood = line.starts_at.words(&zone);
            ("set aside", format!("stood at {stood}, to be rung back"), "ring_back")
        };
        let change = NewChange { visit: line.id, what, detail: &detail, reason: "an emergency" };
        changes::note(&mut once.tx, change, user.id, once.now).await?;
        let owed = Owed { visit: line.id, kind, was_at: line.starts_at };
        contacts::store::owe(&mut once.tx, &owed, user.id, once.now).await?;
    }
    Ok(told)
}

fn changed() -> Error {
    let clash = Conflict {
        what: "The day has changed since this was shown: look at the call again".into(),
        back: "/call".into(),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash))
}
