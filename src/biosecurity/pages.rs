//! The marks of a horse or a yard, and all that hold.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Mark, Report,
    authority::AuthorityForm,
    form::{LiftForm, MarkForm},
    store,
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::{Choice, Table, catalogue},
    clients,
    clock::Day,
    horses::{self, Card},
    ids::{HorseId, MarkId, YardId},
    practice,
    web::{Begun, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

/// Whose marks they are.
#[derive(Debug, Clone, Copy)]
enum Subject {
    Horse(HorseId),
    Yard(YardId),
}

impl Subject {
    fn of(mark: &Mark) -> Result<Self> {
        match (mark.horse_id, mark.yard_id) {
            (Some(horse), _) => Ok(Subject::Horse(horse)),
            (_, Some(yard)) => Ok(Subject::Yard(yard)),
            _ => Err(Error::NotFound),
        }
    }

    fn path(self) -> String {
        match self {
            Subject::Horse(id) => format!("/horses/{id}"),
            Subject::Yard(id) => format!("/yards/{id}"),
        }
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "biosecurity/marks.html")]
struct MarksPage {
    shell: Shell,
    errors: Errors,
    card: Option<Card>,
    name: String,
    path: String,
    marks: Vec<Mark>,
    report: Option<Report>,
    form: MarkForm,
    /// The mark that is being lifted.
    lift: Option<MarkId>,
    lift_form: LiftForm,
    today: Day,
    zone: TimeZone,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Wanted {
    lift: String,
}

impl MarksPage {
    async fn new(app: &App, shell: Shell, subject: Subject) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let today = app.clock.now().day(&zone);
        let (card, name, marks) = match subject {
            Subject::Horse(id) => {
                let card = horses::store::card(db, id).await?;
                let name = card.name.clone();
                (Some(card), name, store::of_horse(db, id).await?)
            }
            Subject::Yard(id) => {
                (None, clients::yards::store::get(db, id).await?.name, store::of_yard(db, id).await?)
            }
        };
        let held: Vec<&Mark> = marks.iter().filter(|mark| mark.holds_on(today)).collect();
        let report = Report::of(&held, store::authority(db).await?);
        Ok(MarksPage {
            shell,
            errors: Errors::default(),
            card,
            name,
            path: subject.path(),
            report,
            marks,
            form: MarkForm::fresh(today),
            lift: None,
            lift_form: LiftForm::default(),
            today,
            zone,
        })
    }

    /// What is not lifted, over or to come as it may be.
    fn standing(&self) -> impl Iterator<Item = &Mark> {
        self.marks.iter().filter(|mark| mark.lifted_at.is_none())
    }

    fn lifted(&self) -> Vec<&Mark> {
        self.marks.iter().filter(|mark| mark.lifted_at.is_some()).collect()
    }

    fn kinds() -> Vec<(&'static str, &'static str)> {
        catalogue().biosecurity.marks.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn diseases() -> Vec<(&'static str, &'static str)> {
        catalogue().biosecurity.diseases.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }
}

async fn show(app: &App, shell: Shell, subject: Subject, wanted: &Wanted) -> Result<Response> {
    let mut page = MarksPage::new(app, shell, subject).await?;
    page.lift = wanted.lift.parse().ok();
    Ok(page.into_response())
}

pub(super) async fn of_horse(
    State(app): State<App>,
    _: Can<act::SeeClients>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    show(&app, shell, Subject::Horse(id), &wanted).await
}

pub(super) async fn of_yard(
    State(app): State<App>,
    _: Can<act::SeeClients>,
    shell: Shell,
    Path(id): Path<YardId>,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    show(&app, shell, Subject::Yard(id), &wanted).await
}

pub(super) async fn mark_horse(
    State(app): State<App>,
    Can { user, .. }: Can<act::EditHorses>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Form(form): Form<MarkForm>,
) -> Result<Response> {
    horses::store::card(app.db.read(), id).await?;
    mark(&app, &user, shell, Subject::Horse(id), form).await
}

pub(super) async fn mark_yard(
    State(app): State<App>,
    Can { user, .. }: Can<act::EditHorses>,
    shell: Shell,
    Path(id): Path<YardId>,
    Form(form): Form<MarkForm>,
) -> Result<Response> {
    clients::yards::store::get(app.db.read(), id).await?;
    mark(&app, &user, shell, Subject::Yard(id), form).await
}

async fn mark(app: &App, user: &User, shell: Shell, subject: Subject, form: MarkForm) -> Result<Response> {
    let (horse, yard) = match subject {
        Subject::Horse(id) => (Some(id), None),
        Subject::Yard(id) => (None, Some(id)),
    };
    let new = match form.check(horse, yard) {
        Ok(new) => new,
        Err(errors) => {
            let page = MarksPage::new(app, shell, subject).await?;
            return Ok(invalid(MarksPage { errors, form, ..page }));
        }
    };
    let mut once = match begin(app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::insert(&mut once.tx, &new, user.id, once.now).await?;
    flash(
        &mut once.tx,
        user,
        "Marked. Rounds put it last from now on; what is booked stays until somebody moves it.",
    )
    .await?;
    once.commit(&format!("{}/biosecurity", subject.path())).await
}

pub(super) async fn lift(
    State(app): State<App>,
    Can { user, .. }: Can<act::EditHorses>,
    shell: Shell,
    Path(id): Path<MarkId>,
    Form(form): Form<LiftForm>,
) -> Result<Response> {
    let subject = Subject::of(&store::get(app.db.read(), id).await?)?;
    let reason = match form.check() {
        Ok(reason) => reason,
        Err(errors) => {
            let page = MarksPage::new(&app, shell, subject).await?;
            return Ok(invalid(MarksPage { errors, lift: Some(id), lift_form: form, ..page }));
        }
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let back = format!("{}/biosecurity", subject.path());
    if store::lift(&mut once.tx, id, &reason, user.id, once.now).await? == 0 {
        let now = store::get(&mut *once.tx, id).await?;
        let clash = Conflict { what: "A mark that was lifted meanwhile".into(), back, ..Conflict::default() };
        return Err(Error::Conflict(Box::new(clash.field("Why", &reason, &now.lifted_reason))));
    }
    flash(&mut once.tx, &user, "The mark is lifted.").await?;
    once.commit(&back).await
}

#[derive(Template, WebTemplate)]
#[template(path = "biosecurity/all.html")]
pub(super) struct AllPage {
    shell: Shell,
    errors: Errors,
    marks: Vec<Mark>,
    form: AuthorityForm,
    today: Day,
}

impl AllPage {
    pub(super) async fn new(app: &App, shell: Shell, typed: Option<(AuthorityForm, Errors)>) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let (form, errors) = match typed {
            Some(typed) => typed,
            None => (AuthorityForm::of(store::authority(db).await?.as_ref()), Errors::default()),
        };
        let marks = store::standing(db).await?.0;
        Ok(AllPage { shell, errors, marks, form, today: app.clock.now().day(&zone) })
    }

    fn lists() -> [(&'static str, &'static Table<Choice>); 2] {
        let lists = &catalogue().biosecurity;
        [("Worn and carried", &lists.kit), ("Before the next yard", &lists.cleaning)]
    }
}

pub(super) async fn all(State(app): State<App>, _: Can<act::SeeClients>, shell: Shell) -> Result<AllPage> {
    AllPage::new(&app, shell, None).await
}
