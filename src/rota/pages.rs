//! The page of a week: read by everybody, set by whoever runs the practice.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    OnCall, Person, Rota,
    form::{Sets, WeekForm, field},
    store::{self, Change, NewChange},
};
use crate::{
    App,
    accounts::{self, Can, act},
    clock::Day,
    ids::StaffId,
    practice,
    reasoning::watch::{Part, monday, week_of_pattern},
    rounds::Planner,
    web::{Begun, Check, Conflict, Error, Errors, Form, Query, Result, Shell, begin, flash, invalid},
};

/// One day of the week.
struct Row {
    day: Day,
    watches: Vec<OnCall>,
    /// Who works by their own hours.
    at_work: Vec<String>,
}

#[derive(Template, WebTemplate)]
#[template(path = "rota/week.html")]
struct WeekPage {
    shell: Shell,
    errors: Errors,
    from: Day,
    today: Day,
    rows: Vec<Row>,
    rota: Rota,
    people: Vec<Person>,
    changed: Option<Change>,
    /// The form, while it is being set.
    form: Option<WeekForm>,
    zone: TimeZone,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct WeekQuery {
    week: String,
    set: String,
}

impl WeekPage {
    async fn new(app: &App, shell: Shell, week: &str) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let now = app.clock.now();
        let today = now.day(&zone);
        let mut check = Check::new();
        let from = monday(check.day("week", week).unwrap_or(today));
        let rota = Rota::load(db, from, from.plus_days(6)).await?;
        let vets = accounts::store::vets(db).await?;
        let planner = Planner::load(db, &vets, (from, 7), now, &zone).await?;
        let rows = (0..7).map(|n| from.plus_days(n)).map(|day| {
            let at_work = vets.iter().filter_map(|vet| {
                let (begins, ends) = planner.hours(vet.id, day)?;
                Some(format!("{} {} to {}", vet.name, begins.hm(&zone), ends.hm(&zone)))
            });
            let watches = Part::BOTH.map(|part| rota.on(day, part, &zone)).into();
            Row { day, watches, at_work: at_work.collect() }
        });
        Ok(WeekPage {
            rows: rows.collect(),
            shell,
            errors: check.errors,
            from,
            today,
            people: store::people(db).await?,
            changed: store::last_change(db).await?,
            rota,
            form: None,
            zone,
        })
    }

    fn version(&self) -> i64 {
        self.changed.as_ref().map_or(0, |change| change.version)
    }

    fn is_empty(&self) -> bool {
        self.rows.iter().all(|row| row.watches.iter().all(OnCall::is_empty))
    }

    fn week_words(&self) -> String {
        match self.rota.weeks {
            ..=1 => "the pattern is the same every week".into(),
            weeks => format!("week {} of {weeks} of the pattern", week_of_pattern(self.from, weeks)),
        }
    }

    fn options(&self) -> Vec<(String, &str)> {
        self.people.iter().map(|person| (person.id.to_string(), person.name.as_str())).collect()
    }

    /// The fields of a day: name, label and what stands there.
    fn fields(day: &Day, form: &WeekForm) -> Vec<(String, &'static str, String)> {
        let weekday = monday(*day).days_until(*day);
        let labels = [
            (Part::Day, "first", "On call by day"),
            (Part::Day, "backup", "Backup by day"),
            (Part::Night, "first", "On call at night"),
            (Part::Night, "backup", "Backup at night"),
        ];
        let one = |(part, role, label)| {
            let name = field(weekday, part, role);
            let chosen = form.chosen(&name).to_owned();
            (name, label, chosen)
        };
        labels.into_iter().map(one).collect()
    }
}

pub(super) async fn page(
    State(app): State<App>,
    Can { user, .. }: Can<act::SeeDay>,
    shell: Shell,
    Query(query): Query<WeekQuery>,
) -> Result<Response> {
    let mut page = WeekPage::new(&app, shell, &query.week).await?;
    if let Some(sets) = Sets::read(&query.set).filter(|_| user.may(accounts::Act::RunPractice)) {
        page.form = Some(WeekForm::of(&page.rota, page.from, sets, page.version()));
    }
    Ok(page.into_response())
}

pub(super) async fn set(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(fields): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let week = fields.iter().find(|(name, _)| name == "week").map(|(_, day)| day.clone()).unwrap_or_default();
    let form = WeekForm::read(fields);
    let page = WeekPage::new(&app, shell, &week).await?;
    if week.parse::<Day>().is_err() {
        return Err(Error::BadRequest("Nobody can tell which week this is".into()));
    }
    let people: Vec<StaffId> = page.people.iter().map(|person| person.id).collect();
    let cells = match form.check(&people) {
        Ok(cells) => cells,
        Err(errors) => return Ok(invalid(WeekPage { errors, form: Some(form), ..page })),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let stands = store::last_change(&mut *once.tx).await?;
    let version = stands.as_ref().map_or(0, |change| change.version);
    if form.version.parse() != Ok(version) {
        let by = stands
            .map_or_else(String::new, |change| format!("{}, {}", change.by, change.at.words(&page.zone)));
        let back = format!("/rota?week={}", page.from);
        let clash = Conflict { what: "The rota".into(), back, ..Conflict::default() };
        return Err(Error::Conflict(Box::new(clash.field("Set by", &user.name, &by))));
    }
    form.keep(&mut once.tx, (page.from, page.rota.weeks), cells).await?;
    let new = NewChange {
        version: version + 1,
        what: form.sets.key(),
        monday: page.from,
        by: user.id,
        at: once.now,
    };
    store::note(&mut once.tx, &new).await?;
    let what = if form.sets == Sets::Pattern { "The pattern" } else { "The week" };
    flash(&mut once.tx, &user, &format!("{what} is set.")).await?;
    once.commit(&format!("/rota?week={}", page.from)).await
}
