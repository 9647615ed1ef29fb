//! The form of a horse: as typed, as meant, and as it stands.

use serde::Deserialize;

use super::{Details, Known, Sex, measure};
use crate::{
    catalogue::catalogue,
    clock::Day,
    practice::Practice,
    reasoning::identity,
    web::{Check, Conflict, Errors},
};

/// Everything as it was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct HorseForm {
    pub(super) submission: String,
    pub(super) version: String,
    /// The client to whom a new horse belongs.
    pub(super) client: String,
    pub(super) name: String,
    pub(super) stable_name: String,
    pub(super) sex: String,
    pub(super) neutered: String,
    pub(super) born: String,
    pub(super) breed: String,
    pub(super) colour: String,
    pub(super) markings: String,
    pub(super) height: String,
    pub(super) work_use: String,
    pub(super) work_level: String,
    pub(super) microchip: String,
    pub(super) microchip_other: String,
    pub(super) ueln: String,
    pub(super) passport: String,
    pub(super) food_chain: String,
    pub(super) insurance: String,
    pub(super) temperament: Vec<String>,
    pub(super) temperament_note: String,
    pub(super) yard: String,
}

impl HorseForm {
    /// The form of a horse as it stands.
    pub(super) fn of(d: &Details, version: i64, practice: &Practice) -> Self {
        HorseForm {
            version: version.to_string(),
            name: d.name.clone(),
            stable_name: d.stable_name.clone(),
            sex: d.sex.key().into(),
            neutered: d.neutered.key().into(),
            born: measure::born_words(&d.born),
            breed: d.breed.clone(),
            colour: d.colour.clone(),
            markings: d.markings.clone(),
            height: d
                .height_cm
                .map_or_else(String::new, |cm| measure::height_number(cm, &practice.height_unit)),
            work_use: d.work_use.clone(),
            work_level: d.work_level.clone(),
            microchip: d.microchip.clone(),
            microchip_other: d.microchip_other.clone(),
            ueln: d.ueln.clone(),
            passport: d.passport.clone(),
            food_chain: d.food_chain.clone(),
            insurance: d.insurance.clone(),
            temperament: d.temperament.split_whitespace().map(Into::into).collect(),
            temperament_note: d.temperament_note.clone(),
            yard: d.yard_id.map_or_else(String::new, |id| id.to_string()),
            ..HorseForm::default()
        }
    }

    /// What is meant. `before` is the horse as it stands: a height shown in hands is not rounded by being saved.
    pub(super) fn check(
        &self,
        practice: &Practice,
        today: Day,
        before: Option<&Details>,
    ) -> Result<Details, Errors> {
        let mut c = Check::new();
        let name = c.needed("name", &self.name, 200, "Enter the horse's name, or what it is called.");
        let stable_name = c.line("stable_name", &self.stable_name, 200);
        let sex = c.choice("sex", &self.sex, "Choose the sex; not known is an answer.");
        let neutered = c.maybe_choice("neutered", &self.neutered).unwrap_or(Known::Unknown);
        let born = measure::born(&mut c, "born", &self.born, today);
        let breed = c.line("breed", &self.breed, 200);
        let colour = c.line("colour", &self.colour, 100);
        let markings = c.words("markings", &self.markings, 1000);
        let shown = before
            .and_then(|d| d.height_cm)
            .map(|cm| (measure::height_number(cm, &practice.height_unit), cm));
        let height_cm = match shown {
            Some((shown, cm)) if shown == self.height.trim() => Some(cm),
            _ => measure::height(&mut c, "height", &self.height, &practice.height_unit),
        };
        let work_use = c.line("work_use", &self.work_use, 200);
        let work_level = self.listed(&mut c, "work_level", &self.work_level, |code| {
            catalogue().horse.work_levels.iter().any(|row| row.name == code)
        });
        let microchip = number(&mut c, "microchip", &self.microchip, identity::microchip);
        let microchip_other = c.line("microchip_other", &self.microchip_other, 100);
        let ueln = number(&mut c, "ueln", &self.ueln, identity::ueln);
        let passport = c.line("passport", &self.passport, 200);
        let food_chain = self.listed(&mut c, "food_chain", &self.food_chain, |key| {
            FOOD_CHAIN.iter().any(|(known, _)| *known == key)
        });
        let insurance = c.words("insurance", &self.insurance, 1000);
        let temperament = self.warnings(&mut c);
        let temperament_note = c.words("temperament_note", &self.temperament_note, 500);
        let yard_id = c.maybe_choice("yard", &self.yard);
        c.done(Details {
            breed_code: breed_code(&breed),
            food_chain: if food_chain.is_empty() { "unknown".into() } else { food_chain },
            sex: sex.unwrap_or(Sex::Unknown),
            name,
            stable_name,
            neutered,
            born,
            breed,
            colour,
            markings,
            height_cm,
            work_use,
            work_level,
            microchip,
            microchip_other,
            ueln,
            passport,
            insurance,
            temperament,
            temperament_note,
            yard_id,
        })
    }

    fn listed(&self, c: &mut Check, field: &str, picked: &str, known: impl Fn(&str) -> bool) -> String {
        if picked.is_empty() || known(picked) {
            return picked.to_owned();
        }
        c.errors.add(field, "Choose one of the list.");
        String::new()
    }

    fn warnings(&self, c: &mut Check) -> String {
        let list = &catalogue().horse.temperament;
        if self.temperament.iter().any(|code| list.get(code).is_none()) {
            c.errors.add("temperament", "Choose from the list; other words belong into the note.");
        }
        self.temperament.join(" ")
    }

    /// Both sides of a clash, field by field.
    pub(super) fn clash(&self, now: &HorseForm, back: String) -> Conflict {
        let warnings = |form: &HorseForm| form.temperament.join(", ");
        Conflict { what: format!("{}: details of the horse", now.name), back, ..Conflict::default() }
            .field("Name", &self.name, &now.name)
            .field("Stable name", &self.stable_name, &now.stable_name)
            .field("Sex", &self.sex, &now.sex)
            .field("Gelded or spayed", &self.neutered, &now.neutered)
            .field("Born", &self.born, &now.born)
            .field("Breed", &self.breed, &now.breed)
            .field("Colour", &self.colour, &now.colour)
            .field("Markings", &self.markings, &now.markings)
            .field("Height", &self.height, &now.height)
            .field("Use", &self.work_use, &now.work_use)
            .field("Level of work", &self.work_level, &now.work_level)
            .field("Microchip", &self.microchip, &now.microchip)
            .field("Other transponder", &self.microchip_other, &now.microchip_other)
            .field("UELN", &self.ueln, &now.ueln)
            .field("Passport", &self.passport, &now.passport)
            .field("Food chain", &self.food_chain, &now.food_chain)
            .field("Insurance", &self.insurance, &now.insurance)
            .field("Warnings", &warnings(self), &warnings(now))
            .field("Note for whoever handles it", &self.temperament_note, &now.temperament_note)
    }
}

pub(super) const FOOD_CHAIN: [(&str, &str); 3] = [
    ("eligible", "may be slaughtered for food"),
    ("excluded", "excluded for life"),
    ("unknown", "not known"),
];

/// An identity number as it is kept; what is wrong with it goes beside the field.
fn number(
    c: &mut Check,
    field: &str,
    typed: &str,
    read: fn(&str) -> Result<identity::Accepted, identity::IdentityError>,
) -> String {
    if typed.trim().is_empty() {
        return String::new();
    }
    if c.line(field, typed, 60).is_empty() {
        return String::new();
    }
    match read(typed) {
        Ok(accepted) => accepted.value,
        Err(error) => {
            c.errors.add(field, error.to_string());
            String::new()
        }
    }
}

/// The code of a breed that is called as the catalogue calls it.
pub(crate) fn breed_code(breed: &str) -> Option<String> {
    let named = |row: &&crate::catalogue::Breed| row.name.to_lowercase() == breed.to_lowercase();
    catalogue().breeds.iter().find(named).map(|row| row.code.clone())
}
