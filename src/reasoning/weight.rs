//! A horse's weight: reckoned from a measuring tape, and which of several weights a dose is reckoned with.
//!
//! Lengths come in cm and weights go out in kg, whatever unit a formula was published in.

use super::refused::{Refused, positive};
use crate::catalogue::{catalogue, weight::Formula};

const CM_OF_INCH: f64 = 2.54;
const KG_OF_POUND: f64 = 0.453_592_37;
/// No tape goes round more than this, and no horse is measured below.
const POSSIBLE_CM: std::ops::RangeInclusive<f64> = 20.0..=350.0;

/// What was measured, in cm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Measures {
    /// Round the trunk behind withers and elbow.
    pub girth_cm: Option<f64>,
    /// As the formula wants it measured.
    pub length_cm: Option<f64>,
    /// At the withers.
    pub height_cm: Option<f64>,
    /// Round the neck, midway between poll and withers.
    pub neck_cm: Option<f64>,
}

/// A formula by its code; those that must not be used are refused with the reason.
pub fn formula(code: &str) -> Result<&'static Formula, Refused> {
    let rows = &catalogue().weighing.formulas;
    let row = rows.get(code).ok_or_else(|| {
        let known: Vec<&str> =
            rows.iter().filter(|row| row.refused.is_none()).map(|row| row.code.as_str()).collect();
        Refused::new("method", format!("`{code}` is not known: use one of {}", known.join(", ")))
    })?;
    match &row.refused {
        Some(why) => Err(Refused::new("method", format!("`{code}` {why}"))),
        None => Ok(row),
    }
}

/// The weight in kg.
pub fn reckon(row: &Formula, measures: &Measures) -> Result<f64, Refused> {
    let unit = if row.inches { CM_OF_INCH } else { 1.0 };
    let power = |name: &str, cm: Option<f64>, power: f64| -> Result<f64, Refused> {
        if power == 0.0 { Ok(1.0) } else { Ok((measured(name, cm)? / unit).powf(power)) }
    };
    let product = power("girth_cm", measures.girth_cm, row.girth_power)?
        * power("length_cm", measures.length_cm, row.length_power)?
        * power("height_cm", measures.height_cm, row.height_power)?
        * power("neck_cm", measures.neck_cm, row.neck_power)?;
    let weight = product / row.divisor;
    Ok(if row.inches { weight * KG_OF_POUND } else { weight })
}

/// The weight in kg that goes with a frame; never one to dose by.
pub fn ideal(code: &str, measures: &Measures) -> Result<f64, Refused> {
    let rows = &catalogue().weighing.ideals;
    let row = rows.get(code).ok_or_else(|| Refused::new("method", format!("`{code}` is not known")))?;
    let (length, height) =
        (measured("length_cm", measures.length_cm)?, measured("height_cm", measures.height_cm)?);
    positive("weight_kg", row.per_length * length + row.per_height * height - row.less)
}

fn measured(name: &str, cm: Option<f64>) -> Result<f64, Refused> {
    let cm = cm.ok_or_else(|| Refused::new(name, "is missing"))?;
    if POSSIBLE_CM.contains(&cm) {
        Ok(cm)
    } else {
        Err(Refused::new(
            name,
            format!("must be from {} to {} cm, not {cm}", POSSIBLE_CM.start(), POSSIBLE_CM.end()),
        ))
    }
}

/// A weighing as the choice sees it: how old it is in days, and by which method.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed<'a> {
    pub age_days: i64,
    pub method: &'a str,
}

/// Which of the weights is used, by its place: within so many days of the newest the better method, then the newer day;
/// of two of one day the one that stands first.
pub fn used(weights: &[Weighed<'_>]) -> Option<usize> {
    let within = limit_days();
    let newest = weights.iter().map(|w| w.age_days).min()?;
    let near = weights.iter().enumerate().filter(|(_, w)| w.age_days - newest <= within);
    near.min_by_key(|(place, w)| (catalogue().weighing.rank(w.method), w.age_days, *place))
        .map(|(place, _)| place)
}

/// Why a weight is doubted before a dose, in the words of the page.
pub fn doubts(used: &Weighed<'_>) -> Vec<String> {
    let mut doubts = Vec::new();
    if used.age_days > limit_days() {
        doubts.push(format!("The weight is {} days old: weigh again before a dose.", used.age_days));
    }
    if used.method == "estimate" {
        doubts.push(
            "The weight was judged by eye, which is often a fifth off: weigh before a dose.".to_owned(),
        );
    }
    doubts
}

/// Days after which a weight is doubted.
#[expect(clippy::cast_possible_truncation, reason = "days of the catalogue are few and whole")]
pub fn limit_days() -> i64 {
    catalogue().weighing.number("dose_weight_days") as i64
}
