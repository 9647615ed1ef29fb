//! What prescriptions and labels say beside the medicine: where the practice is, and with what its veterinarians sign.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::store::{self, Prescribing};
use crate::{
    App, accounts,
    accounts::{Can, act},
    catalogue::catalogue,
    ids::StaffId,
    web::{Begun, Check, Conflict, Errors, Form, Result, Shell, begin, flash, invalid},
};

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct PlaceForm {
    submission: String,
    version: String,
    jurisdiction: String,
    address: String,
    phone: String,
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct VetForm {
    submission: String,
    vet: String,
    qualification: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "formulary/prescribing.html")]
struct PrescribingPage {
    shell: Shell,
    errors: Errors,
    form: PlaceForm,
    vet: VetForm,
    /// With what each signs.
    vets: Vec<(StaffId, String, String)>,
}

impl PrescribingPage {
    async fn new(app: &App, shell: Shell) -> Result<Self> {
        let db = app.db.read();
        let stands = store::prescribing(db).await?;
        let mut vets = Vec::new();
        for vet in accounts::store::vets(db).await? {
            vets.push((vet.id, vet.name, store::qualification(db, vet.id).await?));
        }
        let form = PlaceForm {
            submission: String::new(),
            version: stands.version.to_string(),
            jurisdiction: stands.jurisdiction,
            address: stands.address,
            phone: stands.phone,
        };
        Ok(PrescribingPage { shell, errors: Errors::default(), form, vet: VetForm::default(), vets })
    }

    fn places(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().care.jurisdictions.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn names(&self) -> Vec<(StaffId, &str)> {
        self.vets.iter().map(|(id, name, _)| (*id, name.as_str())).collect()
    }
}

pub(super) async fn page(_: Can<act::RunPractice>, State(app): State<App>, shell: Shell) -> Result<Response> {
    Ok(PrescribingPage::new(&app, shell).await?.into_response())
}

pub(super) async fn change(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(form): Form<PlaceForm>,
) -> Result<Response> {
    let mut check = Check::new();
    let known = catalogue().care.jurisdiction(&form.jurisdiction).is_some();
    if !known {
        check.errors.add("jurisdiction", "Choose whose rules hold here.");
    }
    let new = Prescribing {
        jurisdiction: form.jurisdiction.clone(),
        address: check.needed_words("address", &form.address, 500, "Enter the address of the practice."),
        phone: check.needed("phone", &form.phone, 100, "Enter the telephone."),
        version: form.version.parse().unwrap_or(0),
    };
    if !check.errors.is_empty() {
        let page = PrescribingPage::new(&app, shell).await?;
        return Ok(invalid(PrescribingPage { errors: check.errors, form, ..page }));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::set_prescribing(&mut once.tx, &new).await? == 0 {
        let theirs = store::prescribing(&mut *once.tx).await?;
        let clash = Conflict {
            what: "What papers say of the practice".into(),
            back: "/practice/prescribing".into(),
            ..Conflict::default()
        };
        let clash = clash.field("Address", &new.address, &theirs.address).field(
            "Telephone",
            &new.phone,
            &theirs.phone,
        );
        return Err(clash.into());
    }
    flash(&mut once.tx, &user, "Saved.").await?;
    once.commit("/practice/prescribing").await
}

pub(super) async fn set_qualification(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(vet): Form<VetForm>,
) -> Result<Response> {
    let mut check = Check::new();
    let page = PrescribingPage::new(&app, shell).await?;
    let id = vet.vet.parse::<StaffId>().ok().filter(|id| page.vets.iter().any(|(known, ..)| known == id));
    if id.is_none() {
        check.errors.add("vet", "Choose a veterinarian of the list.");
    }
    let words = check.needed(
        "qualification",
        &vet.qualification,
        200,
        "Enter letters and registration, as on a paper.",
    );
    let Some(id) = id.filter(|_| check.errors.is_empty()) else {
        return Ok(invalid(PrescribingPage { errors: check.errors, vet, ..page }));
    };
    let mut once = match begin(&app, &vet.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::set_qualification(&mut once.tx, id, &words).await?;
    flash(&mut once.tx, &user, "Saved.").await?;
    once.commit("/practice/prescribing").await
}
