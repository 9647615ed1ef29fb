//! Heights, weights and birthdays, from the way people write them to the way they are kept, and back.

use jiff::civil::Date;

use crate::{
    catalogue::{Plausibility, catalogue},
    clock::Day,
    web::Check,
};

const CM_OF_INCH: f64 = 2.54;
const INCHES_OF_HAND: f64 = 4.0;
const KG_OF_POUND: f64 = 0.453_592_37;
/// What is outside is a slip of the finger: lower than a newborn miniature, taller than any draught horse. Common
/// practice, no single source.
const HEIGHT_CM: std::ops::RangeInclusive<f64> = 40.0..=220.0;
/// Older than any horse on record (from memory: 62 years).
const OLDEST_YEARS: i16 = 65;

/// A height as typed in the practice's unit, or with the other unit behind it.
pub(crate) fn height(check: &mut Check, field: &str, typed: &str, unit: &str) -> Option<f64> {
    let text = typed.trim().to_lowercase();
    if text.is_empty() {
        return None;
    }
    let hands = text.trim_end_matches("hands").trim_end_matches("hh").trim_end();
    let in_hands = hands.len() < text.len() || (unit == "hands" && !text.ends_with("cm"));
    let cm = if in_hands { hands_to_cm(hands) } else { plain(text.trim_end_matches("cm")) };
    match cm {
        Some(cm) if HEIGHT_CM.contains(&cm) => return Some(cm),
        Some(_) => check.errors.add(field, "Enter a height from 40 to 220 cm, or from 4 to 21 hands."),
        None if in_hands => {
            check.errors.add(field, "Enter hands and inches, such as 16.1: the inches are 0 to 3.");
        }
        None => check.errors.add(field, "Enter the height as a number, such as 165."),
    }
    None
}

/// `16.1` is sixteen hands and one inch.
fn hands_to_cm(text: &str) -> Option<f64> {
    let (hands, inches) = text.trim().split_once(['.', ',']).unwrap_or((text.trim(), "0"));
    let (hands, inches) = (hands.parse::<u8>().ok()?, inches.parse::<u8>().ok()?);
    (inches < 4).then(|| (f64::from(hands) * INCHES_OF_HAND + f64::from(inches)) * CM_OF_INCH)
}

fn plain(text: &str) -> Option<f64> {
    text.trim().replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite())
}

/// The height as it is typed and shown, without its unit.
pub(super) fn height_number(cm: f64, unit: &str) -> String {
    if unit == "hands" {
        let inches = (cm / CM_OF_INCH).round();
        let hands = (inches / INCHES_OF_HAND).floor();
        return format!("{hands}.{}", inches - hands * INCHES_OF_HAND);
    }
    format!("{}", (cm * 10.0).round() / 10.0)
}

/// `165 cm` or `16.1 hands`
pub fn height_words(cm: f64, unit: &str) -> String {
    format!("{} {unit}", height_number(cm, unit))
}

/// A weight as typed in the practice's unit, or with the other unit behind it.
pub(super) fn weight(check: &mut Check, field: &str, typed: &str, unit: &str) -> Option<f64> {
    let text = typed.trim().to_lowercase();
    if text.is_empty() {
        check.errors.add(field, "Enter the weight.");
        return None;
    }
    let in_pounds = text.ends_with("lb") || (unit == "lb" && !text.ends_with("kg"));
    let Some(number) = plain(text.trim_end_matches("lb").trim_end_matches("kg")) else {
        check.errors.add(field, "Enter the weight as a number, such as 520.");
        return None;
    };
    let kg = if in_pounds { number * KG_OF_POUND } else { number };
    let Some(vital) = catalogue().vital("weight_kg") else { return Some(kg) };
    if vital.judge(kg) != Plausibility::Impossible {
        return Some(kg);
    }
    let (least, most) = (weight_words(vital.possible.min, unit), weight_words(vital.possible.max, unit));
    check.errors.add(field, format!("No horse weighs that: enter a weight from {least} to {most}."));
    None
}

/// Whether the catalogue takes this weight without asking again.
pub(super) fn is_usual_weight(kg: f64) -> bool {
    catalogue().vital("weight_kg").is_none_or(|vital| vital.judge(kg) == Plausibility::Usual)
}

/// `520 kg` or `1146 lb`
pub fn weight_words(kg: f64, unit: &str) -> String {
    format!("{} {unit}", weight_number(kg, unit))
}

pub(super) fn weight_number(kg: f64, unit: &str) -> f64 {
    if unit == "lb" { (kg / KG_OF_POUND).round() } else { (kg * 10.0).round() / 10.0 }
}

/// A birthday, a year, or an age such as `9 y`, which is kept as its year.
pub(crate) fn born(check: &mut Check, field: &str, typed: &str, today: Day) -> String {
    let text = typed.trim();
    if text.is_empty() {
        return String::new();
    }
    let this_year = today.0.year();
    let number = |text: &str| text.trim().parse::<i16>().ok();
    let age = ["years", "year", "yrs", "yr", "y"]
        .iter()
        .find_map(|word| text.to_lowercase().strip_suffix(word).and_then(number));
    let year = match (age, number(text)) {
        (Some(age), _) | (None, Some(age)) if (0..=OLDEST_YEARS).contains(&age) => Some(this_year - age),
        (None, Some(year)) => Some(year),
        _ => None,
    };
    if let Some(year) = year {
        if (this_year - OLDEST_YEARS..=this_year).contains(&year) {
            return year.to_string();
        }
    } else if age.is_none() {
        match check.day(field, text) {
            Some(day) if day <= today && day.0.year() >= this_year - OLDEST_YEARS => return day.to_string(),
            Some(_) => {}
            None => return String::new(),
        }
    }
    check.errors.add(field, "A horse is born no later than today and no more than 65 years ago.");
    String::new()
}

/// `3 May 2017` or `2017`
pub(super) fn born_words(born: &str) -> String {
    born.parse::<Date>().map_or_else(|_| born.to_owned(), |date| Day(date).words())
}

/// Whether a day lies before the horse was born, as far as that is known.
pub(super) fn before_birth(day: Day, born: &str) -> bool {
    match born.parse::<Date>() {
        Ok(date) => day.0 < date,
        Err(_) => born.parse::<i16>().is_ok_and(|year| day.0.year() < year),
    }
}
