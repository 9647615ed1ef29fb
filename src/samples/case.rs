//! An order of samples with everything that was said about its samples.

use std::collections::HashMap;

use jiff::tz::TimeZone;

use super::{Laboratory, Plan, is_sample, store};
use crate::{
    App, accounts,
    clock::{At, Day},
    diagnostics::{self, Item, Order},
    ids::{EntryId, OrderId, StaffId},
    practice,
    record::{self, Body, Entry, Kind},
    web::{Error, Result},
};

/// The kinds of entries that are made here.
const OURS: [Kind; 3] = [Kind::Sample, Kind::Parcel, Kind::Enzyme];

#[derive(Debug)]
pub(super) struct Case {
    pub order: Order,
    pub items: Vec<Item>,
    pub plan: Plan,
    pub laboratories: Vec<Laboratory>,
    pub zone: TimeZone,
    pub now: At,
    standing: Vec<Entry>,
    superseded: Vec<Entry>,
    names: HashMap<StaffId, String>,
}

impl Case {
    /// An order of something else has no samples, and no page of them.
    pub(super) async fn load(app: &App, id: OrderId) -> Result<Self> {
        let db = app.db.read();
        let order = diagnostics::store::get(db, id).await?;
        if !is_sample(order.kind) {
            return Err(Error::NotFound);
        }
        let (standing, superseded) = record::results_of_order(db, id).await?;
        Ok(Case {
            items: diagnostics::store::items(db, id).await?,
            plan: store::plan(db, id).await?,
            laboratories: store::laboratories(db).await?,
            zone: practice::store::get(db).await?.zone,
            now: app.clock.now(),
            names: accounts::store::all(db).await?.into_iter().map(|s| (s.id, s.name)).collect(),
            order,
            standing,
            superseded,
        })
    }

    pub(super) fn today(&self) -> Day {
        self.now.day(&self.zone)
    }

    /// The entries of a kind that stand, the oldest first.
    pub(super) fn of(&self, kind: Kind) -> impl Iterator<Item = (&Entry, &Body)> {
        said(&self.standing).filter(move |(_, body)| body.kind == kind)
    }

    /// An entry made here that stands.
    pub(super) fn standing(&self, id: EntryId) -> Option<(&Entry, &Body)> {
        said(&self.standing).find(|(entry, body)| entry.id == id && OURS.contains(&body.kind))
    }

    /// What was amended or taken back here.
    pub(super) fn earlier(&self) -> impl Iterator<Item = (&Entry, &Body)> {
        said(&self.superseded).filter(|(_, body)| OURS.contains(&body.kind))
    }

    pub(super) fn laboratory(&self) -> Option<&Laboratory> {
        let id = self.plan.laboratory?;
        self.laboratories.iter().find(|one| one.id == id)
    }

    /// Those in use, and the one that is planned.
    pub(super) fn to_choose(&self) -> Vec<Laboratory> {
        let kept = self.laboratories.iter().filter(|one| one.in_use || Some(one.id) == self.plan.laboratory);
        kept.cloned().collect()
    }

    /// A laboratory by the name that was typed.
    pub(super) fn named(&self, name: &str) -> Option<&Laboratory> {
        self.laboratories.iter().find(|one| one.name.to_lowercase() == name.trim().to_lowercase())
    }

    pub(super) fn name(&self, who: StaffId) -> &str {
        self.names.get(&who).map_or("somebody", String::as_str)
    }

    pub(super) fn codes(&self) -> Vec<String> {
        self.items.iter().map(|item| item.code.clone()).collect()
    }
}

fn said(entries: &[Entry]) -> impl Iterator<Item = (&Entry, &Body)> {
    entries.iter().filter_map(|entry| Some((entry, entry.body.as_ref()?)))
}
