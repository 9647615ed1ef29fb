//! What can be done with an order: each a form of its page.

use axum::response::Response;

use super::{
    changes::{self, Details},
    order::{ItemState, Order},
    ready,
    said::Said,
    work::Work,
};
use crate::{
    accounts::{Can, act},
    catalogue::catalogue,
    ids::{EntryId, ItemId, OrderId},
    record::Kind,
    web::{Check, Error, Path, Result},
};

pub(super) async fn item(
    _: Can<act::Examine>,
    Path((_, item)): Path<(OrderId, ItemId)>,
    mut work: Work,
) -> Result<Response> {
    let known = work.sheet.items.iter().find(|known| known.id == item).cloned().ok_or(Error::NotFound)?;
    let state = ItemState::of(&work.said.state).ok_or(Error::NotFound)?;
    let typed = work.said.reason.clone();
    work.must_be_open("Why", &typed)?;
    let mut check = Check::new();
    let reason = if state.needs_reason() {
        check.needed(&reason_field(&item), &typed, 500, "Say why.")
    } else {
        String::new()
    };
    if !check.errors.is_empty() {
        return work.wrong(check.errors).await;
    }
    let (version, by) = (work.version(), work.by());
    if changes::set_item(&mut work.once.tx, item, version, state, &reason, by).await? != 1 {
        return Err(work.clash("Why", &typed, "somebody else has changed this item"));
    }
    let kind = work.sheet.order.kind;
    work.step(&format!("{}: {}", known.words(kind), state_words(state, &work.sheet.order)), &reason).await?;
    work.done("Saved.").await
}

/// The name of the field for an item's reason: each item has one on the page.
pub(super) fn reason_field(item: &ItemId) -> String {
    format!("reason-{item}")
}

fn state_words(state: ItemState, order: &Order) -> &'static str {
    match state {
        ItemState::Wanted => "wanted again",
        ItemState::Taken => order.kind.done(),
        ItemState::Repeat => "to be repeated",
        ItemState::LeftOut => "left out",
    }
}

pub(super) async fn taken(_: Can<act::Examine>, mut work: Work) -> Result<Response> {
    work.must_be_open("", "")?;
    let (id, by) = (work.id(), work.by());
    let count = changes::take_all(&mut work.once.tx, id, by).await?;
    if count > 0 {
        work.step(&format!("all {count} {}", work.sheet.order.kind.done()), "").await?;
    }
    work.done("Saved.").await
}

/// A line of what is made ready, ticked or its tick taken back.
pub(super) async fn ready(_: Can<act::Examine>, mut work: Work) -> Result<Response> {
    work.must_be_open("", "")?;
    let (id, by) = (work.id(), work.by());
    let study = catalogue().diagnostics.study(&work.sheet.order.study).ok_or(Error::NotFound)?;
    let (code, back) = match (work.said.ready.clone(), work.said.unready.clone()) {
        (code, _) if !code.is_empty() => (code, false),
        (_, code) => (code, true),
    };
    let line = ready::ticks(study, &[]).into_iter().find(|tick| tick.code == code).ok_or(Error::NotFound)?;
    let (done, what) = if back {
        (ready::untick(&mut work.once.tx, id, &code).await?, "not ready after all")
    } else {
        (ready::tick(&mut work.once.tx, id, &code, by).await?, "made ready")
    };
    if done == 1 {
        work.step(&format!("{what}: {}", line.name), "").await?;
    }
    work.done("Saved.").await
}

pub(super) async fn details(_: Can<act::Examine>, mut work: Work) -> Result<Response> {
    let details = work.said.details.clone();
    work.must_be_open("Question", &details.question)?;
    let mut check = Check::new();
    let new = details.read(&mut check, work.sheet.today);
    if !check.errors.is_empty() {
        return work.wrong(check.errors).await;
    }
    let (id, version) = (work.id(), work.version());
    if changes::set_details(&mut work.once.tx, id, version, &new).await? != 1 {
        return Err(work.clash("Question", &details.question, &work.sheet.order.question));
    }
    work.step(&changed(&Details::of(&work.sheet.order), &new), "").await?;
    work.done("Saved.").await
}

/// What was changed, in words of the order's own history.
fn changed(old: &Details, new: &Details) -> String {
    if old.planned_on == new.planned_on {
        return "details changed".to_owned();
    }
    new.planned_on.map_or_else(|| "no day said".to_owned(), |day| format!("planned for {}", day.words()))
}

pub(super) async fn report(_: Can<act::Examine>, work: Work) -> Result<Response> {
    work.must_be_open("Report", &work.said.report)?;
    if work.version() != work.sheet.order.version {
        return Err(work.clash("Report", &work.said.report, "somebody else has changed this order"));
    }
    let body =
        work.said.check_report((work.id(), work.sheet.order.kind), &work.sheet.title(), work.sheet.files());
    work.keep(Kind::Report, body).await
}

pub(super) async fn shown(_: Can<act::Examine>, work: Work) -> Result<Response> {
    work.must_be_open("What it shows", &work.said.shows)?;
    let body = work.said.check_shown(work.id(), work.sheet.order.kind);
    work.keep(Kind::Shown, body).await
}

pub(super) async fn withdraw(
    _: Can<act::Examine>,
    Path((_, entry)): Path<(OrderId, EntryId)>,
    mut work: Work,
) -> Result<Response> {
    work.said.was = entry.to_string();
    work.must_be_open("Why", &work.said.why_back)?;
    let known = work.sheet.results.iter().find(|e| e.id == entry).and_then(|e| e.body.as_ref());
    let Some(kind) = known.map(|body| body.kind) else {
        return Err(work.clash("Why", &work.said.why_back, "it was amended or taken back meanwhile"));
    };
    let body = work.said.check_withdrawal(work.id());
    work.keep(kind, body).await
}

pub(super) async fn read(_: Can<act::Sign>, mut work: Work) -> Result<Response> {
    work.must_be_open("", "")?;
    if !work.sheet.order.reported {
        return Err(work.clash("Report", "read", "there is no report"));
    }
    let (id, by) = (work.id(), work.by());
    if changes::set_read(&mut work.once.tx, id, by).await? == 1 {
        work.step("report read", "").await?;
    }
    work.done("Noted as read.").await
}

/// Whom of the client's, and how; or why nobody has to be told.
pub(super) async fn told(_: Can<act::Examine>, mut work: Work) -> Result<Response> {
    let (told, untold) = (work.said.told.clone(), work.said.untold.clone());
    work.must_be_open("Who was told", &format!("{told}{untold}"))?;
    let meant = if work.said.nobody.is_empty() {
        Said::check_line("told", &told, "Say who was told, and how.").map(|line| ("client told", line, ""))
    } else {
        Said::check_line("untold", &untold, "Say why nobody has to be told.")
            .map(|line| ("nobody is told", line, "nobody: "))
    };
    let (what, line, before) = match meant {
        Ok(meant) => meant,
        Err(errors) => return work.wrong(errors).await,
    };
    let (id, version, by) = (work.id(), work.version(), work.by());
    if changes::set_told(&mut work.once.tx, id, version, &format!("{before}{line}"), by).await? != 1 {
        return Err(work.clash("Who was told", &line, &work.sheet.order.told));
    }
    work.step(what, &line).await?;
    work.done("Saved.").await
}

pub(super) async fn close(_: Can<act::Examine>, mut work: Work) -> Result<Response> {
    let reason = match Said::check_line("closed", &work.said.closed, "Say why it is closed.") {
        Ok(reason) => reason,
        Err(errors) => return work.wrong(errors).await,
    };
    let (id, version, by) = (work.id(), work.version(), work.by());
    if changes::close(&mut work.once.tx, id, version, &reason, by).await? != 1 {
        return Err(work.clash("Why it is closed", &reason, &work.sheet.order.closed_reason));
    }
    work.step("closed", &reason).await?;
    work.done("The order is closed.").await
}

pub(super) async fn open_again(_: Can<act::Examine>, mut work: Work) -> Result<Response> {
    let (id, version) = (work.id(), work.version());
    if changes::open_again(&mut work.once.tx, id, version).await? != 1 {
        return Err(work.clash("Order", "open again", "somebody else has changed this order"));
    }
    work.step("opened again", "").await?;
    work.done("The order is open again.").await
}
