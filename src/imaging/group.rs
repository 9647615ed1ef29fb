//! What came in together, and how a person reads it.

use super::{
    Source,
    store::objects::{self, Arrival},
};
use crate::{App, ids::ArrivalId, web::Result};

/// So many objects are looked at for one page; the rest follow as these are worked off.
pub(super) const LOOKED_AT: i64 = 2000;

/// Objects of one study, sent together: they go to one order together.
#[derive(Debug)]
pub(super) struct Group {
    pub first: Arrival,
    pub rest: Vec<Arrival>,
}

impl Group {
    /// Of the objects that wait, those that belong together. One whose UID stands for two different objects is looked
    /// at by itself.
    pub(super) fn all(waiting: Vec<Arrival>) -> Vec<Group> {
        let mut groups: Vec<Group> = Vec::new();
        for arrival in waiting {
            let with = groups.iter_mut().find(|group| group.first.goes_with(&arrival));
            match with {
                Some(group) => group.rest.push(arrival),
                None => groups.push(Group { first: arrival, rest: Vec::new() }),
            }
        }
        groups
    }

    /// The waiting objects that belong together with this one.
    pub(super) async fn of(app: &App, id: ArrivalId) -> Result<Option<Group>> {
        let Some(first) = objects::get_waiting(app.db.read(), id).await? else { return Ok(None) };
        let waiting = objects::waiting(app.db.read(), LOOKED_AT).await?;
        let rest = waiting.into_iter().filter(|other| other.id != id && first.goes_with(other)).collect();
        Ok(Some(Group { first, rest }))
    }

    pub(super) fn ids(&self) -> Vec<ArrivalId> {
        std::iter::once(&self.first).chain(&self.rest).map(|arrival| arrival.id).collect()
    }

    pub(super) fn count_words(&self) -> String {
        match self.rest.len() {
            0 => "1 picture".into(),
            n => format!("{} pictures", n + 1),
        }
    }
}

impl Arrival {
    fn goes_with(&self, other: &Arrival) -> bool {
        !self.study_uid.is_empty()
            && self.study_uid == other.study_uid
            && self.under_uid == 1
            && other.under_uid == 1
    }

    /// Whom the equipment means, as a person reads it.
    pub(super) fn patient(&self) -> String {
        let name: Vec<&str> = self.patient_name.split(['^', '=']).filter(|part| !part.is_empty()).collect();
        if name.is_empty() { "no name".into() } else { name.join(", ") }
    }

    /// The name of the horse in it, to look it up by: the second part of an animal's name (PS3.5 6.2).
    pub(super) fn horse_name(&self) -> &str {
        let mut parts = self.patient_name.split('^');
        let first = parts.next().unwrap_or_default();
        parts.next().filter(|horse| !horse.is_empty()).unwrap_or(first)
    }

    /// What it shows: `DX FOREFETLOCK L LM`.
    pub(super) fn shows(&self) -> String {
        let view = if self.view_position.is_empty() { &self.view_name } else { &self.view_position };
        let parts = [&self.modality, &self.body_part, &self.laterality, view];
        parts.into_iter().filter(|part| !part.is_empty()).cloned().collect::<Vec<_>>().join(" ")
    }

    pub(super) fn from(&self) -> String {
        match self.source {
            Source::Network => format!("from {}", self.calling_ae),
            Source::Upload => format!("sent by hand, {}", self.calling_ae),
            Source::Folder => format!("out of the folder, {}", self.calling_ae),
        }
    }
}
