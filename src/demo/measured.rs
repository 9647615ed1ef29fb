//! What was measured for orders (`data/measured.toml`): a bone scan of this morning, enzymes of an exercise test, a muscle
//! biopsy on its way; and what the practice entered for them.

use anyhow::Context;
use serde::Deserialize;

use super::{
    horses::Horse,
    orders::{Begun, newest_begun},
    people::Staff,
};
use crate::{
    catalogue::catalogue,
    clock::{At, Day},
    db::Tx,
    diagnostics::{
        changes::{self, By},
        store as orders, usual,
    },
    ids::{LaboratoryId, MeterId, OrderId},
    reasoning::decay,
    record::{
        self, Body, Drawn, Kind, NewEntry, Sample, Scan, Stamp,
        scan::{Area, Injection, Meter, Rate, Region},
    },
    samples::{self, Laboratory, Plan},
    scintigraphy,
};

/// A syringe is measured so many minutes before it is injected, and what was left in it so many after.
const FULL_MIN: i64 = 15;
const LEFT_MIN: i64 = 6;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    licence: LicenceRow,
    laboratory: LaboratoryRow,
    scan: Vec<ScanRow>,
    sampled: Vec<SampledRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LicenceRow {
    reference: String,
    min_hours: f64,
    max_usv_h: f64,
    meter: String,
    serial: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LaboratoryRow {
    name: String,
    address: String,
    phone: String,
    result_route: String,
    arrive_days: String,
    steps: String,
    ck: [f64; 2],
    ast: [f64; 2],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ScanRow {
    horse: String,
    study: String,
    limb: String,
    minutes_ago: i64,
    agent: String,
    full_mbq: f64,
    left_mbq: f64,
    site: String,
    regions: Vec<RegionRow>,
    rates: Vec<RateRow>,
}

/// Counts and pixels of each side, and what the eye says of them.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RegionRow {
    name: String,
    left: [f64; 2],
    right: [f64; 2],
    seen: [u8; 2],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RateRow {
    minutes_ago: i64,
    point: String,
    usv_h: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SampledRow {
    horse: String,
    study: String,
    #[serde(default)]
    suspicion: String,
    #[serde(default)]
    protocol: String,
    sample: Option<SampleRow>,
    #[serde(default)]
    enzymes: Vec<EnzymeRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SampleRow {
    side: String,
    method: String,
    into: String,
    minutes_ago: i64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct EnzymeRow {
    code: String,
    number: f64,
    when: String,
    minutes_ago: i64,
}

/// Who writes, when, and for which horses.
pub(super) struct Scene<'a> {
    pub staff: &'a Staff,
    pub horses: &'a [Horse],
    pub zone: &'a jiff::tz::TimeZone,
    pub now: At,
}

pub(super) async fn write(tx: &mut Tx, scene: &Scene<'_>) -> anyhow::Result<()> {
    let rows: Rows =
        toml::from_str(include_str!("data/measured.toml")).context("measured.toml cannot be read")?;
    let meter = scene.licence(tx, &rows.licence).await?;
    let laboratory = scene.laboratory(tx, rows.laboratory).await?;
    for row in &rows.scan {
        if let Some((order, visit)) = scene.order(tx, &row.horse, (&row.study, &row.limb)).await? {
            scene.keep(tx, &visit, order, row.said(scene.now, &meter)?).await?;
        }
    }
    for row in &rows.sampled {
        if let Some((order, visit)) = scene.order(tx, &row.horse, (&row.study, "")).await? {
            row.plan(tx, order, laboratory.id).await?;
            let entries = row.said(tx, order, scene, &laboratory).await?;
            scene.keep(tx, &visit, order, entries).await?;
        }
    }
    Ok(())
}

impl Scene<'_> {
    fn today(&self) -> Day {
        self.now.day(self.zone)
    }

    /// What the practice entered of its licence, with its officer and its meter.
    async fn licence(&self, tx: &mut Tx, row: &LicenceRow) -> anyhow::Result<Meter> {
        use scintigraphy::store;
        let mut terms = store::terms(&mut **tx).await?;
        terms.reference.clone_from(&row.reference);
        (terms.min_hours, terms.max_usv_h) = (Some(row.min_hours), Some(row.max_usv_h));
        store::set_terms(tx, &terms).await?;
        let vet = *self.staff.vets.first().context("a veterinarian")?;
        store::add_officer(tx, vet, vet, self.now).await?;
        let today = self.today();
        let meter = store::Meter {
            id: MeterId::new(),
            name: row.meter.clone(),
            serial: row.serial.clone(),
            calibrated_on: today.plus_days(-120),
            calibration_due: today.plus_days(245),
            version: 1,
        };
        store::add_meter(tx, &meter).await?;
        let store::Meter { name, serial, calibrated_on, calibration_due, .. } = meter;
        Ok(Meter { name, serial, calibrated_on, calibration_due })
    }

    async fn laboratory(&self, tx: &mut Tx, row: LaboratoryRow) -> anyhow::Result<Laboratory> {
        let ([ck_low, ck_high], [ast_low, ast_high]) = (row.ck.map(Some), row.ast.map(Some));
        let new = Laboratory {
            id: LaboratoryId::new(),
            name: row.name,
            address: row.address,
            phone: row.phone,
            email: String::new(),
            result_route: row.result_route,
            arrive_days: row.arrive_days,
            steps: row.steps,
            ck_low,
            ck_high,
            ast_low,
            ast_high,
            range_unit: "U/L".into(),
            range_source: "invented".into(),
            in_use: true,
            version: 1,
        };
        samples::store::insert(tx, &new, self.staff.technician, self.now).await?;
        Ok(new)
    }

    /// An order for today at the newest visit that has begun, taken as a whole; none for a horse without such a visit.
    async fn order(
        &self,
        tx: &mut Tx,
        horse: &str,
        (study, limb): (&str, &str),
    ) -> anyhow::Result<Option<(OrderId, Begun)>> {
        let horse = self.horses.iter().find(|h| h.name == horse).context("measured.toml names a horse")?;
        let Some(visit) = newest_begun(tx, horse.id, self.zone, self.now).await? else { return Ok(None) };
        let study = catalogue().diagnostics.study(study).context("measured.toml names a study")?;
        let mut new = usual(study, limb.parse().ok(), visit.id, visit.day)
            .map_err(|errors| anyhow::anyhow!("measured.toml, {}: {errors:?}", horse.name))?;
        new.details.planned_on = Some(self.today());
        let id = orders::insert(tx, &new, visit.vet, self.now).await?;
        let by = By { who: self.staff.technician, at: self.now };
        changes::take_all(tx, id, by).await?;
        orders::step(tx, id, "all taken", "", by.who, by.at).await?;
        Ok(Some((id, visit)))
    }

    async fn keep(&self, tx: &mut Tx, visit: &Begun, order: OrderId, all: Vec<Body>) -> anyhow::Result<()> {
        let about = |body| NewEntry::new(visit.id, Body { order: Some(order), ..body });
        let entries: Vec<NewEntry> = all.into_iter().map(about).collect();
        record::append(tx, &Stamp::here(self.staff.technician, "", self.now), &entries).await
    }
}

impl ScanRow {
    fn said(&self, now: At, meter: &Meter) -> anyhow::Result<Vec<Body>> {
        let half_life_h = decay::half_life(decay::USUAL_NUCLIDE)?.hours;
        let at = now.plus_minutes(-self.minutes_ago);
        let mut all = vec![Scan::Injection(Injection {
            nuclide: decay::USUAL_NUCLIDE.into(),
            half_life_h,
            agent: self.agent.clone(),
            full_mbq: self.full_mbq,
            full_at: at.plus_minutes(-FULL_MIN),
            left_mbq: self.left_mbq,
            left_at: at.plus_minutes(LEFT_MIN),
            at,
            site: Some(self.site.clone()),
            by: None,
        })];
        all.extend(self.regions.iter().map(|row| {
            let area = |[counts, pixels]: [f64; 2]| Some(Area { counts, pixels, at: None });
            Scan::Region(Region {
                name: row.name.clone(),
                protocol: "drawn by hand, 1".into(),
                left: area(row.left),
                right: area(row.right),
                reference: None,
                soft: None,
                background: None,
                seen_left: Some(row.seen[0]),
                seen_right: Some(row.seen[1]),
                half_life_h,
            })
        }));
        all.extend(self.rates.iter().map(|row| {
            Scan::Rate(Rate {
                at: now.plus_minutes(-row.minutes_ago),
                meter: meter.clone(),
                at_1_m: true,
                point: row.point.clone(),
                usv_h: row.usv_h,
                background_usv_h: None,
                by: None,
            })
        }));
        let body =
            |scan: Scan| Body { code: Some(scan.code().into()), scan: Some(scan), ..Body::new(Kind::Scan) };
        Ok(all.into_iter().map(body).collect())
    }
}

impl SampledRow {
    async fn plan(&self, tx: &mut Tx, order: OrderId, laboratory: LaboratoryId) -> anyhow::Result<()> {
        let plan = Plan {
            suspicion: self.suspicion.clone(),
            protocol: self.protocol.clone(),
            laboratory: Some(laboratory),
            version: 0,
        };
        samples::store::set_plan(tx, order, &plan).await?;
        Ok(())
    }

    async fn said(
        &self,
        tx: &mut Tx,
        order: OrderId,
        scene: &Scene<'_>,
        laboratory: &Laboratory,
    ) -> anyhow::Result<Vec<Body>> {
        let items = orders::items(&mut **tx, order).await?;
        let mut all = Vec::new();
        if let Some(row) = &self.sample {
            let at = scene.now.plus_minutes(-row.minutes_ago);
            all.push(Body {
                code: items.first().map(|item| item.code.clone()),
                side: Some(row.side.clone()),
                held_by: Some("the veterinarian".into()),
                sample: Some(Sample {
                    method: Some(row.method.clone()),
                    at: Some(at),
                    into: Some(row.into.clone()),
                    into_at: Some(at),
                }),
                ..Body::new(Kind::Sample)
            });
        }
        all.extend(self.enzymes.iter().map(|row| {
            let (low, high) = laboratory.range(&row.code, "U/L");
            let drawn = Drawn {
                at: scene.now.plus_minutes(-row.minutes_ago),
                when: row.when.clone(),
                laboratory: laboratory.name.clone(),
                unit: "U/L".into(),
                low,
                high,
            };
            let (code, number) = (Some(row.code.clone()), Some(row.number));
            Body { code, number, drawn: Some(drawn), ..Body::new(Kind::Enzyme) }
        }));
        Ok(all)
    }
}
