//! Vital signs: a name and a number, in the unit the record keeps.

use std::ops::Range;

use super::{
    piece::{Look, Piece, Sense, clause_at},
    reading::{Made, Vital},
    scene::Scene,
};
use crate::catalogue::{
    Plausibility, catalogue,
    words::{Meaning, Unit},
};

const KG_PER_LB: f64 = 0.453_592_37;
/// Temperature, pulse, respiration, as they are said in one breath.
const TPR: [&str; 3] = ["temp_c", "pulse_bpm", "resp_bpm"];

pub(super) fn read<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>]) {
    let mut at = 0;
    // "vitals: temp 38": the word stands with the first of them.
    let mut heading: Option<Piece<'v>> = None;
    while at < pieces.len() {
        let before = scene.rows.len();
        let piece = &pieces[at];
        let code = piece.get(|m| if let Meaning::Vital(code) = m { Some(code.as_str()) } else { None });
        let taken = if piece.is(|m| matches!(m, Meaning::Tpr)) {
            let mut end = at;
            let numbers = pieces[at + 1..]
                .iter()
                .find(|piece| !passes(piece) || is_sign(piece))
                .is_some_and(|p| p.number().is_some());
            for code in TPR.into_iter().filter(|_| numbers) {
                end = pair(scene, pieces, end).or_else(|| named(scene, pieces, end, code)).unwrap_or(end);
            }
            heading = if numbers { None } else { Some(piece.clone()) };
            end - at
        } else if let Some(code) = code {
            leading(scene, pieces, at, code)
                .or_else(|| named(scene, pieces, at, code))
                .map_or(0, |end| end - at)
        } else {
            by_unit(scene, pieces, at).map_or(0, |end| end - at)
        };
        if let Some(row) = scene.rows.get_mut(before) {
            row.of.extend(heading.take());
        }
        at += taken.max(1);
    }
}

/// Names a vital sign, whatever unit it may be too: "hr".
fn is_sign(piece: &Piece<'_>) -> bool {
    piece.is(|m| matches!(m, Meaning::Vital(_)))
}

/// Says nothing between a sign and its number.
fn passes(piece: &Piece<'_>) -> bool {
    piece.is_filler()
        || matches!(piece.sense, Sense::Pause | Sense::Joint)
        || piece.is(|m| {
            matches!(
                m,
                Meaning::GradeWord | Meaning::Unit(_) | Meaning::Nad | Meaning::Quality | Meaning::Grade(..)
            )
        })
}

/// The number right before a sign, where the clause begins with a number and ends with a sign: "38.2 temp, 40 pulse".
pub(super) fn number_leads(pieces: &[Piece<'_>], at: usize) -> Option<f64> {
    let number = pieces.get(at.checked_sub(1)?)?.number()?;
    let Range { start, end } = clause_at(pieces, at);
    let headed = start > 0 && pieces[start - 1].look == Look::Heading;
    let sign = !headed && pieces[end - 1].is(|m| matches!(m, Meaning::Vital(_)));
    (sign && pieces[start].number().is_some()).then_some(number.value)
}

fn leading<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>], at: usize, code: &str) -> Option<usize> {
    let from = on_it(pieces, at).or_else(|| number_leads(pieces, at).and(at.checked_sub(1)))?;
    let number = pieces[from].number()?;
    let value = in_record_unit(code, number.value, None, number.of)?;
    push(scene, code, value, pieces[from..=at].to_vec());
    Some(at + 1)
}

/// Where the number stands in "forty two on the pulse".
fn on_it(pieces: &[Piece<'_>], at: usize) -> Option<usize> {
    let before = pieces[..at].iter().rposition(|piece| !piece.is_filler())?;
    let on = pieces[before + 1..at].iter().any(|piece| piece.is(|m| matches!(m, Meaning::Preposition)));
    (on && pieces[before].number().is_some()).then_some(before)
}

/// A named sign: the number after the name at `at`; returns where it ends.
fn named<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>], at: usize, code: &str) -> Option<usize> {
    let from = if pieces.get(at)?.number().is_some() { at } else { at + 1 };
    let start = (from..pieces.len()).find(|&next| !passes(&pieces[next]) || is_sign(&pieces[next]))?;
    let number = pieces[start].number()?;
    let mut value = number.value;
    let mut end = start + 1;
    if code == "temp_c"
        && let Some(tenths) = spoken_tenths(pieces, start)
    {
        value += tenths;
        end += 1;
    }
    let unit = pieces.get(end).and_then(unit_of);
    let fits = matches!(
        unit,
        Some(
            Unit::Celsius
                | Unit::Fahrenheit
                | Unit::Degrees
                | Unit::Beats
                | Unit::Breaths
                | Unit::Kg
                | Unit::Lb
        )
    );
    end += usize::from(fits);
    end += usize::from(
        unit == Some(Unit::Degrees)
            && matches!(pieces.get(end).and_then(unit_of), Some(Unit::Celsius | Unit::Fahrenheit)),
    );
    let value = in_record_unit(code, value, pieces.get(end - 1).and_then(unit_of), number.of)?;
    push(scene, code, value, pieces[at..end].to_vec());
    Some(end)
}

/// "38.2/36/10": pulse and respiration look like a fraction.
fn pair<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>], at: usize) -> Option<usize> {
    let start = (at..pieces.len()).find(|&next| !passes(&pieces[next]))?;
    let number = pieces[start].number()?;
    let breaths = number.of?;
    push(scene, "pulse_bpm", number.value, vec![pieces[start].clone()]);
    push(scene, "resp_bpm", breaths, vec![pieces[start].clone()]);
    Some(start + 1)
}

/// "thirty eight four": the tenths are said after the degrees.
fn spoken_tenths(pieces: &[Piece<'_>], at: usize) -> Option<f64> {
    let (degrees, tenths) = (pieces[at].number()?, pieces.get(at + 1)?.number()?);
    let said = degrees.spoken
        && tenths.spoken
        && degrees.value.fract() == 0.0
        && tenths.value < 10.0
        && tenths.value.fract() == 0.0;
    said.then_some(tenths.value / 10.0)
}

/// A number whose unit says what it is: "36 bpm", "38.2 °C", "520 kg".
fn by_unit<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>], at: usize) -> Option<usize> {
    let number = pieces[at].number()?;
    let unit = pieces.get(at + 1).and_then(unit_of)?;
    let code = match unit {
        Unit::Celsius | Unit::Fahrenheit => "temp_c",
        Unit::Beats => "pulse_bpm",
        Unit::Breaths => "resp_bpm",
        Unit::Kg | Unit::Lb => "weight_kg",
        _ => return None,
    };
    let value = in_record_unit(code, number.value, Some(unit), number.of)?;
    push(scene, code, value, pieces[at..at + 2].to_vec());
    Some(at + 2)
}

fn unit_of(piece: &Piece<'_>) -> Option<Unit> {
    piece.get(|m| if let Meaning::Unit(unit) = m { Some(*unit) } else { None })
}

/// In the record's unit; none when it cannot be, or when the score is out of another scale.
fn in_record_unit(code: &str, value: f64, unit: Option<Unit>, of: Option<f64>) -> Option<f64> {
    let row = catalogue().vital(code)?;
    if let Some(of) = of {
        let top = row
            .scale
            .as_deref()
            .and_then(|key| catalogue().scale(key))
            .map(|scale| f64::from(scale.range().1));
        if top != Some(of) {
            return None;
        }
    }
    let fahrenheit = code == "temp_c" && (unit == Some(Unit::Fahrenheit) || (90.0..=115.0).contains(&value));
    let value = if fahrenheit {
        (value - 32.0) / 1.8
    } else if code == "weight_kg" && unit == Some(Unit::Lb) {
        value * KG_PER_LB
    } else {
        value
    };
    let value = (value * 10.0).round() / 10.0;
    (row.judge(value) != Plausibility::Impossible).then_some(value)
}

fn push<'v>(scene: &mut Scene<'v>, code: &str, value: f64, of: Vec<Piece<'v>>) {
    let of = of.into_iter().filter(|piece| !piece.is_break()).collect();
    scene.push(Made::Vital(Vital { name: code.to_owned(), value: Some(value), text: String::new() }), of);
}
