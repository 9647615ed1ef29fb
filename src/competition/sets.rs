//! The sets of rules that the practice keeps: the list, and each with its rules.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Kept, RuleSet,
    set_form::{RestrictionForm, SetForm, StrikeForm, kinds},
    store,
    treatment::procedures,
};
use crate::{
    App,
    accounts::{Act, Can, act},
    audit,
    catalogue::{Choice, catalogue},
    clock::Day,
    formulary,
    ids::{RestrictionId, RuleSetId},
    practice,
    web::{Begun, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

const LIST: &str = "/practice/competition";

#[derive(Template, WebTemplate)]
#[template(path = "competition/sets.html")]
pub(super) struct ListPage {
    shell: Shell,
    today: Day,
    sets: Vec<RuleSet>,
}

impl ListPage {
    fn may_change(&self) -> bool {
        self.shell.may(Act::Sign)
    }

    fn facts(&self) -> Vec<&'static Choice> {
        let known = &catalogue().competition;
        known.kinds.iter().chain(known.facts.iter()).collect()
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "competition/set.html")]
struct SetPage {
    shell: Shell,
    errors: Errors,
    today: Day,
    zone: TimeZone,
    /// None for a new one.
    set: Option<RuleSet>,
    rules: Vec<Kept>,
    medicines: Vec<(String, String)>,
    form: SetForm,
    rule: RestrictionForm,
    /// The rule that is being struck.
    striking: Option<RestrictionId>,
    strike: StrikeForm,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Wanted {
    from: String,
    strike: String,
}

impl SetPage {
    async fn new(app: &App, shell: Shell, id: Option<RuleSetId>) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let (set, rules) = match id {
            Some(id) => (Some(get(app, id).await?), store::restrictions(db, id).await?),
            None => (None, Vec::new()),
        };
        let rows = formulary::rows(db).await?.into_iter();
        let mut medicines: Vec<_> = rows.map(|kept| (kept.row.dose.medicine, kept.row.name)).collect();
        medicines.dedup();
        Ok(SetPage {
            shell,
            errors: Errors::default(),
            today: app.clock.now().day(&zone),
            zone,
            form: set.as_ref().map(SetForm::of).unwrap_or_default(),
            set,
            rules,
            medicines,
            rule: RestrictionForm::default(),
            striking: None,
            strike: StrikeForm::default(),
        })
    }

    fn may_change(&self) -> bool {
        self.shell.may(Act::Sign)
    }

    /// Where the form of the set is sent.
    fn at(&self) -> String {
        self.set.as_ref().map_or_else(|| LIST.to_owned(), |set| way(set.id))
    }

    fn standing(&self) -> Vec<&Kept> {
        self.rules.iter().filter(|kept| kept.struck.is_none()).collect()
    }

    fn struck(&self) -> Vec<&Kept> {
        self.rules.iter().filter(|kept| kept.struck.is_some()).collect()
    }

    fn kinds(&self) -> Vec<(&'static str, &'static str)> {
        kinds()
    }

    fn procedures(&self) -> Vec<&'static str> {
        procedures()
    }

    /// The set that a new one follows.
    fn follows(&self) -> bool {
        self.set.is_none() && !self.form.from.is_empty()
    }
}

fn way(id: RuleSetId) -> String {
    format!("{LIST}/{id}")
}

async fn get(app: &App, id: RuleSetId) -> Result<RuleSet> {
    store::sets(app.db.read()).await?.into_iter().find(|set| set.id == id).ok_or(Error::NotFound)
}

pub(super) async fn list(State(app): State<App>, _: Can<act::SeeRecord>, shell: Shell) -> Result<ListPage> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    Ok(ListPage { shell, today: app.clock.now().day(&zone), sets: store::sets(db).await? })
}

/// A new set, or the next edition of one.
pub(super) async fn new(
    State(app): State<App>,
    _: Can<act::Sign>,
    shell: Shell,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    let page = SetPage::new(&app, shell, None).await?;
    let form = match wanted.from.parse() {
        Ok(id) => SetForm::next(&get(&app, id).await?),
        Err(_) => SetForm::default(),
    };
    Ok(SetPage { form, ..page }.into_response())
}

pub(super) async fn show(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<RuleSetId>,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    let page = SetPage::new(&app, shell, Some(id)).await?;
    Ok(SetPage { striking: wanted.strike.parse().ok(), ..page }.into_response())
}

pub(super) async fn add(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Form(form): Form<SetForm>,
) -> Result<Response> {
    let page = SetPage::new(&app, shell, None).await?;
    let new = match form.check(RuleSetId::new(), page.today) {
        Ok(new) => new,
        Err(errors) => return Ok(invalid(SetPage { errors, form, ..page })),
    };
    let taken_along = match form.from.parse::<RuleSetId>() {
        Ok(from) => store::restrictions(app.db.read(), from).await?,
        Err(_) if form.from.is_empty() => Vec::new(),
        Err(_) => return Err(Error::NotFound),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::insert_set(&mut once.tx, &new, user.id, once.now).await?;
    for kept in taken_along.into_iter().filter(|kept| kept.struck.is_none()) {
        let mut rule = kept.restriction;
        rule.id = RestrictionId::new();
        store::insert_restriction(&mut once.tx, new.id, &rule, user.id, once.now).await?;
    }
    audit::store::note(&mut once.tx, "competition rules entered", &new.title(), user.id, once.now).await?;
    let words = if form.from.is_empty() {
        "The set is kept. Enter its rules."
    } else {
        "The set is kept with the rules of the edition before: read each in the new text, and strike what has changed."
    };
    flash(&mut once.tx, &user, words).await?;
    once.commit(&way(new.id)).await
}

pub(super) async fn change(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<RuleSetId>,
    Form(form): Form<SetForm>,
) -> Result<Response> {
    let page = SetPage::new(&app, shell, Some(id)).await?;
    let new = match form.check(id, page.today) {
        Ok(new) => new,
        Err(errors) => return Ok(invalid(SetPage { errors, form, ..page })),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::update_set(&mut once.tx, &new, user.id, once.now).await? == 0 {
        let now = get(&app, id).await?;
        let clash = Conflict { what: now.title(), back: way(id), ..Conflict::default() };
        return Err(clash
            .field("Set", &new.title(), &now.title())
            .field("Holds", &new.dates(), &now.dates())
            .field("Source", &new.source, &now.source)
            .field("Read on", &new.read_on.words(), &now.read_on.words())
            .into());
    }
    let words = format!("{}, {}, read on {}", new.title(), new.dates(), new.read_on.words());
    audit::store::note(&mut once.tx, "competition rules changed", &words, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Saved.").await?;
    once.commit(&way(id)).await
}

pub(super) async fn restrict(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<RuleSetId>,
    Form(rule): Form<RestrictionForm>,
) -> Result<Response> {
    let page = SetPage::new(&app, shell, Some(id)).await?;
    let new = match rule.check(&page.medicines) {
        Ok(new) => new,
        Err(errors) => return Ok(invalid(SetPage { errors, rule, ..page })),
    };
    let mut once = match begin(&app, &rule.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::insert_restriction(&mut once.tx, id, &new, user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("{}: {}.", new.name(), new.words())).await?;
    once.commit(&way(id)).await
}

pub(super) async fn strike(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path((id, rule)): Path<(RuleSetId, RestrictionId)>,
    Form(strike): Form<StrikeForm>,
) -> Result<Response> {
    let page = SetPage::new(&app, shell, Some(id)).await?;
    if !page.rules.iter().any(|kept| kept.restriction.id == rule) {
        return Err(Error::NotFound);
    }
    let why = match strike.check() {
        Ok(why) => why,
        Err(errors) => return Ok(invalid(SetPage { errors, striking: Some(rule), strike, ..page })),
    };
    let mut once = match begin(&app, &strike.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::strike(&mut once.tx, (id, rule), &why, user.id, once.now).await? == 0 {
        let what = "A rule that was struck meanwhile".to_owned();
        let clash = Conflict { what, back: way(id), ..Conflict::default() };
        return Err(clash.field("Why", &why, "").into());
    }
    flash(&mut once.tx, &user, "Struck. It stays in sight.").await?;
    once.commit(&way(id)).await
}
