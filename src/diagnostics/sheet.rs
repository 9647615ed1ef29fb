//! An order as its page needs it: with everything that was said about it.

use std::collections::HashMap;

use jiff::tz::TimeZone;

use super::{
    files,
    files::store::Filed,
    order::{Item, Order, Step, sides},
    ready::{self, Ready},
    store,
};
use crate::{
    App, accounts,
    catalogue::Limb,
    clock::Day,
    horses::{self, Card},
    ids::{OrderId, StaffId},
    imaging::store::pictures::{self, Pictured},
    practice,
    record::{self, Body, Entry, Kind},
    web::{Conflict, Error, Result},
};

/// An order with everything that was said about it.
pub(super) struct Sheet {
    pub order: Order,
    pub items: Vec<Item>,
    pub results: Vec<Entry>,
    pub superseded: Vec<Entry>,
    /// What equipment sent for it.
    pub pictures: Vec<Pictured>,
    pub card: Card,
    pub today: Day,
    pub zone: TimeZone,
    /// Files with results, those included that were taken back.
    pub filed: Vec<Filed>,
    pub ready: Vec<Ready>,
    pub steps: Vec<Step>,
    names: HashMap<StaffId, String>,
}

impl Sheet {
    pub(super) async fn load(app: &App, id: OrderId) -> Result<Self> {
        let db = app.db.read();
        let order = store::get(db, id).await?;
        let zone = practice::store::get(db).await?.zone;
        let (mut results, mut superseded) = record::results_of_order(db, id).await?;
        // Injection, rates and release have a page of their own.
        results.retain(is_result);
        superseded.retain(is_result);
        Ok(Sheet {
            items: store::items(db, id).await?,
            pictures: pictures::of_order(db, id).await?,
            filed: files::store::of_order(db, id).await?,
            ready: ready::of_order(db, id).await?,
            steps: store::steps(db, id).await?,
            names: accounts::store::all(db).await?.into_iter().map(|s| (s.id, s.name)).collect(),
            card: horses::store::card(db, order.horse_id).await?,
            today: app.clock.now().day(&zone),
            order,
            results,
            superseded,
            zone,
        })
    }

    pub(super) fn of(&self, kind: Kind) -> impl Iterator<Item = (&Entry, &Body)> {
        self.results.iter().filter_map(|e| Some((e, e.body.as_ref()?))).filter(move |(_, b)| b.kind == kind)
    }

    /// "radiographs, fetlock, left fore"
    pub(super) fn title(&self) -> String {
        let (kind, name, sides) = (self.order.kind.name(), &self.order.name, sides(&self.items));
        if sides.is_empty() { format!("{kind}, {name}") } else { format!("{kind}, {name}, {sides}") }
    }

    /// What a report may rest on: the files of what equipment sent and of what was sent with it, each once.
    pub(super) fn files(&self) -> Vec<String> {
        let pictures = self.pictures.iter().map(|one| one.sha256.clone());
        let mut files: Vec<String> =
            pictures.chain(self.attached().map(|(_, _, file)| file.sha256.clone())).collect();
        files.sort_unstable();
        files.dedup();
        files
    }

    /// The files that stand with its results.
    pub(super) fn attached(&self) -> impl Iterator<Item = (&Entry, &Body, &Filed)> {
        self.of(Kind::File).filter_map(|(entry, body)| {
            let file = self.filed.iter().find(|file| file.entry == entry.id)?;
            Some((entry, body, file))
        })
    }

    pub(super) fn name(&self, who: StaffId) -> &str {
        self.names.get(&who).map_or("somebody", String::as_str)
    }

    /// Somebody else was there first, or the order is closed; what was typed stands on the page that says so.
    pub(super) fn clash(&self, label: &str, typed: &str, theirs: &str) -> Error {
        let clash = Conflict {
            what: format!("{} of {}", self.order.name, self.card.name),
            back: format!("/diagnostics/{}", self.order.id),
            ..Conflict::default()
        };
        Error::Conflict(Box::new(clash.field(label, typed, theirs)))
    }

    /// Where the items lie; nothing for trunk and whole horse.
    pub(super) fn limbs(&self) -> Vec<Limb> {
        let mut limbs: Vec<Limb> = self.items.iter().filter_map(|item| item.side.parse().ok()).collect();
        limbs.sort_unstable();
        limbs.dedup();
        limbs
    }
}

fn is_result(entry: &Entry) -> bool {
    entry.body.as_ref().is_none_or(|body| body.kind != Kind::Scan)
}
