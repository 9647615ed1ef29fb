//! The demonstration: an invented practice in an invented valley, with a past that was made up.
//!
//! Who and what it is about stands in `data/`; [`plan`] decides what happened when, [`write`] puts it into the
//! database through the stores that the pages use, the chain included. Dates are relative to the day of filling;
//! chance falls the same way every time ([`dice`]), only passwords and salts differ.

mod calendar;
mod care;
mod course;
mod dice;
mod horses;
mod line;
mod measured;
mod needle;
mod orders;
mod password;
mod people;
mod plan;
mod prices;
mod store;
mod today;
mod way;
mod write;

use std::collections::HashMap;

pub use people::SignIn;

use crate::{
    accounts::Hasher,
    clock::At,
    db::Db,
    practice::{self, Practice},
    search,
};

/// Visits that share a transaction.
const TOGETHER: usize = 100;

/// Fills an empty database with `years` of the invented practice, and says how to sign in. `progress` hears how
/// many visits of how many are written.
pub async fn fill(
    db: &Db,
    hasher: &Hasher,
    now: At,
    years: i64,
    progress: impl Fn(usize, usize),
) -> anyhow::Result<Vec<SignIn>> {
    let (zone, zone_name) = practice::zone_here();
    let today = now.day(&zone);
    let first = today.plus_days(-years * 365 - 14);
    let since = first.at(9, 0, &zone);
    let mut tx = db.write().await?;
    practice::store::insert(&mut tx, &the_practice(zone.clone(), zone_name), since).await?;
    let (staff, sign_ins) = people::staff(&mut tx, hasher, since).await?;
    people::rounds(&mut tx, &staff, since).await?;
    let valley = people::valley(&mut tx, since).await?;
    let horses = horses::horses(&mut tx, &valley, &staff, today, (first, since)).await?;
    tx.commit().await?;

    let courses = course::Courses::read()?;
    let day = today::Today::read(now, &zone)?;
    let planner = plan::Planner {
        courses: &courses,
        horses: &horses,
        today,
        calendar: calendar::Calendar::new(staff.vets.len(), today),
        dice: dice::Dice::new(3),
        planned: Vec::new(),
    };
    let visits = planner.all(years, &day)?;
    let mut writer = write::Writer {
        staff: &staff,
        horses: &horses,
        zone,
        today,
        now,
        dice: dice::Dice::new(5),
        received: since,
        needle: None,
        promised: HashMap::new(),
    };
    for (number, together) in visits.chunks(TOGETHER).enumerate() {
        let mut tx = db.write().await?;
        for visit in together {
            writer.visit(&mut tx, visit).await?;
        }
        tx.commit().await?;
        progress(number * TOGETHER + together.len(), visits.len());
    }
    let mut tx = db.write().await?;
    writer.settle(&mut tx).await?;
    orders::write(&mut tx, &staff, &horses, &writer.zone, now).await?;
    let scene = measured::Scene { staff: &staff, horses: &horses, zone: &writer.zone, now };
    measured::write(&mut tx, &scene).await?;
    way::write(&mut tx, &horses, &writer.zone, now).await?;
    care::write(&mut tx, &staff, &horses, now).await?;
    prices::write(&mut tx, staff.owner, first, now).await?;
    search::rebuild(&mut tx).await?;
    tx.commit().await?;
    Ok(sign_ins)
}

fn the_practice(zone: jiff::tz::TimeZone, zone_name: String) -> Practice {
    Practice {
        name: "Orrwater Equine Practice".into(),
        zone,
        zone_name,
        weight_unit: "kg".into(),
        height_unit: "cm".into(),
        temperature_unit: "c".into(),
        lameness_scale: "aaep_0_5".into(),
        exam_order: "top_down_then_up".into(),
        invented: true,
        version: 1,
    }
}
