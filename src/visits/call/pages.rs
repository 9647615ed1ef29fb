//! What the call page shows.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State as FromApp;
use jiff::tz::TimeZone;

use super::{
    check::Given,
    form::{CallForm, Fields, SEXES},
};
use crate::{
    App,
    accounts::{self, Can, User, act, store::Staff},
    catalogue::{Catalogue, catalogue},
    clients,
    clock::{At, Day},
    followups::{self, FollowUp},
    horses::{self, Card},
    ids::{ClientId, VisitId, YardId},
    practice,
    rota::{self, OnCall},
    rounds::{self, Near, Offer},
    search,
    visits::{
        complaint,
        store::{
            booking::{self, Caller},
            stop::Neighbour,
        },
        triage::{Answers, Told},
        when::{self, Basis, Lane, Looked},
    },
    web::{Errors, Query, Result, Shell},
};

/// As many days as may be looked at.
pub(super) const AHEAD: i64 = 28;

#[derive(Template, WebTemplate)]
#[template(path = "visits/call.html")]
pub(in crate::visits) struct CallPage {
    pub(super) shell: Shell,
    pub(super) errors: Errors,
    pub(super) form: CallForm,
    pub(super) q: String,
    pub(super) hits: Vec<search::Hit>,
    /// The form is shown: a horse or a client is chosen, or both are new.
    pub(super) chosen: bool,
    pub(super) card: Option<Card>,
    pub(super) client: Option<clients::store::Client>,
    pub(super) follow_up: Option<FollowUp>,
    pub(super) already: Vec<(VisitId, At)>,
    pub(super) callers: Vec<Caller>,
    pub(super) yards: Vec<(YardId, String)>,
    pub(super) all_yards: Vec<(YardId, String)>,
    pub(super) vets: Vec<Staff>,
    pub(super) lanes: Vec<Lane>,
    /// The best starts of the coming days, on the road.
    pub(super) offers: Vec<Offer>,
    /// For an emergency: who can be there soonest.
    pub(super) near: Vec<Near>,
    /// Who is on call at this moment.
    pub(super) on_call: OnCall,
    /// The other horses of the yard.
    pub(super) neighbours: Vec<Neighbour>,
    /// What others have to be kept safe from at the yard that is chosen, where that is not the horse's own.
    pub(super) marks: Vec<String>,
    pub(super) told: Option<Told>,
    pub(super) catalogue: &'static Catalogue,
    pub(super) now: At,
    pub(super) today: Day,
    pub(super) zone: TimeZone,
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
    let horses = query.all("horse");
    let mut form = CallForm {
        horse: query.get("horse"),
        with: horses.into_iter().skip(1).collect(),
        kind: query.get("kind"),
        client: query.get("client"),
        follow_up: query.get("follow_up"),
        answers: Answers::read(|name| query.get(name)),
        ..CallForm::fresh(day.to_string())
    };
    if let Some(kind) = form.kind() {
        let minutes = rounds::rules(app.db.read()).await?.whole(&kind.minutes_code());
        form.when.minutes = minutes.to_string();
    }
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
            on_call: rota::at(db, now, &zone).await?,
            neighbours: vec![],
            marks: vec![],
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
        self.lanes =
            when::lanes(db, &self.form.when, &basis, Looked { horses: self.form.horses(), moving: &[] })
                .await?;
        Ok(())
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
            neighbours: self.neighbours.iter().map(|one| one.id).collect(),
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
