//! One planned visit into the database: booked, begun, examined and signed, at the times it is told of.

use std::collections::HashMap;

use super::{dice::Dice, horses::Horse, people::Staff, plan::Planned, store};
use crate::{
    clock::{At, Day},
    db::Tx,
    followups::store::NewFollowUp,
    horses::Status,
    ids::{EntryId, FollowUpId, HorseId, StaffId, VisitId},
    record::{self, Body, Kind, NewEntry, Stamp},
    visits::{
        self, State,
        complaint::NewComplaint,
        store::{
            NewVisit, booking,
            changes::{self, NewChange},
            handover,
        },
    },
};

/// Entries of a visit in hand: its beginning.
const BEGUN: usize = 4;

/// What every visit is written with.
pub(super) struct Writer<'a> {
    pub staff: &'a Staff,
    pub horses: &'a [Horse],
    pub zone: jiff::tz::TimeZone,
    pub today: Day,
    pub now: At,
    pub dice: Dice,
    /// When the newest entry was received: the record's own order is that of receipt.
    pub received: At,
    /// The last block: what is seen after it is about it.
    pub needle: Option<EntryId>,
    /// What was promised last at each horse.
    pub promised: HashMap<HorseId, (FollowUpId, Day)>,
}

impl Writer<'_> {
    pub(super) async fn visit(&mut self, tx: &mut Tx, p: &Planned) -> anyhow::Result<()> {
        let horse = &self.horses[p.horse];
        let vet = self.staff.vets[p.slot.vet];
        let start = self.start(p);
        let id = VisitId::new();
        let booked_at = self.booked_at(p, start);
        let new = NewVisit {
            id,
            horse: horse.id,
            client: Some(horse.owner),
            vet: Some(vet),
            place: if p.step.clinic { "clinic" } else { "yard" },
            yard: (!p.step.clinic).then_some(horse.yard),
            starts_at: start,
            minutes: p.minutes,
            urgent: p.urgent,
            walk_in: false,
            stop: None,
            state: if p.state == State::Signed { State::ToSign } else { p.state },
        };
        visits::store::insert(tx, &new, self.staff.desk, booked_at).await?;
        self.note(tx, id, "booked", self.staff.desk, booked_at).await?;
        booking::add_complaint(tx, id, &complaint(p), booked_at).await?;
        match p.state {
            State::DidNotCome => self.note(tx, id, "did not come", self.staff.desk, start).await?,
            State::Arrived => self.note(tx, id, "arrived", self.staff.desk, self.past(start)).await?,
            State::Signed | State::ToSign | State::InHand => {
                self.note(tx, id, "begun", vet, self.past(start)).await?;
                self.examine(tx, id, p, vet, start).await?;
            }
            State::Booked | State::Cancelled => {}
        }
        self.keep_promise(tx, id, p, vet, start).await
    }

    fn start(&self, p: &Planned) -> At {
        let (hour, minute) = (p.slot.minute / 60, p.slot.minute % 60);
        p.slot.day.at(i8::try_from(hour).unwrap_or(0), i8::try_from(minute).unwrap_or(0), &self.zone)
    }

    /// Nothing was seen, typed or signed after the filling.
    fn past(&self, at: At) -> At {
        at.min(self.now)
    }

    fn booked_at(&mut self, p: &Planned, start: At) -> At {
        let before = if p.urgent { self.dice.between(40, 150) } else { self.dice.between(1, 9) * 1_440 + 95 };
        self.past(start.plus_minutes(-before))
    }

    async fn note(&self, tx: &mut Tx, visit: VisitId, what: &str, by: StaffId, at: At) -> sqlx::Result<()> {
        changes::note(tx, NewChange { visit, what, detail: "", reason: "" }, by, at).await
    }

    async fn examine(
        &mut self,
        tx: &mut Tx,
        id: VisitId,
        p: &Planned,
        vet: StaffId,
        start: At,
    ) -> anyhow::Result<()> {
        let mut groups = p.step.seen()?.groups;
        if p.state == State::InHand && p.handed_to.is_none() {
            groups.truncate(BEGUN);
        }
        let scribed = p.step.clinic || self.dice.percent(30);
        let entered_by = if scribed { self.staff.technician } else { vet };
        let every = (p.minutes * 60_000 / (i64::try_from(groups.len()).unwrap_or(1) + 1)).max(1_000);
        let mut seen_at = start;
        let mut all = Vec::new();
        for group in groups {
            let minutes = group.iter().find_map(|body| body.after.as_ref()?.minutes);
            #[expect(clippy::cast_possible_truncation, reason = "minutes of a course are few")]
            let waited = minutes.map(|minutes| (minutes * 60_000.0) as i64);
            seen_at = seen_at.plus_millis(waited.unwrap_or(every));
            let entries = self.append(tx, id, (vet, entered_by), self.past(seen_at), group).await?;
            all.extend(entries);
        }
        if let Some((to, words)) = &p.handed_to {
            handover::offer(tx, id, vet, self.staff.vets[*to], words, self.past(seen_at)).await?;
        }
        if p.state == State::Signed {
            let text = Some(summary(&all, self.horses[p.horse].id, vet));
            let signature = Body { text, ..Body::new(Kind::Signature) };
            let at = self.past(start.plus_minutes(p.minutes).max(seen_at));
            self.append(tx, id, (vet, vet), at, vec![signature]).await?;
            store::sign(tx, id, vet, self.received).await?;
        }
        Ok(())
    }

    async fn append(
        &mut self,
        tx: &mut Tx,
        visit: VisitId,
        (seen_by, entered_by): (StaffId, StaffId),
        seen_at: At,
        bodies: Vec<Body>,
    ) -> anyhow::Result<Vec<Body>> {
        self.received = self.received.max(seen_at.plus_millis(900)).min(self.now.max(self.received));
        let device = if seen_by == entered_by { "tablet in the truck" } else { "tablet in the clinic" };
        let stamp = Stamp {
            seen_by,
            entered_by,
            device: device.into(),
            seen_at,
            received_at: self.received,
            offset_ms: 0,
        };
        let mut entries: Vec<NewEntry> = bodies.into_iter().map(|body| NewEntry::new(visit, body)).collect();
        for entry in &mut entries {
            match entry.body.kind {
                Kind::Block => self.needle = Some(entry.id),
                Kind::Reading => entry.body.about = self.needle,
                _ => {}
            }
            if let Some(given) = &mut entry.body.given {
                given.at = Some(seen_at);
            }
        }
        record::append(tx, &stamp, &entries).await?;
        Ok(entries.into_iter().map(|entry| entry.body).collect())
    }

    /// Closes what was promised before with this visit, and promises what this one asks for.
    async fn keep_promise(
        &mut self,
        tx: &mut Tx,
        id: VisitId,
        p: &Planned,
        vet: StaffId,
        start: At,
    ) -> anyhow::Result<()> {
        let horse = &self.horses[p.horse];
        if let Some((promised, _)) = self.promised.get(&horse.id).copied() {
            match p.state {
                State::Signed => {
                    store::close_follow_up(tx, promised, None, vet, self.past(start)).await?;
                    self.promised.remove(&horse.id);
                }
                State::DidNotCome => {}
                _ => store::book_follow_up(tx, promised, id).await?,
            }
        }
        let (State::Signed, Some((days, what))) = (p.state, &p.step.follow) else { return Ok(()) };
        let due_on = p.slot.day.plus_days(*days);
        let new = NewFollowUp { horse: horse.id, visit: Some(id), due_on, what: what.clone() };
        let made = crate::followups::store::insert(tx, &new, vet, self.past(start)).await?;
        self.promised.insert(horse.id, (made, due_on));
        Ok(())
    }

    /// Most of what came due without another visit was settled by the desk; what came due lately is still open.
    pub(super) async fn settle(&mut self, tx: &mut Tx) -> anyhow::Result<()> {
        let mut left: Vec<_> = self.promised.drain().collect();
        left.sort_by_key(|(_, (_, due_on))| *due_on);
        for (horse, (id, due_on)) in left {
            let overdue = due_on.days_until(self.today);
            let fate = self.horses.iter().find(|h| h.id == horse).and_then(|h| h.fate);
            let reason = match fate {
                Some((Status::Sold, _)) => Some("Sold."),
                Some((Status::Dead, _)) => Some("Dead."),
                _ if self.dice.percent(12) => Some("The owner called: sound, no need."),
                _ => None,
            };
            let gone = matches!(fate, Some((Status::Sold | Status::Dead, _)));
            let forgotten = self.dice.percent(6);
            if gone || (overdue > 20 && !forgotten) {
                let at = due_on.plus_days(1).at(10, 0, &self.zone);
                store::close_follow_up(tx, id, reason, self.staff.desk, self.past(at)).await?;
            }
        }
        Ok(())
    }
}

fn complaint(p: &Planned) -> NewComplaint {
    let step = &p.step;
    NewComplaint {
        words: step.call.clone(),
        site: step.site.clone(),
        since: step.since.clone(),
        onset: step.onset.clone(),
        course: step.course.clone(),
        weight_bearing: step.bears.clone(),
        ..NewComplaint::default()
    }
}

/// What the signature covers, in the words that a signing vet's does.
fn summary(all: &[Body], horse: HorseId, signer: StaffId) -> String {
    let places: HashMap<String, bool> = all
        .iter()
        .filter(|b| matches!(b.kind, Kind::Place | Kind::Finding))
        .filter_map(|b| Some((b.place_key()?, b.present == Some(true))))
        .fold(HashMap::new(), |mut seen, (key, abnormal)| {
            *seen.entry(key).or_default() |= abnormal;
            seen
        });
    let swept = all.iter().filter(|b| b.sweep.is_some()).count();
    let abnormal = places.values().filter(|abnormal| **abnormal).count();
    format!(
        "horse {horse}; signer {signer}; examined {}; abnormal {abnormal}; swept {swept}; entries {}",
        places.len(),
        all.len()
    )
}
