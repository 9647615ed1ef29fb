//! Whom the practice reports to. Which diseases have to be reported, and how soon, is theirs to say.

use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{Mark, pages::AllPage, store};
use crate::{
    App,
    accounts::{Can, act},
    audit,
    web::{Begun, Check, Conflict, Error, Errors, Form, Result, Shell, begin, flash, invalid},
};

/// As the practice has entered them.
#[derive(Debug, Clone)]
pub struct Authority {
    pub name: String,
    pub phone: String,
    pub version: i64,
}

/// What to ask the authority about marks, and how to reach it.
#[derive(Debug, Clone)]
pub struct Report {
    /// What may have to be reported, in words.
    pub what: String,
    pub authority: Option<Authority>,
}

impl Report {
    /// None where nothing of it can have to be reported. A disease that nobody has named can be any of them.
    pub fn of(marks: &[&Mark], authority: Option<Authority>) -> Option<Self> {
        let mark = marks.iter().find(|mark| mark.kind != "isolated")?;
        let what = match mark.disease() {
            Some(disease) if disease.listed => {
                format!("{} may have to be reported at once.", capital(&disease.name))
            }
            Some(_) => "In some places this has to be reported.".to_owned(),
            None => "If it can be a disease that has to be reported, ask at once.".to_owned(),
        };
        Some(Report { what, authority })
    }

    /// The number as a telephone dials it.
    pub fn dial(&self) -> String {
        let phone = self.authority.as_ref().map_or("", |authority| authority.phone.as_str());
        phone.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect()
    }
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// As typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct AuthorityForm {
    pub submission: String,
    pub version: String,
    pub name: String,
    pub phone: String,
}

impl AuthorityForm {
    pub(super) fn of(authority: Option<&Authority>) -> Self {
        let Some(a) = authority else { return AuthorityForm { version: "0".into(), ..Self::default() } };
        AuthorityForm {
            version: a.version.to_string(),
            name: a.name.clone(),
            phone: a.phone.clone(),
            ..Self::default()
        }
    }

    fn check(&self) -> std::result::Result<Authority, Errors> {
        let mut check = Check::new();
        let name = check.needed("name", &self.name, 200, "Enter what the authority is called.");
        let phone = check.needed("phone", &self.phone, 60, "Enter its telephone number, in digits.");
        if !phone.is_empty() && phone.chars().filter(char::is_ascii_digit).count() < 3 {
            check.errors.add("phone", "Enter its telephone number, in digits.");
        }
        check.done(Authority { name, phone, version: self.version.parse().unwrap_or(-1) })
    }
}

pub(super) async fn change(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<AuthorityForm>,
) -> Result<Response> {
    let authority = match form.check() {
        Ok(authority) => authority,
        Err(errors) => return Ok(invalid(AllPage::new(&app, shell, Some((form, errors))).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::keep_authority(&mut once.tx, &authority).await? == 0 {
        let now = AuthorityForm::of(store::authority(&mut *once.tx).await?.as_ref());
        let clash =
            Conflict { what: "The authority".into(), back: "/biosecurity".into(), ..Conflict::default() }
                .field("Name", &form.name, &now.name)
                .field("Telephone", &form.phone, &now.phone);
        return Err(Error::Conflict(Box::new(clash)));
    }
    let words = format!("{}, {}", authority.name, authority.phone);
    audit::store::note(&mut once.tx, "authority entered", &words, user.id, once.now).await?;
    flash(&mut once.tx, &user, "The authority is saved.").await?;
    once.commit("/biosecurity").await
}
