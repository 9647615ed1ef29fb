//! The blank exam: the page of a visit that is not there yet, for a horse whose name the tablet fills in.

use crate::{
    clock::At,
    horses::{Card, Known, Sex, Status},
    ids::{HorseId, StaffId, VisitId},
    visits::{State, Visit},
};

/// Ids that no row has: a `UUIDv7` of the first millisecond of 1970.
pub const VISIT: &str = "00000000-0000-7000-8000-000000000001";
pub(super) const HORSE: &str = "00000000-0000-7000-8000-000000000002";
/// Where the horse's name will stand.
pub(super) const NAME: &str = "%HORSE%";

/// Visit and horse of the blank exam, if this is its id.
pub fn blank(id: VisitId, vet: StaffId, now: At) -> Option<(Visit, Card)> {
    let horse_id: HorseId = HORSE.parse().ok()?;
    let visit = Visit {
        id,
        horse_id,
        client_id: None,
        vet_id: Some(vet),
        vet: None,
        place: "yard".into(),
        yard_id: None,
        starts_at: now,
        minutes: 0,
        urgent: false,
        walk_in: true,
        stop_id: None,
        state: State::InHand,
        signed_by: None,
        signed_at: None,
        version: 0,
    };
    (VISIT.parse() == Ok(id)).then(|| (visit, card(horse_id)))
}

fn card(id: HorseId) -> Card {
    Card {
        id,
        name: NAME.into(),
        stable_name: String::new(),
        sex: Sex::Unknown,
        neutered: Known::Unknown,
        born: String::new(),
        breed: String::new(),
        colour: String::new(),
        status: Status::Here,
        status_on: None,
        food_chain: "unknown".into(),
        insurance: String::new(),
        temperament: String::new(),
        temperament_note: String::new(),
        yard_id: None,
        yard: None,
        kg: None,
        owner: None,
        marks: None,
    }
}
