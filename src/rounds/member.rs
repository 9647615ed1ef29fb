//! One vet's hours, clinic days, start and vehicle.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    hours::{Hours, WEEKDAYS},
    store::{self, Round},
};
use crate::{
    App,
    accounts::{self, Can, act, store::Staff},
    catalogue::catalogue,
    clients::yards::degrees,
    ids::StaffId,
    reasoning::road::Rules,
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid, shown},
};

#[derive(Template, WebTemplate)]
#[template(path = "rounds/member.html")]
struct RoundPage {
    shell: Shell,
    errors: Errors,
    member: Staff,
    form: RoundForm,
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct RoundForm {
    submission: String,
    version: String,
    hours: String,
    clinic: Vec<String>,
    starts: String,
    lat: String,
    lon: String,
    equipment: Vec<String>,
    phone: String,
}

const STARTS: [(&str, &str); 2] = [("practice", "the practice"), ("home", "home")];

impl RoundForm {
    /// As it is kept; where nothing is, the usual day.
    fn of(round: Option<Round>) -> Self {
        let Some(round) = round else {
            let rules = Rules::shipped();
            let usual = Hours::weekdays(rules.whole("day_from_min"), rules.whole("day_until_min"));
            return RoundForm {
                version: "0".into(),
                hours: usual.words(),
                starts: "practice".into(),
                ..Self::default()
            };
        };
        let list = |text: &str| text.split_whitespace().map(str::to_owned).collect();
        RoundForm {
            submission: String::new(),
            version: round.version.to_string(),
            hours: round.hours,
            clinic: list(&round.clinic_days),
            starts: if round.starts_at_home { "home".into() } else { "practice".into() },
            lat: shown(round.home_lat),
            lon: shown(round.home_lon),
            equipment: list(&round.equipment),
            phone: round.phone,
        }
    }

    fn check(&self, id: StaffId) -> std::result::Result<Round, Errors> {
        let mut check = Check::new();
        let typed = check.needed("hours", &self.hours, 200, "Enter the hours, such as Mon-Fri 8:00-18:00.");
        let hours = Hours::read(&typed).unwrap_or_else(|sentence| {
            check.errors.add("hours", sentence);
            Hours::default()
        });
        let home = degrees::spot(&mut check, ("lat", &self.lat), ("lon", &self.lon));
        if !STARTS.iter().any(|(key, _)| *key == self.starts) {
            check.errors.add("starts", "Choose one of these.");
        }
        let phone = check.line("phone", &self.phone, 60);
        let days: Vec<&str> =
            WEEKDAYS.iter().map(|(key, _)| *key).filter(|key| self.clinic.iter().any(|d| d == key)).collect();
        let gear = catalogue().road.equipment.iter().map(|row| row.code.as_str());
        let gear: Vec<&str> = gear.filter(|code| self.equipment.iter().any(|e| e == code)).collect();
        check.done(Round {
            staff_id: id,
            hours: hours.words(),
            clinic_days: days.join(" "),
            starts_at_home: self.starts == "home",
            home_lat: home.map(|(lat, _)| lat),
            home_lon: home.map(|(_, lon)| lon),
            equipment: gear.join(" "),
            phone,
            version: self.version.parse().unwrap_or(-1),
        })
    }

    fn clash(&self, now: &RoundForm, member: &Staff) -> Error {
        let what = format!("{}'s hours and vehicle", member.name);
        let back = format!("/practice/staff/{}/round", member.id);
        let clash = Conflict { what, back, ..Conflict::default() }
            .field("Hours", &self.hours, &now.hours)
            .field("Days in the clinic", &self.clinic.join(" "), &now.clinic.join(" "))
            .field("Begins at", &self.starts, &now.starts)
            .field("Latitude", &self.lat, &now.lat)
            .field("Longitude", &self.lon, &now.lon)
            .field("Telephone", &self.phone, &now.phone)
            .field("In the vehicle", &self.equipment.join(" "), &now.equipment.join(" "));
        Error::Conflict(Box::new(clash))
    }
}

impl RoundPage {
    fn equipment() -> Vec<(&'static str, &'static str)> {
        catalogue().road.equipment.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn weekdays() -> [(&'static str, &'static str); 7] {
        WEEKDAYS
    }

    fn starts() -> [(&'static str, &'static str); 2] {
        STARTS
    }
}

/// The round of one who can be booked.
async fn read(app: &App, id: StaffId) -> Result<(Staff, RoundForm)> {
    let db = app.db.read();
    let member = accounts::store::get(db, id).await?;
    if !member.licensed {
        return Err(Error::NotFound);
    }
    let round = store::rounds(db).await?.into_iter().find(|round| round.staff_id == id);
    Ok((member, RoundForm::of(round)))
}

pub(super) async fn show(
    _: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Path(id): Path<StaffId>,
) -> Result<Response> {
    let (member, form) = read(&app, id).await?;
    Ok(RoundPage { shell, errors: Errors::default(), member, form }.into_response())
}

pub(super) async fn change(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Path(id): Path<StaffId>,
    Form(form): Form<RoundForm>,
) -> Result<Response> {
    let (member, now) = read(&app, id).await?;
    let round = match form.check(id) {
        Ok(round) => round,
        Err(errors) => return Ok(invalid(RoundPage { shell, errors, member, form })),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::keep_round(&mut once.tx, &round).await? == 0 {
        return Err(form.clash(&now, &member));
    }
    flash(&mut once.tx, &user, &format!("{}'s hours and vehicle are saved.", member.name)).await?;
    once.commit(&format!("/practice/staff/{id}")).await
}
