//! One form of the page on its way into the record; an entry that was there is amended or taken back with a reason.

use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};

use super::{
    forms::Typed,
    page,
    scene::{Scene, scan_of},
};
use crate::{
    App,
    accounts::{Can, User, act},
    diagnostics::store as orders,
    ids::{EntryId, OrderId},
    record::{self, Body, Kind, NewEntry, Scan, Stamp},
    web::{Begun, Check, Conflict, Error, Errors, Form, Once, Path, Result, Shell, begin, flash},
};

/// A form that was sent, with who sent it.
struct Work {
    app: App,
    user: User,
    shell: Shell,
    id: OrderId,
    typed: Typed,
}

/// Each form is a handler of its own, so that its route says what it takes.
macro_rules! forms {
    ($($name:ident: $variant:ident;)*) => {$(
        pub(super) async fn $name(
            FromApp(app): FromApp<App>,
            Can { user, .. }: Can<act::Examine>,
            Path(id): Path<OrderId>,
            shell: Shell,
            Form(typed): Form<Typed>,
        ) -> Result<Response> {
            let work = Work { app, user, shell, id, typed };
            work.keep(|typed, check, scene| typed.$name.check(check, scene).map(Scan::$variant)).await
        }
    )*};
}

forms! {
    injection: Injection;
    region: Region;
    rate: Rate;
    spill: Spill;
}

impl Work {
    async fn keep(self, read: impl FnOnce(&Typed, &mut Check, &Scene) -> Option<Scan>) -> Result<Response> {
        let mut once = match begin(&self.app, &self.typed.submission, Some(self.user.id)).await? {
            Begun::Fresh(once) => once,
            Begun::Repeat(first) => return Ok(first),
        };
        let scene = Scene::load(&self.app, self.id).await?;
        let mut check = Check::new();
        let scan = read(&self.typed, &mut check, &scene);
        let reason = self.typed.reason(&mut check);
        let scan = match (scan, check.errors) {
            (Some(scan), errors) if errors.is_empty() => scan,
            (_, errors) => {
                drop(once);
                return self.wrong(errors).await;
            }
        };
        let mut entry = NewEntry::new(scene.order.visit_id, body(&scene, scan.clone(), reason));
        if !self.typed.was.is_empty() {
            let was = self.typed.was.parse().ok();
            let alike = |one: &&record::Entry| {
                Some(one.id) == was && scan_of(one).is_some_and(|known| known.code() == scan.code())
            };
            let known = scene.standing.iter().find(alike);
            let Some(known) = known else {
                return Err(clash(&scene, "it was amended or taken back meanwhile"));
            };
            entry = entry.superseding(known.id);
        } else if matches!(scan, Scan::Injection(_)) && scene.injection().is_some() {
            return Err(clash(&scene, "an injection stands there already: amend it, or order another scan"));
        }
        append(&mut once, &self.user, entry).await?;
        done(once, &self.user, &scene, "Saved.").await
    }

    /// The page again with what is wrong; nothing was done.
    async fn wrong(self, errors: Errors) -> Result<Response> {
        page::again(&self.app, self.shell, self.id, self.typed, errors).await
    }
}

/// An entry of this order.
pub(super) fn body(scene: &Scene, scan: Scan, reason: Option<String>) -> Body {
    let code = Some(scan.code().to_owned());
    Body { code, order: Some(scene.order.id), scan: Some(scan), reason, ..Body::new(Kind::Scan) }
}

pub(super) async fn append(once: &mut Once, user: &User, entry: NewEntry) -> Result<()> {
    let stamp = Stamp::here(user.id, &user.agent, once.now);
    Ok(record::append(&mut once.tx, &stamp, &[entry]).await?)
}

pub(super) async fn done(mut once: Once, user: &User, scene: &Scene, line: &str) -> Result<Response> {
    flash(&mut once.tx, user, line).await?;
    once.commit(&page::way(scene.order.id)).await
}

pub(super) fn clash(scene: &Scene, theirs: &str) -> Error {
    let clash = Conflict {
        what: format!("The bone scan of {}", scene.card.name),
        back: page::way(scene.order.id),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash.field("This form", "what you typed stands below", theirs)))
}

/// Takes an entry back. A release is taken back by an officer only, and its order's history says so.
pub(super) async fn withdraw(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    Path((id, entry)): Path<(OrderId, EntryId)>,
    shell: Shell,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(&app, id).await?;
    let Some(known) = scene.standing.iter().find(|one| one.id == entry) else {
        return Err(clash(&scene, "it was amended or taken back meanwhile"));
    };
    let is_release = matches!(scan_of(known), Some(Scan::Release(_)));
    let reason = match typed.reason_back() {
        Ok(reason) if !is_release || scene.is_officer(user.id) => reason,
        meant => {
            let only = || Errors::one("why_back", "Only a responsible officer takes a release back.");
            drop(once);
            let typed = Typed { was: entry.to_string(), ..typed };
            return page::again(&app, shell, id, typed, meant.err().unwrap_or_else(only)).await;
        }
    };
    let back = Body { reason: Some(reason.clone()), order: Some(id), ..Body::new(Kind::Withdrawal) };
    append(&mut once, &user, NewEntry::new(scene.order.visit_id, back).superseding(entry)).await?;
    if is_release {
        let now = once.now;
        orders::step(&mut once.tx, id, "release after the scan taken back", &reason, user.id, now).await?;
    }
    Ok(done(once, &user, &scene, "Taken back.").await?.into_response())
}
