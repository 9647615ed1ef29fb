//! The record of one horse as a whole: until when it is kept, what holds it, and who asked for a copy.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    forms::{CopyForm, HoldForm},
    settings::years,
    store::{self, Asked, Hold},
    taken::{self, TakeForm},
};
use crate::{
    App,
    accounts::{Can, act},
    clock::Day,
    formulary,
    horses::{self, Card},
    ids::{CopyId, HoldId, HorseId},
    practice,
    reasoning::keeping::kept_until,
    web::{Begun, Conflict, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "retention/horse.html")]
pub(super) struct RecordPage {
    shell: Shell,
    errors: Errors,
    card: Card,
    pub(super) today: Day,
    zone: TimeZone,
    years: u16,
    /// The day of the latest entry or visit.
    latest: Option<Day>,
    holds: Vec<Hold>,
    pub(super) copies: Vec<Asked>,
    hold: HoldForm,
    copy: CopyForm,
    take: TakeForm,
    /// Since when it belongs to whom it belongs to today, where somebody else had it before.
    owned_since: Option<Day>,
    lifting: Option<HoldId>,
    giving: Option<CopyId>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Wanted {
    lift: String,
    give: String,
}

impl RecordPage {
    pub(super) async fn new(app: &App, shell: Shell, id: HorseId) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let now = app.clock.now();
        let today = now.day(&zone);
        let jurisdiction = formulary::store::prescribing(db).await?.jurisdiction;
        Ok(RecordPage {
            shell,
            errors: Errors::default(),
            card: horses::store::card(db, id).await?,
            today,
            years: years(&store::setting(db).await?, &jurisdiction),
            latest: store::latest(db, id, now).await?.map(|at| at.day(&zone)),
            holds: store::holds(db, id).await?,
            copies: store::copies_of(db, id).await?,
            hold: HoldForm::default(),
            copy: CopyForm::fresh(today),
            take: TakeForm::default(),
            owned_since: horses::store::owned_since(db, id).await?.map(|at| at.day(&zone)),
            lifting: None,
            giving: None,
            zone,
        })
    }

    /// With the form of a copy as it was typed; `giving` is the copy that was to be given.
    pub(super) fn with_copy(self, copy: CopyForm, errors: Errors, giving: Option<CopyId>) -> Self {
        RecordPage { errors, copy, giving, ..self }
    }

    /// With the form of what is taken along as it was typed.
    pub(super) fn with_take(self, take: TakeForm, errors: Errors) -> Self {
        RecordPage { errors, take, ..self }
    }

    pub(super) fn name(&self) -> &str {
        &self.card.name
    }

    fn ways(&self) -> [(&'static str, &'static str); 2] {
        taken::CHOICES
    }

    fn kept_until(&self) -> Option<Day> {
        self.latest.map(|latest| kept_until(latest, self.years))
    }

    fn is_held(&self) -> bool {
        self.holds.iter().any(|hold| hold.lifted_at.is_none())
    }
}

pub(super) fn way(horse: HorseId) -> String {
    format!("/horses/{horse}/record")
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeClients>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    let page = RecordPage::new(&app, shell, id).await?;
    let (lifting, giving) = (wanted.lift.parse().ok(), wanted.give.parse().ok());
    Ok(RecordPage { lifting, giving, ..page }.into_response())
}

pub(super) async fn hold(
    State(app): State<App>,
    Can { user, .. }: Can<act::EditHorses>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Form(hold): Form<HoldForm>,
) -> Result<Response> {
    let page = RecordPage::new(&app, shell, id).await?;
    let reason = match hold.check() {
        Ok(reason) => reason,
        Err(errors) => return Ok(invalid(RecordPage { errors, hold, ..page })),
    };
    let mut once = match begin(&app, &hold.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::insert_hold(&mut once.tx, id, &reason, user.id, once.now).await?;
    flash(&mut once.tx, &user, "The record is held until somebody lifts it.").await?;
    once.commit(&way(id)).await
}

pub(super) async fn lift(
    State(app): State<App>,
    Can { user, .. }: Can<act::EditHorses>,
    shell: Shell,
    Path((id, lifting)): Path<(HorseId, HoldId)>,
    Form(hold): Form<HoldForm>,
) -> Result<Response> {
    let page = RecordPage::new(&app, shell, id).await?;
    let why = match hold.check_lift() {
        Ok(why) => why,
        Err(errors) => return Ok(invalid(RecordPage { errors, hold, lifting: Some(lifting), ..page })),
    };
    let mut once = match begin(&app, &hold.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::lift(&mut once.tx, (id, lifting), &why, user.id, once.now).await? == 0 {
        let what = "A hold that was lifted meanwhile".to_owned();
        let clash = Conflict { what, back: way(id), ..Conflict::default() };
        return Err(clash.field("Why", &why, "").into());
    }
    flash(&mut once.tx, &user, "The hold is lifted; it stays in sight.").await?;
    once.commit(&way(id)).await
}
