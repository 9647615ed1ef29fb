//! Orders of diagnostics (`data/orders.toml`), in every state between a wish and the owner's ear.

use anyhow::Context;
use serde::Deserialize;

use super::{horses::Horse, people::Staff};
use crate::{
    catalogue::{Place, catalogue},
    clock::{At, Day},
    db::Tx,
    diagnostics::{
        ItemState,
        changes::{self, By},
        store, usual,
    },
    ids::{HorseId, OrderId, StaffId, VisitId},
    plan::Site,
    record::{self, Body, Kind, NewEntry, Stamp},
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    horse: String,
    study: String,
    #[serde(default)]
    limb: String,
    when: i64,
    /// `all`, `none`, or the one item that is to be repeated for `reason`.
    taken: String,
    #[serde(default)]
    reason: String,
    #[serde(default)]
    report: String,
    author: Option<String>,
    shown: Option<Shown>,
    #[serde(default)]
    read: bool,
    #[serde(default)]
    told: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Shown {
    place: String,
    words: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    order: Vec<Row>,
}

/// A visit that an order can belong to.
pub(super) struct Begun {
    pub id: VisitId,
    pub vet: StaffId,
    pub day: Day,
}

pub(super) async fn write(
    tx: &mut Tx,
    staff: &Staff,
    horses: &[Horse],
    zone: &jiff::tz::TimeZone,
    now: At,
) -> anyhow::Result<()> {
    let rows: Rows =
        toml::from_str(include_str!("data/orders.toml")).context("orders.toml cannot be read")?;
    for row in &rows.order {
        let horse = horses.iter().find(|h| h.name == row.horse).context("orders.toml names a horse")?;
        let Some(visit) = newest_begun(tx, horse.id, zone, now).await? else { continue };
        row.write(tx, staff, &visit, now).await?;
    }
    Ok(())
}

pub(super) async fn newest_begun(
    tx: &mut Tx,
    horse: HorseId,
    zone: &jiff::tz::TimeZone,
    now: At,
) -> sqlx::Result<Option<Begun>> {
    let visits = crate::visits::store::of_horse(&mut **tx, horse).await?;
    let begun = visits.into_iter().find(|v| {
        use crate::visits::State::{InHand, Signed, ToSign};
        matches!(v.state, InHand | ToSign | Signed) && v.starts_at <= now
    });
    Ok(begun.and_then(|v| Some(Begun { id: v.id, vet: v.vet_id?, day: v.starts_at.day(zone) })))
}

impl Row {
    async fn write(&self, tx: &mut Tx, staff: &Staff, visit: &Begun, now: At) -> anyhow::Result<()> {
        let study = catalogue().diagnostics.study(&self.study).context("orders.toml names a study")?;
        let mut new = usual(study, self.limb.parse().ok(), visit.id, visit.day)
            .map_err(|errors| anyhow::anyhow!("orders.toml, {}: {errors:?}", self.horse))?;
        new.details.planned_on = Some(visit.day.plus_days(self.when));
        let id = store::insert(tx, &new, visit.vet, now).await?;
        let technician = By { who: staff.technician, at: now };
        self.take(tx, id, technician).await?;
        if !self.report.is_empty() {
            self.result(tx, id, visit, technician).await?;
        }
        let vet = By { who: visit.vet, at: now };
        if self.read {
            changes::set_read(tx, id, vet).await?;
            store::step(tx, id, "report read", "", vet.who, now).await?;
        }
        if !self.told.is_empty() {
            let version = store::get(&mut **tx, id).await?.version;
            changes::set_told(tx, id, version, &self.told, vet).await?;
            store::step(tx, id, "client told", &self.told, vet.who, now).await?;
        }
        Ok(())
    }

    async fn take(&self, tx: &mut Tx, id: OrderId, by: By) -> anyhow::Result<()> {
        if self.taken == "none" {
            return Ok(());
        }
        changes::take_all(tx, id, by).await?;
        store::step(tx, id, "all taken", "", by.who, by.at).await?;
        if self.taken != "all" {
            let items = store::items(&mut **tx, id).await?;
            let item = items.iter().find(|i| i.code == self.taken).context("orders.toml names an item")?;
            changes::set_item(tx, item.id, item.version, ItemState::Repeat, &self.reason, by).await?;
            store::step(tx, id, &format!("{}: to be repeated", item.code), &self.reason, by.who, by.at)
                .await?;
        }
        Ok(())
    }

    async fn result(&self, tx: &mut Tx, id: OrderId, visit: &Begun, by: By) -> anyhow::Result<()> {
        let order = store::get(&mut **tx, id).await?;
        let mut entries = vec![Body {
            value: Some(format!("{}, {}", order.kind.name(), order.name)),
            text: Some(self.report.clone()),
            held_by: self.author.clone(),
            order: Some(id),
            ..Body::new(Kind::Report)
        }];
        if let Some(shown) = &self.shown {
            let place: Place = shown.place.parse().ok().context("orders.toml names a place")?;
            let mut body = Body {
                code: Some(order.kind.code().to_owned()),
                present: Some(true),
                text: Some(shown.words.clone()),
                order: Some(id),
                ..Body::new(Kind::Shown)
            };
            Site::Place(place).put(&mut body);
            entries.push(body);
        }
        let entries: Vec<NewEntry> = entries.into_iter().map(|body| NewEntry::new(visit.id, body)).collect();
        record::append(tx, &Stamp::here(by.who, "", by.at), &entries).await?;
        store::step(tx, id, "reported", "", by.who, by.at).await?;
        Ok(())
    }
}
