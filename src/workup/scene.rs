//! One visit as the pages of the work-up see it: the visit, its horse, what stands in the record, and the cautions that
//! hold before a needle.

use std::sync::Arc;

use jiff::tz::TimeZone;

use super::{
    course::{Shot, shots},
    elsewhere::{self, Elsewhere, window},
};
use crate::{
    App,
    accounts::{
        self, Act, User,
        store::{Staff, name_of},
    },
    catalogue::{Where, catalogue, localise::Localising},
    clock::{At, Day},
    exam::movement::{Raised, cautions},
    horses::{self, Card},
    ids::{StaffId, VisitId},
    practice::{self, Practice},
    record::{self, Body, Entry, Kind},
    visits::{self, State, Visit},
    web::Result,
};

pub(super) struct Scene {
    pub visit: Visit,
    pub card: Card,
    pub practice: Practice,
    pub now: At,
    pub today: Day,
    pub staff: Vec<Staff>,
    pub entries: Vec<Entry>,
    pub raised: Vec<Raised>,
    pub shots: Vec<Shot>,
    /// Blocks of other visits in the window.
    pub elsewhere: Vec<Elsewhere>,
    /// In which local anaesthetic is summed.
    pub window: (At, At),
    /// The numbers of the reasoning, with the practice's own: of the day it was signed, for a visit that is.
    pub rows: Arc<Localising>,
}

impl Scene {
    pub(super) async fn load(app: &App, id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = visits::store::get(db, id).await?;
        let card = horses::store::card(db, visit.horse_id).await?;
        let practice = practice::store::get(db).await?;
        let staff = accounts::store::all(db).await?;
        let complaints = visits::store::complaints(db, id).await?;
        let entries = record::current_of_visit(db, id).await?;
        let now = app.clock.now();
        let today = now.day(&practice.zone);
        let name = |id: StaffId| name_of(&staff, id);
        let raised = cautions::for_visit(&entries, &[], &complaints, &card, today, name);
        let rows = app.weighing.rows(db, visit.signed_at).await?;
        let shots = shots(&entries, &rows);
        let window = window(&visit, &shots, now, &rows);
        let elsewhere = elsewhere::load(db, &visit, window, &rows).await?;
        Ok(Scene {
            visit,
            card,
            practice,
            now,
            today,
            staff,
            entries,
            raised,
            shots,
            elsewhere,
            window,
            rows,
        })
    }

    pub(super) fn zone(&self) -> &TimeZone {
        &self.practice.zone
    }

    /// Whether the pages offer to record: the visit goes on, and the role may examine.
    pub(super) fn takes(&self, user: &User) -> bool {
        let over = matches!(self.visit.state, State::Signed | State::DidNotCome | State::Cancelled);
        !over && user.may(Act::Examine)
    }

    /// The cautions that stand before a needle, hardest first. The horse's own warnings stand on its card right above;
    /// what they mean for a needle is said here.
    pub(super) fn before_needle(&self) -> Vec<Raised> {
        let own = |raised: &Raised| catalogue().horse.temperament.get(raised.code).is_some();
        let here = |raised: &&Raised| raised.shown_at.contains(&Where::Blocks) && !own(raised);
        self.raised.iter().filter(here).cloned().collect()
    }

    /// Those that hold a needle until somebody says why it goes in all the same.
    pub(super) fn stops(&self) -> Vec<Raised> {
        self.raised.iter().filter(|raised| raised.holds_needle()).cloned().collect()
    }

    /// The standing entries of a kind, in the order of receipt.
    pub(super) fn of(&self, kind: Kind) -> impl Iterator<Item = (&Entry, &Body)> {
        of(&self.entries, kind)
    }

    /// The last word on leave for something.
    pub(super) fn consent(&self, what: &str) -> Option<&Body> {
        consent(&self.entries, what)
    }

    pub(super) fn author(&self, id: StaffId) -> String {
        name_of(&self.staff, id)
    }

    pub(super) fn hm(&self, at: At) -> String {
        at.hm(self.zone())
    }
}

pub(super) fn of(entries: &[Entry], kind: Kind) -> impl Iterator<Item = (&Entry, &Body)> {
    entries
        .iter()
        .filter_map(|entry| Some((entry, entry.body.as_ref()?)))
        .filter(move |(_, body)| body.kind == kind)
}

pub(super) fn consent<'a>(entries: &'a [Entry], what: &str) -> Option<&'a Body> {
    of(entries, Kind::Consent).map(|(_, body)| body).filter(|body| body.code.as_deref() == Some(what)).last()
}
