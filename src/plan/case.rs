//! A visit with everything its assessment, its signature and its addenda are made of.

use std::collections::HashMap;

use jiff::tz::TimeZone;

use super::{Part, Site, line, part::HISTORY, store};
use crate::{
    App, accounts,
    clock::Day,
    followups::{self, FollowUp},
    horses::{self, Card},
    ids::{EntryId, StaffId, VisitId},
    papers::words::{self, Units},
    practice,
    record::{self, Body, Entry, Kind},
    visits::{self, State, Visit},
    web::{Conflict, Error, Result},
};

pub(super) struct Case {
    pub visit: Visit,
    pub card: Card,
    pub today: Day,
    pub zone: TimeZone,
    units: Units,
    /// All entries of the visit, in order of receipt.
    pub all: Vec<Entry>,
    /// Those that stand.
    pub current: Vec<Entry>,
    /// The horse's open follow-ups, the earliest first.
    pub follow_ups: Vec<FollowUp>,
    pub open_handover: Option<store::OpenHandover>,
    names: HashMap<StaffId, String>,
}

impl Case {
    pub(super) async fn load(app: &App, id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = visits::store::get(db, id).await?;
        let card = horses::store::card(db, visit.horse_id).await?;
        let practice = practice::store::get(db).await?;
        let staff = accounts::store::all(db).await?;
        Ok(Case {
            today: app.clock.now().day(&practice.zone),
            all: record::entries_of_visit(db, id).await?,
            current: record::current_of_visit(db, id).await?,
            follow_ups: followups::store::open_of_horse(db, card.id).await?,
            open_handover: store::open_handover(db, id).await?,
            names: staff.into_iter().map(|s| (s.id, s.name)).collect(),
            visit,
            card,
            units: Units::of(&practice),
            zone: practice.zone,
        })
    }

    pub(super) fn name_of(&self, who: StaffId) -> &str {
        self.names.get(&who).map_or("somebody", String::as_str)
    }

    pub(super) fn is_open(&self) -> bool {
        self.visit.state.is_open()
    }

    pub(super) fn is_signed(&self) -> bool {
        self.visit.state == State::Signed
    }

    /// The newest entry that a page shows: what comes after it was not seen there.
    pub(super) fn newest(&self) -> i64 {
        self.all.last().map_or(0, |e| e.seq)
    }

    /// Who entered it and when, for the end of a line.
    pub(super) fn by_line(&self, entry: &Entry) -> String {
        let at = entry.seen().words(&self.zone);
        let off = if entry.clock_was_off() { ", the tablet's clock was off" } else { "" };
        if entry.seen_by == entry.entered_by {
            format!("{}, {at}{off}", self.name_of(entry.seen_by))
        } else {
            let (seen, typed) = (self.name_of(entry.seen_by), self.name_of(entry.entered_by));
            format!("{seen}, typed by {typed}, {at}{off}")
        }
    }

    /// The standing entries of one part of the assessment.
    pub(super) fn of_part(&self, part: Part) -> impl Iterator<Item = (&Entry, &Body)> {
        self.current.iter().filter_map(move |e| {
            let body = e.body.as_ref()?;
            let is = Part::of(body.kind) == Some(part)
                && (part != Part::History || body.value.as_deref() == Some(HISTORY));
            is.then_some((e, body))
        })
    }

    /// Whether the visit says anything in this part.
    pub(super) fn has(&self, part: Part) -> bool {
        match part {
            Part::FollowUp => self.follow_ups.iter().any(|f| self.is_of_this(f)),
            _ => self.of_part(part).next().is_some(),
        }
    }

    /// Whether a follow-up came out of this visit.
    pub(super) fn is_of_this(&self, follow_up: &FollowUp) -> bool {
        follow_up.visit_id == Some(self.visit.id)
    }

    /// What was found abnormal: where, and in words.
    pub(super) fn abnormal(&self) -> Vec<(Site, String)> {
        let bodies = self.current.iter().filter_map(|e| e.body.as_ref());
        bodies
            .filter(|b| line::is_abnormal(b))
            .map(|b| (Site::of(b), words::sentence(b, self.units)))
            .collect()
    }

    /// The sites that are abnormal, each once, in the order they were found.
    pub(super) fn abnormal_sites(&self) -> Vec<Site> {
        let mut sites: Vec<Site> = Vec::new();
        for (site, _) in self.abnormal() {
            if site != Site::Whole && !sites.contains(&site) {
                sites.push(site);
            }
        }
        sites
    }

    /// An entry in words, also when it takes another one back.
    pub(super) fn say(&self, entry: &Entry) -> String {
        let Some(body) = &entry.body else { return "erased under the law".to_owned() };
        // One that came late names what it takes back, and does not supersede what was signed.
        let was = entry.supersedes.or(body.about);
        let earlier = self.all.iter().find(|e| Some(e.id) == was).and_then(|e| e.body.as_ref());
        match (body.kind, earlier) {
            (Kind::Withdrawal, Some(earlier)) => {
                format!("taken back: {}", words::sentence(earlier, self.units))
            }
            _ => words::sentence(body, self.units),
        }
    }

    /// Late entries that wait to be adopted. What the hands took back or corrected among them waits no more.
    pub(super) fn late(&self) -> Vec<&Entry> {
        let adopted = |id: EntryId| self.all.iter().any(|e| e.adopts() == Some(id));
        let replaced = |id: EntryId| self.all.iter().any(|e| e.supersedes == Some(id));
        let takes_back = |e: &Entry| {
            e.body.as_ref().is_some_and(|b| b.kind == Kind::Withdrawal)
                && e.supersedes.is_some_and(|was| !adopted(was))
        };
        let waits =
            |e: &&Entry| e.late && e.body.is_some() && !adopted(e.id) && !replaced(e.id) && !takes_back(e);
        self.all.iter().filter(waits).collect()
    }
}

/// Refuses what a visit in this state cannot take; what was typed stands on the page that says so.
pub(super) fn must_be_open(visit: &Visit, horse: &str, typed: &str) -> Result<()> {
    let (theirs, back) = match visit.state {
        State::InHand | State::ToSign => return Ok(()),
        State::Signed => ("signed; add it as an addendum", format!("/visits/{}/addenda", visit.id)),
        State::DidNotCome => ("closed: the horse did not come", format!("/visits/{}", visit.id)),
        State::Cancelled => ("cancelled", format!("/visits/{}", visit.id)),
        State::Booked | State::Arrived => ("not begun yet", format!("/visits/{}", visit.id)),
    };
    let what = format!("{horse}: the visit is {theirs}");
    Err(Error::Conflict(Box::new(Conflict { what, back, ..Conflict::default() }.field("Words", typed, ""))))
}
