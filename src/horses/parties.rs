//! Who belongs to a horse, and what each of them may and gets.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{Card, NewParty, PartyRole, store};
use crate::{
    App,
    accounts::{Can, act},
    clients::Pick,
    clock::Day,
    ids::{HorseId, PartyId},
    practice,
    web::{Begun, Check, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct PartyForm {
    submission: String,
    client: String,
    client_id: String,
    role: String,
    may: Vec<String>,
    /// `yes` when the horse changes its owner.
    instead: String,
}

const MAY: [(&str, &str); 3] =
    [("authorise", "may authorise treatment"), ("pay", "pays"), ("reports", "gets reports")];

#[derive(Template, WebTemplate)]
#[template(path = "horses/parties.html")]
pub(super) struct PartiesPage {
    shell: Shell,
    card: Card,
    today: Day,
    parties: Vec<store::Party>,
    former: Vec<store::Former>,
    zone: jiff::tz::TimeZone,
    pick: Pick,
    form: PartyForm,
    errors: Errors,
}

impl PartiesPage {
    async fn new(app: &App, shell: Shell, id: HorseId, form: PartyForm, errors: Errors) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let today = app.clock.now().day(&zone);
        let pick = Pick::read(app, &form.client, &form.client_id).await?;
        let (card, parties) = (store::card(db, id).await?, store::parties(db, id).await?);
        let former = store::former(db, id).await?;
        Ok(PartiesPage { shell, card, today, parties, former, zone, pick, form, errors })
    }

    fn roles(&self) -> &'static [(&'static str, &'static str)] {
        PartyRole::CHOICES
    }

    fn may(&self) -> [(&'static str, &'static str); 3] {
        MAY
    }
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
) -> Result<PartiesPage> {
    PartiesPage::new(&app, shell, id, PartyForm::default(), Errors::default()).await
}

pub(super) async fn add(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
    Form(form): Form<PartyForm>,
) -> Result<Response> {
    let card = store::card(app.db.read(), id).await?;
    let pick = Pick::read(&app, &form.client, &form.client_id).await?;
    let party = match form.check(&pick) {
        Ok(party) => party,
        Err(errors) => return Ok(invalid(PartiesPage::new(&app, shell, id, form, errors).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if form.instead == "yes" {
        // Whoever owned it does so no more, and what was said with them is not for the new one.
        let parties = store::parties(&mut *once.tx, id).await?;
        for old in parties.iter().filter(|old| old.role == PartyRole::Owner && old.client_id != party.client)
        {
            store::remove_party(&mut once.tx, id, old.id, who.user.id, once.now).await?;
        }
    }
    match store::add_party(&mut once.tx, id, &party, once.now).await {
        Ok(_) => {}
        Err(sqlx::Error::Database(e)) if e.is_unique_violation() => {
            drop(once);
            let errors = Errors::one("role", "This client has this role already.");
            return Ok(invalid(PartiesPage::new(&app, shell, id, form, errors).await?));
        }
        Err(other) => return Err(other.into()),
    }
    flash(&mut once.tx, &who.user, &format!("{} belongs to {}.", pick.name(), card.name)).await?;
    once.commit(&format!("/horses/{id}/parties")).await
}

impl PartyForm {
    fn check(&self, pick: &Pick) -> std::result::Result<NewParty, Errors> {
        let mut c = Check::new();
        c.line("client", &self.client, 200);
        let client = pick.needed(&mut c, "client");
        let role = c.choice("role", &self.role, "Choose what the client is to the horse.");
        let may = |key: &str| self.may.iter().any(|one| one == key);
        if self.instead == "yes" && role.is_some_and(|role| role != PartyRole::Owner) {
            c.errors.add("instead", "Only an owner takes the place of the owner.");
        }
        let (Some(client), Some(role)) = (client, role) else { return Err(c.errors) };
        c.done(NewParty {
            client,
            role,
            may_authorise: may("authorise"),
            pays: may("pay"),
            gets_reports: may("reports"),
        })
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct RemoveForm {
    submission: String,
}

/// Takes a client off a horse. Gone already is as good as gone.
pub(super) async fn remove(
    State(app): State<App>,
    who: Can<act::EditHorses>,
    Path((id, party)): Path<(HorseId, PartyId)>,
    Form(form): Form<RemoveForm>,
) -> Result<Response> {
    store::card(app.db.read(), id).await?;
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::remove_party(&mut once.tx, id, party, who.user.id, once.now).await?;
    flash(&mut once.tx, &who.user, "The client no longer belongs to the horse.").await?;
    once.commit(&format!("/horses/{id}/parties")).await
}
