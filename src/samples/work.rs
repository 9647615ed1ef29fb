//! One form about an order's samples on its way: its transaction, the order as it stands, and what was typed.

use axum::{
    extract::{FromRequest, Request},
    response::Response,
};

use super::{case::Case, pages, typed::Typed};
use crate::{
    App,
    accounts::User,
    diagnostics::{
        ItemState,
        changes::{self, By},
        sent::{Sent, answered},
        store,
    },
    ids::EntryId,
    record::{self, Body, Kind, NewEntry, Stamp},
    web::{Conflict, Error, Errors, Once, Result, Shell, flash},
};

pub(super) struct Work {
    pub user: User,
    pub shell: Shell,
    pub once: Once,
    pub case: Case,
    pub typed: Typed,
}

/// Out of a form that was sent.
impl FromRequest<App> for Work {
    type Rejection = Response;

    async fn from_request(request: Request, app: &App) -> std::result::Result<Self, Response> {
        let Sent { user, shell, order, once, typed } = Sent::<Typed>::from_request(request, app).await?;
        let case = Case::load(app, order).await.map_err(answered)?;
        Ok(Work { user, shell, once, case, typed })
    }
}

impl Work {
    /// Nothing is done with a closed order; what was typed stands on the page that says so.
    pub(super) fn must_be_open(&self) -> Result<()> {
        if self.case.order.is_closed() { Err(self.clash("the order is closed")) } else { Ok(()) }
    }

    /// Somebody else was there first.
    pub(super) fn clash(&self, theirs: &str) -> Error {
        let clash = Conflict {
            what: format!("{}, {}", self.case.order.kind.name(), self.case.order.name),
            back: format!("/diagnostics/{}", self.case.order.id),
            ..Conflict::default()
        };
        Error::Conflict(Box::new(clash.field("Samples", "what you sent", theirs)))
    }

    /// The page of the samples again with what is wrong; nothing was done.
    pub(super) fn wrong(self, errors: Errors) -> Response {
        drop(self.once);
        pages::again(self.case, self.shell, self.typed, errors)
    }

    /// A line in the order's own history.
    pub(super) async fn step(&mut self, what: &str, reason: &str) -> Result<()> {
        let id = self.case.order.id;
        Ok(store::step(&mut self.once.tx, id, what, reason, self.user.id, self.once.now).await?)
    }

    pub(super) async fn done(mut self, line: &str) -> Result<Response> {
        flash(&mut self.once.tx, &self.user, line).await?;
        let back = format!("/diagnostics/{}#samples", self.case.order.id);
        self.once.commit(&back).await
    }

    /// Puts an entry into the record, in the place of the one that it amends or takes back.
    pub(super) async fn keep(
        mut self,
        kind: Kind,
        body: std::result::Result<Body, Errors>,
    ) -> Result<Response> {
        let body = match body {
            Ok(body) => body,
            Err(errors) => return Ok(self.wrong(errors)),
        };
        let mut entry = NewEntry::new(self.case.order.visit_id, body.clone());
        if !self.typed.was.is_empty() {
            let standing = self.standing(kind);
            let Some(was) = standing else {
                return Err(self.clash("it was amended or taken back meanwhile"));
            };
            entry = entry.superseding(was);
        }
        let stamp = Stamp::here(self.user.id, &self.user.agent, self.once.now);
        record::append(&mut self.once.tx, &stamp, &[entry]).await?;
        if body.kind == Kind::Sample {
            self.item_is_taken(body.code.as_deref().unwrap_or_default()).await?;
        }
        let reason = body.reason.clone().unwrap_or_default();
        self.step(&words(kind, &body, self.typed.was.is_empty()), &reason).await?;
        self.done("Saved.").await
    }

    /// The entry that the form amends or takes back, if it stands.
    fn standing(&self, kind: Kind) -> Option<EntryId> {
        let was = self.typed.was.parse().ok()?;
        self.case.standing(was).filter(|(_, body)| body.kind == kind).map(|(entry, _)| entry.id)
    }

    /// What was ordered and is there now; an item that was left out is there all the same.
    async fn item_is_taken(&mut self, code: &str) -> Result<()> {
        let open = self.case.items.iter().find(|item| item.code == code && item.state != ItemState::Taken);
        if let Some(item) = open {
            let by = By { who: self.user.id, at: self.once.now };
            changes::set_item(&mut self.once.tx, item.id, item.version, ItemState::Taken, "", by).await?;
        }
        Ok(())
    }
}

/// A line of the order's history.
fn words(kind: Kind, body: &Body, is_new: bool) -> String {
    let what = match kind {
        Kind::Sample => "sample",
        Kind::Parcel => "parcel",
        _ => "enzyme",
    };
    let done = match (body.kind == Kind::Withdrawal, is_new) {
        (true, _) => "taken back",
        (false, true) => "entered",
        (false, false) => "amended",
    };
    format!("{what} {done}")
}
