//! Who the demonstration is about: staff, clients, yards and horses, out of `data/`.

use std::collections::HashMap;

use anyhow::Context;
use serde::Deserialize;

use super::{dice::Dice, password, store};
use crate::{
    accounts::{self, Hasher, Role, store::NewStaff},
    catalogue::{Row, Table, catalogue},
    clients::{self, Address, Phone, yards},
    clock::{At, Day},
    db::Tx,
    horses::{self, Known, NewParty, PartyRole, Sex, Status, store::NewWeight},
    ids::{ClientId, HorseId, StaffId, YardId},
};

/// Role, name, licence: the practice is owned by somebody who signs nothing.
const STAFF: [(Role, &str); 6] = [
    (Role::Owner, "Merrit Vayle"),
    (Role::Vet, "Ilsabet Corrow"),
    (Role::Vet, "Tovin Sarle"),
    (Role::Vet, "Annis Quellan"),
    (Role::Technician, "Bram Tellick"),
    (Role::Desk, "Doria Fennholt"),
];

/// An account of the demonstration and its password, which stands nowhere else.
#[derive(Debug, Clone)]
pub struct SignIn {
    pub role: Role,
    pub name: String,
    pub password: String,
}

/// Who works here, by what they do.
pub(super) struct Staff {
    pub vets: Vec<StaffId>,
    pub technician: StaffId,
    pub desk: StaffId,
}

pub(super) async fn staff(tx: &mut Tx, hasher: &Hasher, at: At) -> anyhow::Result<(Staff, Vec<SignIn>)> {
    let (mut ids, mut sign_ins) = (Vec::new(), Vec::new());
    for (role, name) in STAFF {
        let password = password::random()?;
        let id = StaffId::new();
        let licensed = role == Role::Vet;
        let password_hash = hasher.hash(&password).await?;
        let new = NewStaff { id, name: name.into(), role, licensed, password_hash };
        accounts::store::insert(tx, &new, at).await?;
        ids.push((role, id));
        sign_ins.push(SignIn { role, name: name.into(), password });
    }
    let one = |role: Role| ids.iter().find(|(r, _)| *r == role).map(|(_, id)| *id).context("the staff list");
    let vets = ids.iter().filter(|(role, _)| *role == Role::Vet).map(|(_, id)| *id).collect();
    Ok((Staff { vets, technician: one(Role::Technician)?, desk: one(Role::Desk)? }, sign_ins))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClientRow {
    name: String,
    kind: String,
    phones: Vec<(String, String)>,
    email: String,
    address: String,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct YardRow {
    name: String,
    client: String,
    address: String,
    spot: (f64, f64),
    note: String,
}

#[derive(Deserialize)]
struct Clients {
    client: Vec<ClientRow>,
}

#[derive(Deserialize)]
struct Yards {
    yard: Vec<YardRow>,
}

/// Clients and yards by name.
pub(super) struct Valley {
    clients: HashMap<String, ClientId>,
    yards: HashMap<String, YardId>,
    farrier: Option<ClientId>,
}

pub(super) async fn valley(tx: &mut Tx, at: At) -> anyhow::Result<Valley> {
    let rows: Clients = toml::from_str(include_str!("data/clients.toml")).context("clients.toml")?;
    let mut valley = Valley { clients: HashMap::new(), yards: HashMap::new(), farrier: None };
    for row in rows.client {
        let farrier = row.note.starts_with("Farrier");
        let details = clients::Details {
            kind: row.kind.parse().map_err(|()| anyhow::anyhow!("{} is of no kind", row.name))?,
            name: row.name.clone(),
            email: row.email,
            note: row.note,
            phones: row.phones.into_iter().map(|(label, number)| Phone { label, number }).collect(),
            addresses: vec![Address { label: String::new(), lines: row.address }],
        };
        let id = clients::store::insert(tx, &details, at).await?;
        valley.farrier = valley.farrier.or(farrier.then_some(id));
        valley.clients.insert(row.name, id);
    }
    let rows: Yards = toml::from_str(include_str!("data/yards.toml")).context("yards.toml")?;
    for row in rows.yard {
        let details = yards::Details {
            name: row.name.clone(),
            client_id: valley.clients.get(&row.client).copied(),
            address: row.address,
            spot: Some(row.spot),
            note: row.note,
        };
        valley.yards.insert(row.name, yards::store::insert(tx, &details, at).await?);
    }
    Ok(valley)
}

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
        // 900 is a code that makers share, not a country; the rest is thrown, so that it is no known animal's.
        microchip: if dice.percent(92) {
            format!("900{:012}", dice.between(1, 199_999_999_999))
        } else {
            String::new()
        },
        // No country has the number 001: the form of a UELN, and nobody's.
        ueln: if dice.percent(70) {
            format!("001ORR{:09}", dice.between(1, 999_999_999))
        } else {
            String::new()
        },
        passport: if dice.percent(80) {
            format!("ORR-{:06}", dice.between(1, 999_999))
        } else {
            String::new()
        },
        food_chain: ["excluded", "excluded", "eligible", "unknown"]
            [dice.between(0, 3).unsigned_abs() as usize % 4]
            .into(),
        insurance: if dice.percent(35) {
            "Vale Mutual, vet's fees; call before a scan".into()
        } else {
            String::new()
        },
        temperament: (*temperament).into(),
        yard_id: Some(yard_id),
        ..horses::Details::named(name)
    };
    let id = horses::store::insert(tx, &details, at).await?;
    parties(tx, id, valley, (owner_id, yard), at).await?;
    let fate = read_fate(fate)?;
    if let Some((status, ago)) = fate {
        store::set_status(tx, id, status, today.plus_days(-ago)).await?;
    }
    Ok(Horse { id, name: (*name).into(), age, owner: owner_id, yard: yard_id, fate })
}

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
fn word<T: Row + Named>(list: &Table<T>, code: &str) -> anyhow::Result<String> {
    list.get(code).map(|row| row.words().to_owned()).with_context(|| format!("`{code}` is not in its list"))
}

/// A row with words for people.
trait Named {
    fn words(&self) -> &str;
}

impl Named for crate::catalogue::Choice {
    fn words(&self) -> &str {
        &self.name
    }
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
        let method = ["tape", "tape", "scale", "estimate"][dice.between(0, 3).unsigned_abs() as usize % 4];
        let on = today.plus_days(-ago);
        let new = NewWeight { kg, method: method.into(), weighed_on: on };
        horses::store::add_weight(tx, horse.id, &new, staff.technician, on.start(&jiff::tz::TimeZone::UTC))
            .await?;
        ago -= dice.between(120, 330);
    }
    Ok(())
}
