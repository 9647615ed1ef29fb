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
    store::{self, Meter, Officer, Terms},
};
use crate::{
    App,
    accounts::{self, Act, Can, act},
    catalogue::{catalogue, diagnostics::Convention},
    ids::{MeterId, StaffId},
    web::{Begun, Check, Conflict, Error, Errors, Form, Query, Result, Shell, begin, flash, invalid, shown},
};

const PAGE: &str = "/practice/radiation";
const MOST_HOURS: f64 = 1_000.0;
const MOST_RATE: f64 = 10_000.0;

#[derive(Template, WebTemplate)]
#[template(path = "scintigraphy/licence.html")]
struct LicencePage {
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
    async fn new(app: &App, shell: Shell) -> Result<Self> {
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

fn clash(what: &str) -> Conflict {
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

/// A meter that is new, or with its id and version one that is changed.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct MeterForm {
    submission: String,
    version: String,
    id: String,
    meter_name: String,
    serial: String,
    calibrated_on: String,
    calibration_due: String,
}

impl MeterForm {
    fn of(meter: &Meter) -> Self {
        MeterForm {
            submission: String::new(),
            version: meter.version.to_string(),
            id: meter.id.to_string(),
            meter_name: meter.name.clone(),
            serial: meter.serial.clone(),
            calibrated_on: meter.calibrated_on.to_string(),
            calibration_due: meter.calibration_due.to_string(),
        }
    }

    fn check(&self) -> std::result::Result<Meter, Errors> {
        let mut check = Check::new();
        let name = check.needed("meter_name", &self.meter_name, 200, "Enter what the meter is called.");
        let serial = check.needed("serial", &self.serial, 100, "Enter its serial number.");
        let mut day = |field: &str, typed: &str| {
            if typed.trim().is_empty() {
                check.errors.add(field, "Enter the day.");
            }
            check.day(field, typed)
        };
        let days = (day("calibrated_on", &self.calibrated_on), day("calibration_due", &self.calibration_due));
        if matches!(days, (Some(on), Some(due)) if due < on) {
            check.errors.add("calibration_due", "This is before it was calibrated.");
        }
        match (days, check.errors) {
            ((Some(calibrated_on), Some(calibration_due)), errors) if errors.is_empty() => Ok(Meter {
                id: self.id.parse().unwrap_or_else(|_| MeterId::new()),
                name,
                serial,
                calibrated_on,
                calibration_due,
                version: self.version.parse().unwrap_or(0),
            }),
            (_, errors) => Err(errors),
        }
    }
}

pub(super) async fn keep_meter(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<MeterForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let mut meant = form.check();
    if let Ok(meter) = &meant
        && store::serial_is_taken(&mut *once.tx, &meter.serial, meter.id).await?
    {
        meant = Err(Errors::one("serial", "A meter with this serial number was entered before."));
    }
    let meter = match meant {
        Ok(meter) => meter,
        Err(errors) => {
            drop(once);
            let page = LicencePage::new(&app, shell).await?;
            return Ok(invalid(LicencePage { errors, meter: form, ..page }));
        }
    };
    if form.id.is_empty() {
        store::add_meter(&mut once.tx, &meter).await?;
    } else if store::change_meter(&mut once.tx, &meter).await? == 0 {
        return Err(stale(&form));
    }
    flash(&mut once.tx, &user, "The meter is saved.").await?;
    once.commit(PAGE).await
}

fn stale(form: &MeterForm) -> Error {
    let theirs = "somebody else has changed this meter";
    clash("A survey meter").field("Meter", &form.meter_name, theirs).into()
}

pub(super) async fn retire_meter(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    Form(form): Form<MeterForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    if let Ok(id) = form.id.parse() {
        store::retire_meter(&mut once.tx, id).await?;
    }
    flash(&mut once.tx, &user, "The meter is out of use.").await?;
    once.commit(PAGE).await
}
