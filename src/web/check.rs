//! From what was typed to what is meant: reads each field, and collects all that is wrong by field.

use std::{fmt::Display, ops::RangeInclusive, str::FromStr};

use crate::clock::Day;

/// What is wrong with a form: field and sentence, in the order of the form; field `""` means the whole form.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Errors(Vec<(String, String)>);

impl Errors {
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn all(&self) -> &[(String, String)] {
        &self.0
    }

    /// The first sentence about a field.
    pub fn on(&self, field: &str) -> Option<&str> {
        self.0.iter().find(|(f, _)| f == field).map(|(_, sentence)| sentence.as_str())
    }

    pub fn add(&mut self, field: &str, sentence: impl Into<String>) {
        self.0.push((field.to_owned(), sentence.into()));
    }

    /// With what another part of the same form has wrong.
    #[must_use]
    pub fn and(mut self, more: Errors) -> Self {
        self.0.extend(more.0);
        self
    }

    /// A form with one thing wrong.
    pub fn one(field: &str, sentence: impl Into<String>) -> Self {
        Errors(vec![(field.to_owned(), sentence.into())])
    }
}

/// Reads the fields of one form.
///
/// Each reader gives what was meant, or a harmless stand-in and an error on the field; [`done`](Check::done) says
/// whether the stand-ins may be used.
#[derive(Debug, Default)]
pub struct Check {
    pub errors: Errors,
}

impl Check {
    pub fn new() -> Self {
        Self::default()
    }

    /// One line, may be empty.
    pub fn line(&mut self, field: &str, typed: &str, longest: usize) -> String {
        let text = typed.trim();
        if text.chars().any(char::is_control) {
            self.errors.add(field, "This holds a character that cannot be printed. Type it again.");
        } else if text.chars().count() > longest {
            self.errors.add(field, format!("This is too long: {longest} characters at most."));
        } else {
            return text.to_owned();
        }
        String::new()
    }

    /// One line that must not be empty; `missing` says what to enter.
    pub fn needed(&mut self, field: &str, typed: &str, longest: usize, missing: &str) -> String {
        if typed.trim().is_empty() {
            self.errors.add(field, missing);
            return String::new();
        }
        self.line(field, typed, longest)
    }

    /// Several lines, may be empty.
    pub fn words(&mut self, field: &str, typed: &str, longest: usize) -> String {
        let text = typed.trim().replace("\r\n", "\n");
        if text.chars().any(|c| c.is_control() && c != '\n' && c != '\t') {
            self.errors.add(field, "This holds a character that cannot be printed. Type it again.");
        } else if text.chars().count() > longest {
            self.errors.add(field, format!("This is too long: {longest} characters at most."));
        } else {
            return text;
        }
        String::new()
    }

    /// Several lines that must not be empty.
    pub fn needed_words(&mut self, field: &str, typed: &str, longest: usize, missing: &str) -> String {
        if typed.trim().is_empty() {
            self.errors.add(field, missing);
            return String::new();
        }
        self.words(field, typed, longest)
    }

    /// A number in `unit`, with point or comma, the unit allowed behind it; empty is `None`.
    pub fn number(
        &mut self,
        field: &str,
        typed: &str,
        range: RangeInclusive<f64>,
        unit: &str,
    ) -> Option<f64> {
        let text = typed.trim();
        if text.is_empty() {
            return None;
        }
        let bare = text.strip_suffix(unit).unwrap_or(text).trim().replace(',', ".");
        match bare.parse::<f64>() {
            Ok(n) if range.contains(&n) => return Some(n),
            Ok(_) => self.errors.add(
                field,
                format!("Enter a number from {} to {} {unit}.", range.start(), range.end())
                    .replace(" .", "."),
            ),
            Err(_) => self.errors.add(field, "Enter this as a number, such as 38.2."),
        }
        None
    }

    /// A date as typed: `2026-03-12`, `12.3.2026`, `12/3/2026`, `12 Mar 2026`; empty is `None`.
    pub fn day(&mut self, field: &str, typed: &str) -> Option<Day> {
        let text = typed.trim();
        if text.is_empty() {
            return None;
        }
        let day = read_day(text);
        if day.is_none() {
            self.errors.add(field, "Enter a date that exists, such as 12 Mar 2026 or 2026-03-12.");
        }
        day
    }

    /// A time on the wall clock as typed: `7:05`, `07.05`, `0705`, `7`.
    pub fn time(&mut self, field: &str, typed: &str) -> Option<(i8, i8)> {
        let time = read_time(typed.trim());
        if time.is_none() {
            self.errors.add(field, "Enter a time such as 9:30.");
        }
        time
    }

    /// One of the choices of a list; empty or unknown is an error that says `missing`.
    pub fn choice<T: FromStr>(&mut self, field: &str, picked: &str, missing: &str) -> Option<T> {
        let value = picked.trim().parse().ok();
        if value.is_none() {
            self.errors.add(field, missing);
        }
        value
    }

    /// One of the choices of a list; empty is `None`.
    pub fn maybe_choice<T: FromStr>(&mut self, field: &str, picked: &str) -> Option<T> {
        if picked.trim().is_empty() { None } else { self.choice(field, picked, "Choose one of the list.") }
    }

    /// `value` when nothing was wrong.
    pub fn done<T>(self, value: T) -> Result<T, Errors> {
        if self.errors.is_empty() { Ok(value) } else { Err(self.errors) }
    }
}

fn read_day(text: &str) -> Option<Day> {
    if let Ok(day) = text.parse::<Day>() {
        return in_reach(day);
    }
    let parts: Vec<&str> = text.split(['.', '/', '-', ' ', ',']).filter(|p| !p.is_empty()).collect();
    let &[day, month, year] = parts.as_slice() else { return None };
    let month = month.parse::<i8>().ok().or_else(|| month_by_name(month))?;
    let date = jiff::civil::Date::new(year.parse().ok()?, month, day.parse().ok()?).ok()?;
    in_reach(Day(date))
}

/// A mistyped year is not a date: nothing in a practice lies before 1900 or after 2200.
fn in_reach(day: Day) -> Option<Day> {
    (1900..2200).contains(&day.0.year()).then_some(day)
}

fn month_by_name(name: &str) -> Option<i8> {
    const MONTHS: [&str; 12] =
        ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let name = name.to_lowercase();
    let at = MONTHS.iter().position(|m| name.starts_with(m))?;
    i8::try_from(at + 1).ok()
}

fn read_time(text: &str) -> Option<(i8, i8)> {
    let (hour, minute) = match text.split_once([':', '.', 'h']) {
        Some((h, m)) => (h.trim(), if m.trim().is_empty() { "0" } else { m.trim() }),
        None if text.len() > 2 && text.is_char_boundary(text.len() - 2) => text.split_at(text.len() - 2),
        None => (text, "0"),
    };
    let (hour, minute) = (hour.parse().ok()?, minute.parse().ok()?);
    ((0..24).contains(&hour) && (0..60).contains(&minute)).then_some((hour, minute))
}

/// Shows a value or nothing, for form fields.
pub fn shown<T: Display>(value: Option<T>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}
