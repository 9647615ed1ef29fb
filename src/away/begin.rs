//! A visit that began where no signal reaches. It keeps the id the tablet gave it, and so does a horse that was not
//! in the list; both become ordinary rows when the form arrives.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use crate::{
    App,
    accounts::{Can, User, act},
    clock::At,
    followups::{self, store::NewFollowUp},
    horses::{self, Card, Details},
    ids::{HorseId, VisitId},
    merging, practice,
    visits::{
        self, State,
        complaint::NewComplaint,
        store::{
            NewVisit, booking,
            changes::{self, NewChange},
        },
        when::USUAL_LENGTH,
    },
    web::{Begun, Check, Error, Errors, Form, Once, Result, Shell, begin, invalid},
};

/// What fits into a follow-up's line beside the horse's name.
const LONGEST_WORDS: usize = 120;
/// A tablet's clock that is further out than a day is no clock.
const DAY_MS: i64 = 86_400_000;

#[derive(Template, WebTemplate)]
#[template(path = "away/begin.html")]
struct BeginPage {
    shell: Shell,
    errors: Errors,
    form: BeginForm,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct BeginForm {
    submission: String,
    /// Made by the tablet; empty from a page without its script.
    visit: String,
    new_horse: String,
    /// A horse of the list; empty for one that is not in it.
    horse: String,
    name: String,
    client: String,
    yard: String,
    words: String,
    seen_at: String,
    sent_at: String,
}

/// What is meant.
struct Meant {
    visit: VisitId,
    horse: Horse,
    words: String,
}

enum Horse {
    Known(HorseId),
    New { id: HorseId, name: String, client: String, yard: String },
}

impl BeginForm {
    fn check(&self) -> std::result::Result<Meant, Errors> {
        let mut check = Check::new();
        let words = check.words("words", &self.words, 2000);
        let horse = match self.horse.parse() {
            Ok(id) => Horse::Known(id),
            Err(_) => Horse::New {
                id: self.new_horse.parse().unwrap_or_else(|_| HorseId::new()),
                name: check.needed("name", &self.name, LONGEST_WORDS, "Enter what the horse is called."),
                client: check.line("client", &self.client, LONGEST_WORDS),
                yard: check.line("yard", &self.yard, LONGEST_WORDS),
            },
        };
        let visit = self.visit.parse().unwrap_or_else(|_| VisitId::new());
        check.done(Meant { visit, horse, words })
    }

    /// When it began by our clock: so long before it was sent.
    fn began(&self, now: At) -> At {
        let clock = |typed: &str| typed.trim().parse::<i64>().ok();
        let ago = clock(&self.sent_at).zip(clock(&self.seen_at)).map_or(0, |(sent, seen)| sent - seen);
        now.plus_millis(-ago.clamp(0, 14 * DAY_MS))
    }
}

pub(super) async fn page(_: Can<act::Examine>, shell: Shell) -> Response {
    BeginPage { shell, errors: Errors::default(), form: BeginForm::default() }.into_response()
}

/// Takes the visit: it did begin, so nothing about the horse refuses it now.
pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Form(form): Form<BeginForm>,
) -> Result<Response> {
    let meant = match form.check() {
        Ok(meant) => meant,
        Err(errors) => return Ok(invalid(BeginPage { shell, errors, form })),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let location = format!("/visits/{}/exam", meant.visit);
    let card = horse(&mut once, &meant.horse).await?;
    match visits::store::get(&mut *once.tx, meant.visit).await {
        Ok(visit) if visit.horse_id == card.id => return once.commit(&location).await,
        Ok(_) => return Err(Error::BadRequest("This visit is here already, for another horse".into())),
        Err(sqlx::Error::RowNotFound) => {}
        Err(error) => return Err(error.into()),
    }
    let began = form.began(once.now);
    start(&mut once, &meant, &card, &user, began).await?;
    once.commit(&location).await
}

/// The horse of the list, or the new one, entered unless an earlier send did.
async fn horse(once: &mut Once, meant: &Horse) -> Result<Card> {
    let (Horse::Known(id) | Horse::New { id, .. }) = meant;
    if let Horse::New { name, .. } = meant {
        match horses::store::card(&mut *once.tx, *id).await {
            Err(sqlx::Error::RowNotFound) => {
                horses::store::insert_as(&mut once.tx, *id, &Details::named(name), once.now).await?;
            }
            found => return Ok(found?),
        }
    }
    // Put together with another one while the tablet was away.
    let id = merging::store::kept_horse(&mut *once.tx, *id).await?;
    Ok(horses::store::card(&mut *once.tx, id).await?)
}

async fn start(once: &mut Once, meant: &Meant, card: &Card, user: &User, began: At) -> Result<()> {
    let new = NewVisit {
        id: meant.visit,
        horse: card.id,
        client: None,
        vet: user.licensed.then_some(user.id),
        place: "yard",
        yard: card.yard_id,
        starts_at: began,
        minutes: USUAL_LENGTH,
        urgent: false,
        walk_in: true,
        stop: None,
        state: State::InHand,
    };
    visits::store::insert(&mut once.tx, &new, user.id, once.now).await?;
    let change = NewChange {
        visit: new.id,
        what: "begun without a booking",
        detail: "away from the practice",
        reason: "",
    };
    changes::note(&mut once.tx, change, user.id, once.now).await?;
    if !meant.words.is_empty() {
        let complaint = NewComplaint { words: meant.words.clone(), ..NewComplaint::default() };
        booking::add_complaint(&mut once.tx, new.id, &complaint, once.now).await?;
    }
    if let Horse::New { name, client, yard, .. } = &meant.horse {
        let told = |label: &str, words: &str| {
            if words.is_empty() { String::new() } else { format!(" {label}: {words}.") }
        };
        let what = format!(
            "Complete the details of {name}, entered away from the practice.{}{}",
            told("Client", client),
            told("Yard", yard)
        );
        let zone = practice::store::get(&mut *once.tx).await?.zone;
        let due_on = once.now.day(&zone);
        let follow_up = NewFollowUp { horse: card.id, visit: Some(new.id), due_on, what };
        followups::store::insert(&mut once.tx, &follow_up, user.id, once.now).await?;
    }
    Ok(())
}
