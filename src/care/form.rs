//! The form of a medicine: as typed, and what is meant.

use serde::Deserialize;

use super::scene::{Asked, Scene};
use crate::{
    catalogue::{
        catalogue,
        formulary::{Basis, Food},
    },
    formulary::Kept,
    plan::Site,
    reasoning::dose::{Each, Mg, MgPerKg, MgPerMl, Reckoned},
    record::{Body, Dosed, How, Kind},
    stock::{store::NewLine, ul_of_ml},
    web::{Check, Errors, shown},
};

const LONGEST_LINE: usize = 300;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    /// Code of the row.
    pub row: String,
    /// The entry that is amended, and why.
    pub was: String,
    pub why: String,
    pub why_back: String,
    pub how: String,
    /// In mg/kg or mg, as the row has it.
    pub amount: String,
    pub strength: String,
    pub every_h: String,
    pub days: String,
    pub given_on: String,
    pub given_at: String,
    pub place: String,
    pub batch: String,
    pub expires: String,
    pub waste: String,
    pub quantity: String,
    pub directions: String,
    pub withdrawal: String,
    pub repeats: String,
    /// The safe or vehicle that a controlled drug is taken from, how much, and who saw the rest wasted.
    pub store: String,
    pub taken: String,
    pub witness: String,
    pub reason: String,
}

/// A form that can be kept.
pub(super) struct Meant {
    pub body: Body,
    /// The checks that it goes on over, each with its words.
    pub passed: Vec<(&'static str, String)>,
    pub reason: String,
    /// What it draws from the stock of controlled drugs.
    pub draws: Vec<NewLine>,
}

impl Typed {
    /// The form of a row before anybody has typed: an amount only where the row is confirmed and names one.
    pub(super) fn fresh(scene: &Scene, kept: &Kept) -> Self {
        let dose = &kept.row.dose;
        let single = kept.is_active() && dose.is_single();
        Typed {
            row: kept.code().to_owned(),
            amount: if single { dose.low.to_string() } else { String::new() },
            strength: dose
                .mg_per_ml
                .first()
                .filter(|_| dose.mg_per_ml.len() == 1)
                .map(f64::to_string)
                .unwrap_or_default(),
            given_on: scene.today.to_string(),
            given_at: scene.now.hm(&scene.practice.zone),
            ..Typed::default()
        }
    }

    /// The form of an entry, to be amended.
    pub(super) fn of(entry: &crate::record::Entry, body: &Body, dosed: &Dosed, scene: &Scene) -> Self {
        let per_kg = scene.row(&dosed.row).is_some_and(|kept| kept.row.dose.basis == Basis::MgPerKg);
        let tenth = |n: f64| ((n * 10_000.0).round() / 10_000.0).to_string();
        let amount = match dosed.kg.filter(|kg| per_kg && *kg > 0.0) {
            Some(kg) => tenth(dosed.mg / kg),
            None => dosed.mg.to_string(),
        };
        let site = Site::of(body);
        let zone = &scene.practice.zone;
        Typed {
            row: dosed.row.clone(),
            was: entry.id.to_string(),
            how: dosed.how.word().to_owned(),
            amount,
            strength: shown(dosed.mg_per_ml),
            every_h: shown(dosed.every_h),
            days: shown(dosed.days),
            given_on: dosed.at.day(zone).to_string(),
            given_at: dosed.at.hm(zone),
            place: if site == Site::Whole { String::new() } else { site.to_string() },
            batch: dosed.batch.clone().unwrap_or_default(),
            expires: dosed.expires.clone().unwrap_or_default(),
            waste: shown(dosed.waste_ml),
            quantity: dosed.quantity.clone().unwrap_or_default(),
            directions: dosed.directions.clone().unwrap_or_default(),
            withdrawal: shown(dosed.withdrawal_days),
            repeats: shown(dosed.repeats),
            ..Typed::default()
        }
    }

    /// What is asked of the row, as far as it can be read.
    pub(super) fn asked(&self, c: &mut Check, scene: &Scene, kept: &Kept) -> Asked {
        let per_kg = kept.row.dose.basis == Basis::MgPerKg;
        let unit = if per_kg { "mg/kg" } else { "mg" };
        let amount = c.number("amount", &self.amount, 0.0001..=100_000.0, unit);
        let each = amount.map(|n| if per_kg { Each::PerKg(MgPerKg(n)) } else { Each::Total(Mg(n)) });
        let strength = c.number("strength", &self.strength, 0.001..=2000.0, "mg/ml").map(MgPerMl);
        let every_h = c.number("every_h", &self.every_h, 0.5..=8760.0, "h");
        let days = crate::formulary::days(c, "days", &self.days);
        let at = self.at(c, scene);
        Asked { each, strength, every_h, days, at, was: self.was.parse().ok() }
    }

    fn at(&self, c: &mut Check, scene: &Scene) -> crate::clock::At {
        if self.given_on.trim().is_empty() && self.given_at.trim().is_empty() {
            return scene.now;
        }
        let day = c.day("given_on", &self.given_on);
        if day.is_none() && c.errors.on("given_on").is_none() {
            c.errors.add("given_on", "Enter the day.");
        }
        let time = c.time("given_at", &self.given_at);
        let Some((day, (hour, minute))) = day.zip(time) else { return scene.now };
        let at = day.at(hour, minute, &scene.practice.zone);
        if at > scene.now.plus_minutes(1) {
            c.errors.add("given_at", "This is still to come.");
        } else if at.plus_minutes(30 * 24 * 60) < scene.now {
            c.errors.add("given_on", "This is more than 30 days ago.");
        }
        at.min(scene.now)
    }

    /// What is meant; every check that is raised is answered, or the form is not taken.
    pub(super) fn check(&self, scene: &Scene, kept: &Kept, is_vet: bool) -> Result<Meant, Errors> {
        let mut c = Check::new();
        let how = How::read(&self.how);
        if how.is_none() {
            c.errors.add("how", "Say whether it was given, handed over or only prescribed.");
        }
        if how.is_some_and(|how| how != How::Administered) && !is_vet {
            c.errors.add("how", "Only a veterinarian hands over and prescribes.");
        }
        let how = how.unwrap_or(How::Administered);
        let asked = self.asked(&mut c, scene, kept);
        if asked.each.is_none() && c.errors.on("amount").is_none() {
            c.errors.add("amount", "Enter the amount of one dose.");
        }
        let reckoned = self.reckoned(&mut c, scene, kept, &asked);
        let site = self.site(&mut c);
        let lines = self.lines(&mut c, how);
        let waste_ml = c.number("waste", &self.waste, 0.0..=1000.0, "ml");
        let (withdrawal_days, repeats) =
            (count(&mut c, "withdrawal", &self.withdrawal), count(&mut c, "repeats", &self.repeats));
        let why = self.why(&mut c);
        let warnings = reckoned.as_ref().map(|found| scene.warnings(kept, &asked, found)).unwrap_or_default();
        let reason = c.line("reason", &self.reason, LONGEST_LINE);
        let passed = super::work::pass(&mut c, &warnings, &reason, is_vet);
        let Some(found) = reckoned.filter(|found| found.dose.is_some()) else { return Err(c.errors) };
        let used = scene.dosing.as_ref();
        let dose = &kept.row.dose;
        let needs_withdrawal = kept.row.food == Food::Essential && scene.card.food_chain != "excluded";
        let dosed = Dosed {
            how,
            medicine: dose.medicine.clone(),
            name: kept.row.name.clone(),
            group: kept.row.group,
            controlled: kept.row.controlled,
            route: dose.route().to_owned(),
            form: dose.form.clone(),
            row: dose.code.clone(),
            source: dose.source.clone(),
            mg: found.dose.map_or(0.0, |mg| mg.0),
            mg_per_ml: asked.strength.map(|n| n.0),
            ml: found.volume.map(|ml| (ml.0 * 100.0).round() / 100.0),
            kg: used.map(|used| used.kg),
            kg_from: used.map(|used| format!("{}, {}", used.method, used.on.words())),
            every_h: asked.every_h.or(dose.every_h),
            days: asked.days,
            quantity: lines.quantity,
            directions: lines.directions,
            batch: lines.batch,
            expires: lines.expires,
            waste_ml,
            withdrawal_days: withdrawal_days.or_else(|| needs_withdrawal.then(essential_days)),
            repeats,
            off_label: warnings.iter().any(|one| one.check == "OFF_LABEL"),
            at: asked.at,
        };
        let mut body = Body { dosed: Some(Box::new(dosed)), reason: why, ..Body::new(Kind::Treatment) };
        site.put(&mut body);
        let draws = body.dosed.as_deref().map(|dosed| self.draws(&mut c, scene, dosed)).unwrap_or_default();
        c.done(Meant { body, passed, reason, draws })
    }

    /// The lines of the register for a controlled drug that was given or handed over.
    fn draws(&self, c: &mut Check, scene: &Scene, dosed: &Dosed) -> Vec<NewLine> {
        let what = match dosed.how {
            _ if !dosed.controlled => return Vec::new(),
            How::Administered => "given",
            How::Dispensed => "handed_over",
            How::Prescribed => return Vec::new(),
        };
        let store = self.store.parse().ok().filter(|id| scene.stores.iter().any(|one| one.id == *id));
        if store.is_none() {
            let none = "No safe and no vehicle is entered yet: see Controlled drugs under Practice.";
            c.errors
                .add("store", if scene.stores.is_empty() { none } else { "Choose where it was taken from." });
        }
        if dosed.mg_per_ml.is_none() && c.errors.on("strength").is_none() {
            c.errors.add("strength", "Enter the strength: its stock is counted.");
        }
        let taken = c.number("taken", &self.taken, 0.001..=10_000.0, "ml");
        let ml = taken.or(dosed.ml.filter(|_| dosed.how == How::Administered));
        if ml.is_none() && c.errors.on("taken").is_none() {
            c.errors.add("taken", "Enter how much was taken from stock.");
        }
        let wasted = dosed.waste_ml.filter(|ml| *ml > 0.0);
        let witness = self.witness.parse().ok().filter(|who| scene.witnesses.iter().any(|(id, _)| id == who));
        if wasted.is_some() && witness.is_none() {
            c.errors.add("witness", "Choose who saw it wasted: somebody other than you.");
        }
        let (Some(store), Some(strength), Some(ml)) = (store, dosed.mg_per_ml, ml) else { return Vec::new() };
        let line = |what, ml: f64| NewLine {
            batch: dosed.batch.clone().unwrap_or_default(),
            reason: scene.card.name.clone(),
            ..NewLine::new(store, &dosed.medicine, strength, what, -ul_of_ml(ml))
        };
        let waste = wasted.map(|ml| NewLine { witness, ..line("waste", ml) });
        std::iter::once(line(what, ml)).chain(waste).collect()
    }

    /// Why an entry is amended; a new one needs no reason.
    fn why(&self, c: &mut Check) -> Option<String> {
        if self.was.is_empty() {
            return None;
        }
        Some(c.needed("why", &self.why, LONGEST_LINE, "Say why; both versions stay in the record."))
    }

    /// The dose by the row; what it refuses is said at its field.
    pub(super) fn reckoned(
        &self,
        c: &mut Check,
        scene: &Scene,
        kept: &Kept,
        asked: &Asked,
    ) -> Option<Reckoned> {
        match scene.reckon(kept, asked) {
            Ok(found) => Some(found),
            Err(refused) => {
                let field = if refused.name == "every_h" { "every_h" } else { "amount" };
                let words = if refused.name == "weight_kg" {
                    "Enter a weight for this horse first."
                } else {
                    "No dose can be reckoned from this."
                };
                c.errors.add(field, words);
                None
            }
        }
    }

    fn site(&self, c: &mut Check) -> Site {
        if self.place.trim().is_empty() {
            return Site::Whole;
        }
        Site::read(&self.place).unwrap_or_else(|| {
            c.errors.add("place", "Choose a place of the list, such as left fore fetlock, dorsal.");
            Site::Whole
        })
    }

    fn lines(&self, c: &mut Check, how: How) -> Lines {
        let mut maybe = |field: &str, typed: &str| {
            Some(c.line(field, typed, LONGEST_LINE)).filter(|line| !line.is_empty())
        };
        let (batch, quantity) = (maybe("batch", &self.batch), maybe("quantity", &self.quantity));
        let directions =
            Some(c.words("directions", &self.directions, 1000)).filter(|words| !words.is_empty());
        let expires = c.day("expires", &self.expires).map(|day| day.to_string());
        if how != How::Administered {
            for (field, line, words) in [
                ("quantity", &quantity, "Enter how much, such as 10 tablets."),
                ("directions", &directions, "Enter the directions, as they are to stand on the paper."),
            ] {
                if line.is_none() && c.errors.on(field).is_none() {
                    c.errors.add(field, words);
                }
            }
        }
        Lines { batch, expires, quantity, directions }
    }
}

struct Lines {
    batch: Option<String>,
    expires: Option<String>,
    quantity: Option<String>,
    directions: Option<String>,
}

/// A small whole number, 0 included.
fn count(c: &mut Check, field: &str, typed: &str) -> Option<u32> {
    let number = c.number(field, typed, 0.0..=3650.0, "")?;
    if number.fract() != 0.0 {
        c.errors.add(field, "Enter a whole number.");
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 3650, whole")]
    Some(number as u32)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "days of the catalogue are few and whole"
)]
fn essential_days() -> u32 {
    catalogue().care.number("essential_withdrawal_days") as u32
}
