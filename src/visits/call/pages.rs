//! What the call page shows.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State as FromApp;
use jiff::tz::TimeZone;

use super::form::{CallForm, Fields, Given, SEXES};
use crate::{
    App,
    accounts::{self, Can, User, act, store::Staff},
    catalogue::{Catalogue, Urgency, catalogue},
    clients,
    clock::{At, Day},
    followups::{self, FollowUp},
    horses::{self, Card},
    ids::{ClientId, VisitId, YardId},
    practice,
    reasoning::road::Place,
    rounds::{
        self, Near, Offer, Planner,
        planner::{Wish, yard_place},
    },
    search,
    visits::{
        complaint,
        store::booking::{self, Caller},
        triage::{Answers, Told},
        when::{self, Basis, Lane, USUAL_LENGTH},
    },
    web::{Errors, Query, Result, Shell},
};

/// As many days as may be looked at.
const AHEAD: i64 = 28;

#[derive(Template, WebTemplate)]
#[template(path = "visits/call.html")]
pub(in crate::visits) struct CallPage {
    pub(super) shell: Shell,
    pub(super) errors: Errors,
    pub(super) form: CallForm,
    q: String,
    hits: Vec<search::Hit>,
    /// The form is shown: a horse or a client is chosen, or both are new.
    chosen: bool,
    card: Option<Card>,
    client: Option<clients::store::Client>,
    follow_up: Option<FollowUp>,
    already: Vec<(VisitId, At)>,
    callers: Vec<Caller>,
    yards: Vec<(YardId, String)>,
    all_yards: Vec<(YardId, String)>,
    vets: Vec<Staff>,
    lanes: Vec<Lane>,
    /// The best starts of the coming days, on the road.
    offers: Vec<Offer>,
    /// For an emergency: who can be there soonest.
    near: Vec<Near>,
    told: Option<Told>,
    catalogue: &'static Catalogue,
    now: At,
    today: Day,
    zone: TimeZone,
}

pub(in crate::visits) async fn page(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Book>,
    shell: Shell,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<CallPage> {
    let zone = practice::store::get(app.db.read()).await?.zone;
    let today = app.clock.now().day(&zone);
    let query = Fields(query);
    let q = query.get("q");
    let day = query.get("day").parse().unwrap_or(today).max(today);
    let form = CallForm {
        horse: query.get("horse"),
        client: query.get("client"),
        follow_up: query.get("follow_up"),
        answers: Answers::read(|name| query.get(name)),
        ..CallForm::fresh(day.to_string())
    };
    let mut page = CallPage::new(&app, shell, form).await?;
    page.chosen |= !query.get("new").is_empty();
    page.preset(&user);
    if page.chosen {
        page.look_ahead(&app).await?;
    } else if !q.trim().is_empty() {
        let kinds = [search::Kind::Horse, search::Kind::Client];
        page.hits = search::find(&app.db, &q, &kinds, 12).await?;
    }
    page.q = q;
    Ok(page)
}

impl CallPage {
    /// The page for a form as it is; what the form names and is not there is left out.
    pub(super) async fn new(app: &App, shell: Shell, mut form: CallForm) -> Result<Self> {
        let db = app.db.read();
        form.follow_kind(&rounds::rules(db).await?);
        let zone = practice::store::get(db).await?.zone;
        let now = app.clock.now();
        let today = now.day(&zone);
        let card = match form.horse_id() {
            Some(id) => Some(horses::store::card(db, id).await?),
            None => None,
        };
        let client = match form.client_id() {
            Some(id) => Some(clients::store::get(db, id).await?),
            None => None,
        };
        let follow_up = match form.follow_up.parse() {
            Ok(id) => Some(followups::store::get(db, id).await?),
            Err(_) => None,
        };
        let mut page = CallPage {
            chosen: card.is_some() || client.is_some(),
            already: vec![],
            callers: vec![],
            yards: vec![],
            lanes: vec![],
            offers: vec![],
            near: vec![],
            told: None,
            all_yards: all_yards(app).await?,
            vets: accounts::store::vets(db).await?,
            q: String::new(),
            hits: vec![],
            errors: Errors::default(),
            catalogue: catalogue(),
            shell,
            form,
            card,
            client,
            follow_up,
            now,
            today,
            zone,
        };
        page.load(app).await?;
        page.look_ahead(app).await?;
        Ok(page)
    }

    async fn load(&mut self, app: &App) -> Result<()> {
        let db = app.db.read();
        if let Some(card) = &self.card {
            self.callers = booking::callers(db, card.id).await?;
            self.yards = booking::yards_of(db, card.id).await?;
            self.already = booking::booked_already(db, card.id, self.today.start(&self.zone)).await?;
        } else if let Some(client) = &self.client {
            let yards = clients::yards::store::of_client(db, client.id).await?;
            self.yards = yards.into_iter().map(|y| (y.id, y.name)).collect();
        }
        let basis = Basis { vets: &self.vets, now: self.now, zone: &self.zone };
        self.lanes = when::lanes(db, &self.form.when, &basis, None).await?;
        Ok(())
    }

    /// How soon, who is near, and where it fits into the coming days.
    async fn look_ahead(&mut self, app: &App) -> Result<()> {
        let db = app.db.read();
        let class = self.form.class();
        self.told = None;
        if let Some(verdict) = self.form.verdict() {
            self.told = Some(Told::new(verdict, &practice::advice::approved(db).await?));
        }
        let is_now = class == Urgency::Now;
        let chosen = self.card.is_some() || self.client.is_some() || self.chosen;
        if !is_now && !chosen {
            return Ok(());
        }
        let planner = Planner::load(db, &self.vets, (self.today, AHEAD), self.now, &self.zone).await?;
        let place = self.place(app, &planner).await?;
        if is_now {
            let minutes = planner.roads.rules.whole("minutes_emergency");
            self.near = planner.nearest(place.as_ref(), minutes);
        }
        let kind = self.form.kind();
        let clinic = kind.is_some_and(|kind| kind.clinic).then(|| planner.practice().clone());
        let wish = Wish {
            vet: self.form.when.vet.parse().ok(),
            place: clinic.or(place),
            minutes: self.form.when.minutes.parse().unwrap_or(USUAL_LENGTH).clamp(5, 720),
            needs: kind.map_or(&[], |kind| &kind.needs),
            class,
        };
        self.offers = planner.offers(&wish);
        Ok(())
    }

    /// Where the visit would be; none while nobody said.
    async fn place(&self, app: &App, planner: &Planner<'_>) -> Result<Option<Place>> {
        let form = &self.form;
        if !form.new_yard.trim().is_empty() {
            return Ok(Some(Place::new("new", form.new_yard.trim(), None)));
        }
        let picked = if form.other_yard.trim().is_empty() { &form.place } else { &form.other_yard };
        if picked == "clinic" {
            return Ok(Some(planner.practice().clone()));
        }
        let Ok(id) = picked.parse::<YardId>() else { return Ok(None) };
        if !self.all_yards.iter().any(|(yard, _)| *yard == id) {
            return Ok(None);
        }
        let yard = clients::yards::store::get(app.db.read(), id).await?;
        Ok(Some(yard_place(id, &yard.name, yard.lat, yard.lon)))
    }

    fn lengths(&self) -> Vec<(i64, String)> {
        when::lengths(&self.form.when.minutes)
    }

    fn kinds() -> Vec<(&'static str, &'static str)> {
        catalogue().road.kinds.iter().map(|kind| (kind.code.as_str(), kind.name.as_str())).collect()
    }

    /// What is chosen before anybody taps: the likeliest caller, place and vet.
    fn preset(&mut self, user: &User) {
        if let [only] = self.vets.as_slice() {
            self.form.when.vet = only.id.to_string();
        } else if user.licensed {
            self.form.when.vet = user.id.to_string();
        }
        self.form.called_by = self.callers.first().map(|c| c.id.to_string()).unwrap_or_default();
        self.form.place = self.yards.first().map_or_else(|| "clinic".into(), |(id, _)| id.to_string());
        self.lanes.retain(|lane| self.form.when.vet.is_empty() || lane.vet.to_string() == self.form.when.vet);
    }

    pub(super) fn given(&self) -> Given<'_> {
        Given {
            basis: Basis { vets: &self.vets, now: self.now, zone: &self.zone },
            callers: self.callers.iter().map(|c| c.id).collect::<Vec<ClientId>>(),
            yards: self.all_yards.iter().map(|(id, _)| *id).collect(),
        }
    }

    /// The same page, with what is wrong or what just happened.
    pub(super) fn with(mut self, errors: Errors) -> Self {
        self.chosen = true;
        self.errors = errors;
        self
    }

    fn day_shown(&self) -> Day {
        self.form.when.day_shown(self.today)
    }

    fn caller_options(&self) -> Vec<(ClientId, String)> {
        self.callers.iter().map(|c| (c.id, format!("{}, {}", c.name, c.role))).collect()
    }

    fn sexes() -> [(&'static str, &'static str); 4] {
        SEXES
    }

    fn bookable(&self) -> bool {
        self.card.as_ref().is_none_or(|card| card.status.is_seen())
    }

    fn may_add_complaint(&self) -> bool {
        self.form.complaints.len() < complaint::MOST
    }
}

/// Every yard by name.
pub(in crate::visits) async fn all_yards(app: &App) -> Result<Vec<(YardId, String)>> {
    let yards = clients::yards::store::all(app.db.read()).await?;
    Ok(yards.into_iter().map(|y| (y.id, y.name)).collect())
}
