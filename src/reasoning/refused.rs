//! A number that cannot be reckoned with, by its name.

/// What was refused, and why: "hours must be 0 or more, not -3".
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{name} {what}")]
pub struct Refused {
    /// As the caller calls it: `hours`, `points.T`.
    pub name: String,
    pub what: String,
}

impl Refused {
    pub fn new(name: impl Into<String>, what: impl Into<String>) -> Self {
        Self { name: name.into(), what: what.into() }
    }
}

/// The number, if it is above 0 and finite.
pub(super) fn positive(name: &str, number: f64) -> Result<f64, Refused> {
    if number > 0.0 && number.is_finite() {
        Ok(number)
    } else {
        Err(Refused::new(name, format!("must be more than 0, not {number}")))
    }
}

/// The number, if it is 0 or more and finite.
pub(super) fn not_negative(name: &str, number: f64) -> Result<f64, Refused> {
    if number >= 0.0 && number.is_finite() {
        Ok(number)
    } else {
        Err(Refused::new(name, format!("must be 0 or more, not {number}")))
    }
}
