//! The practice's price list. A price is ended or replaced from a day, never changed.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    price_form::{EndForm, Known, PriceForm},
    scene::per,
    store::{self, Price},
};
use crate::{
    App,
    accounts::{Can, act},
    audit,
    catalogue::{
        catalogue,
        charges::{Charge, Unit},
    },
    clock::Day,
    ids::PriceId,
    practice,
    reasoning::charges::money,
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

const AT: &str = "/practice/prices";

#[derive(Template, WebTemplate)]
#[template(path = "charges/prices.html")]
pub(super) struct PricesPage {
    shell: Shell,
    errors: Errors,
    today: Day,
    currency: Option<String>,
    typed_currency: String,
    prices: Vec<Price>,
    known: Known,
    form: PriceForm,
    ending: Option<PriceId>,
    end: EndForm,
}

impl PricesPage {
    async fn new(app: &App, shell: Shell) -> Result<Self> {
        let db = app.db.read();
        let today = app.clock.now().day(&practice::store::get(db).await?.zone);
        Ok(PricesPage {
            shell,
            errors: Errors::default(),
            today,
            currency: store::currency(db).await?,
            typed_currency: String::new(),
            prices: store::prices(db).await?,
            known: Known::load(db).await?,
            form: PriceForm::fresh(today),
            ending: None,
            end: EndForm::fresh(today),
        })
    }

    /// Prices that hold or will.
    fn standing(&self) -> Vec<&Price> {
        self.prices.iter().filter(|price| price.ends_on.is_none_or(|end| end > self.today)).collect()
    }

    fn ended(&self) -> Vec<&Price> {
        self.prices.iter().filter(|price| price.ends_on.is_some_and(|end| end <= self.today)).collect()
    }

    /// "diagnostic block, palmar digital", "call-out, up to 10 km"
    fn about(&self, price: &Price) -> String {
        let name = catalogue().charges.get(&price.charge).map_or(price.charge.as_str(), |row| &row.name);
        let of = (!price.of_what.is_empty()).then(|| self.known.name(&price.charge, &price.of_what));
        let zone = price.up_to_km.map(|km| format!("up to {km} km"));
        [of, zone].into_iter().flatten().fold(name.to_owned(), |words, more| format!("{words}, {more}"))
    }

    /// "12.50 EUR each ml"
    fn amount(&self, price: &Price) -> String {
        format!("{} {} {}", money(price.minor), self.currency.as_deref().unwrap_or_default(), per(price))
    }

    fn charges(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().charges.all().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn all_charges(&self) -> std::slice::Iter<'static, Charge> {
        catalogue().charges.all()
    }

    fn units(&self) -> [Unit; 4] {
        Unit::ALL
    }

    fn unit_choices(&self) -> Vec<(&'static str, &'static str)> {
        self.units().map(|unit| (unit.key(), unit.key())).to_vec()
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Wanted {
    end: String,
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    let page = PricesPage::new(&app, shell).await?;
    Ok(PricesPage { ending: wanted.end.parse().ok(), ..page }.into_response())
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct CurrencyForm {
    submission: String,
    currency: String,
}

/// Keeps the currency, once.
pub(super) async fn currency(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<CurrencyForm>,
) -> Result<Response> {
    let mut check = Check::new();
    let code = check.line("currency", &form.currency, 40).to_uppercase();
    if check.errors.is_empty() && !(code.len() == 3 && code.bytes().all(|b| b.is_ascii_uppercase())) {
        check.errors.add("currency", "Enter three letters, such as EUR.");
    }
    if !check.errors.is_empty() {
        let page = PricesPage::new(&app, shell).await?;
        let typed_currency = form.currency;
        return Ok(invalid(PricesPage { errors: check.errors, typed_currency, ..page }));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::keep_currency(&mut once.tx, &code, user.id, once.now).await? == 0 {
        let now = store::currency(&mut *once.tx).await?.unwrap_or_default();
        let clash = Conflict { what: "The currency".into(), back: AT.into(), ..Conflict::default() };
        return Err(Error::from(clash.field("Currency", &form.currency, &now)));
    }
    audit::store::note(&mut once.tx, "currency of prices kept", &code, user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("Prices are in {code}.")).await?;
    once.commit(AT).await
}

pub(super) async fn add(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<PriceForm>,
) -> Result<Response> {
    let page = PricesPage::new(&app, shell).await?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    // Read under the lock, so that no two prices of one thing hold together.
    let kept = store::prices(&mut *once.tx).await?;
    let mut checked = form.check(&page.known, &kept);
    if page.currency.is_none() {
        checked = Err(Errors::one("", "Keep the currency first.").and(checked.err().unwrap_or_default()));
    }
    match checked {
        Ok(price) => {
            store::insert_price(&mut once.tx, &price, user.id, once.now).await?;
            flash(&mut once.tx, &user, "Kept.").await?;
            once.commit(AT).await
        }
        Err(errors) => Ok(invalid(PricesPage { errors, form, ..page })),
    }
}

/// Ends a price, or puts another in its place from the same day.
pub(super) async fn end(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<PriceId>,
    Form(end): Form<EndForm>,
) -> Result<Response> {
    let page = PricesPage::new(&app, shell).await?;
    let old = page.prices.iter().find(|price| price.id == id).cloned().ok_or(Error::NotFound)?;
    let (from, new) = match end.check(&old) {
        Ok(meant) => meant,
        Err(errors) => return Ok(invalid(PricesPage { errors, ending: Some(id), end, ..page })),
    };
    let mut once = match begin(&app, &end.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::end_price(&mut once.tx, id, from, user.id, once.now).await? == 0 {
        let what = format!("{}: it was ended meanwhile", old.words);
        let clash = Conflict { what, back: AT.into(), ..Conflict::default() };
        return Err(clash.field("Price", &end.new_price, "").field("From", &end.ends_on, "").into());
    }
    let kept = store::prices(&mut *once.tx).await?;
    if let Some(new) = &new {
        if kept.iter().any(|other| other.rule().clashes(&new.rule())) {
            let errors = Errors::one("ends_on", "Another price of this holds from then on.");
            return Ok(invalid(PricesPage { errors, ending: Some(id), end, ..page }));
        }
        store::insert_price(&mut once.tx, new, user.id, once.now).await?;
    }
    let said = if new.is_some() { "Replaced" } else { "Ended" };
    flash(&mut once.tx, &user, &format!("{said} from {}.", from.words())).await?;
    once.commit(AT).await
}
