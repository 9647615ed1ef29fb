//! What the call page does: it books, with all that is new, in one transaction.

use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};

use super::{
    check::{Booking, NewClient, Place, Who},
    clear,
    form::{CallForm, Fields, when_words},
    pages::CallPage,
};
use crate::{
    App,
    accounts::{Can, User, act},
    clients, followups, horses,
    ids::{ClientId, HorseId, StopId, VisitId},
    practice,
    visits::{
        State,
        complaint::NewComplaint,
        store::{
            self, NewVisit,
            booking::{self, Where},
            changes::{self, NewChange},
            day,
        },
        triage::{self, Answers},
        when,
    },
    web::{Begun, Errors, Form, Once, Result, Shell, begin, flash, invalid},
};

pub(in crate::visits) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Book>,
    mut shell: Shell,
    Form(fields): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let form = CallForm::read(&Fields(fields));
    if !form.go.is_empty() {
        shell.flash = Some(match form.go.as_str() {
            "more" => "Room for one more complaint.".into(),
            "weigh" => form.verdict().map_or("Nothing is answered yet.", |v| v.class.words()).into(),
            _ => "Free times shown; nothing is booked yet.".into(),
        });
        return Ok(CallPage::new(&app, shell, form).await?.with(Errors::default()).into_response());
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let page = CallPage::new(&app, shell, form.clone()).await?;
    let booking = match form.check(&page.given()) {
        Ok(booking) => booking,
        Err(errors) => return Ok(invalid(page.with(errors))),
    };
    match book(&app, &mut once, (&booking, &form.answers), &user).await? {
        Ok(location) => once.commit(&location).await,
        Err(errors) => {
            drop(once);
            Ok(invalid(page.with(errors)))
        }
    }
}

/// Writes it all; what only the database can refuse comes back as the form's errors.
async fn book(
    app: &App,
    once: &mut Once,
    (booking, answers): (&Booking, &Answers),
    user: &User,
) -> Result<std::result::Result<String, Errors>> {
    let zone = practice::store::get(app.db.read()).await?.zone;
    let (horse, client) = who(once, &booking.who).await?;
    let card = horses::store::card(&mut *once.tx, horse).await?;
    if !card.status.is_seen() {
        let words = card.gone_words().unwrap_or_default();
        return Ok(Err(Errors::one("", format!("{} cannot be booked. {words}", card.name))));
    }
    let place = place(once, &booking.place, horse, client).await?;
    let aside = match &booking.clearing {
        Some(moves) => Some(clear::set_aside(once, booking.when.vet, moves).await?),
        None => None,
    };
    let horses: Vec<HorseId> = std::iter::once(horse).chain(booking.with.iter().copied()).collect();
    let minutes = booking.when.minutes * i64::try_from(horses.len()).unwrap_or(1);
    let until = booking.when.starts_at.plus_minutes(minutes);
    let taken = day::in_the_way(&mut *once.tx, booking.when.vet, booking.when.starts_at, until, None).await?;
    if let Some(line) = taken {
        return Ok(Err(Errors::one(booking.when.field, when::taken(&line, &zone))));
    }
    let visits = book_stop(once, booking, (&horses, client, place), user).await?;
    triage::keep(&mut once.tx, visits[0], answers, user.id, once.now).await?;
    if let Some(id) = booking.follow_up {
        followups::store::book(&mut once.tx, id, visits[0]).await?;
    }
    let line = day::line(&mut *once.tx, visits[0]).await?;
    let vet = line.vet.clone().unwrap_or_default();
    let words = when_words(booking.when.starts_at, minutes, &zone, &vet, line.where_());
    let more = if horses.len() > 1 { format!(" and {} more", horses.len() - 1) } else { String::new() };
    let mut said = format!("Booked: {}{more}, {words}.", card.name);
    if let Some(aside) = aside {
        let told = clear::place(once, aside, user).await?;
        said = format!("{said} Tell the others: {}.", told.join("; "));
    }
    flash(&mut once.tx, user, &said).await?;
    let day = booking.when.starts_at.day(&zone);
    let today = once.now.day(&zone);
    Ok(Ok(match booking.clearing {
        Some(_) => "/to-tell".into(),
        None if day == today => "/".into(),
        None => format!("/?day={day}"),
    }))
}

/// A visit for each horse, one after the other; several share a stop. What the caller said in detail is about the first.
async fn book_stop(
    once: &mut Once,
    booking: &Booking,
    (horses, client, place): (&[HorseId], Option<ClientId>, Where),
    user: &User,
) -> Result<Vec<VisitId>> {
    let zone = practice::store::get(&mut *once.tx).await?.zone;
    let stop = (horses.len() > 1).then(StopId::new);
    if let Some(stop) = stop {
        store::stop::insert(&mut once.tx, stop, user.id, once.now).await?;
    }
    let said = NewComplaint::of_words(&booking.with_words);
    let mut starts_at = booking.when.starts_at;
    let mut visits = Vec::new();
    for (number, horse) in horses.iter().enumerate() {
        let new = NewVisit {
            id: VisitId::new(),
            horse: *horse,
            client,
            vet: Some(booking.when.vet),
            place: place.place,
            yard: place.yard,
            starts_at,
            minutes: booking.when.minutes,
            urgent: booking.urgent && number == 0,
            walk_in: false,
            stop,
            state: State::Booked,
        };
        store::insert(&mut once.tx, &new, user.id, once.now).await?;
        let complaints =
            if number == 0 { booking.complaints.as_slice() } else { std::slice::from_ref(&said) };
        for complaint in complaints {
            booking::add_complaint(&mut once.tx, new.id, complaint, once.now).await?;
        }
        booking::set_kind(&mut once.tx, new.id, booking.kind, booking.promised).await?;
        let line = day::line(&mut *once.tx, new.id).await?;
        let vet = line.vet.as_deref().unwrap_or_default();
        let words = when_words(starts_at, new.minutes, &zone, vet, line.where_());
        let change = NewChange { visit: new.id, what: "booked", detail: &words, reason: "" };
        changes::note(&mut once.tx, change, user.id, once.now).await?;
        starts_at = starts_at.plus_minutes(new.minutes);
        visits.push(new.id);
    }
    Ok(visits)
}

/// The horse and the caller, made now where they are new.
async fn who(once: &mut Once, who: &Who) -> Result<(HorseId, Option<ClientId>)> {
    let (client, horse) = match who {
        Who::Known { horse, caller } => return Ok((*horse, *caller)),
        Who::New { client, horse } => (client, horse),
    };
    let client = match client {
        NewClient::Known(id) => clients::store::get(&mut *once.tx, *id).await?.id,
        NewClient::New(details) => clients::store::insert(&mut once.tx, details, once.now).await?,
    };
    let horse = horses::store::insert(&mut once.tx, horse, once.now).await?;
    let owner = horses::NewParty::owner(client);
    horses::store::add_party(&mut once.tx, horse, &owner, once.now).await?;
    Ok((horse, Some(client)))
}

async fn place(once: &mut Once, place: &Place, horse: HorseId, client: Option<ClientId>) -> Result<Where> {
    let name = match place {
        Place::Known(place) => {
            if let Some(yard) = place.yard {
                horses::store::stands_at(&mut once.tx, horse, yard).await?;
            }
            return Ok(*place);
        }
        Place::NewYard(name) => name,
    };
    let details = clients::yards::Details {
        name: name.clone(),
        client_id: client,
        address: String::new(),
        spot: None,
        directions: String::new(),
        note: String::new(),
    };
    let yard = clients::yards::store::insert(&mut once.tx, &details, once.now).await?;
    horses::store::stands_at(&mut once.tx, horse, yard).await?;
    Ok(Where { place: "yard", yard: Some(yard) })
}
