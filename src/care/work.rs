//! A medicine on its way into the record: once, while the visit is open, with the checks that it goes on over.

use axum::{extract::State as FromApp, response::Response};

use super::{
    form::Typed,
    scene::Scene,
    visit::{self, CarePage},
};
use crate::{
    App,
    accounts::{Act, Can, User, act},
    catalogue::{care::Pass, catalogue},
    ids::{EntryId, VisitId},
    reasoning::dose::Warning,
    record::{self, Body, Kind, NewEntry, Stamp},
    stock::{self, store::NewLine},
    visits::State,
    web::{Begun, Check, Conflict, Error, Errors, Form, Once, Path, Result, Shell, begin, flash},
};

/// The checks that the form goes on over; what it cannot is an error.
pub(super) fn pass(
    c: &mut Check,
    warnings: &[Warning],
    reason: &str,
    is_vet: bool,
) -> Vec<(&'static str, String)> {
    let mut passed = Vec::new();
    for warning in warnings {
        let Some(row) = catalogue().care.checks.get(warning.check) else { continue };
        match row.pass {
            Pass::Shown => continue,
            Pass::Never => {
                c.errors.add("", format!("{}. {}", crate::papers::words::capital(&row.name), row.text));
            }
            Pass::Vet if !is_vet => {
                c.errors.add("", format!("Only a veterinarian goes on over this: {}.", row.name));
            }
            Pass::Vet | Pass::Reason if reason.is_empty() => {
                if c.errors.on("reason").is_none() {
                    c.errors.add(
                        "reason",
                        "Say why it is done all the same; it stays in the record with your name.",
                    );
                }
            }
            Pass::Vet | Pass::Reason => {}
        }
        passed.push((row.code.as_str(), warning.words.clone()));
    }
    passed
}

/// Refuses what a visit in this state cannot take.
pub(super) fn must_be_open(scene: &Scene, typed: &[(&str, &str)]) -> Result<()> {
    let theirs = match scene.visit.state {
        State::InHand | State::ToSign => return Ok(()),
        State::Signed => "signed: begin another visit for what is given now",
        State::DidNotCome | State::Cancelled => "over",
        State::Booked | State::Arrived => "not begun yet",
    };
    let clash = Conflict {
        what: format!("{}: the visit is {theirs}", scene.card.name),
        back: format!("/visits/{}", scene.visit.id),
        ..Conflict::default()
    };
    Err(typed.iter().fold(clash, |clash, (label, words)| clash.field(label, words, "")).into())
}

pub(super) async fn append(once: &mut Once, user: &User, entries: &[NewEntry]) -> Result<()> {
    let stamp = Stamp::here(user.id, &user.agent, once.now);
    Ok(record::append(&mut once.tx, &stamp, entries).await?)
}

pub(super) async fn give(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(&app, id, Some(user.id)).await?;
    let words = [&typed.directions, &typed.quantity, &typed.batch, &typed.reason, &typed.why, &typed.amount];
    let labels = ["Directions", "Quantity", "Batch", "Reason", "Why", "Amount"];
    let said: Vec<(&str, &str)> = labels.into_iter().zip(words.into_iter().map(String::as_str)).collect();
    must_be_open(&scene, &said)?;
    let kept = scene.row(&typed.row).ok_or(Error::NotFound)?.clone();
    let meant = match typed.check(&scene, &kept, user.may(Act::Sign)) {
        Ok(meant) => meant,
        Err(errors) => {
            drop(once);
            return CarePage::again(&app, shell, id, typed, errors).await;
        }
    };
    let mut new = NewEntry::new(id, meant.body);
    if !typed.was.is_empty() {
        let was = standing(&scene, typed.was.parse().ok(), &said)?;
        stock::store::reverse_entry(&mut once.tx, was, "amended in the record", user.id, once.now).await?;
        new = new.superseding(was);
    }
    for line in meant.draws {
        let line = NewLine { entry: Some(new.id), ..line };
        stock::store::insert(&mut once.tx, &line, user.id, once.now).await?;
    }
    let about = new.id;
    let passed = meant.passed.into_iter().map(|(code, words)| {
        let text = Some(words).filter(|words| !words.is_empty());
        let (code, reason) = (Some(code.to_owned()), Some(meant.reason.clone()));
        NewEntry::new(id, Body { code, text, reason, about: Some(about), ..Body::new(Kind::Override) })
    });
    let entries: Vec<NewEntry> = std::iter::once(new).chain(passed).collect();
    append(&mut once, &user, &entries).await?;
    flash(&mut once.tx, &user, "Kept in the record.").await?;
    once.commit(&visit::way(id)).await
}

/// The medicine that a form is about, if it still stands.
fn standing(scene: &Scene, id: Option<EntryId>, typed: &[(&str, &str)]) -> Result<EntryId> {
    if let Some((entry, _)) = scene.here().into_iter().find(|(entry, _)| Some(entry.id) == id) {
        return Ok(entry.id);
    }
    let clash = Conflict {
        what: format!("A medicine of {}: it was amended or taken back meanwhile", scene.card.name),
        back: visit::way(scene.visit.id),
        ..Conflict::default()
    };
    Err(typed.iter().fold(clash, |clash, (label, words)| clash.field(label, words, "")).into())
}

/// Takes a medicine back that was entered wrongly; it stays in the record as taken back.
pub(super) async fn withdraw(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path((id, entry)): Path<(VisitId, EntryId)>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(&app, id, Some(user.id)).await?;
    let said = [("Why", typed.why_back.as_str())];
    must_be_open(&scene, &said)?;
    let entry = standing(&scene, Some(entry), &said)?;
    let mut check = Check::new();
    let why =
        check.needed("why_back", &typed.why_back, 300, "Say why; it stays in the record as taken back.");
    if !check.errors.is_empty() {
        drop(once);
        let typed = Typed { was: entry.to_string(), ..typed };
        let errors: Errors = check.errors;
        return CarePage::again(&app, shell, id, typed, errors).await;
    }
    stock::store::reverse_entry(&mut once.tx, entry, "taken back in the record", user.id, once.now).await?;
    let back = Body { reason: Some(why), ..Body::new(Kind::Withdrawal) };
    append(&mut once, &user, &[NewEntry::new(id, back).superseding(entry)]).await?;
    flash(&mut once.tx, &user, "Taken back.").await?;
    once.commit(&visit::way(id)).await
}
