//! The form of a yard: as typed, as meant, and as it stands.

use serde::Deserialize;

use super::{Details, degrees, store::Yard};
use crate::{
    clients::Pick,
    web::{Check, Conflict, Errors},
};

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct YardForm {
    pub(super) submission: String,
    pub(super) version: String,
    pub(super) name: String,
    pub(super) client: String,
    pub(super) client_id: String,
    pub(super) address: String,
    pub(super) lat: String,
    pub(super) lon: String,
    pub(super) directions: String,
    pub(super) note: String,
}

impl YardForm {
    pub(super) fn of(yard: &Yard) -> Self {
        let degrees = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
        YardForm {
            submission: String::new(),
            version: yard.version.to_string(),
            name: yard.name.clone(),
            client: yard.client.clone().unwrap_or_default(),
            client_id: yard.client_id.map_or_else(String::new, |id| id.to_string()),
            address: yard.address.clone(),
            lat: degrees(yard.lat),
            lon: degrees(yard.lon),
            directions: yard.directions.clone(),
            note: yard.note.clone(),
        }
    }

    pub(super) fn check(&self, pick: &Pick) -> Result<Details, Errors> {
        let mut c = Check::new();
        let name = c.needed("name", &self.name, 200, "Enter the yard's name.");
        c.line("client", &self.client, 200);
        let client_id = pick.maybe(&mut c, "client");
        let address = c.words("address", &self.address, 500);
        let spot = degrees::spot(&mut c, ("lat", &self.lat), ("lon", &self.lon));
        let directions = c.words("directions", &self.directions, 1000);
        let note = c.words("note", &self.note, 2000);
        c.done(Details { name, client_id, address, spot, directions, note })
    }

    /// Both sides of a clash, field by field.
    pub(super) fn clash(&self, now: &YardForm, back: String) -> Conflict {
        Conflict { what: format!("{}: details of the yard", now.name), back, ..Conflict::default() }
            .field("Name", &self.name, &now.name)
            .field("Kept by", &self.client, &now.client)
            .field("Address", &self.address, &now.address)
            .field("Latitude", &self.lat, &now.lat)
            .field("Longitude", &self.lon, &now.lon)
            .field("Directions", &self.directions, &now.directions)
            .field("Note", &self.note, &now.note)
    }
}
