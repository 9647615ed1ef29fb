//! What a visit is charged: which price a fact of the record has, and how much that is.
//!
//! Money is whole hundredths of the practice's currency, quantities are whole thousandths of a unit, so that sums are
//! exact. An amount is rounded once, half up; that of a reversal is the same with the other sign.

use crate::{catalogue::charges::Unit, clock::Day};

/// Thousandths in one.
pub const ONE: i64 = 1000;
/// The largest quantity of a line, in thousandths.
pub const MOST: i64 = 100_000 * ONE;
/// The highest price, in hundredths.
pub const HIGHEST: i64 = 1_000_000 * 100;

/// Something of the record that can be charged.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What of the record it is, the same for as long as it is there.
    pub source: String,
    /// Code of the catalogue's charge.
    pub charge: String,
    /// Which one of its kind: a block, a study, a row of the formulary. Empty where nobody said.
    pub of: String,
    pub unit: Unit,
    /// Thousandths.
    pub quantity: i64,
    /// Of road, one way; only for a call-out, and only where both ends are known.
    pub km: Option<f64>,
}

/// To what a price belongs, and when it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    pub charge: String,
    /// Empty where any of its kind is meant.
    pub of: String,
    /// Of a call-out: so many kilometres and fewer. None has no end.
    pub up_to_km: Option<i64>,
    pub unit: Unit,
    pub from: Day,
    /// The first day on which it does not hold any more.
    pub until: Option<Day>,
}

impl Rule {
    pub fn holds_on(&self, day: Day) -> bool {
        self.from <= day && self.until.is_none_or(|until| day < until)
    }

    /// Whether both are prices of one thing and hold on one day.
    pub fn clashes(&self, other: &Rule) -> bool {
        let same = (&self.charge, &self.of, self.up_to_km, self.unit)
            == (&other.charge, &other.of, other.up_to_km, other.unit);
        let ends_before = |one: &Rule, next: &Rule| one.until.is_some_and(|until| until <= next.from);
        same && !ends_before(self, other) && !ends_before(other, self)
    }
}

/// The place of the price of a fact on a day: one for this very thing goes before one for any of its kind, the nearest
/// zone before a wider one, the newest before an older one. Where zones are kept, no distance means no price.
pub fn price_of(fact: &Fact, rules: &[Rule], day: Day) -> Option<usize> {
    let suits = |rule: &Rule| {
        rule.charge == fact.charge
            && rule.unit == fact.unit
            && (rule.of.is_empty() || rule.of == fact.of)
            && rule.holds_on(day)
    };
    let zoned = rules.iter().any(|rule| suits(rule) && rule.up_to_km.is_some());
    if zoned && fact.km.is_none() {
        return None;
    }
    let within = |rule: &Rule| match (rule.up_to_km, fact.km) {
        (Some(most), Some(km)) => km <= whole_km(most),
        (Some(_), None) => false,
        (None, _) => true,
    };
    let found = rules.iter().enumerate().filter(|(_, rule)| suits(rule) && within(rule));
    found
        .min_by_key(|(place, rule)| {
            (
                rule.of.is_empty(),
                rule.up_to_km.unwrap_or(i64::MAX),
                std::cmp::Reverse(rule.from),
                std::cmp::Reverse(*place),
            )
        })
        .map(|(place, _)| place)
}

/// Kilometres of a zone, which are few.
fn whole_km(km: i64) -> f64 {
    f64::from(i32::try_from(km).unwrap_or(i32::MAX))
}

/// Hundredths of so many thousandths at a price, rounded half up; below nothing as above it.
pub fn amount(minor: i64, thousandths: i64) -> i64 {
    let exact = i128::from(minor) * i128::from(thousandths.abs());
    let rounded = (exact + i128::from(ONE) / 2) / i128::from(ONE);
    let rounded = i64::try_from(rounded).unwrap_or(i64::MAX);
    if thousandths < 0 { -rounded } else { rounded }
}

/// How what the record holds stands to what was gone over before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Open {
    Nothing,
    /// So many thousandths are still to be gone over.
    More(i64),
    /// So many thousandths fewer are recorded than were gone over.
    Less(i64),
}

pub fn open(recorded: i64, gone_over: i64) -> Open {
    match recorded - gone_over {
        0 => Open::Nothing,
        more if more > 0 => Open::More(more),
        less => Open::Less(-less),
    }
}

/// A quantity in thousandths, rounded half up; none for what is no quantity or too large.
#[expect(clippy::cast_possible_truncation, reason = "bounded just before")]
pub fn thousandths(number: f64) -> Option<i64> {
    let scaled = (number * 1000.0).round();
    (0.0..=100_000_000.0).contains(&scaled).then_some(scaled as i64)
}

/// What was handed over, as it was written: "20 ml", "2 syringes", "3". None where no number leads.
pub fn handed_over(words: &str) -> Option<(i64, Unit)> {
    let words = words.trim();
    let end = words.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(words.len());
    let (number, unit) = words.split_at(end);
    let quantity = thousandths(number.replace(',', ".").parse().ok()?).filter(|quantity| *quantity > 0)?;
    let unit = unit.split_whitespace().next().unwrap_or_default();
    Some((quantity, if unit.eq_ignore_ascii_case("ml") { Unit::Ml } else { Unit::Each }))
}

/// Hundredths as they are typed: "12.50", "12,5", "12"; at most two places behind the point.
pub fn read_money(typed: &str) -> Option<i64> {
    decimal(typed, 2).filter(|minor| *minor <= HIGHEST)
}

/// Thousandths as they are typed: "1", "0.5", "1,25".
pub fn read_quantity(typed: &str) -> Option<i64> {
    decimal(typed, 3).filter(|quantity| *quantity <= MOST)
}

/// A number with a point or a comma as a whole one, so many places behind the point.
fn decimal(typed: &str, places: usize) -> Option<i64> {
    let typed = typed.trim().replace(',', ".");
    let (whole, rest) = typed.split_once('.').unwrap_or((&typed, ""));
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || whole.len() > 9 || rest.len() > places || !digits(whole) || !digits(rest) {
        return None;
    }
    format!("{whole}{rest:0<places$}").parse().ok()
}

/// "12.50", "-0.05"
pub fn money(minor: i64) -> String {
    let sign = if minor < 0 { "-" } else { "" };
    format!("{sign}{}.{:02}", minor.unsigned_abs() / 100, minor.unsigned_abs() % 100)
}

/// "1", "0.5", "-11.25"
pub fn quantity(thousandths: i64) -> String {
    let sign = if thousandths < 0 { "-" } else { "" };
    let (whole, rest) = (thousandths.unsigned_abs() / 1000, thousandths.unsigned_abs() % 1000);
    let rest = format!("{rest:03}");
    let rest = rest.trim_end_matches('0');
    if rest.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{rest}") }
}
