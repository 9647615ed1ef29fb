//! One row: what it says, who confirmed it from which text, and how the practice changes, adds and retires rows.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Kept, Row, Word,
    form::{BASES, FOODS, GROUPS, PERS, RowForm},
    json, row, store,
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::catalogue,
    ids::FormularyId,
    practice,
    web::{Begun, Check, Conflict, Error, Errors, Form, Query, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "formulary/row.html")]
struct RowPage {
    shell: Shell,
    errors: Errors,
    zone: TimeZone,
    /// None for a new row.
    kept: Option<Kept>,
    history: Vec<(Option<String>, Word)>,
    form: RowForm,
    decision: Decision,
}

/// About a row as it was read.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Decision {
    submission: String,
    code: String,
    /// The row's version that was read.
    version: String,
    read_in: String,
    retire_reason: String,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    code: String,
}

fn way(code: &str) -> String {
    format!("/practice/formulary/row?code={code}")
}

impl RowPage {
    async fn new(app: &App, shell: Shell, code: &str) -> Result<Self> {
        let db = app.db.read();
        let kept = if code.is_empty() { None } else { Some(row(db, code).await?.ok_or(Error::NotFound)?) };
        let form = kept.as_ref().map_or_else(RowForm::fresh, |kept| RowForm::of(&kept.row, kept.version));
        Ok(RowPage {
            shell,
            errors: Errors::default(),
            zone: practice::store::get(db).await?.zone,
            history: store::changes_of(db, code).await?,
            kept,
            form,
            decision: Decision::default(),
        })
    }

    fn may_change(&self) -> bool {
        self.shell.may(Act::Sign)
    }

    fn medicines(&self) -> Vec<&'static str> {
        catalogue().formulary.medicines.iter().map(|row| row.name.as_str()).collect()
    }

    fn groups(&self) -> [(&'static str, &'static str); 9] {
        GROUPS
    }

    fn foods(&self) -> [(&'static str, &'static str); 4] {
        FOODS
    }

    fn bases(&self) -> [(&'static str, &'static str); 2] {
        BASES
    }

    fn pers(&self) -> [(&'static str, &'static str); 2] {
        PERS
    }

    fn food(&self, row: &Row) -> &'static str {
        let key = serde_json::to_value(row.food).ok();
        let key = key.as_ref().and_then(serde_json::Value::as_str).unwrap_or_default();
        FOODS.iter().find(|(code, _)| *code == key).map_or("", |(_, words)| words)
    }

    /// An earlier version in words.
    fn was(&self, kept: Option<&str>) -> String {
        let row: Option<Row> = kept.and_then(|json| serde_json::from_str(json).ok());
        row.map_or_else(
            || "retired".to_owned(),
            |row| format!("{}, {}: {}", row.name, row.dose.route(), row.dose.amount()),
        )
    }
}

pub(super) async fn page(
    _: Can<act::SeeRecord>,
    State(app): State<App>,
    shell: Shell,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    Ok(RowPage::new(&app, shell, &asked.code).await?.into_response())
}

/// Changes a row, or adds one where the form names none.
pub(super) async fn change(
    Can { user, .. }: Can<act::Sign>,
    State(app): State<App>,
    shell: Shell,
    Form(form): Form<RowForm>,
) -> Result<Response> {
    let page = RowPage::new(&app, shell, &form.code).await?;
    let code = if form.code.is_empty() { format!("own_{}", FormularyId::new()) } else { form.code.clone() };
    let (new, reason) = match form.check(&code, page.kept.as_ref().map(|kept| &kept.row.dose)) {
        Ok(meant) => meant,
        Err(errors) => return Ok(invalid(RowPage { errors, form, ..page })),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let stands = row(app.db.read(), &code).await?;
    if let Some(kept) = stands.filter(|kept| kept.version.to_string() != form.version) {
        let clash = Conflict { what: kept.title(), back: way(&code), ..Conflict::default() };
        let clash = clash.field("Amount", &new.dose.amount(), &kept.row.dose.amount());
        let theirs = kept.changed.map(|word| word.text).unwrap_or_default();
        return Err(clash
            .field("Source", &form.source, &kept.row.dose.source)
            .field("Why", &reason, &theirs)
            .into());
    }
    store::change(&mut once.tx, (&code, Some(&json(&new)?)), &reason, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Saved. The row waits for a veterinarian to confirm it.").await?;
    once.commit(&way(&code)).await
}

/// Takes the row that a decision is about, if it still stands as it was read.
async fn read(app: &App, decision: &Decision) -> Result<Kept> {
    let kept = row(app.db.read(), &decision.code).await?.ok_or(Error::NotFound)?;
    if kept.version.to_string() == decision.version {
        return Ok(kept);
    }
    let clash = Conflict { what: kept.title(), back: way(&decision.code), ..Conflict::default() };
    let clash = clash.field(
        "What you typed",
        &format!("{}{}", decision.read_in, decision.retire_reason),
        &kept.row.dose.amount(),
    );
    Err(clash.into())
}

/// Confirms the row as it stands, from a text; or, where it is confirmed, takes that back.
pub(super) async fn confirm(
    Can { user, .. }: Can<act::Sign>,
    State(app): State<App>,
    shell: Shell,
    Form(decision): Form<Decision>,
) -> Result<Response> {
    let mut once = match begin(&app, &decision.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let kept = read(&app, &decision).await?;
    let mut check = Check::new();
    let read_in = if kept.confirmed.is_some() {
        None
    } else {
        Some(check.needed(
            "read_in",
            &decision.read_in,
            300,
            "Enter the text that you read it in, with its date.",
        ))
    };
    if !check.errors.is_empty() {
        drop(once);
        let page = RowPage::new(&app, shell, &decision.code).await?;
        return Ok(invalid(RowPage { errors: check.errors, decision, ..page }));
    }
    store::confirm(&mut once.tx, (kept.code(), &json(&kept.row)?), read_in.as_deref(), user.id, once.now)
        .await?;
    let line = if read_in.is_some() {
        "Confirmed: doses are reckoned with it."
    } else {
        "Taken back: nothing is given by it."
    };
    flash(&mut once.tx, &user, line).await?;
    once.commit(&way(kept.code())).await
}

/// Takes a row out of use, or back into it; its history stays.
pub(super) async fn retire(
    Can { user, .. }: Can<act::Sign>,
    State(app): State<App>,
    shell: Shell,
    Form(decision): Form<Decision>,
) -> Result<Response> {
    let mut once = match begin(&app, &decision.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let kept = read(&app, &decision).await?;
    let mut check = Check::new();
    let reason =
        check.needed("retire_reason", &decision.retire_reason, 300, "Say why; every version is kept.");
    if !check.errors.is_empty() {
        drop(once);
        let page = RowPage::new(&app, shell, &decision.code).await?;
        return Ok(invalid(RowPage { errors: check.errors, decision, ..page }));
    }
    let back = if kept.retired { Some(json(&kept.row)?) } else { None };
    store::change(&mut once.tx, (kept.code(), back.as_deref()), &reason, user.id, once.now).await?;
    flash(
        &mut once.tx,
        &user,
        if kept.retired { "In use again." } else { "Not in use any more; it stays in sight." },
    )
    .await?;
    once.commit(&way(kept.code())).await
}
