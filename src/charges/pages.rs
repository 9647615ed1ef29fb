//! The charges of one visit: what is proposed, what was gone over, and putting it right.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    form::{LookOver, OwnForm, ReverseForm, Row},
    kept,
    scene::{Scene, per},
};
use crate::{
    App,
    accounts::{Act, Can, act},
    clock::Day,
    horses::Card,
    ids::{ChargeId, PriceId, VisitId},
    reasoning::charges::money,
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "charges/visit.html")]
pub(super) struct ChargesPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    scene: Scene,
    rows: Vec<Row>,
    own: OwnForm,
    /// The line whose reversal is open.
    reversing: Option<ChargeId>,
    reverse: ReverseForm,
}

impl ChargesPage {
    fn new(shell: Shell, scene: Scene, typed: &LookOver, errors: Errors) -> Self {
        ChargesPage {
            shell,
            errors,
            visit_id: scene.visit.id,
            card: scene.card.clone(),
            today: scene.today,
            rows: typed.rows(&scene),
            own: OwnForm::fresh(&scene),
            reversing: None,
            reverse: ReverseForm::default(),
            scene,
        }
    }

    fn currency(&self) -> &str {
        self.scene.currency.as_deref().unwrap_or_default()
    }

    fn may_price(&self) -> bool {
        self.shell.may(Act::RunPractice)
    }

    /// Whether the page that a line stands on would open.
    fn may_see(&self) -> bool {
        self.shell.may(Act::SeeRecord)
    }

    /// The prices of the day, for a line of one's own.
    fn price_list(&self) -> Vec<(PriceId, String)> {
        let words = |price: &super::store::Price| {
            format!(
                "{} {}: {} {} {}",
                price.code,
                price.words,
                money(price.minor),
                self.currency(),
                per(price)
            )
        };
        self.scene.prices.iter().map(|price| (price.id, words(price))).collect()
    }
}

fn at(visit: VisitId) -> String {
    format!("/visits/{visit}/charges")
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Wanted {
    reverse: String,
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::Charge>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let page = ChargesPage::new(shell, scene, &LookOver::default(), Errors::default());
    Ok(ChargesPage { reversing: wanted.reverse.parse().ok(), ..page }.into_response())
}

/// Keeps the lines that were shown.
pub(super) async fn look_over(
    State(app): State<App>,
    Can { user, .. }: Can<act::Charge>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(form): Form<LookOver>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    // Read under the lock: until the commit nobody else keeps a line.
    let scene = Scene::load(&app, id).await?;
    if form.is_stale(&scene) {
        let what = format!("What {}'s visit is charged", scene.card.name);
        let clash = Conflict { what, back: at(id), ..Conflict::default() };
        let told = |clash: Conflict, why: &str| clash.field("Why left out", why, "");
        return Err(form.reasons().into_iter().fold(clash, told).into());
    }
    let lines = match form.check(&scene) {
        Ok(lines) => lines,
        Err(errors) => return Ok(invalid(ChargesPage::new(shell, scene, &form, errors))),
    };
    for line in &lines {
        kept::insert(&mut once.tx, id, line, user.id, once.now).await?;
    }
    let left = scene.open.len() - lines.len();
    let stays = if left > 0 { format!(" {left} without a price stay proposed.") } else { String::new() };
    let said = format!("Looked over: {}.{stays}", lines_words(lines.len()));
    flash(&mut once.tx, &user, &said).await?;
    once.commit(&at(id)).await
}

/// "1 line", "7 lines"
pub(super) fn lines_words(count: usize) -> String {
    if count == 1 { "1 line".to_owned() } else { format!("{count} lines") }
}

/// Adds a line from the price list that the record does not tell.
pub(super) async fn own(
    State(app): State<App>,
    Can { user, .. }: Can<act::Charge>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(own): Form<OwnForm>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let line = match own.check(&scene) {
        Ok(line) => line,
        Err(errors) => {
            let page = ChargesPage::new(shell, scene, &LookOver::default(), errors);
            return Ok(invalid(ChargesPage { own, ..page }));
        }
    };
    let mut once = match begin(&app, &own.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    kept::insert(&mut once.tx, id, &line, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Added.").await?;
    once.commit(&at(id)).await
}

pub(super) async fn reverse(
    State(app): State<App>,
    Can { user, .. }: Can<act::Charge>,
    shell: Shell,
    Path((id, line)): Path<(VisitId, ChargeId)>,
    Form(reverse): Form<ReverseForm>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    if !scene.kept.iter().any(|kept| kept.id == line && kept.reverses.is_none()) {
        return Err(Error::NotFound);
    }
    let mut check = Check::new();
    let reason = check.needed("reason", &reverse.reason, 300, "Say why; both lines stay.");
    if !check.errors.is_empty() {
        let page = ChargesPage::new(shell, scene, &LookOver::default(), check.errors);
        return Ok(invalid(ChargesPage { reversing: Some(line), reverse, ..page }));
    }
    let mut once = match begin(&app, &reverse.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if kept::reverse(&mut once.tx, (id, line), &reason, user.id, once.now).await? == 0 {
        let what = "A line that was reversed meanwhile".to_owned();
        let clash = Conflict { what, back: at(id), ..Conflict::default() };
        return Err(clash.field("Why", &reason, "").into());
    }
    flash(&mut once.tx, &user, "Reversed by a line of its own; what it was about is proposed again.").await?;
    once.commit(&at(id)).await
}
