//! The price list of the demonstration (`data/prices.toml`), in force since its first day.

use anyhow::Context;
use serde::Deserialize;

use crate::{
    catalogue::catalogue,
    charges::store::{self, Price},
    clock::{At, Day},
    db::Tx,
    ids::{PriceId, StaffId},
    reasoning::charges::read_money,
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    currency: String,
    price: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    code: String,
    words: String,
    charge: String,
    #[serde(default)]
    of: String,
    up_to_km: Option<i64>,
    price: String,
}

pub(super) async fn write(tx: &mut Tx, owner: StaffId, since: Day, now: At) -> anyhow::Result<()> {
    let rows: Rows =
        toml::from_str(include_str!("data/prices.toml")).context("prices.toml cannot be read")?;
    store::keep_currency(tx, &rows.currency, owner, now).await?;
    for row in rows.price {
        let charge = catalogue().charges.get(&row.charge).context("prices.toml names a charge")?;
        let price = Price {
            id: PriceId::new(),
            minor: read_money(&row.price).context("prices.toml has prices")?,
            unit: *charge.units.first().context("a charge has a unit")?,
            code: row.code,
            words: row.words,
            charge: row.charge,
            of_what: row.of,
            up_to_km: row.up_to_km,
            tax: String::new(),
            valid_from: since,
            ends_on: None,
        };
        store::insert_price(tx, &price, owner, now).await?;
    }
    Ok(())
}
