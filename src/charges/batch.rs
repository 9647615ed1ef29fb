//! What waits to be handed over, and the batches that were: a number without gaps and a file that stays as it was.

use sqlx::SqliteExecutor;

use crate::{
    catalogue::charges::Unit,
    clock::{At, Day},
    db::Tx,
    exports::safe,
    ids::{ChargeId, ClientId, StaffId, VisitId},
    reasoning::charges::{money, quantity},
};

/// A line that was gone over and not handed over.
#[derive(Debug, Clone)]
pub(super) struct Waiting {
    pub id: ChargeId,
    pub visit: VisitId,
    pub starts_at: At,
    pub payer_id: ClientId,
    pub payer: String,
    pub horse: String,
    pub yard: Option<String>,
    pub code: String,
    pub words: String,
    pub quantity: i64,
    pub unit: Unit,
    pub minor: i64,
    pub amount: i64,
    pub currency: String,
    pub tax: String,
    pub reverses: Option<ChargeId>,
    /// The number of the line that it reverses, where that was handed over before.
    pub reversed_line: Option<i64>,
    /// Rises with every line that is kept.
    pub place: i64,
}

/// Lines that wait, by payer, visit and the order in which they were kept. What was left out is not among them.
pub(super) async fn waiting(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Waiting>> {
    sqlx::query_as!(
        Waiting,
        r#"select c.id as "id: ChargeId", c.visit_id as "visit: VisitId", v.starts_at as "starts_at: At",
                  p.id as "payer_id: ClientId", p.name as payer, h.name as horse, y.name as "yard?", c.code as "code!",
                  c.words, c.quantity, c.unit as "unit: Unit", c.minor as "minor!", c.amount as "amount!",
                  c.currency as "currency!", c.tax as "tax!", c.reverses as "reverses: ChargeId",
                  (select o.line from charge_handed o where o.charge_id = c.reverses) as "reversed_line: i64",
                  c.rowid as "place!: i64"
           from charge c join visit v on v.id = c.visit_id join client p on p.id = c.payer_id
           join horse h on h.id = v.horse_id left join yard y on y.id = v.yard_id
           where c.price_id is not null and not exists (select 1 from charge_handed o where o.charge_id = c.id)
           order by p.name collate nocase, p.id, v.starts_at, c.visit_id, c.rowid"#
    )
    .fetch_all(db)
    .await
}

/// Tells whether what waits is what a page showed.
pub(super) fn stamp(lines: &[Waiting]) -> String {
    format!("{}.{}", lines.len(), lines.iter().map(|line| line.place).max().unwrap_or_default())
}

/// A batch that was handed over.
#[derive(Debug, Clone)]
pub(super) struct Batch {
    pub number: i64,
    pub lines: i64,
    pub by: String,
    pub at: At,
}

/// The batches, the newest first.
pub(super) async fn batches(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Batch>> {
    sqlx::query_as!(
        Batch,
        r#"select b.number as "number!", (select count(*) from charge_handed h where h.batch = b.number) as "lines!: i64",
                  s.name as by, b.at as "at: At"
           from charge_batch b join staff s on s.id = b.by_id order by b.number desc limit 200"#
    )
    .fetch_all(db)
    .await
}

/// The file of a batch, as it was handed over.
pub(super) async fn file(db: impl SqliteExecutor<'_>, number: i64) -> sqlx::Result<String> {
    sqlx::query_scalar!("select csv from charge_batch where number = ?", number).fetch_one(db).await
}

/// Hands lines over: the next batch and its file. `day` gives the practice's day of an instant. Gives the number.
pub(super) async fn hand_over(
    tx: &mut Tx,
    lines: &[Waiting],
    day: impl Fn(At) -> Day,
    by: StaffId,
    now: At,
) -> anyhow::Result<i64> {
    let number =
        sqlx::query_scalar!(r#"select coalesce(max(number), 0) + 1 as "next!: i64" from charge_batch"#)
            .fetch_one(&mut **tx)
            .await?;
    let first =
        sqlx::query_scalar!(r#"select coalesce(max(line), 0) + 1 as "next!: i64" from charge_handed"#)
            .fetch_one(&mut **tx)
            .await?;
    let csv = csv(lines, number, first, day)?;
    sqlx::query!(
        "insert into charge_batch (number, csv, by_id, at) values (?, ?, ?, ?)",
        number,
        csv,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    for (line, number_of) in lines.iter().zip(first..) {
        sqlx::query!(
            "insert into charge_handed (line, charge_id, batch) values (?, ?, ?)",
            number_of,
            line.id,
            number
        )
        .execute(&mut **tx)
        .await?;
    }
    Ok(number)
}

const COLUMNS: [&str; 17] = [
    "batch",
    "line",
    "visit_on",
    "payer_id",
    "payer",
    "horse",
    "yard",
    "code",
    "words",
    "quantity",
    "unit",
    "unit_price",
    "amount",
    "currency",
    "tax_code",
    "reverses",
    "visit_id",
];

/// The file: a first row of names, then a row a line. Words that a spreadsheet would reckon with have an apostrophe before
/// them; numbers are ours and stay numbers, so that a reversal counts.
fn csv(lines: &[Waiting], batch: i64, first: i64, day: impl Fn(At) -> Day) -> anyhow::Result<String> {
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record(COLUMNS)?;
    let numbers: Vec<(ChargeId, i64)> = lines.iter().map(|line| line.id).zip(first..).collect();
    for (line, (_, number)) in lines.iter().zip(&numbers) {
        let here = line.reverses.and_then(|old| numbers.iter().find(|(id, _)| *id == old)).map(|(_, n)| *n);
        let reverses = line.reversed_line.or(here).map_or_else(String::new, |number| number.to_string());
        let words = |text: &str| safe::cell(text).into_owned();
        csv.write_record([
            batch.to_string(),
            number.to_string(),
            day(line.starts_at).to_string(),
            line.payer_id.to_string(),
            words(&line.payer),
            words(&line.horse),
            words(line.yard.as_deref().unwrap_or_default()),
            words(&line.code),
            words(&line.words),
            quantity(line.quantity),
            line.unit.to_string(),
            money(line.minor),
            money(line.amount),
            words(&line.currency),
            words(&line.tax),
            reverses,
            line.visit.to_string(),
        ])?;
    }
    Ok(String::from_utf8(csv.into_inner()?)?)
}
