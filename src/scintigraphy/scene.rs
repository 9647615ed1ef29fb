//! Everything that the page of a bone scan rests on.

use std::collections::HashMap;

use jiff::tz::TimeZone;

use super::store::{self, Meter, Officer, Terms};
use crate::{
    App, accounts,
    catalogue::StudyKind,
    clock::At,
    diagnostics::{Order, store as orders},
    horses::{self, Card, store::Weight},
    ids::{EntryId, OrderId, StaffId},
    practice,
    record::{
        self, Entry, Scan,
        scan::{Injection, Rate, Region, Release, Spill},
    },
    web::{Error, Result},
};

/// One thing that stands in the record of a scan, with where it is from.
pub(super) struct Told<T> {
    pub of: T,
    pub entry: EntryId,
    pub order: OrderId,
    /// Of a region the time of its scan's injection; else when it was entered.
    pub at: At,
}

pub(super) struct Scene {
    pub order: Order,
    pub card: Card,
    pub now: At,
    pub zone: TimeZone,
    /// What stands, and what was amended or taken back.
    pub standing: Vec<Entry>,
    pub gone: Vec<Entry>,
    pub terms: Terms,
    pub officers: Vec<Officer>,
    pub meters: Vec<Meter>,
    pub weights: Vec<Weight>,
    /// Of all scans of the horse, the oldest first.
    pub regions: Vec<Told<Region>>,
    /// Why an entry was amended or taken back, by the entry.
    reasons: HashMap<EntryId, String>,
    names: HashMap<StaffId, String>,
}

impl Scene {
    /// Of a bone scan; nothing is found for an order of another kind.
    pub(super) async fn load(app: &App, id: OrderId) -> Result<Self> {
        let db = app.db.read();
        let order = orders::get(db, id).await?;
        if order.kind != StudyKind::BoneScan {
            return Err(Error::NotFound);
        }
        let (standing, gone) = record::results_of_order(db, id).await?;
        let reason = |entry: &Entry| Some((entry.supersedes?, entry.body.as_ref()?.reason.clone()?));
        let reasons = standing.iter().chain(&gone).filter_map(reason).collect();
        Ok(Scene {
            reasons,
            card: horses::store::card(db, order.horse_id).await?,
            now: app.clock.now(),
            zone: practice::store::get(db).await?.zone,
            standing: standing.into_iter().filter(|entry| scan_of(entry).is_some()).collect(),
            gone: gone.into_iter().filter(|entry| scan_of(entry).is_some()).collect(),
            terms: store::terms(db).await?,
            officers: store::officers(db).await?,
            meters: store::meters(db).await?,
            weights: horses::store::weights(db, order.horse_id).await?,
            regions: regions(app, &order).await?,
            names: accounts::store::all(db).await?.into_iter().map(|s| (s.id, s.name)).collect(),
            order,
        })
    }

    pub(super) fn scans(&self) -> impl Iterator<Item = (&Entry, &Scan)> {
        self.standing.iter().filter_map(|entry| Some((entry, scan_of(entry)?)))
    }

    /// What stands of one kind, in the order it was entered.
    fn of<'a, T: 'a>(
        &'a self,
        pick: fn(&'a Scan) -> Option<&'a T>,
    ) -> impl Iterator<Item = (&'a Entry, &'a T)> {
        self.scans().filter_map(move |(entry, scan)| Some((entry, pick(scan)?)))
    }

    /// The horse is injected once an order.
    pub(super) fn injection(&self) -> Option<(&Entry, &Injection)> {
        self.of(|scan| if let Scan::Injection(one) = scan { Some(one) } else { None }).next()
    }

    pub(super) fn half_life_h(&self) -> Option<f64> {
        self.injection().map(|(_, one)| one.half_life_h)
    }

    pub(super) fn rates(&self) -> Vec<(&Entry, &Rate)> {
        self.of(|scan| if let Scan::Rate(one) = scan { Some(one) } else { None }).collect()
    }

    pub(super) fn spills(&self) -> Vec<(&Entry, &Spill)> {
        self.of(|scan| if let Scan::Spill(one) = scan { Some(one) } else { None }).collect()
    }

    pub(super) fn release(&self) -> Option<(&Entry, &Release)> {
        self.of(|scan| if let Scan::Release(one) = scan { Some(one) } else { None }).next()
    }

    /// Why an entry does not stand.
    pub(super) fn why(&self, entry: &EntryId) -> &str {
        self.reasons.get(entry).map_or("", String::as_str)
    }

    pub(super) fn is_officer(&self, who: StaffId) -> bool {
        self.officers.iter().any(|officer| officer.id == who)
    }

    pub(super) fn name(&self, who: StaffId) -> &str {
        self.names.get(&who).map_or("somebody", String::as_str)
    }

    /// "Vala Test, 12 Mar 2026, 09:00"
    pub(super) fn by(&self, entry: &Entry) -> String {
        format!("{}, {}", self.name(entry.seen_by), entry.seen().words(&self.zone))
    }
}

pub(super) fn scan_of(entry: &Entry) -> Option<&Scan> {
    entry.body.as_ref()?.scan.as_ref()
}

/// The regions of every scan of the order's horse.
async fn regions(app: &App, order: &Order) -> Result<Vec<Told<Region>>> {
    let db = app.db.read();
    let mut regions = Vec::new();
    for other in orders::of_horse(db, order.horse_id).await? {
        if other.kind != StudyKind::BoneScan {
            continue;
        }
        let (standing, _) = record::results_of_order(db, other.id).await?;
        let injected = standing.iter().filter_map(scan_of).find_map(|scan| match scan {
            Scan::Injection(one) => Some(one.at),
            _ => None,
        });
        for entry in &standing {
            if let Some(Scan::Region(one)) = scan_of(entry) {
                let at = injected.unwrap_or(entry.seen());
                regions.push(Told { of: one.clone(), entry: entry.id, order: other.id, at });
            }
        }
    }
    regions.sort_by_key(|told| told.at);
    Ok(regions)
}
