//! The page of a horse: under which rules, on which day, and from when by them.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    RuleSet,
    found::{Found, Met, Planned, Question, of_entry, treatments},
    margin::{MarginForm, earlier, margin},
    store,
    treatment::procedures,
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::{Choice, catalogue},
    clock::Day,
    formulary,
    horses::{self, Card},
    ids::{EntryId, HorseId, RuleSetId},
    practice,
    reasoning::competition::Earliest,
    web::{Check, Errors, Path, Query, Result, Shell, invalid},
};

const UNITS: [(&str, &str); 2] = [("hours", "hours"), ("days", "days")];

/// What the address asks, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    pub set: String,
    pub event: String,
    pub planned: String,
    pub planned_on: String,
    pub planned_margin: String,
    pub planned_unit: String,
    /// The treatment whose margin is being entered.
    pub entry: String,
}

impl Asked {
    /// What is asked of whom, as far as it can be read; an empty address asks nothing.
    fn read(&self, sets: &[RuleSet], today: Day) -> std::result::Result<Option<Question>, Errors> {
        let mut check = Check::new();
        if self.set.is_empty() && self.event.is_empty() {
            return Ok(None);
        }
        let set = self.set.parse::<RuleSetId>().ok();
        let set = sets.iter().find(|one| Some(one.id) == set).cloned();
        if set.is_none() {
            check.errors.add("set", "Choose the rules.");
        }
        let event = check.day("event", &self.event);
        if event.is_none() && check.errors.on("event").is_none() {
            check.errors.add("event", "Enter the day of the event.");
        }
        if event.is_some_and(|event| event < today) {
            check.errors.add("event", "This day is past.");
        }
        let planned = self.plan(&mut check, today);
        let question = set.zip(event).map(|(set, event)| Question { set, event, planned });
        check.done(question)
    }

    fn plan(&self, check: &mut Check, today: Day) -> Option<Planned> {
        let name = check.line("planned", &self.planned, 300);
        let on = check.day("planned_on", &self.planned_on);
        let margin =
            margin(check, ("planned_margin", &self.planned_margin), ("planned_unit", &self.planned_unit));
        if name.is_empty() {
            return None;
        }
        if on.is_none() && check.errors.on("planned_on").is_none() {
            check.errors.add("planned_on", "Enter the day on which it is planned.");
        }
        if on.is_some_and(|on| on < today) {
            check.errors.add("planned_on", "This day is past: enter it at the visit.");
        }
        Some(Planned { name, on: on?, margin })
    }

    /// The address of the page with the same rules and the same day.
    pub(super) fn way(&self, horse: HorseId) -> String {
        let at = format!("/horses/{horse}/competition");
        let set = self.set.parse::<RuleSetId>().ok();
        match set.zip(Check::new().day("event", &self.event)) {
            Some((set, event)) => format!("{at}?set={set}&event={event}"),
            None => at,
        }
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "competition/horse.html")]
pub(super) struct HorsePage {
    pub(super) shell: Shell,
    errors: Errors,
    pub(super) card: Card,
    pub(super) today: Day,
    pub(super) zone: TimeZone,
    sets: Vec<RuleSet>,
    medicines: Vec<String>,
    asked: Asked,
    pub(super) found: Option<Found>,
    /// The treatment whose margin is being entered.
    open: Option<Open>,
    typed: MarginForm,
}

/// A treatment whose margin is being entered.
struct Open {
    entry: EntryId,
    words: String,
    /// Earlier ones of the same name that have no margin.
    without: usize,
}

impl HorsePage {
    pub(super) async fn new(app: &App, shell: Shell, id: HorseId, asked: Asked) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let today = app.clock.now().day(&zone);
        let card = horses::store::card(db, id).await?;
        let sets = store::sets(db).await?;
        let (found, errors) = match asked.read(&sets, today) {
            Ok(Some(question)) => (Some(Found::load(db, id, &zone, question).await?), Errors::default()),
            Ok(None) => (None, Errors::default()),
            Err(errors) => (None, errors),
        };
        let mut medicines: Vec<String> =
            formulary::rows(db).await?.into_iter().map(|kept| kept.row.name).collect();
        medicines.dedup();
        let mut page = HorsePage {
            shell,
            errors,
            card,
            today,
            zone,
            sets,
            medicines,
            open: None,
            typed: MarginForm::default(),
            found,
            asked,
        };
        if let Ok(entry) = page.asked.entry.parse() {
            page.open_margin(app, id, entry).await?;
        }
        Ok(page)
    }

    /// Opens the form of a treatment, with what was said of it before.
    async fn open_margin(&mut self, app: &App, id: HorseId, entry: EntryId) -> Result<()> {
        let db = app.db.read();
        let margins = store::margins(db, id).await?;
        let all = treatments(db, id, &self.zone).await?;
        let Some(treatment) = all.iter().find(|one| one.entry.is_some_and(|(of, _)| of == entry)) else {
            return Ok(());
        };
        let without = earlier(&all, treatment).filter(|other| of_entry(&margins, *other).is_none()).count();
        self.open = Some(Open { entry, words: treatment.words.clone(), without });
        self.typed = MarginForm::of(entry, of_entry(&margins, entry).as_ref());
        Ok(())
    }

    /// With the form of a margin as it was typed.
    pub(super) fn with_margin(self, typed: MarginForm, errors: Errors) -> Self {
        HorsePage { errors, typed, ..self }
    }

    fn may_add(&self) -> bool {
        self.shell.may(Act::Sign)
    }

    fn choices(&self) -> Vec<(RuleSetId, String)> {
        self.sets.iter().map(|set| (set.id, format!("{} ({})", set.title(), set.dates()))).collect()
    }

    fn plannable(&self) -> Vec<&str> {
        self.medicines.iter().map(String::as_str).chain(procedures()).collect()
    }

    fn units(&self) -> [(&'static str, &'static str); 2] {
        UNITS
    }

    fn facts(&self) -> Vec<&'static Choice> {
        let known = &catalogue().competition;
        known.kinds.iter().chain(known.facts.iter()).collect()
    }

    /// Whether the form of this treatment is open.
    fn is_open(&self, met: &Met) -> bool {
        let open = self.open.as_ref().map(|open| open.entry);
        open.is_some() && met.treatment.entry.map(|(entry, _)| entry) == open
    }

    /// Where the page of the same question is.
    pub(super) fn way(&self) -> String {
        self.asked.way(self.card.id)
    }

    /// What all rules together say of the event.
    fn verdict(&self, found: &Found) -> String {
        match found.earliest {
            Earliest::NoRule => {
                "No treatment in this record meets a rule of this set. That is not the same as free: \
                                 read below what no rule is kept for, and ask what others have given."
                    .to_owned()
            }
            Earliest::Open => format!(
                "No earliest day: {} of the treatments below {} something that a veterinarian must add.",
                found.open().len(),
                if found.open().len() == 1 { "lacks" } else { "lack" }
            ),
            Earliest::From { day, .. } if found.event >= day => {
                format!("The event on {} is not before it.", found.event.long())
            }
            Earliest::From { .. } => format!("The event on {} is before it.", found.event.long()),
        }
    }

    /// The event comes too early, or nobody can say.
    fn is_against(&self, found: &Found) -> bool {
        match found.earliest {
            Earliest::NoRule => false,
            Earliest::Open => true,
            Earliest::From { day, .. } => found.event < day,
        }
    }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let page = HorsePage::new(&app, shell, id, asked).await?;
    Ok(if page.errors.is_empty() { page.into_response() } else { invalid(page) })
}
