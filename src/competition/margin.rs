//! What a veterinarian adds after one treatment: a margin, and when the last was given where the record does not say.

use axum::{extract::State, response::Response};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    found::{of_entry, treatments},
    horse::{Asked, HorsePage},
    store,
    treatment::Treatment,
};
use crate::{
    App,
    accounts::{Can, act},
    clock::{At, Day},
    ids::{EntryId, HorseId},
    practice,
    reasoning::competition::Margin,
    web::{Begun, Check, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid, shown},
};

pub(super) const MOST_HOURS: f64 = 20_000.0;
const LONGEST: usize = 300;

/// As it is kept.
#[derive(Debug, Clone)]
pub(super) struct Added {
    pub margin: Option<Margin>,
    pub last_on: Option<Day>,
    pub why: String,
    pub by: String,
    pub at: At,
}

/// One on its way in.
#[derive(Debug)]
pub(super) struct NewMargin {
    pub margin: Option<Margin>,
    pub last_on: Option<Day>,
    pub why: String,
}

/// As typed. `set`, `event` and what is planned lead back to the page that was open.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct MarginForm {
    pub submission: String,
    pub entry: String,
    pub set: String,
    pub event: String,
    pub amount: String,
    pub unit: String,
    pub last_on: String,
    pub why: String,
    pub earlier: String,
}

impl MarginForm {
    /// The form with what holds.
    pub(super) fn of(entry: EntryId, added: Option<&Added>) -> Self {
        let blank = MarginForm { entry: entry.to_string(), ..MarginForm::default() };
        let Some(added) = added else { return blank };
        let (amount, unit) = match added.margin {
            Some(Margin::Hours(hours)) => (hours.to_string(), "hours"),
            Some(Margin::Days(days)) => (days.to_string(), "days"),
            None => (String::new(), ""),
        };
        let last_on = shown(added.last_on);
        MarginForm { amount, unit: unit.to_owned(), last_on, why: added.why.clone(), ..blank }
    }

    fn check(&self, treatment: &Treatment, zone: &TimeZone) -> std::result::Result<NewMargin, Errors> {
        let mut check = Check::new();
        let margin = margin(&mut check, ("amount", &self.amount), ("unit", &self.unit));
        let last_on = check.day("last_on", &self.last_on);
        if last_on.is_some_and(|day| day < treatment.began.day(zone)) {
            check.errors.add("last_on", "This is before the treatment began.");
        }
        if margin.is_none() && last_on.is_none() && check.errors.is_empty() {
            check.errors.add("amount", "Enter a margin, or the day of the last dose.");
        }
        let why = check.line("why", &self.why, LONGEST);
        check.done(NewMargin { margin, last_on, why })
    }
}

/// A margin as it is typed; nothing where the field is empty. A margin of nothing is none.
pub(super) fn margin(
    check: &mut Check,
    (field, amount): (&str, &str),
    (unit_field, unit): (&str, &str),
) -> Option<Margin> {
    let number = check.number(field, amount, 1.0..=MOST_HOURS, "")?;
    if number.fract() != 0.0 {
        check.errors.add(field, "Enter whole hours or days.");
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to 20000, whole")]
    let number = number as u32;
    match unit {
        "hours" => Some(Margin::Hours(number)),
        "days" if number <= 1000 => Some(Margin::Days(number)),
        "days" => {
            check.errors.add(field, "Enter at most 1000 days.");
            None
        }
        _ => {
            check.errors.add(unit_field, "Choose hours or days.");
            None
        }
    }
}

pub(super) async fn keep(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Form(typed): Form<MarginForm>,
) -> Result<Response> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let all = treatments(db, id, &zone).await?;
    let entry: EntryId = typed.entry.parse().map_err(|_| Error::NotFound)?;
    let is = |one: &&Treatment| one.entry.is_some_and(|(of, _)| of == entry);
    let treatment = all.iter().find(is).ok_or(Error::NotFound)?;
    let asked = Asked {
        set: typed.set.clone(),
        event: typed.event.clone(),
        entry: typed.entry.clone(),
        ..Asked::default()
    };
    let new = match typed.check(treatment, &zone) {
        Ok(new) => new,
        Err(errors) => {
            let page = HorsePage::new(&app, shell, id, asked).await?;
            return Ok(invalid(page.with_margin(typed, errors)));
        }
    };
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::insert_margin(&mut once.tx, entry, &new, user.id, once.now).await?;
    if typed.earlier == "yes" && new.margin.is_some() {
        let margins = store::margins(&mut *once.tx, id).await?;
        let same = NewMargin { last_on: None, ..new };
        for other in earlier(&all, treatment).filter(|other| of_entry(&margins, *other).is_none()) {
            store::insert_margin(&mut once.tx, other, &same, user.id, once.now).await?;
        }
    }
    flash(&mut once.tx, &user, "Kept with your name.").await?;
    once.commit(&format!("{}#results", asked.way(id))).await
}

/// Treatments of the same name that began before.
pub(super) fn earlier<'a>(all: &'a [Treatment], than: &'a Treatment) -> impl Iterator<Item = EntryId> + 'a {
    let before = |other: &&Treatment| other.name == than.name && other.began < than.began;
    all.iter().filter(before).filter_map(|other| other.entry.map(|(entry, _)| entry))
}
