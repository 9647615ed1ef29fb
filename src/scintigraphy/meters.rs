//! The meters of the practice: a new one, a new calibration, and one that nobody reads any more.

use axum::{extract::State as FromApp, response::Response};
use serde::Deserialize;

use super::{
    licence::{LicencePage, PAGE, clash},
    store::{self, Meter},
};
use crate::{
    App,
    accounts::{Can, act},
    ids::MeterId,
    web::{Begun, Check, Error, Errors, Form, Result, Shell, begin, flash, invalid},
};

/// A meter that is new, or with its id and version one that is changed.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct MeterForm {
    submission: String,
    pub version: String,
    pub id: String,
    pub meter_name: String,
    pub serial: String,
    pub calibrated_on: String,
    pub calibration_due: String,
}

impl MeterForm {
    pub(super) fn of(meter: &Meter) -> Self {
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

pub(super) async fn keep(
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
            return Ok(invalid(page.with_meter(form, errors)));
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

pub(super) async fn retire(
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
