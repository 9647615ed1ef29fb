//! A message about a visit, ready to be sent by a person: as a call, a text, an email or a letter. What was sent is noted
//! in the log.

use std::fmt::Write;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    CHANNELS, is_known,
    store::{self, NewContact},
    texts::{self, Text},
};
use crate::{
    App,
    accounts::{Can, act},
    clients::{self, Details},
    clock::Day,
    horses::{self, Card},
    ids::{ClientId, VisitId},
    practice,
    reasoning::fill::fill,
    visits::{
        self, State as VisitState, Visit,
        store::{
            booking::{self, Caller},
            day::{self, Line},
        },
    },
    web::{Begun, Check, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

/// A way of sending it that the client has not spoken against.
struct Send {
    channel: &'static str,
    label: String,
    href: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "contacts/message.html")]
struct MessagePage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    kinds: Vec<Text>,
    kind: &'static str,
    title: &'static str,
    people: Vec<Caller>,
    to: Option<ClientId>,
    name: String,
    minutes: String,
    words: String,
    channel: String,
    sends: Vec<Send>,
    /// What the client does not want, in words.
    unwanted: Vec<String>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct MessageQuery {
    kind: String,
    to: String,
    minutes: String,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct ToldForm {
    submission: String,
    kind: String,
    to: String,
    channel: String,
    words: String,
}

/// What a visit's state makes one want to say.
fn usual(visit: &Visit) -> &'static str {
    match visit.state {
        VisitState::DidNotCome => "no_show",
        VisitState::Signed | VisitState::ToSign | VisitState::InHand => "after",
        _ => "reminder",
    }
}

impl MessagePage {
    async fn new(app: &App, shell: Shell, id: VisitId, query: &MessageQuery) -> Result<Self> {
        let db = app.db.read();
        let practice = practice::store::get(db).await?;
        let (visit, line) = (visits::store::get(db, id).await?, day::line(db, id).await?);
        let kinds = texts::of_practice(app).await?;
        let asked = if query.kind.is_empty() { usual(&visit) } else { query.kind.as_str() };
        let text = kinds.iter().find(|text| text.kind == asked).ok_or(Error::NotFound)?.clone();
        let people = people(app, &visit).await?;
        let asked = query.to.parse::<ClientId>().ok().or(visit.client_id);
        let person = people.iter().find(|one| Some(one.id) == asked).or(people.first());
        let minutes: i64 = query.minutes.trim().parse().unwrap_or(0).clamp(0, 1440);
        let card = horses::store::card(db, visit.horse_id).await?;
        let name = person.map_or_else(String::new, |one| one.name.clone());
        let words = filled(
            &text.words,
            &line,
            &Said { client: &name, practice: &practice.name, minutes },
            &practice.zone,
        );
        let (sends, unwanted) = match person {
            Some(one) => sends(app, one.id, text.title, &words).await?,
            None => (Vec::new(), Vec::new()),
        };
        Ok(MessagePage {
            shell,
            errors: Errors::default(),
            visit_id: id,
            today: app.clock.now().day(&practice.zone),
            card,
            kind: text.kind,
            title: text.title,
            to: person.map(|one| one.id),
            name,
            minutes: if minutes > 0 { minutes.to_string() } else { String::new() },
            words,
            channel: String::new(),
            sends,
            unwanted,
            kinds,
            people,
        })
    }

    fn channels(&self) -> &'static [(&'static str, &'static str)] {
        &CHANNELS
    }

    fn kind_choices(&self) -> Vec<(&'static str, &'static str)> {
        self.kinds.iter().map(|text| (text.kind, text.title)).collect()
    }

    fn person_choices(&self) -> Vec<(String, String)> {
        self.people.iter().map(|one| (one.id.to_string(), format!("{} ({})", one.name, one.role))).collect()
    }

    fn back(&self) -> String {
        format!("/visits/{}", self.visit_id)
    }

    fn to_key(&self) -> String {
        self.to.map_or_else(String::new, |id| id.to_string())
    }
}

/// The horse's people, and who called about the visit.
async fn people(app: &App, visit: &Visit) -> Result<Vec<Caller>> {
    let mut people = booking::callers(app.db.read(), visit.horse_id).await?;
    if let Some(id) = visit.client_id
        && people.iter().all(|one| one.id != id)
    {
        let name = clients::store::get(app.db.read(), id).await?.name;
        people.push(Caller { id, name, role: "called".into(), phone: None });
    }
    Ok(people)
}

/// What is filled in beside the visit's own facts.
pub(super) struct Said<'a> {
    pub client: &'a str,
    pub practice: &'a str,
    pub minutes: i64,
}

/// What the words of a message may name.
pub(super) const NAMES: [&str; 8] = ["client", "horse", "day", "time", "vet", "minutes", "where", "practice"];

/// The words with everything in braces filled in; words that cannot be filled stay as they are.
pub(super) fn filled(words: &str, line: &Line, said: &Said<'_>, zone: &TimeZone) -> String {
    let comes = line.starts_at.plus_minutes(said.minutes);
    let known = |name: &str| {
        Some(match name {
            "client" => said.client.to_owned(),
            "horse" => line.horse.clone(),
            "day" => line.starts_at.day(zone).long(),
            "time" => comes.hm(zone),
            "vet" => line.vet.clone().unwrap_or_else(|| "the vet".into()),
            "minutes" => said.minutes.to_string(),
            "where" => line.where_().to_owned(),
            "practice" => said.practice.to_owned(),
            _ => return None,
        })
    };
    fill(words, known).unwrap_or_else(|_| words.to_owned())
}

/// The ways to a client, and those that they do not want.
async fn sends(app: &App, id: ClientId, title: &str, words: &str) -> Result<(Vec<Send>, Vec<String>)> {
    let db = app.db.read();
    let (details, _) = clients::store::details(&mut *db.acquire().await?, id).await?;
    let wishes = store::wishes(db, id).await?;
    let unwanted = |channel: &str| wishes.iter().any(|wish| wish.channel == channel && !wish.wanted);
    let mut sends = ways(&details, title, words);
    sends.retain(|send| !unwanted(send.channel));
    let said =
        wishes.iter().filter(|wish| !wish.wanted).map(|wish| wish.channel_words().to_owned()).collect();
    Ok((sends, said))
}

fn ways(client: &Details, title: &str, words: &str) -> Vec<Send> {
    let mut sends = Vec::new();
    for phone in &client.phones {
        let number = phone.digits_to_dial();
        let label = format!("{} {}", phone.number, phone.label).trim().to_owned();
        sends.push(Send { channel: "phone", label: format!("Call {label}"), href: format!("tel:{number}") });
        let href = format!("sms:{number}?body={}", encoded(words));
        sends.push(Send { channel: "text", label: format!("Text to {label}"), href });
    }
    if !client.email.is_empty() {
        let (subject, body) = (encoded(title), encoded(words));
        let href = format!("mailto:{}?subject={subject}&body={body}", encoded_address(&client.email));
        sends.push(Send { channel: "email", label: format!("Email to {}", client.email), href });
    }
    sends
}

/// Percent-encoded as what follows a question mark (RFC 6068, 2; RFC 5724, 2.2).
fn encoded(text: &str) -> String {
    text.replace('\n', "\r\n").bytes().fold(String::new(), |mut out, b| {
        if b.is_ascii_alphanumeric() || matches!(b, b'-' | b'.' | b'_' | b'~') {
            out.push(char::from(b));
        } else {
            let _ = write!(out, "%{b:02X}");
        }
        out
    })
}

fn encoded_address(email: &str) -> String {
    encoded(email).replace("%40", "@").replace("%2B", "+")
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeDay>,
    Path(id): Path<VisitId>,
    Query(query): Query<MessageQuery>,
) -> Result<Response> {
    Ok(MessagePage::new(&app, shell, id, &query).await?.into_response())
}

/// Notes that it was said, in the words that were said.
pub(super) async fn told(
    State(app): State<App>,
    shell: Shell,
    Can { user, .. }: Can<act::Book>,
    Path(id): Path<VisitId>,
    Form(form): Form<ToldForm>,
) -> Result<Response> {
    let visit = visits::store::get(app.db.read(), id).await?;
    let mut check = Check::new();
    let to = check.choice::<ClientId>("to", &form.to, "Choose whom.");
    if !is_known(&CHANNELS, &form.channel) {
        check.errors.add("channel", "Choose how it was said.");
    }
    let words = check.needed_words("words", &form.words, 2000, "Enter what was said.");
    let people = people(&app, &visit).await?;
    let person = people.iter().find(|one| Some(one.id) == to);
    if to.is_some() && person.is_none() {
        check.errors.add("to", "Choose one of the horse's people.");
    }
    let (Some(person), true) = (person, check.errors.is_empty()) else {
        let kind = if texts::all().get(&form.kind).is_some() { form.kind } else { String::new() };
        let query = MessageQuery { kind, to: form.to, minutes: String::new() };
        let page = MessagePage::new(&app, shell, id, &query).await?;
        return Ok(invalid(MessagePage {
            errors: check.errors,
            words: form.words,
            channel: form.channel,
            ..page
        }));
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let new = NewContact {
        client: Some(person.id),
        horse: Some(visit.horse_id),
        visit: Some(id),
        follow_up: None,
        at: once.now,
        channel: form.channel,
        way: "out".into(),
        person: person.name.clone(),
        words,
    };
    store::insert(&mut once.tx, &new, user.id, once.now).await?;
    store::told_client(&mut once.tx, id, person.id, (user.id, once.now)).await?;
    flash(&mut once.tx, &user, &format!("Noted that {} was told.", person.name)).await?;
    once.commit(&format!("/horses/{}/contacts", visit.horse_id)).await
}
