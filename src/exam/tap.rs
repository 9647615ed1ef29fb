//! One tap on a place: who sent it and what it says, and the entries that come of it.

use axum::{
    extract::{FromRequest, FromRequestParts, Request},
    response::{IntoResponse, Response},
};

use super::{
    form::Typed,
    movement, pages,
    stamp::{self, Opened, Writing},
    state::{ExamState, place_of},
    way::Way,
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::Place,
    ids::{EntryId, StaffId, SweepId, VisitId},
    record::{self, Body, Entry, Kind, NewEntry},
    visits::{
        self,
        store::changes::{self, NewChange},
    },
    web::{self, Begun, Conflict, Error, Errors, Form, Path, Result, Shell, flash, invalid},
};

/// A form of the page, sent by somebody who may examine.
pub(super) struct Tap {
    app: App,
    pub user: User,
    visit: VisitId,
    shell: Shell,
    pub typed: Typed,
}

impl FromRequest<App> for Tap {
    type Rejection = Error;

    async fn from_request(request: Request, app: &App) -> Result<Self> {
        let (mut parts, body) = request.into_parts();
        let can = Can::<act::Examine>::from_request_parts(&mut parts, app).await?;
        let Path(visit) = Path::from_request_parts(&mut parts, app).await?;
        let shell = Shell::from_request_parts(&mut parts, app).await?;
        let Form(typed) = Form::from_request(Request::from_parts(parts, body), app).await?;
        Ok(Tap { app: app.clone(), user: can.user, visit, shell, typed })
    }
}

impl Tap {
    pub(super) fn way(&self) -> Way {
        Way::of(self.visit, &self.typed)
    }

    /// Begins to write; or the answer, when there is nothing to write any more.
    pub(super) async fn open(&self) -> Result<std::result::Result<Taking, Response>> {
        match stamp::open(&self.app, &self.user, self.visit, &self.typed.stamped()).await? {
            Opened::Fresh(writing) => Ok(Ok(Taking::new(writing))),
            Opened::Repeat(answer) => Ok(Err(answer)),
            Opened::Wrong(errors) => self.again(errors).await.map(Err),
        }
    }

    /// Leaves a line in the visit's own history that something was thrown away. Any visit takes it, in whatever
    /// state: what nobody can keep must at least be known.
    pub(super) async fn discard(&self, words: &str, reason: &str) -> Result<Response> {
        let mut once = match web::begin(&self.app, &self.typed.submission, Some(self.user.id)).await? {
            Begun::Fresh(once) => once,
            Begun::Repeat(answer) => return Ok(answer),
        };
        let visit = visits::store::get(&mut *once.tx, self.visit).await?.id;
        let change = NewChange { visit, what: "entry of a tablet discarded", detail: words, reason };
        changes::note(&mut once.tx, change, self.user.id, once.now).await?;
        once.commit(&self.way().plain()).await
    }

    /// The page as it was, with what is wrong beside the fields.
    pub(super) async fn again(&self, errors: Errors) -> Result<Response> {
        let asked = pages::Asked::of(&self.typed);
        let wrong = Some((self.typed.clone(), errors));
        let page =
            pages::build(&self.app, self.shell.clone(), &self.user, self.visit, (asked, wrong)).await?;
        Ok(invalid(page.into_response()))
    }
}

/// The entries of one tap, under the lock.
pub(super) struct Taking {
    writing: Box<Writing>,
    pub state: ExamState,
    new: Vec<NewEntry>,
}

impl Taking {
    pub(super) fn new(writing: Box<Writing>) -> Self {
        let state = ExamState::fold(&writing.current);
        Taking { writing, state, new: Vec::new() }
    }

    pub(super) fn say(&mut self, body: Body, supersedes: Option<EntryId>) -> EntryId {
        let mut new = self.writing.entry(body);
        new.supersedes = supersedes;
        let id = new.id;
        self.new.push(new);
        id
    }

    /// Says something that takes the place of what was said: the first is superseded, the others are taken back.
    pub(super) fn say_instead(&mut self, body: Body, of: &[EntryId], reason: &str) {
        self.say(body, of.first().copied());
        for entry in of.iter().skip(1) {
            self.withdraw(*entry, reason);
        }
    }

    pub(super) fn withdraw(&mut self, entry: EntryId, reason: &str) {
        let mut body = Body::new(Kind::Withdrawal);
        body.reason = Some(reason.to_owned());
        body.about = Some(entry);
        self.say(body, Some(entry));
    }

    /// Says something of which only one can stand: it corrects what was said before, and twice the same is once.
    pub(super) fn say_about(&mut self, body: Body, about: impl Fn(&Body) -> bool) {
        self.new.extend(movement::entry_about(&mut self.writing, body, about));
    }

    /// What is being written, for what has to be known or kept beside the entries.
    pub(super) fn writing(&mut self) -> &mut Writing {
        &mut self.writing
    }

    /// The horse's own list of weights follows the record.
    pub(super) async fn keep_weights(
        &mut self,
        method: &str,
        zone: &jiff::tz::TimeZone,
        by: StaffId,
    ) -> Result<()> {
        let day = self.writing.now().day(zone);
        movement::keep_weights(&mut self.writing, &self.new, (method, day, by)).await
    }

    pub(super) fn is_empty(&self) -> bool {
        self.new.is_empty()
    }

    /// What stands of one sweep.
    pub(super) fn of_sweep(&self, sweep: SweepId) -> Vec<(EntryId, Option<Place>)> {
        let bodies = self.writing.current.iter().filter_map(|entry| Some((entry.id, entry.body.as_ref()?)));
        bodies.filter(|(_, body)| body.sweep == Some(sweep)).map(|(id, body)| (id, place_of(body))).collect()
    }

    /// What stands here of "nothing found" and "could not be examined", which a finding takes the place of.
    pub(super) fn emptiness_at(&self, place: Place) -> Vec<EntryId> {
        let known = self.state.at(place);
        known.clear.iter().chain(&known.barred).map(|line| line.entry).collect()
    }

    /// The standing entry that a form corrects. One that was corrected meanwhile is a clash, shown with both sides.
    pub(super) async fn standing(&mut self, was: EntryId, yours: &str) -> Result<Entry> {
        if let Some(entry) = self.writing.current.iter().find(|entry| entry.id == was) {
            return Ok(entry.clone());
        }
        let visit = self.writing.visit.id;
        let all = record::entries_of_visit(&mut **self.writing.tx(), visit).await?;
        if all.iter().all(|entry| entry.id != was) {
            return Err(Error::NotFound);
        }
        let by = all.iter().find(|entry| entry.supersedes == Some(was));
        let theirs = by.and_then(|entry| entry.body.as_ref()).map(super::say::entry).unwrap_or_default();
        let conflict = Conflict {
            what: "This entry was corrected or taken back meanwhile".into(),
            back: format!("/visits/{visit}/exam"),
            differences: Vec::new(),
        };
        Err(Error::Conflict(Box::new(conflict.field("Entry", yours, &theirs))))
    }

    /// Says a line on the next page.
    pub(super) async fn tell(&mut self, user: &User, line: &str) -> Result<()> {
        Ok(flash(self.writing.tx(), user, line).await?)
    }

    /// Commits and leads on; a late entry is acknowledged in words, for it does not show among the others.
    pub(super) async fn keep(mut self, user: &User, location: &str) -> Result<Response> {
        if self.writing.is_late() {
            let line = "Kept as a late entry, because the visit is signed. Its signer may take it in as an addendum.";
            self.tell(user, line).await?;
        }
        self.writing.keep(self.new, location).await
    }
}
