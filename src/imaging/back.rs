//! Taking back what was decided about a picture: it waits again. Why, by whom and when is kept; what already stands on the
//! picture is said first, and the person decides.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    store::decided::{self, Decided},
    tray::{self, TRAY},
};
use crate::{
    App,
    accounts::{Can, act},
    diagnostics::{self, Order},
    ids::{ArrivalId, OrderId},
    papers::words::{self, Units},
    practice,
    record::{self, Kind},
    web::{Begun, Check, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid, repeated},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct BackForm {
    submission: String,
    back_reason: String,
    /// `yes` for all that were decided together with it.
    together: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "imaging/back.html")]
struct BackPage {
    shell: Shell,
    errors: Errors,
    was: Decided,
    /// What was decided together with it.
    others: Vec<Decided>,
    order: Option<Order>,
    /// What was measured on it or reported from it, in words.
    standing: Vec<String>,
    form: BackForm,
    zone: TimeZone,
}

impl BackPage {
    async fn new(app: &App, shell: Shell, id: ArrivalId, form: BackForm) -> Result<Self> {
        let db = app.db.read();
        let was = decided::get(db, id).await?.ok_or(Error::NotFound)?;
        let others = decided::together_with(db, &was).await?;
        let files: Vec<&str> = std::iter::once(&was).chain(&others).map(|one| one.sha256.as_str()).collect();
        let (order, standing) = match was.order_id {
            Some(id) => (Some(diagnostics::store::get(db, id).await?), standing(app, id, &files).await?),
            None => (None, Vec::new()),
        };
        let zone = practice::store::get(db).await?.zone;
        Ok(BackPage { shell, errors: Errors::default(), was, others, order, standing, form, zone })
    }

    fn together_words(&self) -> String {
        match self.others.len() {
            1 => "the other one too that was decided with it".to_owned(),
            n => format!("the {n} others too that were decided with it"),
        }
    }

    fn image(&self) -> String {
        format!("/images/{}", self.was.id)
    }
}

/// What was measured on these pictures or reported from them, in words.
async fn standing(app: &App, order: OrderId, files: &[&str]) -> Result<Vec<String>> {
    let (results, _) = record::results_of_order(app.db.read(), order).await?;
    let bodies = results.iter().filter_map(|entry| entry.body.as_ref());
    let rests = bodies.filter(|body| {
        let on_them = body.images.iter().any(|file| files.contains(&file.as_str()));
        on_them && matches!(body.kind, Kind::Measured | Kind::Report)
    });
    Ok(rests.map(|body| words::sentence(body, Units::default())).collect())
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<ArrivalId>,
) -> Result<Response> {
    let form = BackForm { together: "yes".into(), ..BackForm::default() };
    Ok(BackPage::new(&app, shell, id, form).await?.into_response())
}

pub(super) async fn take_back(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<ArrivalId>,
    Form(form): Form<BackForm>,
) -> Result<Response> {
    if let Some(answer) = repeated(&app, &form.submission).await? {
        return Ok(answer);
    }
    let mut check = Check::new();
    let reason = check.needed("back_reason", &form.back_reason, 500, "Say why it is taken back.");
    let Some(was) = decided::get(app.db.read(), id).await? else { return Err(tray::gone()) };
    if !check.errors.is_empty() {
        let page = BackPage::new(&app, shell, id, form).await?;
        return Ok(invalid(BackPage { errors: check.errors, ..page }));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let mut all = vec![was];
    if form.together == "yes"
        && let Some(first) = all.first()
    {
        let others = decided::together_with(&mut *once.tx, first).await?;
        all.extend(others);
    }
    for one in &all {
        if decided::take_back(&mut once.tx, one, &reason, user.id, once.now).await? == 0 {
            return Err(tray::gone());
        }
    }
    let count = if all.len() == 1 { "1 picture".to_owned() } else { format!("{} pictures", all.len()) };
    if let Some(order) = all.first().and_then(|one| one.order_id) {
        let what = format!("{count} taken back from it");
        diagnostics::store::step(&mut once.tx, order, &what, &reason, user.id, once.now).await?;
    }
    let waits = if all.len() == 1 { "waits" } else { "wait" };
    flash(&mut once.tx, &user, &format!("{count} {waits} again.")).await?;
    once.commit(TRAY).await
}
