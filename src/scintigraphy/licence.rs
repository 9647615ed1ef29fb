//! The practice's radiation licence, who signs under it, and the meters: a page of the practice's settings.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    forms::needed,
    meters::MeterForm,
    store::{self, Meter, Officer, Terms},
};
use crate::{
    App,
    accounts::{self, Act, Can, act},
    catalogue::{catalogue, diagnostics::Convention},
    ids::{MeterId, StaffId},
    web::{Begun, Check, Conflict, Errors, Form, Query, Result, Shell, begin, flash, invalid, shown},
};

pub(super) const PAGE: &str = "/practice/radiation";
const MOST_HOURS: f64 = 1_000.0;
const MOST_RATE: f64 = 10_000.0;

#[derive(Template, WebTemplate)]
#[template(path = "scintigraphy/licence.html")]
pub(super) struct LicencePage {
    shell: Shell,
    errors: Errors,
    form: LicenceForm,
    officers: Vec<Officer>,
    /// Who could be named an officer besides.
    others: Vec<(StaffId, String)>,
    naming: OfficerForm,
    meters: Vec<Meter>,
    meter: MeterForm,
}

impl LicencePage {
    pub(super) async fn new(app: &App, shell: Shell) -> Result<Self> {
        let db = app.db.read();
        let officers = store::officers(db).await?;
        let staff = accounts::store::all(db).await?.into_iter();
        let others =
            staff.filter(|one| one.active && may_release(one) && officers.iter().all(|o| o.id != one.id));
        Ok(LicencePage {
            shell,
            errors: Errors::default(),
            form: LicenceForm::of(&store::terms(db).await?),
            others: others.map(|one| (one.id, one.name)).collect(),
            officers,
            naming: OfficerForm::default(),
            meters: store::meters(db).await?,
            meter: MeterForm::default(),
        })
    }

    /// With a meter as it was typed, and what is wrong with it.
    pub(super) fn with_meter(self, meter: MeterForm, errors: Errors) -> Self {
        LicencePage { errors, meter, ..self }
    }

    fn conventions(&self) -> &'static [Convention] {
        &catalogue().diagnostics.scintigraphy.conventions
    }
}

fn may_release(one: &accounts::store::Staff) -> bool {
    one.role.may(Act::Release)
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct LicenceForm {
    submission: String,
    version: String,
    reference: String,
    min_hours: String,
    max_usv_h: String,
}

impl LicenceForm {
    fn of(terms: &Terms) -> Self {
        LicenceForm {
            submission: String::new(),
            version: terms.version.to_string(),
            reference: terms.reference.clone(),
            min_hours: shown(terms.min_hours),
            max_usv_h: shown(terms.max_usv_h),
        }
    }

    fn check(&self) -> std::result::Result<Terms, Errors> {
        let mut check = Check::new();
        let missing = "Enter the number or name of the licence.";
        let reference = check.needed("reference", &self.reference, 200, missing);
        let missing = "Enter how many hours the licence asks for; 0 when it asks for none.";
        let min_hours = needed(&mut check, ("min_hours", &self.min_hours), MOST_HOURS, "h", missing);
        let missing = "Enter the highest rate at 1 m that the licence allows.";
        let max_usv_h = needed(&mut check, ("max_usv_h", &self.max_usv_h), MOST_RATE, "µSv/h", missing);
        if max_usv_h <= 0.0 && check.errors.on("max_usv_h").is_none() {
            check.errors.add("max_usv_h", "Enter more than 0.");
        }
        check.done(Terms {
            reference,
            min_hours: Some(min_hours),
            max_usv_h: Some(max_usv_h),
            version: self.version.parse().unwrap_or(0),
        })
    }
}

/// The meter that the address asks to change.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Open {
    meter: Option<MeterId>,
}

pub(super) async fn show(
    FromApp(app): FromApp<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
    Query(open): Query<Open>,
) -> Result<Response> {
    let page = LicencePage::new(&app, shell).await?;
    let meter = page.meters.iter().find(|meter| Some(meter.id) == open.meter);
    let meter = meter.map(MeterForm::of).unwrap_or_default();
    Ok(LicencePage { meter, ..page }.into_response())
}

pub(super) async fn change(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<LicenceForm>,
) -> Result<Response> {
    let meant = match form.check() {
        Ok(meant) => meant,
        Err(errors) => {
            let page = LicencePage::new(&app, shell).await?;
            return Ok(invalid(LicencePage { errors, form, ..page }));
        }
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    if store::set_terms(&mut once.tx, &meant).await? == 0 {
        drop(once);
        let theirs = LicenceForm::of(&store::terms(app.db.read()).await?);
        let clash = clash("The radiation licence")
            .field("Reference", &form.reference, &theirs.reference)
            .field("Minimum hours", &form.min_hours, &theirs.min_hours)
            .field("Maximum rate", &form.max_usv_h, &theirs.max_usv_h);
        return Err(clash.into());
    }
    flash(&mut once.tx, &user, "The licence is saved.").await?;
    once.commit(PAGE).await
}

pub(super) fn clash(what: &str) -> Conflict {
    Conflict { what: what.into(), back: PAGE.into(), ..Conflict::default() }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct OfficerForm {
    submission: String,
    officer: String,
}

pub(super) async fn add_officer(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<OfficerForm>,
) -> Result<Response> {
    let staff = accounts::store::all(app.db.read()).await?;
    let named = staff.iter().find(|one| one.id.to_string() == form.officer && one.active && may_release(one));
    let Some(named) = named else {
        let page = LicencePage::new(&app, shell).await?;
        let errors = Errors::one("officer", "Choose somebody of the list.");
        return Ok(invalid(LicencePage { errors, naming: form, ..page }));
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    store::add_officer(&mut once.tx, named.id, user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("{} signs releases.", named.name)).await?;
    once.commit(PAGE).await
}

pub(super) async fn remove_officer(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    Form(form): Form<OfficerForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    if let Ok(who) = form.officer.parse() {
        store::remove_officer(&mut once.tx, who).await?;
    }
    flash(&mut once.tx, &user, "Signs no releases any more.").await?;
    once.commit(PAGE).await
}
