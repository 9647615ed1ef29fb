//! A horse's medicines, what a medicine must know of it, and when its passport was seen.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    scene::risk_words,
    store::{self, Given, Passport, Risk},
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::catalogue,
    clock::Day,
    horses::{self, Card},
    ids::{HorseId, RiskId},
    papers::dosed::amount,
    practice,
    web::{Begun, Check, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

const FOOD: [(&str, &str); 2] =
    [("excluded", "signed out of the food chain, for good"), ("eligible", "may be eaten")];

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    submission: String,
    risk: String,
    note: String,
    seen_on: String,
    food_chain: String,
    declared_on: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "care/horse.html")]
struct MedicinesPage {
    shell: Shell,
    errors: Errors,
    card: Card,
    today: Day,
    zone: TimeZone,
    given: Vec<Given>,
    risks: Vec<Risk>,
    passport: Option<Passport>,
    typed: Typed,
}

impl MedicinesPage {
    async fn new(app: &App, shell: Shell, id: HorseId, typed: Option<Typed>, errors: Errors) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let today = app.clock.now().day(&zone);
        Ok(MedicinesPage {
            shell,
            errors,
            card: horses::store::card(db, id).await?,
            given: store::medicines(db, id).await?,
            risks: store::risks(db, id).await?,
            passport: store::passport(db, id).await?,
            typed: typed.unwrap_or_else(|| Typed { seen_on: today.words(), ..Typed::default() }),
            zone,
            today,
        })
    }

    fn may_write(&self) -> bool {
        self.shell.may(Act::Examine)
    }

    fn known(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().care.risks.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn food(&self) -> [(&'static str, &'static str); 2] {
        FOOD
    }

    fn risk(&self, risk: &Risk) -> String {
        risk_words(risk)
    }

    fn amount(&self, given: &Given) -> String {
        amount(&given.dosed)
    }

    /// Until when it may not be slaughtered, for the longest that runs.
    fn withdrawal(&self) -> Option<String> {
        let ends = self.given.iter().filter_map(|one| {
            let days = i64::from(one.dosed.withdrawal_days?);
            let last = i64::from(one.dosed.days.unwrap_or(1).max(1)) - 1;
            Some((one.dosed.at.day(&self.zone).plus_days(days + last), one.dosed.name.clone()))
        });
        let (day, name) = ends.max_by_key(|(day, _)| *day).filter(|(day, _)| *day >= self.today)?;
        Some(format!("Not for slaughter before {}: {name}.", day.words()))
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<HorseId>,
) -> Result<Response> {
    Ok(MedicinesPage::new(&app, shell, id, None, Errors::default()).await?.into_response())
}

pub(super) async fn add_risk(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut check = Check::new();
    if catalogue().care.risk(&typed.risk).is_none() {
        check.errors.add("risk", "Choose what is known.");
    }
    let note = check.line("note", &typed.note, 300);
    if !check.errors.is_empty() {
        return Ok(invalid(MedicinesPage::new(&app, shell, id, Some(typed), check.errors).await?));
    }
    horses::store::card(app.db.read(), id).await?;
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::add_risk(&mut once.tx, id, (&typed.risk, &note), user.id, once.now).await?;
    flash(&mut once.tx, &user, "Noted: it is asked about before a medicine.").await?;
    once.commit(&format!("/horses/{id}/medicines")).await
}

pub(super) async fn end_risk(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    Path((id, risk)): Path<(HorseId, RiskId)>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let ended = store::end_risk(&mut once.tx, id, risk, user.id, once.now).await?;
    flash(
        &mut once.tx,
        &user,
        if ended == 1 { "It is over; it stays in sight." } else { "It was over already." },
    )
    .await?;
    once.commit(&format!("/horses/{id}/medicines")).await
}

pub(super) async fn passport_seen(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let page = MedicinesPage::new(&app, shell, id, Some(typed.clone()), Errors::default()).await?;
    let mut check = Check::new();
    let mut past = |field: &str, words: &str| {
        let day = check.day(field, words);
        if day.is_some_and(|day| day > page.today) {
            check.errors.add(field, "This day is still to come.");
        }
        day
    };
    let (seen_on, declared_on) = (past("seen_on", &typed.seen_on), past("declared_on", &typed.declared_on));
    if typed.seen_on.trim().is_empty() {
        check.errors.add("seen_on", "Enter the day that the passport was seen.");
    }
    if !FOOD.iter().any(|(key, _)| *key == typed.food_chain) {
        check.errors.add("food_chain", "Choose what the passport says.");
    }
    if typed.food_chain == "eligible"
        && page.passport.as_ref().is_some_and(|seen| seen.food_chain == "excluded")
    {
        check.errors.add(
            "food_chain",
            "It was seen signed out before: that holds for good. Look at the passport again.",
        );
    }
    let Some(seen_on) = seen_on.filter(|_| check.errors.is_empty()) else {
        return Ok(invalid(MedicinesPage { errors: check.errors, ..page }));
    };
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let said = (seen_on, typed.food_chain.as_str(), declared_on);
    store::see_passport(&mut once.tx, id, said, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Noted, and the horse's food chain with it.").await?;
    once.commit(&format!("/horses/{id}/medicines")).await
}
