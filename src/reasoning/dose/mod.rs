//! A dose by a row of the formulary: milligrams, millilitres, the range for this horse, and what to be careful about.
//!
//! It reckons and warns; the veterinarian decides. Nothing is cut to a ceiling silently: what is over it is said so.

pub mod checks;
pub mod sums;
mod units;

use super::refused::{Refused, positive};
use crate::catalogue::{
    catalogue,
    formulary::{Basis, Dose, Per},
};
pub use units::{Kg, Mg, MgPerKg, MgPerMl, Ml};

const HOURS_A_DAY: f64 = 24.0;
/// Rounding of a label's own conversions is no departure from it.
const SLACK: f64 = 0.005;
/// Heavier or lighter than any horse.
const POSSIBLE_KG: std::ops::RangeInclusive<f64> = 1.0..=2000.0;

/// How much is wanted each time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Each {
    PerKg(MgPerKg),
    Total(Mg),
}

/// What is asked of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ask {
    pub weight: Kg,
    pub each: Option<Each>,
    pub strength: Option<MgPerMl>,
    /// Hours from dose to dose; the row's own when absent.
    pub every_h: Option<f64>,
    pub days: Option<u32>,
}

/// What a warning is about: the code of a check of `data/care.toml`, and a sentence with the numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    pub check: &'static str,
    pub words: String,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Reckoned {
    /// What the row allows this horse, of one dose or of a day as the row says.
    pub range: (Mg, Mg),
    /// One dose; none where no amount was asked for.
    pub dose: Option<Mg>,
    pub volume: Option<Ml>,
    /// All doses of a day together.
    pub day: Option<Mg>,
    pub warnings: Vec<Warning>,
}

/// A row of the shipped formulary by generic name, route and, where it is said, jurisdiction.
pub fn row(medicine: &str, route: &str, jurisdiction: Option<&str>) -> Result<&'static Dose, Refused> {
    let known = &catalogue().formulary;
    let (medicine, route) = (medicine.trim().to_lowercase(), route.trim());
    let of_medicine: Vec<&Dose> = known.doses.iter().filter(|row| row.medicine == medicine).collect();
    if of_medicine.is_empty() {
        let names: Vec<&str> = known.medicines.iter().map(|row| row.code.as_str()).collect();
        return Err(Refused::new(
            "drug",
            format!("`{medicine}` is not known: use one of {}", names.join(", ")),
        ));
    }
    let is = |row: &&&Dose| {
        row.routes.iter().any(|name| name.eq_ignore_ascii_case(route))
            && jurisdiction.is_none_or(|at| row.jurisdiction.eq_ignore_ascii_case(at))
    };
    of_medicine.iter().find(is).copied().ok_or_else(|| {
        let routes: Vec<&str> =
            of_medicine.iter().flat_map(|row| row.routes.iter().map(String::as_str)).collect();
        Refused::new(
            "route",
            format!("`{route}` is not known for {medicine}: use one of {}", routes.join(", ")),
        )
    })
}

/// Reckons.
pub fn reckon(row: &Dose, ask: &Ask) -> Result<Reckoned, Refused> {
    let weight = Kg(positive("weight_kg", ask.weight.0)?);
    if !POSSIBLE_KG.contains(&weight.0) {
        let (least, most) = (POSSIBLE_KG.start(), POSSIBLE_KG.end());
        return Err(Refused::new("weight_kg", format!("must be from {least} to {most}, not {}", weight.0)));
    }
    let of = |amount: f64| if row.basis == Basis::MgPerKg { MgPerKg(amount).of(weight) } else { Mg(amount) };
    let range = (of(row.low), of(row.high));
    let dose = match ask.each {
        None => None,
        Some(Each::PerKg(per_kg)) => Some(MgPerKg(positive("mg_per_kg", per_kg.0)?).of(weight)),
        Some(Each::Total(mg)) => Some(Mg(positive("mg", mg.0)?)),
    };
    let strength = match ask.strength {
        Some(strength) => Some(MgPerMl(positive("concentration_mg_per_ml", strength.0)?)),
        None => None,
    };
    let every_h = match ask.every_h {
        Some(hours) => Some(positive("every_h", hours)?),
        None => row.every_h,
    };
    let times = every_h.map_or(1.0, |hours| (HOURS_A_DAY / hours).max(1.0));
    let day = dose.map(|mg| Mg(mg.0 * times));
    let mut warnings = Vec::new();
    if let (Some(dose), Some(day)) = (dose, day) {
        let measured = if row.per == Per::Day { day } else { dose };
        warnings.extend(outside(row, range, measured));
        warnings.extend(too_often(row, every_h));
        warnings.extend(over(row, day));
    } else {
        warnings.extend(
            over(row, range.1).map(|w| Warning { words: format!("The upper end: {}", w.words), ..w }),
        );
    }
    warnings.extend(too_long(row, ask.days));
    warnings.extend(not_labelled(row, weight));
    let volume = dose.zip(strength).map(|(mg, strength)| mg.at(strength));
    Ok(Reckoned { range, dose, volume, day, warnings })
}

fn outside(row: &Dose, (low, high): (Mg, Mg), amount: Mg) -> Option<Warning> {
    let per = if row.per == Per::Day { " a day" } else { "" };
    let words = if amount.0 > high.0 * (1.0 + SLACK) {
        format!("{amount}{per} is more than the row's {high} for this horse.")
    } else if amount.0 < low.0 * (1.0 - SLACK) {
        format!("{amount}{per} is less than the row's {low} for this horse.")
    } else {
        return None;
    };
    Some(Warning { check: "DOSE_RANGE", words })
}

fn too_often(row: &Dose, every_h: Option<f64>) -> Option<Warning> {
    let (asked, least) = (every_h?, row.every_h.filter(|_| row.per == Per::Dose)?);
    let words = format!("Every {asked} h is more often than the row's {least} h.");
    (asked < least).then_some(Warning { check: "DOSE_RANGE", words })
}

fn over(row: &Dose, day: Mg) -> Option<Warning> {
    let most = Mg(row.max_mg_per_day?);
    let words = format!("{day} a day is over the ceiling of {most} a day.");
    (day.0 > most.0).then_some(Warning { check: "DOSE_CEILING", words })
}

fn too_long(row: &Dose, days: Option<u32>) -> Option<Warning> {
    let (days, most) = (days?, row.max_days?);
    let words = format!("{days} days is longer than the row's {most}.");
    (days > most).then_some(Warning { check: "DOSE_DAYS", words })
}

fn not_labelled(row: &Dose, weight: Kg) -> Option<Warning> {
    let light = row.min_kg.is_some_and(|least| weight.0 < least);
    let heavy = row.max_kg.is_some_and(|most| weight.0 > most);
    let words = format!("{weight} is outside the weights that the row is for.");
    (light || heavy).then_some(Warning { check: "DOSE_RANGE", words })
}
