//! One form of an order's page on its way: its transaction, the order as it stands, and what was typed.

use axum::{
    extract::{FromRequest, Request},
    response::Response,
};

use super::{
    changes::{self, By},
    page,
    said::Said,
    sent::{Sent, answered},
    sheet::Sheet,
    store,
};
use crate::{
    App,
    accounts::{Act, User},
    ids::OrderId,
    record::{self, Body, Kind, NewEntry, Stamp},
    web::{Error, Errors, Once, Result, Shell, flash},
};

pub(super) struct Work {
    pub app: App,
    pub user: User,
    pub shell: Shell,
    pub once: Once,
    pub sheet: Sheet,
    pub said: Said,
}

/// Out of a form that was sent to an order's page.
impl FromRequest<App> for Work {
    type Rejection = Response;

    async fn from_request(request: Request, app: &App) -> std::result::Result<Self, Response> {
        let Sent { user, shell, order, once, typed: said } = Sent::<Said>::from_request(request, app).await?;
        let sheet = Sheet::load(app, order).await.map_err(answered)?;
        Ok(Work { app: app.clone(), user, shell, once, sheet, said })
    }
}

impl Work {
    pub(super) fn id(&self) -> OrderId {
        self.sheet.order.id
    }

    pub(super) fn by(&self) -> By {
        By { who: self.user.id, at: self.once.now }
    }

    /// The version that the form was made for.
    pub(super) fn version(&self) -> i64 {
        self.said.version.parse().unwrap_or(-1)
    }

    /// Nothing is done with a closed order; what was typed stands on the page that says so.
    pub(super) fn must_be_open(&self, label: &str, typed: &str) -> Result<()> {
        if self.sheet.order.is_closed() {
            Err(self.clash(label, typed, "the order is closed"))
        } else {
            Ok(())
        }
    }

    /// Somebody else was there first.
    pub(super) fn clash(&self, label: &str, typed: &str, theirs: &str) -> Error {
        self.sheet.clash(label, typed, theirs)
    }

    /// A line in the order's own history.
    pub(super) async fn step(&mut self, what: &str, reason: &str) -> Result<()> {
        let (id, by) = (self.id(), self.by());
        Ok(store::step(&mut self.once.tx, id, what, reason, by.who, by.at).await?)
    }

    /// The page again with what is wrong; nothing was done.
    pub(super) async fn wrong(self, errors: Errors) -> Result<Response> {
        let id = self.id();
        drop(self.once);
        // The page is large, and few forms come back to it.
        Box::pin(page::again(&self.app, self.shell, id, self.said, errors)).await
    }

    pub(super) async fn done(mut self, line: &str) -> Result<Response> {
        flash(&mut self.once.tx, &self.user, line).await?;
        let back = format!("/diagnostics/{}", self.id());
        self.once.commit(&back).await
    }

    /// Puts a result into the record, in the place of the one that it amends or takes back.
    pub(super) async fn keep(
        mut self,
        kind: Kind,
        body: std::result::Result<Body, Errors>,
    ) -> Result<Response> {
        let body = match body {
            Ok(body) => body,
            Err(errors) => return self.wrong(errors).await,
        };
        let stands = body.kind == kind;
        let mut entry = NewEntry::new(self.sheet.order.visit_id, body);
        if !self.said.was.is_empty() {
            let was = self.said.was.parse().ok();
            let standing =
                self.sheet.of(kind).find(|(entry, _)| Some(entry.id) == was).map(|(entry, _)| entry.id);
            let Some(was) = standing else {
                let typed = format!("{}{}", self.said.report, self.said.shows);
                return Err(self.clash("Words", &typed, "it was amended or taken back meanwhile"));
            };
            entry = entry.superseding(was);
        }
        let stamp = Stamp::here(self.user.id, &self.user.agent, self.once.now);
        record::append(&mut self.once.tx, &stamp, &[entry]).await?;
        if kind == Kind::Report {
            self.reported(stands).await?;
        }
        self.done("Saved.").await
    }

    /// A new report has to be read and told, whatever was before; who may sign has read what they write. One that was
    /// taken back leaves nothing to be read.
    async fn reported(&mut self, stands: bool) -> Result<()> {
        let (id, by) = (self.id(), self.by());
        changes::unread(&mut self.once.tx, id).await?;
        if stands && self.user.may(Act::Sign) {
            changes::set_read(&mut self.once.tx, id, by).await?;
        }
        let what = match (stands, self.said.was.is_empty()) {
            (false, _) => "report taken back",
            (true, true) => "reported",
            (true, false) => "report amended",
        };
        self.step(what, "").await
    }
}
