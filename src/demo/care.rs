//! Care of the demonstration (`data/care.toml`): rows that a veterinarian has confirmed, what a horse in hand was given, and
//! the register of the safe.

use anyhow::Context;
use serde::Deserialize;

use super::{horses::Horse, people::Staff};
use crate::{
    care,
    catalogue::formulary::Basis,
    clock::At,
    db::Tx,
    formulary::{self, store::Prescribing},
    horses::store::weights,
    ids::StaffId,
    record::{self, Body, Dosed, How, Kind, NewEntry, Stamp},
    stock::store::{self as register, NewLine},
    visits,
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    confirmed: Vec<String>,
    read_in: String,
    address: String,
    phone: String,
    qualification: String,
    safe: String,
    truck: String,
    given: Given,
    risk: Vec<Risk>,
}

/// What each horse that is in hand was given.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Given {
    row: String,
    batch: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Risk {
    horse: String,
    code: String,
    note: String,
}

pub(super) async fn write(tx: &mut Tx, staff: &Staff, horses: &[Horse], now: At) -> anyhow::Result<()> {
    let rows: Rows = toml::from_str(include_str!("data/care.toml")).context("care.toml cannot be read")?;
    let vet = *staff.vets.first().context("the practice has a vet")?;
    for code in &rows.confirmed {
        let row = formulary::shipped_row(code).context("care.toml names a row")?;
        formulary::store::confirm(tx, (code, &formulary::json(&row)?), Some(&rows.read_in), vet, now).await?;
    }
    let place = Prescribing {
        jurisdiction: "US".into(),
        address: rows.address.clone(),
        phone: rows.phone.clone(),
        version: 1,
    };
    formulary::store::set_prescribing(tx, &place).await?;
    for vet in &staff.vets {
        formulary::store::set_qualification(tx, *vet, &rows.qualification).await?;
    }
    stock(tx, &rows, (vet, staff.technician), now).await?;
    for risk in &rows.risk {
        let horse =
            horses.iter().find(|horse| horse.name == risk.horse).context("care.toml names a horse")?;
        care::store::add_risk(tx, horse.id, (&risk.code, &risk.note), vet, now).await?;
    }
    for horse in horses {
        rows.given.give(tx, horse, now).await?;
    }
    Ok(())
}

/// A safe with two bottles of which one moved to a truck, and a count.
async fn stock(
    tx: &mut Tx,
    rows: &Rows,
    (vet, technician): (StaffId, StaffId),
    now: At,
) -> anyhow::Result<()> {
    let safe = register::add_store(tx, (&rows.safe, "safe"), vet, now).await?;
    let truck = register::add_store(tx, (&rows.truck, "vehicle"), vet, now).await?;
    let line = |store, what, ul| NewLine {
        batch: "B 2207".into(),
        ..NewLine::new(store, "butorphanol", 10.0, what, ul)
    };
    let (out, into) = (line(safe, "out", -20_000), line(truck, "in", 20_000));
    let pair = (Some(out.id), Some(into.id));
    let count = NewLine { counted_ul: Some(80_000), witness: Some(technician), ..line(safe, "count", 0) };
    for new in [
        line(safe, "receipt", 100_000),
        NewLine { pair: pair.1, ..out },
        NewLine { pair: pair.0, ..into },
        count,
    ] {
        register::insert(tx, &new, vet, now).await?;
    }
    Ok(())
}

impl Given {
    async fn give(&self, tx: &mut Tx, horse: &Horse, now: At) -> anyhow::Result<()> {
        let visits = visits::store::of_horse(&mut **tx, horse.id).await?;
        let Some(visit) = visits.into_iter().find(|visit| visit.state.is_open()) else { return Ok(()) };
        let Some(vet) = visit.vet_id else { return Ok(()) };
        let Some(kg) = weights(&mut **tx, horse.id).await?.first().map(|weight| weight.kg) else {
            return Ok(());
        };
        let row = formulary::shipped_row(&self.row).context("care.toml names a row")?;
        let per_kg = row.dose.basis == Basis::MgPerKg;
        let mg = if per_kg { row.dose.low * kg } else { row.dose.low };
        let strength = row.dose.mg_per_ml.first().copied();
        let dosed = Dosed {
            how: How::Administered,
            medicine: row.dose.medicine.clone(),
            name: row.name.clone(),
            group: row.group,
            controlled: row.controlled,
            route: row.dose.route().to_owned(),
            form: row.dose.form.clone(),
            row: row.dose.code.clone(),
            source: row.dose.source.clone(),
            mg: mg.round(),
            mg_per_ml: strength,
            ml: strength.map(|strength| (mg.round() / strength * 100.0).round() / 100.0),
            kg: Some(kg),
            kg_from: Some("as weighed last".into()),
            every_h: row.dose.every_h,
            days: None,
            quantity: None,
            directions: None,
            batch: Some(self.batch.clone()),
            expires: None,
            waste_ml: None,
            withdrawal_days: None,
            repeats: None,
            off_label: false,
            at: now.plus_minutes(-5),
        };
        let body = Body { dosed: Some(Box::new(dosed)), ..Body::new(Kind::Treatment) };
        record::append(tx, &Stamp::here(vet, "tablet in the truck", now), &[NewEntry::new(visit.id, body)])
            .await
    }
}
