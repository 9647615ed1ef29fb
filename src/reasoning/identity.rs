//! The numbers that say which horse this is: the microchip (ISO 11784) and the UELN.
//!
//! Both are kept as text, since country codes such as 040 begin with zero. Neither has a check digit, so a
//! slip of the finger inside a number cannot be seen; what can be seen is refused, and what is odd but exists
//! on old animals is taken with a warning.

/// A number as it is kept, with what to tell the person who typed it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accepted {
    pub value: String,
    pub warning: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum IdentityError {
    #[error("A microchip number has 15 digits; this has {0}.")]
    ChipLength(usize),
    #[error("A microchip number has digits only; `{0}` is not one.")]
    ChipCharacter(char),
    #[error("A microchip number never begins with 000.")]
    ChipZero,
    #[error("Numbers that begin with 999 are test chips and never belong to an animal.")]
    ChipTest,
    #[error("The last 12 digits of a microchip number cannot all be zero.")]
    ChipNothing,
    #[error("The last 12 digits of a microchip number are at most 274877906943.")]
    ChipTooLarge,
    #[error("A UELN has 15 characters; this has {0}.")]
    UelnLength(usize),
    #[error("A UELN begins with the three digits of a country.")]
    UelnCountry,
    #[error("A UELN has letters A to Z and digits only; `{0}` is neither.")]
    UelnCharacter(char),
}

/// Digits of a microchip: 3 for country or maker, 12 for the animal.
const CHIP_DIGITS: usize = 15;
/// The animal's part has 38 bits (ISO 11784).
const LARGEST_ANIMAL: u64 = (1 << 38) - 1;
const UELN_CHARACTERS: usize = 15;

/// Reads a 15-digit transponder number, however it was spaced.
pub fn microchip(typed: &str) -> Result<Accepted, IdentityError> {
    let value = without_spacing(typed);
    if let Some(odd) = value.chars().find(|c| !c.is_ascii_digit()) {
        return Err(IdentityError::ChipCharacter(odd));
    }
    if value.len() != CHIP_DIGITS {
        return Err(IdentityError::ChipLength(value.len()));
    }
    let (prefix, animal) = value.split_at(3);
    match (prefix, number(animal)) {
        ("000", _) => Err(IdentityError::ChipZero),
        ("999", _) => Err(IdentityError::ChipTest),
        (_, 0) => Err(IdentityError::ChipNothing),
        (_, animal) if animal > LARGEST_ANIMAL => Err(IdentityError::ChipTooLarge),
        (prefix, _) => {
            let known = is_maker(prefix) || is_country(prefix);
            let warning = (!known).then(|| {
                format!("{prefix} is no country or chip maker today. Old chips carry withdrawn codes: read it again.")
            });
            Ok(Accepted { value, warning })
        }
    }
}

/// Reads a Universal Equine Life Number: country and database of issue, then the animal.
pub fn ueln(typed: &str) -> Result<Accepted, IdentityError> {
    let value = without_spacing(typed).to_uppercase();
    if let Some(odd) = value.chars().find(|c| !c.is_ascii_digit() && !c.is_ascii_uppercase()) {
        return Err(IdentityError::UelnCharacter(odd));
    }
    if value.len() != UELN_CHARACTERS {
        return Err(IdentityError::UelnLength(value.len()));
    }
    let (country, _) = value.split_at(3);
    if !country.bytes().all(|b| b.is_ascii_digit()) {
        return Err(IdentityError::UelnCountry);
    }
    let warning = (!is_country(country)).then(|| {
        format!(
            "{country} is no country today. Some databases have numbers of their own: compare the passport."
        )
    });
    Ok(Accepted { value, warning })
}

fn without_spacing(typed: &str) -> String {
    typed.chars().filter(|c| !c.is_whitespace() && !matches!(c, '.' | '-')).collect()
}

/// The value of a string of at most 12 ASCII digits.
fn number(digits: &str) -> u64 {
    digits.bytes().fold(0, |sum, digit| sum * 10 + u64::from(digit - b'0'))
}

/// Codes that the registry of chip makers hands out.
fn is_maker(prefix: &str) -> bool {
    ("900"..="998").contains(&prefix)
}

fn is_country(prefix: &str) -> bool {
    rust_iso3166::from_numeric_str(prefix).is_some()
}
