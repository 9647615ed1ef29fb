//! The places with what the book has in each, and the register of one of them.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;

use super::{
    form::{Known, Typed, WHATS},
    ml_words,
    store::{self, Balance, Line, Store},
};
use crate::{
    App, accounts,
    accounts::{Act, Can, User, act},
    clock::Day,
    formulary,
    ids::{LineId, StaffId, StoreId},
    practice,
    web::{Begun, Check, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

const KINDS: [(&str, &str); 2] = [("safe", "a safe"), ("vehicle", "a vehicle")];

#[derive(Template, WebTemplate)]
#[template(path = "stock/list.html")]
struct ListPage {
    shell: Shell,
    errors: Errors,
    typed: Typed,
    stores: Vec<Store>,
    balances: Vec<Balance>,
}

impl ListPage {
    async fn new(app: &App, shell: Shell, typed: Typed, errors: Errors) -> Result<Self> {
        let db = app.db.read();
        let (stores, balances) = (store::stores(db).await?, store::balances(db).await?);
        Ok(ListPage { shell, errors, typed, stores, balances })
    }

    fn may_add(&self) -> bool {
        self.shell.may(Act::RunPractice)
    }

    fn ml(&self, ul: &i64) -> String {
        ml_words(*ul)
    }

    fn kinds(&self) -> [(&'static str, &'static str); 2] {
        KINDS
    }

    fn of(&self, place: &Store) -> Vec<&Balance> {
        self.balances.iter().filter(|balance| balance.store == place.id).collect()
    }
}

/// What does not agree, in words.
pub(crate) fn discrepancy(balance: &Balance) -> Option<String> {
    let off = balance.off_ul.filter(|off| *off != 0).map(|off| {
        let word = if off < 0 { "missing" } else { "too much" };
        format!("{} {word} at the last count", ml_words(off.abs()))
    });
    let below = (balance.ul < 0).then(|| "the book is below nothing".to_owned());
    let words = [below, off].into_iter().flatten().collect::<Vec<_>>().join("; ");
    (!words.is_empty()).then_some(words)
}

#[derive(Template, WebTemplate)]
#[template(path = "stock/register.html")]
struct RegisterPage {
    shell: Shell,
    errors: Errors,
    zone: TimeZone,
    today: Day,
    place: Store,
    others: Vec<Store>,
    balances: Vec<Balance>,
    lines: Vec<Line>,
    /// Controlled medicines of the formulary: code and name.
    medicines: Vec<(String, String)>,
    witnesses: Vec<(StaffId, String)>,
    typed: Typed,
}

impl RegisterPage {
    async fn new(
        app: &App,
        user: &User,
        shell: Shell,
        id: StoreId,
        typed: Typed,
        errors: Errors,
    ) -> Result<Self> {
        let db = app.db.read();
        let (here, others): (Vec<Store>, Vec<Store>) =
            store::stores(db).await?.into_iter().partition(|one| one.id == id);
        let mut balances = store::balances(db).await?;
        balances.retain(|balance| balance.store == id);
        let zone = practice::store::get(db).await?.zone;
        let mut medicines: Vec<(String, String)> = formulary::rows(db)
            .await?
            .into_iter()
            .filter(|kept| kept.row.controlled)
            .map(|kept| (kept.row.dose.medicine, kept.row.name))
            .collect();
        medicines.dedup();
        let staff = accounts::store::all(db).await?;
        let may_see = |one: &accounts::store::Staff| one.active && one.id != user.id;
        Ok(RegisterPage {
            place: here.into_iter().next().ok_or(Error::NotFound)?,
            lines: store::lines(db, id).await?,
            witnesses: staff.into_iter().filter(may_see).map(|one| (one.id, one.name)).collect(),
            today: app.clock.now().day(&zone),
            shell,
            errors,
            zone,
            others,
            balances,
            medicines,
            typed,
        })
    }

    fn may_write(&self) -> bool {
        self.shell.may(Act::Examine)
    }

    fn ml(&self, ul: &i64) -> String {
        ml_words(*ul)
    }

    fn whats(&self) -> [(&'static str, &'static str); 5] {
        WHATS
    }

    fn places(&self) -> Vec<(StoreId, &str)> {
        self.others.iter().map(|one| (one.id, one.name.as_str())).collect()
    }

    fn word(&self, line: &Line) -> &'static str {
        match line.what.as_str() {
            "receipt" => "received",
            "in" => "came from another place",
            "out" => "moved to another place",
            "given" => "given",
            "handed_over" => "handed over",
            "waste" => "wasted",
            "count" => "counted",
            "adjustment" => "book set to what is there",
            _ => "reversed",
        }
    }

    fn may_reverse(&self, line: &Line) -> bool {
        self.may_write()
            && line.entry.is_none()
            && !line.is_reversed
            && !matches!(line.what.as_str(), "count" | "reversal")
    }
}

pub(super) async fn list(_: Can<act::SeeRecord>, State(app): State<App>, shell: Shell) -> Result<Response> {
    Ok(ListPage::new(&app, shell, Typed::default(), Errors::default()).await?.into_response())
}

pub(super) async fn add_store(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let mut check = Check::new();
    let name = check.needed("name", &typed.name, 100, "Enter what it is called.");
    if !KINDS.iter().any(|(key, _)| *key == typed.kind) {
        check.errors.add("kind", "Choose a safe or a vehicle.");
    }
    if store::name_is_taken(&mut *once.tx, &name).await? {
        check.errors.add("name", "There is one of this name.");
    }
    if !check.errors.is_empty() {
        drop(once);
        return Ok(invalid(ListPage::new(&app, shell, typed, check.errors).await?));
    }
    store::add_store(&mut once.tx, (&name, &typed.kind), user.id, once.now).await?;
    flash(&mut once.tx, &user, "Added.").await?;
    once.commit("/practice/stock").await
}

pub(super) async fn register(
    Can { user, .. }: Can<act::SeeRecord>,
    State(app): State<App>,
    shell: Shell,
    Path(id): Path<StoreId>,
) -> Result<Response> {
    Ok(RegisterPage::new(&app, &user, shell, id, Typed::default(), Errors::default()).await?.into_response())
}

pub(super) async fn add_line(
    Can { user, .. }: Can<act::Examine>,
    State(app): State<App>,
    shell: Shell,
    Path(id): Path<StoreId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let page = RegisterPage::new(&app, &user, shell, id, typed.clone(), Errors::default()).await?;
    let known = Known {
        medicines: &page.medicines,
        others: page.others.iter().map(|one| one.id).collect(),
        witnesses: page.witnesses.iter().map(|(who, _)| *who).collect(),
        today: page.today,
    };
    let mut check = Check::new();
    let Some(meant) = typed.check(&mut check, id, &known) else {
        return Ok(invalid(RegisterPage { errors: check.errors, ..page }));
    };
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let balance = store::balance(&mut *once.tx, id, (&meant.medicine, meant.strength)).await?;
    for line in meant.lines(balance) {
        store::insert(&mut once.tx, &line, user.id, once.now).await?;
    }
    flash(&mut once.tx, &user, "Entered in the register.").await?;
    once.commit(&format!("/practice/stock/{id}")).await
}

pub(super) async fn reverse(
    Can { user, .. }: Can<act::Examine>,
    State(app): State<App>,
    shell: Shell,
    Path((id, line)): Path<(StoreId, LineId)>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let page = RegisterPage::new(&app, &user, shell, id, typed.clone(), Errors::default()).await?;
    let known = page.lines.iter().find(|one| one.id == line).ok_or(Error::NotFound)?;
    let mut check = Check::new();
    let reason = check.needed("reason", &typed.reason, 300, "Say why; both lines stay in the register.");
    if known.entry.is_some() {
        check.errors.add("reason", "The record drew on this: amend or take back the medicine there.");
    }
    if !check.errors.is_empty() {
        return Ok(invalid(RegisterPage { errors: check.errors, ..page }));
    }
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let done = store::reverse(&mut once.tx, line, &reason, user.id, once.now).await?;
    flash(
        &mut once.tx,
        &user,
        if done > 0 { "Reversed by a line of its own." } else { "It was reversed already." },
    )
    .await?;
    once.commit(&format!("/practice/stock/{id}")).await
}
