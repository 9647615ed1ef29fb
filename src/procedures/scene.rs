//! Everything that the pages of one sheet rest on.

use std::collections::HashMap;

use jiff::tz::TimeZone;

use super::{form::JOINT, store};
use crate::{
    App, accounts,
    catalogue::{Limb, catalogue, procedures::Sheet},
    clock::{At, Day},
    horses::{self, Card},
    ids::{EntryId, StaffId, VisitId},
    papers::words::{self, Units},
    practice,
    record::{self, Body, Entry, Kind},
    visits::{self, Visit},
    web::{Error, Result},
};

pub(super) struct Scene {
    pub sheet: &'static Sheet,
    pub visit: Visit,
    pub card: Card,
    pub today: Day,
    pub zone: TimeZone,
    /// What stands of the visit.
    current: Vec<Entry>,
    feet: Vec<(At, Body)>,
    names: HashMap<StaffId, String>,
}

impl Scene {
    pub(super) async fn load(app: &App, visit: VisitId, sheet: &str) -> Result<Self> {
        let sheet = catalogue().procedures.sheets.get(sheet).ok_or(Error::NotFound)?;
        let db = app.db.read();
        let visit = visits::store::get(db, visit).await?;
        let zone = practice::store::get(db).await?.zone;
        Ok(Scene {
            sheet,
            card: horses::store::card(db, visit.horse_id).await?,
            today: app.clock.now().day(&zone),
            zone,
            current: record::current_of_visit(db, visit.id).await?,
            feet: store::feet(db, visit.horse_id).await?,
            names: accounts::store::all(db).await?.into_iter().map(|s| (s.id, s.name)).collect(),
            visit,
        })
    }

    /// The filled-in sheets of the visit, in the order they were entered.
    pub(super) fn filled(&self) -> impl Iterator<Item = (&Entry, &Body)> {
        let is = |body: &&Body| {
            body.code.as_deref() == Some(&self.sheet.code)
                && matches!(body.kind, Kind::Plan | Kind::Treatment)
        };
        self.current.iter().filter_map(move |entry| Some((entry, entry.body.as_ref().filter(is)?)))
    }

    pub(super) fn standing(&self, id: EntryId) -> Option<&Body> {
        self.filled().find(|(entry, _)| entry.id == id).map(|(_, body)| body)
    }

    /// What leave for injections says, where a joint is treated.
    pub(super) fn consent(&self) -> Option<String> {
        let is = |body: &&Body| body.kind == Kind::Consent && body.code.as_deref() == Some("injections");
        let body = self.current.iter().rev().filter_map(|e| e.body.as_ref()).find(is)?;
        Some(words::sentence(body, Units::default()))
    }

    pub(super) fn is_joint(&self) -> bool {
        self.sheet.code == JOINT
    }

    /// What the newest radiograph of a foot measured, with its day.
    pub(super) fn measured(&self, limb: Limb) -> Option<String> {
        let (at, body) = self.feet.iter().find(|(_, body)| body.limb.as_deref() == Some(limb.code()))?;
        let words = words::sentence(body, Units::default());
        Some(format!("{words} ({})", at.day(&self.zone).words()).chars().take(500).collect())
    }

    /// "Vala Test, 12 Mar 2026, 09:00"
    pub(super) fn by(&self, entry: &Entry) -> String {
        let name = self.names.get(&entry.seen_by).map_or("somebody", String::as_str);
        format!("{name}, {}", entry.seen().words(&self.zone))
    }

    pub(super) fn at(&self) -> String {
        format!("/visits/{}/procedures/{}", self.visit.id, self.sheet.code)
    }
}
