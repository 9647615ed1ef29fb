//! A horse's own page, and the forms that enter and change it.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State, response::Response};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Card, Details, NewParty,
    chart::Line,
    form::{FOOD_CHAIN, HorseForm},
    measure, store,
    weights::{Dosing, dosing},
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::catalogue,
    clients::{self, yards},
    clock::Day,
    followups::{self, FollowUp},
    ids::{ClientId, HorseId},
    merging::{self, store::Trace},
    practice::{self, Practice},
    programmes,
    reasoning::identity,
    visits::{
        self, State as VisitState, Visit,
        store::changes::{self, Move},
    },
    web::{Begun, Check, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "horses/page.html")]
pub(super) struct HorsePage {
    shell: Shell,
    practice: Practice,
    today: Day,
    card: Card,
    horse: Details,
    /// What is odd about its numbers.
    doubts: Vec<String>,
    twins: Vec<(HorseId, String)>,
    parties: Vec<store::Party>,
    dosing: Option<Dosing>,
    line: Option<Line>,
    next: Vec<Visit>,
    followups: Vec<FollowUp>,
    /// Visits that came from another horse or went to one.
    moves: Vec<Move>,
    /// What was put together with it.
    traces: Vec<Trace>,
    /// Its ways back to work.
    ways: Vec<programmes::Now>,
    zone: TimeZone,
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeClients>,
    Path(id): Path<HorseId>,
) -> Result<HorsePage> {
    let db = app.db.read();
    let practice = practice::store::get(db).await?;
    let now = app.clock.now();
    let (horse, _) = store::details(db, id).await?;
    let weights = store::weights(db, id).await?;
    let mut next = visits::store::of_horse(db, id).await?;
    next.retain(|v| matches!(v.state, VisitState::Booked | VisitState::Arrived | VisitState::InHand));
    next.sort_by_key(|v| v.starts_at);
    let today = now.day(&practice.zone);
    Ok(HorsePage {
        ways: programmes::due::of_horse(&app, id, today).await?,
        today,
        card: store::card(db, id).await?,
        doubts: doubts(&horse),
        twins: store::same_chip(db, id, &horse.microchip).await?,
        parties: store::parties(db, id).await?,
        dosing: dosing(&weights, now.day(&practice.zone), &practice.weight_unit),
        line: Line::of(&weights, &practice.weight_unit),
        next,
        followups: followups::store::open_of_horse(db, id).await?,
        moves: changes::moves_of_horse(db, id).await?,
        traces: merging::store::traces(db, id.into()).await?,
        zone: practice.zone.clone(),
        shell,
        practice,
        horse,
    })
}

impl HorsePage {
    fn height(&self) -> Option<String> {
        self.horse.height_cm.map(|cm| super::height_words(cm, &self.practice.height_unit))
    }

    fn born(&self) -> String {
        measure::born_words(&self.horse.born)
    }

    fn weight(&self, kg: &f64) -> String {
        super::weight_words(*kg, &self.practice.weight_unit)
    }
}

/// The warnings of numbers that exist but are rare: they stay on the page until the number is put right.
fn doubts(horse: &Details) -> Vec<String> {
    let chip = identity::microchip(&horse.microchip).ok().and_then(|a| a.warning);
    let ueln = identity::ueln(&horse.ueln).ok().and_then(|a| a.warning);
    chip.into_iter().chain(ueln).collect()
}

/// A form, read: what is meant or what is wrong.
type Checked = std::result::Result<Details, Errors>;

#[derive(Template, WebTemplate)]
#[template(path = "horses/form.html")]
pub(super) struct FormPage {
    shell: Shell,
    practice: Practice,
    /// The horse that is changed; `None` for a new one.
    id: Option<HorseId>,
    /// To whom a new horse belongs.
    owner: Option<String>,
    yards: Vec<yards::store::Yard>,
    form: HorseForm,
    errors: Errors,
}

impl FormPage {
    async fn new(
        app: &App,
        shell: Shell,
        id: Option<HorseId>,
        form: HorseForm,
        errors: Errors,
    ) -> Result<Self> {
        let db = app.db.read();
        let owner = match form.client.parse::<ClientId>() {
            Ok(client) => Some(clients::store::get(db, client).await?.name),
            Err(_) => None,
        };
        let (practice, yards) = (practice::store::get(db).await?, yards::store::all(db).await?);
        Ok(FormPage { shell, practice, id, owner, yards, form, errors })
    }

    fn yard_options(&self) -> Vec<(String, String)> {
        self.yards.iter().map(|y| (y.id.to_string(), y.name.clone())).collect()
    }

    fn breeds(&self) -> Vec<&'static str> {
        catalogue().breeds.iter().map(|row| row.name.as_str()).collect()
    }

    fn colours(&self) -> Vec<&'static str> {
        catalogue().horse.colours.iter().map(|row| row.name.as_str()).collect()
    }

    fn uses(&self) -> Vec<&'static str> {
        catalogue().horse.uses.iter().map(|row| row.name.as_str()).collect()
    }

    fn levels(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().horse.work_levels.iter().map(|row| (row.name.as_str(), row.name.as_str())).collect()
    }

    fn temperaments(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().horse.temperament.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn food_chain(&self) -> [(&'static str, &'static str); 3] {
        FOOD_CHAIN
    }

    fn action(&self) -> String {
        self.id.map_or_else(|| "/horses".into(), |id| format!("/horses/{id}"))
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct NewQuery {
    client: String,
    name: String,
    yard: String,
}

pub(super) async fn new_page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditHorses>,
    Query(query): Query<NewQuery>,
) -> Result<FormPage> {
    let form = HorseForm { client: query.client, name: query.name, yard: query.yard, ..HorseForm::default() };
    FormPage::new(&app, shell, None, form, Errors::default()).await
}

pub(super) async fn create(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditHorses>,
    Form(form): Form<HorseForm>,
) -> Result<Response> {
    let practice = practice::store::get(app.db.read()).await?;
    let checked = form.check(&practice, app.clock.now().day(&practice.zone), None);
    let details = match known_yard(&app, checked).await? {
        Ok(details) => details,
        Err(errors) => return Ok(invalid(FormPage::new(&app, shell, None, form, errors).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let id = store::insert(&mut once.tx, &details, once.now).await?;
    if let Ok(client) = form.client.parse::<ClientId>() {
        store::add_party(&mut once.tx, id, &NewParty::owner(client), once.now).await?;
    }
    flash(&mut once.tx, &who.user, &format!("{} is entered.", details.name)).await?;
    once.commit(&format!("/horses/{id}")).await
}

pub(super) async fn edit_page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
) -> Result<FormPage> {
    let practice = practice::store::get(app.db.read()).await?;
    let (details, version) = store::details(app.db.read(), id).await?;
    let form = HorseForm::of(&details, version, &practice);
    FormPage::new(&app, shell, Some(id), form, Errors::default()).await
}

pub(super) async fn change(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
    Form(form): Form<HorseForm>,
) -> Result<Response> {
    let practice = practice::store::get(app.db.read()).await?;
    let (before, _) = store::details(app.db.read(), id).await?;
    let checked = form.check(&practice, app.clock.now().day(&practice.zone), Some(&before));
    let checked = match checked {
        Ok(details) => not_after_its_end(&app, id, details).await?,
        wrong => wrong,
    };
    let details = match known_yard(&app, checked).await? {
        Ok(details) => details,
        Err(errors) => return Ok(invalid(FormPage::new(&app, shell, Some(id), form, errors).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let version = form.version.parse().unwrap_or(0);
    if store::update(&mut once.tx, id, version, &details).await? == 0 {
        let (now, version) = store::details(&mut *once.tx, id).await?;
        let now = HorseForm::of(&now, version, &practice);
        return Err(form.clash(&now, format!("/horses/{id}/edit")).into());
    }
    flash(&mut once.tx, &who.user, &format!("{} is saved.", details.name)).await?;
    once.commit(&format!("/horses/{id}")).await
}

/// A form that was open while a yard went, or that was made elsewhere, may name a yard that is not there.
async fn known_yard(app: &App, checked: Checked) -> Result<Checked> {
    let Ok(details) = &checked else { return Ok(checked) };
    let Some(yard) = details.yard_id else { return Ok(checked) };
    match yards::store::get(app.db.read(), yard).await {
        Ok(_) => Ok(checked),
        Err(sqlx::Error::RowNotFound) => Ok(Err(Errors::one("yard", "Choose a yard of the list."))),
        Err(other) => Err(other.into()),
    }
}

/// A horse cannot be born after it was sold or died.
async fn not_after_its_end(app: &App, id: HorseId, details: Details) -> Result<Checked> {
    let card = store::card(app.db.read(), id).await?;
    let mut check = Check::new();
    if let Some(on) = card.status_on
        && measure::before_birth(on, &details.born)
    {
        let words = format!("It is {} since {}: it was born before that.", card.status, on.words());
        check.errors.add("born", words);
    }
    Ok(check.done(details))
}
