//! Lines that were gone over: they are added, never changed.

use sqlx::SqliteExecutor;

use super::store::Price;
use crate::{
    catalogue::charges::Unit,
    clock::At,
    db::Tx,
    ids::{ChargeId, ClientId, StaffId, VisitId},
    reasoning::charges::{amount, money, quantity},
};

/// A line on its way in.
#[derive(Debug, Clone)]
pub(super) struct NewLine {
    pub id: ChargeId,
    pub source: String,
    pub charge: String,
    pub of_what: String,
    pub words: String,
    pub unit: Unit,
    /// Thousandths, as the record held them; 0 of a line of one's own.
    pub recorded: i64,
    /// Thousandths.
    pub quantity: i64,
    pub what: What,
}

/// Charged, or left out with a reason.
#[derive(Debug, Clone)]
pub(super) enum What {
    Charged { price: Price, payer: ClientId, currency: String },
    LeftOut(String),
}

pub(super) async fn insert(
    tx: &mut Tx,
    visit: VisitId,
    new: &NewLine,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let (price, payer, currency, left_out) = match &new.what {
        What::Charged { price, payer, currency } => (Some(price), Some(*payer), Some(currency), ""),
        What::LeftOut(why) => (None, None, None, why.as_str()),
    };
    let id = price.map(|price| price.id);
    let (code, tax) = (price.map(|price| &price.code), price.map(|price| &price.tax));
    let minor = price.map(|price| price.minor);
    let sum = minor.map(|minor| amount(minor, new.quantity));
    sqlx::query!(
        "insert into charge (id, visit_id, source, charge, of_what, words, unit, recorded, quantity, price_id, code, tax,
                             minor, amount, currency, payer_id, left_out, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.id,
        visit,
        new.source,
        new.charge,
        new.of_what,
        new.words,
        new.unit,
        new.recorded,
        new.quantity,
        id,
        code,
        tax,
        minor,
        sum,
        currency,
        payer,
        left_out,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Reverses a line by one of its own; zero rows mean that it was reversed before, or is a reversal.
pub(super) async fn reverse(
    tx: &mut Tx,
    (visit, line): (VisitId, ChargeId),
    reason: &str,
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let id = ChargeId::new();
    let done = sqlx::query!(
        "insert into charge (id, visit_id, source, charge, of_what, words, unit, recorded, quantity, price_id, code, tax,
                             minor, amount, currency, payer_id, left_out, reverses, reason, by_id, at)
         select ?, visit_id, source, charge, of_what, words, unit, -recorded, -quantity, price_id, code, tax, minor,
                -amount, currency, payer_id, left_out, id, ?, ?, ?
         from charge c
         where c.id = ? and c.visit_id = ? and c.reverses is null
           and not exists (select 1 from charge r where r.reverses = c.id)",
        id,
        reason,
        by,
        now,
        line,
        visit
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A line that was gone over.
#[derive(Debug, Clone)]
pub(super) struct Kept {
    pub id: ChargeId,
    pub source: String,
    pub words: String,
    pub unit: Unit,
    pub recorded: i64,
    pub quantity: i64,
    pub minor: Option<i64>,
    pub amount: Option<i64>,
    pub currency: Option<String>,
    pub payer: Option<String>,
    pub left_out: String,
    pub reverses: Option<ChargeId>,
    pub is_reversed: bool,
    pub reason: String,
    pub by: String,
    pub at: At,
    pub batch: Option<i64>,
    pub line: Option<i64>,
}

/// The lines of a visit, the first first.
pub(super) async fn of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Kept>> {
    sqlx::query_as!(
        Kept,
        r#"select c.id as "id: ChargeId", c.source, c.words, c.unit as "unit: Unit", c.recorded, c.quantity, c.minor,
                  c.amount, c.currency, p.name as "payer?", c.left_out, c.reverses as "reverses: ChargeId",
                  exists (select 1 from charge r where r.reverses = c.id) as "is_reversed!: bool", c.reason, s.name as by,
                  c.at as "at: At", h.batch as "batch?", h.line as "line?"
           from charge c join staff s on s.id = c.by_id left join client p on p.id = c.payer_id
           left join charge_handed h on h.charge_id = c.id
           where c.visit_id = ? order by c.rowid"#,
        visit
    )
    .fetch_all(db)
    .await
}

impl Kept {
    /// "11 ml × 2.40 = 26.40 EUR", or only the quantity where it was left out.
    pub(super) fn reckoned(&self) -> String {
        let count = format!("{} {}", quantity(self.quantity), self.unit.behind());
        let count = count.trim();
        match (self.minor, self.amount, &self.currency) {
            (Some(minor), Some(amount), Some(currency)) => {
                format!("{count} × {} = {} {currency}", money(minor), money(amount))
            }
            _ => count.to_owned(),
        }
    }

    pub(super) fn may_be_reversed(&self) -> bool {
        self.reverses.is_none() && !self.is_reversed
    }
}
