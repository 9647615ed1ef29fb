//! Setting a number of the practice's own, and going back to the shipped one. Both are kept, with who, when and why.

use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{
    href,
    pages::WeightPage,
    store::{self, Change, Set},
    together,
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::{catalogue, localise::Address},
    practice,
    web::{Begun, Check, Conflict, Error, Errors, Form, Once, Result, Shell, begin, flash, invalid},
};

const LONGEST_REASON: usize = 500;
/// The reason that is kept when a number goes back.
const BACK: &str = "back to the shipped value";

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    /// The number's address.
    pub weight: String,
    pub version: String,
    pub value: String,
    pub reason: String,
}

impl Typed {
    fn address(&self) -> Result<Address> {
        let at: Address = self.weight.parse().map_err(|()| Error::NotFound)?;
        catalogue().localise.figure(&at).map(|_| ()).ok_or(Error::NotFound)?;
        Ok(at)
    }

    fn check(&self, at: &Address) -> std::result::Result<(f64, String), Errors> {
        let mut check = Check::new();
        let figure = catalogue().localise.figure(at);
        let bound = figure.as_ref().map(|figure| figure.bound);
        let (least, most) = bound.map_or((0.0, 0.0), |bound| (bound.least, bound.most));
        let unit = bound.map_or("", |bound| bound.unit.as_str());
        let value = check.number("value", &self.value, least..=most, unit);
        match value {
            None if self.value.trim().is_empty() => {
                check.errors.add("value", format!("Enter a number from {least} to {most}."));
            }
            Some(value) => {
                if let Some(why) = figure.and_then(|figure| figure.refuses(value)) {
                    check.errors.add("value", why);
                }
            }
            None => {}
        }
        let reason = check.needed_words(
            "reason",
            &self.reason,
            LONGEST_REASON,
            "Write why; it stays beside the value.",
        );
        check.done((value.unwrap_or_default(), reason))
    }
}

/// Sets a number.
pub(super) async fn set(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let at = typed.address()?;
    match typed.check(&at) {
        Ok((value, reason)) => keep(&app, &user, shell, typed, (at, Some(value), reason)).await,
        Err(errors) => wrong(&app, shell, typed, errors).await,
    }
}

/// Goes back to the shipped number.
pub(super) async fn back(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let at = typed.address()?;
    keep(&app, &user, shell, typed, (at, None, BACK.to_owned())).await
}

async fn wrong(app: &App, shell: Shell, typed: Typed, errors: Errors) -> Result<Response> {
    Ok(invalid(WeightPage::new(app, shell, &typed.weight).await?.with(typed, errors)))
}

async fn keep(
    app: &App,
    user: &User,
    shell: Shell,
    typed: Typed,
    (at, value, reason): (Address, Option<f64>, String),
) -> Result<Response> {
    let mut once = match begin(app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let address = at.to_string();
    let history = store::history(&mut *once.tx, &address).await?;
    let version = history.first().map_or(0, |set| set.version);
    if typed.version.parse() != Ok(version) {
        drop(once);
        return Err(conflict(app, &at, (value, &reason), history.first()).await?);
    }
    let (rows, _) = together(&store::standing(&mut *once.tx, None).await?);
    let changed = match value {
        Some(value) => rows.also(&at, value),
        None => rows.without(&at),
    };
    let rows = match changed {
        Ok(rows) => rows,
        Err(why) => {
            drop(once);
            return wrong(app, shell, typed, Errors::one("value", why)).await;
        }
    };
    let change = Change { address: &address, version: version + 1, value, reason: &reason };
    store::insert(&mut once.tx, &change, user.id, once.now).await?;
    let name = rows.figure(&at).map(|figure| rows.name_of(&figure)).unwrap_or_default();
    let line = match value {
        Some(value) => format!("{name}: {value} from now on."),
        None => format!("{name}: as shipped from now on."),
    };
    done(app, user, once, &line, &href(&at)).await
}

async fn done(app: &App, user: &User, mut once: Once, line: &str, location: &str) -> Result<Response> {
    flash(&mut once.tx, user, line).await?;
    let answer = once.commit(location).await;
    app.weighing.forget().await;
    answer
}

async fn conflict(
    app: &App,
    at: &Address,
    (value, reason): (Option<f64>, &str),
    theirs: Option<&Set>,
) -> Result<Error> {
    let zone = practice::store::get(app.db.read()).await?.zone;
    let shown = |value: Option<f64>| value.map_or_else(|| "as shipped".to_owned(), |value| value.to_string());
    let (their_value, their_reason) = match theirs {
        Some(set) => (shown(set.value), format!("{} ({}, {})", set.reason, set.by, set.at.words(&zone))),
        None => (shown(None), String::new()),
    };
    let clash = Conflict { what: "This number".into(), back: href(at), ..Conflict::default() }
        .field("Value", &shown(value), &their_value)
        .field("Why", reason, &their_reason);
    Ok(Error::Conflict(Box::new(clash)))
}
