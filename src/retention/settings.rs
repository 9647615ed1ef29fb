//! How long this practice keeps a record, and whose rule holds for copies.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};

use super::{
    forms::SettingForm,
    store::{self, Setting},
};
use crate::{
    App,
    accounts::{Can, act},
    audit,
    catalogue::{
        catalogue,
        records::{CopyRule, Retention},
    },
    formulary,
    web::{Begun, Conflict, Error, Errors, Form, Result, Shell, begin, flash, invalid, shown},
};

const AT: &str = "/practice/record-keeping";

#[derive(Template, WebTemplate)]
#[template(path = "retention/settings.html")]
struct SettingPage {
    shell: Shell,
    errors: Errors,
    form: SettingForm,
    jurisdiction: String,
    setting: Setting,
}

impl SettingPage {
    async fn new(app: &App, shell: Shell) -> Result<Self> {
        let db = app.db.read();
        let setting = store::setting(db).await?;
        let jurisdiction = formulary::store::prescribing(db).await?.jurisdiction;
        let form = SettingForm::of(&setting);
        Ok(SettingPage { shell, errors: Errors::default(), form, jurisdiction, setting })
    }

    fn place(&self) -> Option<&'static str> {
        catalogue().care.jurisdiction(&self.jurisdiction).map(|row| row.name.as_str())
    }

    fn rows(&self) -> Vec<&'static Retention> {
        catalogue().records.retention.iter().filter(|row| row.jurisdiction == self.jurisdiction).collect()
    }

    fn years(&self) -> u16 {
        years(&self.setting, &self.jurisdiction)
    }

    fn usual(&self) -> u16 {
        catalogue().records.default_years()
    }

    fn rules(&self) -> Vec<(&'static str, String)> {
        catalogue().records.copies.iter().map(|row| (row.code.as_str(), rule_words(row))).collect()
    }
}

/// "California: 5 days (BPC 4855)"
fn rule_words(row: &CopyRule) -> String {
    let days = if row.business { "business days" } else { "days" };
    format!("{}: {} {days} ({})", row.name, row.days, row.source)
}

/// Years that a record is kept: the longest of what the jurisdiction asks and what the practice has set.
pub(super) fn years(setting: &Setting, jurisdiction: &str) -> u16 {
    let known = &catalogue().records;
    let asked =
        known.retention.iter().filter(|row| row.jurisdiction == jurisdiction).map(|row| row.years).max();
    setting.years.unwrap_or_else(|| known.default_years()).max(asked.unwrap_or_default())
}

pub(super) async fn page(State(app): State<App>, _: Can<act::RunPractice>, shell: Shell) -> Result<Response> {
    Ok(SettingPage::new(&app, shell).await?.into_response())
}

pub(super) async fn change(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<SettingForm>,
) -> Result<Response> {
    let new = match form.check() {
        Ok(new) => new,
        Err(errors) => {
            let page = SettingPage::new(&app, shell).await?;
            return Ok(invalid(SettingPage { errors, form, ..page }));
        }
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::set(&mut once.tx, &new).await? == 0 {
        let now = store::setting(&mut *once.tx).await?;
        let clash = Conflict { what: "Record keeping".into(), back: AT.into(), ..Conflict::default() };
        return Err(Error::from(clash.field("Years", &form.years, &shown(now.years)).field(
            "Rule for copies",
            &form.copy_rule,
            &now.copy_rule,
        )));
    }
    let words = format!("years {}, copies {}", shown(new.years), new.copy_rule);
    audit::store::note(&mut once.tx, "record keeping changed", &words, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Saved.").await?;
    once.commit(AT).await
}
