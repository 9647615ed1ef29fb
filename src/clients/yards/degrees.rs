//! Latitude and longitude as people copy them: decimal degrees, or degrees with minutes and seconds and a letter.

use crate::web::Check;

/// A position out of two fields, both or neither; each field with its name.
pub fn spot(check: &mut Check, lat: (&str, &str), lon: (&str, &str)) -> Option<(f64, f64)> {
    for ((field, this), (_, other)) in [(lat, lon), (lon, lat)] {
        if this.trim().is_empty() && !other.trim().is_empty() {
            check.errors.add(field, "Enter both degrees, or neither.");
        }
    }
    let north = part(check, lat, 90.0, ['E', 'W']);
    let east = part(check, lon, 180.0, ['N', 'S']);
    north.zip(east)
}

fn part(check: &mut Check, (field, typed): (&str, &str), most: f64, other: [char; 2]) -> Option<f64> {
    if typed.trim().is_empty() {
        return None;
    }
    let swapped = typed.to_uppercase().contains(other);
    let degrees = read(typed).filter(|degrees| degrees.abs() <= most && !swapped);
    if degrees.is_none() {
        let words = format!("Enter degrees from -{most} to {most}, such as 52.508 or 52° 30.5' N.");
        check.errors.add(field, if most < 100.0 { words } else { words.replace(" N.", " E.") });
    }
    degrees
}

/// Degrees out of `52.51`, `-0,1276`, `52 30.5 N`, `52° 30' 18" N` or `W 0° 7.7'`; none when it is neither.
pub fn read(text: &str) -> Option<f64> {
    let upper = text.trim().to_uppercase().replace(['º', '˚'], "°");
    let (letters, rest): (String, String) = upper.chars().partition(char::is_ascii_alphabetic);
    let sign = match letters.as_str() {
        "" | "N" | "E" => 1.0,
        "S" | "W" => -1.0,
        _ => return None,
    };
    let rest = rest.replace(['°', '′', '\'', '’', '″', '"', '”'], " ");
    let parts: Vec<&str> = rest.split_whitespace().collect();
    let number = |part: &str| part.replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite());
    let (first, smaller) = parts.split_first()?;
    let whole = number(first)?;
    if smaller.len() > 2 || (!letters.is_empty() && whole < 0.0) {
        return None;
    }
    let mut degrees = whole.abs();
    for (part, share) in smaller.iter().zip([60.0, 3600.0]) {
        let part = number(part).filter(|n| (0.0..60.0).contains(n))?;
        degrees += part / share;
    }
    let below = first.starts_with('-') || sign < 0.0;
    // A hundred-millionth of a degree is a millimetre.
    let degrees = (degrees * 1e8).round() / 1e8;
    Some(if below { -degrees } else { degrees })
}
