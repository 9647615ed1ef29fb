//! The whole record of a horse: every visit as its report says it and every entry as it was recorded, with who read or changed
//! the record as a whole. For a regulator or a court; each reading of it is noted.

use std::collections::HashMap;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    pages::Body,
    report::{Names, name},
    store,
    words::{self, Units},
};
use crate::{
    App,
    accounts::{Can, act},
    audit::{self, store::Line as Read},
    clock::At,
    diagnostics,
    horses::{
        self, Card,
        store::{Former, Party, Weight},
    },
    ids::{EntryId, HorseId},
    letters::{self, Kept, Part},
    practice,
    record::{self, Entry},
    visits::{self, Visit},
    web::{Check, Errors, Path, Query, Result, Shell, invalid},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    for_whom: String,
    /// Visits for a former owner too.
    all: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "papers/whole_ask.html")]
struct AskPage {
    shell: Shell,
    errors: Errors,
    card: Card,
    for_whom: String,
    all: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "papers/whole.html")]
struct WholePage {
    shell: Shell,
    card: Card,
    zone: TimeZone,
    now: At,
    by: String,
    for_whom: String,
    all: bool,
    parties: Vec<Party>,
    former: Vec<Former>,
    weights: Vec<Weight>,
    visits: Vec<OfVisit>,
    /// How many visits for a former owner are left out.
    left_out: usize,
    reads: Vec<Read>,
    /// The chain's newest number and value, as it stood.
    seal: Option<(i64, String)>,
}

/// A visit: its report, its entries as they were recorded, and its letters.
struct OfVisit {
    body: Body,
    entries: Vec<Line>,
    letters: Vec<Kept>,
}

/// One entry as it was recorded.
struct Line {
    seq: i64,
    seen: At,
    received: At,
    by: String,
    words: String,
    /// "amends 12", "late", "words erased"; empty for most.
    state: String,
}

pub(super) async fn page(
    State(app): State<App>,
    Can { user, .. }: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let card = horses::store::card(app.db.read(), id).await?;
    let all = !asked.all.is_empty();
    let mut check = Check::new();
    let for_whom = check.needed("for_whom", &asked.for_whom, 300, "Enter for whom it is, and why.");
    if !check.errors.is_empty() {
        return Ok(invalid(AskPage {
            shell,
            errors: check.errors,
            card,
            for_whom: asked.for_whom,
            all: asked.all,
        }));
    }
    let mut tx = app.db.write_at_the_door().await?;
    let scope = if all { "with visits for former owners" } else { "for the present owner" };
    let detail = format!("{} ({id}), {scope}: {for_whom}", card.name);
    audit::store::note(&mut tx, "whole record read", &detail, user.id, app.clock.now()).await?;
    tx.commit().await?;
    Ok(WholePage::load(&app, shell, card, (for_whom, all), user.name).await?.into_response())
}

impl WholePage {
    async fn load(
        app: &App,
        shell: Shell,
        card: Card,
        (for_whom, all): (String, bool),
        by: String,
    ) -> Result<Self> {
        let db = app.db.read();
        let practice = practice::store::get(db).await?;
        let names = store::names(db).await?;
        let since = horses::store::owned_since(db, card.id).await?.filter(|_| !all);
        let mut every = visits::store::of_horse(db, card.id).await?;
        every.reverse();
        let (own, others): (Vec<Visit>, Vec<Visit>) =
            every.into_iter().partition(|visit| since.is_none_or(|since| visit.starts_at >= since));
        let mut visits = Vec::new();
        for visit in own {
            visits.push(OfVisit::load(app, visit, &names, Units::of(&practice)).await?);
        }
        Ok(WholePage {
            parties: horses::store::parties(db, card.id).await?,
            former: if all { horses::store::former(db, card.id).await? } else { Vec::new() },
            weights: horses::store::weights(db, card.id).await?,
            reads: audit::store::about(db, &card.id.to_string()).await?,
            seal: store::newest(db).await?.map(|seal| (seal.seq, record::hex(&seal.chain))),
            left_out: others.len(),
            now: app.clock.now(),
            zone: practice.zone,
            visits,
            shell,
            card,
            by,
            for_whom,
            all,
        })
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn parts(&self, letter: &Kept) -> Vec<Part> {
        letters::parts(&letter.words)
    }
}

impl OfVisit {
    async fn load(app: &App, visit: Visit, names: &Names, units: Units) -> Result<Self> {
        let db = app.db.read();
        let mut entries = record::entries_of_visit(db, visit.id).await?;
        for order in diagnostics::store::of_visit(db, visit.id).await? {
            entries.extend(record::entries_of_order(db, order.id).await?);
        }
        entries.sort_by_key(|entry| entry.seq);
        let numbers: HashMap<EntryId, i64> = entries.iter().map(|entry| (entry.id, entry.seq)).collect();
        let line = |entry: &Entry| Line {
            seq: entry.seq,
            seen: entry.seen(),
            received: entry.received_at,
            by: by(entry, names),
            words: entry.body.as_ref().map_or_else(String::new, |body| words::sentence(body, units)),
            state: state(entry, &numbers),
        };
        Ok(OfVisit {
            entries: entries.iter().map(line).collect(),
            letters: letters::of_visit(db, visit.id).await?,
            body: Body::load(app, visit).await?,
        })
    }
}

/// Who saw it, and who typed it where that was somebody else.
fn by(entry: &Entry, names: &Names) -> String {
    let seen = name(names, entry.seen_by);
    if entry.entered_by == entry.seen_by {
        seen
    } else {
        format!("{seen}, typed by {}", name(names, entry.entered_by))
    }
}

fn state(entry: &Entry, numbers: &HashMap<EntryId, i64>) -> String {
    let mut said = Vec::new();
    if let Some(number) = entry.supersedes.and_then(|was| numbers.get(&was)) {
        said.push(format!("in place of {number}"));
    }
    if let Some(reason) = entry.body.as_ref().and_then(|body| body.reason.as_deref()) {
        said.push(format!("because: {reason}"));
    }
    if entry.late {
        said.push("received after the signature".to_owned());
    }
    if entry.body.is_none() {
        said.push("words erased".to_owned());
    }
    said.join("; ")
}
