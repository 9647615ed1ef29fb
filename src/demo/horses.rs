//! The horses of the demonstration (`data/horses.tsv`): who each is, whose, how heavy over the years, and what
//! became of it.

use anyhow::Context;

use super::{
    dice::Dice,
    people::{Staff, Valley},
    store,
};
use crate::{
    catalogue::{Choice, Table, catalogue},
    clock::{At, Day},
    db::Tx,
    horses::{self, Known, NewParty, PartyRole, Sex, Status, store::Weight},
    ids::{ClientId, HorseId, YardId},
};

/// A horse as the rest of the fill needs it.
pub(super) struct Horse {
    pub id: HorseId,
    pub name: String,
    pub age: i16,
    pub owner: ClientId,
    pub yard: YardId,
    /// What became of it, and how many days ago.
    pub fate: Option<(Status, i64)>,
}

pub(super) async fn horses(
    tx: &mut Tx,
    valley: &Valley,
    staff: &Staff,
    today: Day,
    since: (Day, At),
) -> anyhow::Result<Vec<Horse>> {
    let mut dice = Dice::new(90);
    let rows = include_str!("data/horses.tsv").lines().filter(|line| !line.starts_with('#')).skip(1);
    let mut horses = Vec::new();
    for row in rows {
        let cells: Vec<&str> = row.split('\t').collect();
        let horse = horse(tx, valley, &cells, today, (&mut dice, since.1))
            .await
            .with_context(|| format!("horses.tsv: {row}"))?;
        let kg: f64 = cells.get(7).and_then(|kg| kg.parse().ok()).context("horses.tsv: weight")?;
        weights(tx, &horse, kg, staff, (since.0, today), &mut dice).await?;
        horses.push(horse);
    }
    Ok(horses)
}

async fn horse(
    tx: &mut Tx,
    valley: &Valley,
    cells: &[&str],
    today: Day,
    (dice, at): (&mut Dice, At),
) -> anyhow::Result<Horse> {
    let [name, stable, sex, age, breed, colour, height, _, work, level, yard, owner, temperament, fate] =
        cells
    else {
        anyhow::bail!("it has not fourteen cells")
    };
    let age: i16 = age.parse()?;
    let yard_id = *valley.yards.get(*yard).context("no such yard")?;
    let owner_id = *valley.clients.get(*owner).context("no such owner")?;
    let (sex, neutered) = match *sex {
        "g" => (Sex::Male, Known::Yes),
        "s" | "c" => (Sex::Male, Known::No),
        _ => (Sex::Female, Known::Unknown),
    };
    let lists = &catalogue().horse;
    let details = horses::Details {
        stable_name: (*stable).into(),
        sex,
        neutered,
        born: born(today, age, dice),
        breed: (*breed).into(),
        breed_code: catalogue().breeds.iter().find(|b| b.name == *breed).map(|b| b.code.clone()),
        colour: word(&lists.colours, colour)?,
        markings: dice.pick(&MARKINGS).copied().unwrap_or_default().into(),
        height_cm: Some(height.parse()?),
        work_use: word(&lists.uses, work)?,
        work_level: word(&lists.work_levels, level)?,
        food_chain: (*dice.pick(&FOOD_CHAIN).unwrap_or(&"unknown")).into(),
        insurance: if dice.percent(35) {
            "Vale Mutual, vet's fees; call before a scan".into()
        } else {
            String::new()
        },
        temperament: (*temperament).into(),
        yard_id: Some(yard_id),
        ..numbers(name, dice)
    };
    let id = horses::store::insert(tx, &details, at).await?;
    parties(tx, id, valley, (owner_id, yard), at).await?;
    let fate = read_fate(fate)?;
    if let Some((status, ago)) = fate {
        store::set_status(tx, id, status, today.plus_days(-ago)).await?;
    }
    Ok(Horse { id, name: (*name).into(), age, owner: owner_id, yard: yard_id, fate })
}

const FOOD_CHAIN: [&str; 4] = ["excluded", "excluded", "eligible", "unknown"];
const METHODS: [&str; 4] = ["tape", "tape", "scale", "estimate"];
const MARKINGS: [&str; 8] = [
    "star",
    "star, white sock left hind",
    "blaze",
    "snip",
    "none",
    "stripe, white pastern right fore",
    "",
    "whorl on the forehead",
];

/// The words under which a code is listed.
fn word(list: &Table<Choice>, code: &str) -> anyhow::Result<String> {
    list.get(code).map(|row| row.name.clone()).with_context(|| format!("`{code}` is not in its list"))
}

/// The numbers of its papers: of the right form, and nobody's.
fn numbers(name: &str, dice: &mut Dice) -> horses::Details {
    let mut details = horses::Details::named(name);
    // 900 is a code that makers share and no country; the rest is thrown.
    if dice.percent(92) {
        details.microchip = format!("900{:012}", dice.between(1, 199_999_999_999));
    }
    // No country has the number 001.
    if dice.percent(70) {
        details.ueln = format!("001ORR{:09}", dice.between(1, 999_999_999));
    }
    if dice.percent(80) {
        details.passport = format!("ORR-{:06}", dice.between(1, 999_999));
    }
    details
}

fn born(today: Day, age: i16, dice: &mut Dice) -> String {
    let year = today.0.year() - age;
    if age > 12 && dice.percent(50) {
        return year.to_string();
    }
    format!("{year}-{:02}-{:02}", dice.between(3, 6).min(i64::from(today.0.month())), dice.between(1, 28))
}

/// The owner decides and pays; who keeps the yard or trains is told.
async fn parties(
    tx: &mut Tx,
    horse: HorseId,
    valley: &Valley,
    (owner, yard): (ClientId, &str),
    at: At,
) -> anyhow::Result<()> {
    horses::store::add_party(tx, horse, &NewParty::owner(owner), at).await?;
    let keeper = valley.clients.get(yard).copied().filter(|keeper| *keeper != owner);
    let others = [
        (keeper, if yard.contains("Racing") { PartyRole::Trainer } else { PartyRole::Keeper }),
        (valley.farrier.filter(|farrier| *farrier != owner), PartyRole::Farrier),
    ];
    for (client, role) in others {
        let Some(client) = client else { continue };
        let told = role == PartyRole::Trainer;
        let new = NewParty { client, role, may_authorise: told, pays: false, gets_reports: told };
        horses::store::add_party(tx, horse, &new, at).await?;
    }
    Ok(())
}

fn read_fate(text: &str) -> anyhow::Result<Option<(Status, i64)>> {
    let Some((what, ago)) = text.split_once(' ') else { return Ok(None) };
    let status = match what {
        "retired" => Status::Retired,
        "sold" => Status::Sold,
        "dead" => Status::Dead,
        other => anyhow::bail!("`{other}` is no fate"),
    };
    Ok(Some((status, ago.parse()?)))
}

/// A few weights over the years, the newest not long ago.
async fn weights(
    tx: &mut Tx,
    horse: &Horse,
    kg: f64,
    staff: &Staff,
    (since, today): (Day, Day),
    dice: &mut Dice,
) -> anyhow::Result<()> {
    let last = horse.fate.map_or(0, |(_, ago)| ago);
    let mut ago = since.days_until(today) - dice.between(10, 200);
    while ago > last + 5 {
        #[expect(clippy::cast_precision_loss, reason = "a few kilograms")]
        let kg = kg + dice.between(-15, 15) as f64;
        let method = *dice.pick(&METHODS).unwrap_or(&"tape");
        let on = today.plus_days(-ago);
        let new = Weight { kg, method: method.into(), weighed_on: on, formula: None, measures: None };
        horses::store::add_weight(tx, horse.id, &new, staff.technician, on.start(&jiff::tz::TimeZone::UTC))
            .await?;
        ago -= dice.between(120, 330);
    }
    Ok(())
}
