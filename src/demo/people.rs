//! Who works in the demonstration, and for whom: staff, clients and yards, out of `data/`.

use std::collections::HashMap;

use anyhow::Context;
use serde::Deserialize;

use super::password;
use crate::{
    accounts::{self, Hasher, Role, store::NewStaff},
    clients::{self, Address, Phone, yards},
    clock::At,
    db::Tx,
    ids::{ClientId, StaffId, YardId},
    practice::advice,
    reasoning::{road::Spot, watch::Part},
    rota::Cell,
    rounds::store::{self, Round},
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
    pub owner: StaffId,
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
    Ok((
        Staff { owner: one(Role::Owner)?, vets, technician: one(Role::Technician)?, desk: one(Role::Desk)? },
        sign_ins,
    ))
}

/// Where the practice stands, the rounds of its vets, and what callers are told, approved by the owner.
pub(super) async fn rounds(tx: &mut Tx, staff: &Staff, at: At) -> anyhow::Result<()> {
    advice::approve_all(tx, staff.owner, at).await?;
    store::keep_practice_spot(tx, Spot { lat: 46.2010, lon: -30.4120 }, 0).await?;
    let vehicles = ["xray ultrasound biopsy", "xray ultrasound", "xray shockwave"];
    for (number, (vet, equipment)) in staff.vets.iter().zip(vehicles).enumerate() {
        let round = Round {
            staff_id: *vet,
            hours: "Mon-Fri 8:00-18:00, Sat-Sun 8:00-17:00".into(),
            clinic_days: String::new(),
            starts_at_home: false,
            home_lat: None,
            home_lon: None,
            equipment: equipment.into(),
            phone: format!("0555 010{number}"),
            version: 0,
        };
        store::keep_round(tx, &round).await?;
    }
    rota(tx, staff).await
}

/// The vets take turns day by day; whoever comes next backs up.
async fn rota(tx: &mut Tx, staff: &Staff) -> anyhow::Result<()> {
    let turn =
        |weekday: i64| staff.vets.iter().copied().cycle().nth(usize::try_from(weekday).unwrap_or_default());
    for weekday in 0..7 {
        let cell = Cell { first: turn(weekday), backup: turn(weekday + 1) };
        for part in Part::BOTH {
            crate::rota::store::set_pattern(tx, (1, weekday, part), cell).await?;
        }
    }
    Ok(())
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
    pub clients: HashMap<String, ClientId>,
    pub yards: HashMap<String, YardId>,
    pub farrier: Option<ClientId>,
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
            directions: String::new(),
            note: row.note,
        };
        valley.yards.insert(row.name, yards::store::insert(tx, &details, at).await?);
    }
    Ok(valley)
}
