//! Charges on their way to whoever keeps the accounts: what waits, what nobody has gone over, and the batches.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    http::header,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    DAYS_BACK,
    batch::{self, Batch, Waiting},
    pages::lines_words,
    store::{self, NotLookedOver},
};
use crate::{
    App,
    accounts::{Act, Can, act},
    audit, practice,
    reasoning::charges::{money, quantity},
    web::{Begun, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

const AT: &str = "/practice/charges";
/// So many visits that nobody has gone over are listed.
const LISTED: i64 = 60;

#[derive(Template, WebTemplate)]
#[template(path = "charges/handing.html")]
pub(super) struct HandingPage {
    shell: Shell,
    errors: Errors,
    zone: TimeZone,
    has_prices: bool,
    waiting: Vec<Waiting>,
    visits: Vec<NotLookedOver>,
    /// Of the last days, listed or not.
    not_looked_over: i64,
    batches: Vec<Batch>,
}

/// What one client is to pay.
struct Bill<'a> {
    payer: &'a str,
    sum: String,
    lines: Vec<&'a Waiting>,
}

impl HandingPage {
    async fn new(app: &App, shell: Shell) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let now = app.clock.now();
        let since = now.day(&zone).plus_days(-DAYS_BACK).start(&zone);
        Ok(HandingPage {
            shell,
            errors: Errors::default(),
            has_prices: store::currency(db).await?.is_some(),
            waiting: batch::waiting(db).await?,
            visits: store::not_looked_over(db, since, now, LISTED).await?,
            not_looked_over: store::count_not_looked_over(db, since, now).await?,
            batches: batch::batches(db).await?,
            zone,
        })
    }

    fn bills(&self) -> Vec<Bill<'_>> {
        let by_payer = self.waiting.chunk_by(|a, b| a.payer_id == b.payer_id);
        by_payer
            .filter_map(|lines| {
                let first = lines.first()?;
                let sum = money(lines.iter().map(|line| line.amount).sum());
                Some(Bill {
                    payer: &first.payer,
                    sum: format!("{sum} {}", first.currency),
                    lines: lines.iter().collect(),
                })
            })
            .collect()
    }

    fn seen(&self) -> String {
        batch::stamp(&self.waiting)
    }

    fn count(&self) -> String {
        lines_words(self.waiting.len())
    }

    fn reckoned(&self, line: &Waiting) -> String {
        let count = format!("{} {}", quantity(line.quantity), line.unit.behind());
        format!("{} × {} = {}", count.trim(), money(line.minor), money(line.amount))
    }

    /// Whether more visits were not gone over than are listed.
    fn is_cut(&self) -> bool {
        self.not_looked_over > LISTED
    }

    fn days(&self) -> i64 {
        DAYS_BACK
    }

    fn may_price(&self) -> bool {
        self.shell.may(Act::RunPractice)
    }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::HandCharges>,
    shell: Shell,
) -> Result<HandingPage> {
    HandingPage::new(&app, shell).await
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct HandForm {
    submission: String,
    /// What waited when the page was made.
    seen: String,
}

/// Makes the next batch of everything that waits.
pub(super) async fn hand_over(
    State(app): State<App>,
    Can { user, .. }: Can<act::HandCharges>,
    shell: Shell,
    Form(form): Form<HandForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let lines = batch::waiting(&mut *once.tx).await?;
    if lines.is_empty() {
        drop(once);
        let page = HandingPage::new(&app, shell).await?;
        return Ok(invalid(HandingPage {
            errors: Errors::one("", "Nothing waits to be handed over."),
            ..page
        }));
    }
    if batch::stamp(&lines) != form.seen {
        let what = "What is to be handed over".to_owned();
        return Err(Conflict { what, back: AT.into(), ..Conflict::default() }.into());
    }
    let zone = practice::store::get(&mut *once.tx).await?.zone;
    let number = batch::hand_over(&mut once.tx, &lines, |at| at.day(&zone), user.id, once.now).await?;
    let said = format!("batch {number}, {}", lines_words(lines.len()));
    audit::store::note(&mut once.tx, "charges handed over", &said, user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("Handed over: {said}. Its file is below.")).await?;
    once.commit(&format!("{AT}#batches")).await
}

/// The file of a batch, `3.csv`.
pub(super) async fn file(
    State(app): State<App>,
    _: Can<act::HandCharges>,
    Path(name): Path<String>,
) -> Result<Response> {
    let number: i64 = name.strip_suffix(".csv").and_then(|n| n.parse().ok()).ok_or(Error::NotFound)?;
    let csv = batch::file(app.db.read(), number).await?;
    let named = format!("attachment; filename=\"charges-{number}.csv\"");
    let headers =
        [(header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()), (header::CONTENT_DISPOSITION, named)];
    Ok((headers, csv).into_response())
}
