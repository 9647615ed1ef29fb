//! Moving a booked visit to another time, vet or place; its history keeps where it stood. A shared stop moves as a whole:
//! one horse after the other from the new time on.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;

use super::{
    State, Visit,
    call::{Fields, all_yards, place, when_words},
    store::{
        self, booking,
        changes::{self, NewChange},
        day::{self, Line},
        stop,
    },
    when::{self, Basis, Lane, Looked, When, WhenForm},
};
use crate::{
    App,
    accounts::{self, Can, act, store::Staff},
    clock::{At, Day},
    contacts,
    horses::{self, Card},
    ids::{VisitId, YardId},
    practice, rounds,
    web::{Begun, Check, Conflict, Error, Errors, Form, Once, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "visits/move.html")]
struct MovePage {
    shell: Shell,
    errors: Errors,
    form: MoveForm,
    visit_id: VisitId,
    visit: Visit,
    line: Line,
    /// What moves: the visit alone, or what is booked of its stop.
    group: Vec<Line>,
    card: Card,
    yards: Vec<(YardId, String)>,
    all_yards: Vec<(YardId, String)>,
    vets: Vec<Staff>,
    lanes: Vec<Lane>,
    now: At,
    today: Day,
    zone: TimeZone,
}

#[derive(Debug, Clone, Default)]
struct MoveForm {
    submission: String,
    version: String,
    go: String,
    when: WhenForm,
    place: String,
    other_yard: String,
    urgent: bool,
    reason: String,
}

impl MoveForm {
    fn read(fields: &Fields) -> Self {
        MoveForm {
            submission: fields.get("submission"),
            version: fields.get("version"),
            go: fields.get("near") + &fields.get("go"),
            when: fields.when(),
            place: fields.get("place"),
            other_yard: fields.get("other_yard"),
            urgent: !fields.get("urgent").is_empty(),
            reason: fields.get("reason"),
        }
    }

    /// The visit as it stands.
    fn of(visit: &Visit, now: At, zone: &TimeZone) -> Self {
        let vet = visit.vet_id.map(|id| id.to_string()).unwrap_or_default();
        let day = visit.starts_at.day(zone).max(now.day(zone));
        MoveForm {
            version: visit.version.to_string(),
            when: WhenForm {
                vet,
                slot: String::new(),
                day: day.to_string(),
                start: visit.starts_at.hm(zone),
                minutes: visit.minutes.to_string(),
            },
            place: visit.yard_id.map_or_else(|| "clinic".into(), |id| id.to_string()),
            urgent: visit.urgent,
            ..MoveForm::default()
        }
    }
}

impl MovePage {
    /// The page for a form as it is, or for the visit as it stands.
    async fn new(app: &App, shell: Shell, id: VisitId, form: Option<MoveForm>) -> Result<Self> {
        let db = app.db.read();
        let visit = store::get(db, id).await?;
        if visit.state != State::Booked {
            return Err(not_booked(&visit));
        }
        let zone = practice::store::get(db).await?.zone;
        let now = app.clock.now();
        let form = form.unwrap_or_else(|| MoveForm::of(&visit, now, &zone));
        let vets = accounts::store::vets(db).await?;
        let basis = Basis { vets: &vets, now, zone: &zone };
        let group = stop::moved_with(db, &visit).await?;
        let ids: Vec<VisitId> = group.iter().map(|line| line.id).collect();
        let looked = Looked { horses: group.len(), moving: &ids };
        let lanes = when::lanes(db, &form.when, &basis, looked).await?;
        let line = day::line(db, id).await?;
        let all_yards = all_yards(app).await?;
        let mut yards = booking::yards_of(db, visit.horse_id).await?;
        // Where it stands by now is among the choices, though the horse is not at home there.
        if let Some(at) = visit.yard_id.and_then(|id| all_yards.iter().position(|(yard, _)| *yard == id)) {
            yards.retain(|(yard, _)| *yard != all_yards[at].0);
            yards.insert(0, all_yards[at].clone());
        }
        Ok(MovePage {
            shell,
            errors: Errors::default(),
            form,
            visit_id: id,
            line,
            group,
            card: horses::store::card(db, visit.horse_id).await?,
            yards,
            all_yards,
            vets,
            lanes,
            now,
            today: now.day(&zone),
            zone,
            visit,
        })
    }

    fn day_shown(&self) -> Day {
        self.form.when.day_shown(self.today)
    }

    fn lengths(&self) -> Vec<(i64, String)> {
        when::lengths(&self.form.when.minutes)
    }

    /// "Briar's visit", or "the stop with Briar, Tansy and Dot"
    fn what(&self) -> String {
        let names: Vec<&str> = self.group.iter().map(|line| line.horse.as_str()).collect();
        match names.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("the stop with {} and {last}", rest.join(", ")),
            _ => format!("{}'s visit", self.card.name),
        }
    }

    fn check(&self) -> std::result::Result<(When, booking::Where, String), Errors> {
        let mut check = Check::new();
        let basis = Basis { vets: &self.vets, now: self.now, zone: &self.zone };
        let when = self.form.when.check(&mut check, &basis);
        let yards: Vec<YardId> = self.all_yards.iter().map(|(id, _)| *id).collect();
        let place = place(&mut check, &self.form.place, &self.form.other_yard, &yards);
        let reason = check.line("reason", &self.form.reason, 500);
        match (when, place) {
            (Some(when), Some(place)) if check.errors.is_empty() => Ok((when, place, reason)),
            _ => Err(check.errors),
        }
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::Book>,
    shell: Shell,
    Path(id): Path<VisitId>,
) -> Result<Response> {
    Ok(MovePage::new(&app, shell, id, None).await?.into_response())
}

pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Book>,
    mut shell: Shell,
    Path(id): Path<VisitId>,
    Form(fields): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let form = MoveForm::read(&Fields(fields));
    if !form.go.is_empty() {
        shell.flash = Some("Free times shown; nothing is moved yet.".into());
        return Ok(MovePage::new(&app, shell, id, Some(form)).await?.into_response());
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let version = form.version.parse().unwrap_or(-1);
    let page = MovePage::new(&app, shell, id, Some(form)).await?;
    let (when, place, reason) = match page.check() {
        Ok(meant) => meant,
        Err(errors) => return Ok(invalid(MovePage { errors, ..page })),
    };
    let target = Target { when: &when, place, urgent: page.form.urgent };
    match move_all(&mut once, &page.group, (id, version), &target).await? {
        Moved::Done => {}
        Moved::Stale => return Err(page.stale()),
        Moved::Taken(line) => {
            drop(once);
            let words = line.map_or_else(|| "That time is taken.".into(), |l| when::taken(&l, &page.zone));
            return Ok(invalid(MovePage { errors: Errors::one(when.field, words), ..page }));
        }
    }
    let mut now_words = String::new();
    for was in &page.group {
        let line = day::line(&mut *once.tx, was.id).await?;
        let words = words_of(&line, &page.zone);
        let detail = format!("from {} to {words}", words_of(was, &page.zone));
        let change = NewChange { visit: was.id, what: "moved", detail: &detail, reason: &reason };
        changes::note(&mut once.tx, change, user.id, once.now).await?;
        contacts::store::rang_back(&mut once.tx, was.id, user.id, once.now).await?;
        if now_words.is_empty() {
            now_words = words;
        }
    }
    flash(&mut once.tx, &user, &moved_words(&page.group, &now_words)).await?;
    once.commit(&format!("/visits/{id}")).await
}

fn moved_words(group: &[Line], to: &str) -> String {
    match group.len() {
        1 => format!("Moved to {to}."),
        count => format!("The stop with its {count} horses begins {to}."),
    }
}

/// Where a visit or a stop goes.
struct Target<'a> {
    when: &'a When,
    place: booking::Where,
    urgent: bool,
}

/// What became of it.
enum Moved {
    Done,
    /// Somebody else moved it meanwhile.
    Stale,
    /// What stands there.
    Taken(Option<Line>),
}

/// Moves what belongs together, one horse after the other from the new time on. `asked` is the visit that the form was
/// about, as it stood then.
async fn move_all(once: &mut Once, group: &[Line], asked: (VisitId, i64), to: &Target<'_>) -> Result<Moved> {
    let count = i64::try_from(group.len()).unwrap_or(1);
    for line in group {
        rounds::store::set_aside(&mut once.tx, line.id).await?;
    }
    let until = to.when.starts_at.plus_minutes(to.when.minutes * count);
    let there = day::in_the_way(&mut *once.tx, to.when.vet, to.when.starts_at, until, None).await?;
    if there.is_some() {
        return Ok(Moved::Taken(there));
    }
    let mut when = *to.when;
    for line in group {
        let stands = store::get(&mut *once.tx, line.id).await?.version;
        let version = if line.id == asked.0 { asked.1 } else { stands };
        match booking::move_to(&mut once.tx, line.id, version, &when, to.place, to.urgent).await {
            Err(error) if store::is_overlap(&error) => return Ok(Moved::Taken(None)),
            Ok(0) => return Ok(Moved::Stale),
            moved => moved?,
        };
        when.starts_at = when.starts_at.plus_minutes(when.minutes);
    }
    Ok(Moved::Done)
}

fn words_of(line: &Line, zone: &TimeZone) -> String {
    let vet = line.vet.as_deref().unwrap_or("no vet");
    when_words(line.starts_at, line.minutes, zone, vet, line.where_())
}

impl MovePage {
    /// Somebody else moved it meanwhile.
    fn stale(&self) -> Error {
        let typed =
            if self.form.when.start.is_empty() { &self.form.when.slot } else { &self.form.when.start };
        let clash = Conflict {
            what: format!("When {} is seen", self.card.name),
            back: format!("/visits/{}", self.visit_id),
            ..Conflict::default()
        };
        let yours = format!("{} {}", self.form.when.day, typed.rsplit('@').next().unwrap_or_default());
        Error::Conflict(Box::new(clash.field("Time", &yours, &words_of(&self.line, &self.zone))))
    }
}

/// Only what is still ahead can be moved.
fn not_booked(visit: &Visit) -> Error {
    if visit.state == State::Signed {
        return Error::Signed;
    }
    let clash = Conflict {
        what: "How far this visit has come".into(),
        back: format!("/visits/{}", visit.id),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash.field("State", "booked", &visit.state.to_string())))
}
