//! From a form of the exam into the record: once, with whose words they are and by which clock, and only while
//! the visit is open. The first thing recorded begins the visit; what arrives after signing is kept as late.

use axum::response::Response;

use crate::{
    App,
    accounts::{self, Act, User},
    clock::At,
    db::Tx,
    ids::{EntryId, StaffId, VisitId},
    record::{self, Body, Entry, Kind, NewEntry, Stamp},
    visits::{
        self, State, Visit,
        steps::BEGUN,
        store::changes::{self, NewChange},
    },
    web::{self, Begun, Bound, Error, Errors, Once, Result},
};

/// Milliseconds further from 1970 than this are no clock's: the year 5138.
const NO_CLOCK: i64 = 100_000_000_000_000;

/// What every form of the exam sends beside its own fields, as typed or as the tablet filled it in.
#[derive(Debug, Clone, Default)]
pub struct Stamped {
    pub submission: String,
    /// Who saw it; empty means whoever is signed in.
    pub seen_by: String,
    /// Milliseconds of the tablet's clock when it was seen and when it was sent; empty means now.
    pub seen_at: String,
    pub sent_at: String,
    /// Ids the tablet gave to the entries, in the order they are made.
    pub entry: Vec<String>,
}

impl Stamped {
    /// When it was seen by the tablet's clock, and how far that clock stands ahead of ours. A wrong clock refuses
    /// nothing.
    fn times(&self, now: At) -> (At, i64) {
        let clock = |typed: &str| typed.trim().parse().ok().filter(|ms: &i64| ms.abs() < NO_CLOCK);
        let sent = clock(&self.sent_at).unwrap_or(now.0);
        let seen = clock(&self.seen_at).unwrap_or(sent).min(sent);
        (At(seen), sent - now.0)
    }

    fn ids(&self) -> impl Iterator<Item = EntryId> + use<> {
        self.entry.iter().filter_map(|id| id.parse().ok()).collect::<Vec<_>>().into_iter()
    }
}

/// What became of a form that asked to write.
pub enum Opened {
    Fresh(Box<Writing>),
    /// It was taken before; this leads to where it led then.
    Repeat(Response),
    Wrong(Errors),
}

/// The transaction of one form, with the visit and its record as they stand under it.
pub struct Writing {
    once: Once,
    pub visit: Visit,
    /// What stands; in a signed visit what came late stands beside it.
    pub current: Vec<Entry>,
    stamp: Stamp,
    late: bool,
    ids: Box<dyn Iterator<Item = EntryId> + Send>,
}

/// Begins to write into a visit's record.
///
/// # Errors
/// A visit that did not take place takes nothing.
pub async fn open(app: &App, user: &User, visit: VisitId, stamped: &Stamped) -> Result<Opened> {
    let begun = web::begin(app, &stamped.submission, Some(user.id)).await?;
    opened(begun, user, visit, stamped).await
}

/// The same for a form that carries a file, to which its number is bound.
///
/// # Errors
/// The number is another file's; a visit that did not take place takes nothing.
pub async fn open_upload(
    app: &App,
    user: &User,
    visit: VisitId,
    stamped: &Stamped,
    bound: Bound,
) -> Result<Opened> {
    let begun = web::begin_upload(app, &stamped.submission, user.id, bound).await?;
    opened(begun, user, visit, stamped).await
}

async fn opened(begun: Begun, user: &User, visit: VisitId, stamped: &Stamped) -> Result<Opened> {
    let mut once = match begun {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(Opened::Repeat(response)),
    };
    let visit = visits::store::get(&mut *once.tx, visit).await?;
    let Some(seen_by) = seen_by(&mut once.tx, user, &stamped.seen_by).await? else {
        return Ok(Opened::Wrong(Errors::one("seen_by", "Choose who saw it from the list.")));
    };
    let (seen_at, offset_ms) = stamped.times(once.now);
    let late = check_open(&mut once, &visit, user).await?;
    let current = if late {
        record::current_with_late_of_visit(&mut *once.tx, visit.id).await?
    } else {
        record::current_of_visit(&mut *once.tx, visit.id).await?
    };
    let stamp = Stamp {
        seen_by,
        entered_by: user.id,
        device: user.agent.clone(),
        seen_at,
        received_at: once.now,
        offset_ms,
    };
    let ids = Box::new(stamped.ids());
    Ok(Opened::Fresh(Box::new(Writing { once, visit, current, stamp, late, ids })))
}

/// Somebody who works here and may examine.
async fn seen_by(tx: &mut Tx, user: &User, typed: &str) -> Result<Option<StaffId>> {
    if typed.trim().is_empty() {
        return Ok(Some(user.id));
    }
    let Ok(id) = typed.trim().parse::<StaffId>() else { return Ok(None) };
    match accounts::store::get(&mut **tx, id).await {
        Ok(staff) => Ok((staff.active && (staff.licensed || staff.role.may(Act::Examine))).then_some(id)),
        Err(sqlx::Error::RowNotFound) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

/// Whether it comes late, into a signed visit: that is kept and never refused. Begins a visit that waited.
async fn check_open(once: &mut Once, visit: &Visit, user: &User) -> Result<bool> {
    match visit.state {
        State::Booked | State::Arrived => {
            visits::store::set_state(&mut once.tx, visit.id, visit.state, State::InHand).await?;
            let begun = NewChange { visit: visit.id, what: BEGUN, detail: "", reason: "" };
            changes::note(&mut once.tx, begun, user.id, once.now).await?;
            Ok(false)
        }
        State::InHand | State::ToSign => Ok(false),
        State::Signed => Ok(true),
        State::DidNotCome | State::Cancelled => Err(Error::BadRequest(format!(
            "This visit is marked as {}; book or begin another one",
            visit.state
        ))),
    }
}

impl Writing {
    /// An entry of this visit, under the id the tablet gave it.
    pub fn entry(&mut self, body: Body) -> NewEntry {
        let mut new = NewEntry::new(self.visit.id, body);
        if let Some(id) = self.ids.next() {
            new.id = id;
        }
        new
    }

    /// The entry that stands and that `which` is looking for.
    pub fn standing(&self, which: impl Fn(&Body) -> bool) -> Option<&Entry> {
        self.current.iter().rev().find(|entry| entry.body.as_ref().is_some_and(&which))
    }

    pub fn now(&self) -> At {
        self.once.now
    }

    /// Whether this arrives after signing.
    pub fn is_late(&self) -> bool {
        self.late
    }

    /// For what else has to be written with the entries.
    pub fn tx(&mut self) -> &mut Tx {
        &mut self.once.tx
    }

    /// Adds the entries to the record, commits, and leads to `location`. A late entry corrects late ones only: what
    /// was signed stays.
    pub async fn keep(mut self: Box<Self>, mut entries: Vec<NewEntry>, location: &str) -> Result<Response> {
        if self.late {
            for entry in &mut entries {
                entry.late = true;
                let signed = |was: &mut EntryId| !self.current.iter().any(|e| e.id == *was && e.late);
                let was = entry.supersedes.take_if(signed);
                if entry.body.kind == Kind::Withdrawal {
                    // Which one it would take back must still be read.
                    entry.body.about = entry.body.about.or(was);
                }
            }
        }
        record::append(&mut self.once.tx, &self.stamp, &entries).await?;
        self.once.commit(location).await
    }
}
