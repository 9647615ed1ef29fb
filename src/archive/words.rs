//! What tables and columns mean, out of `tables.tsv`.

use std::{collections::HashMap, sync::LazyLock};

const FILE: &str = include_str!("tables.tsv");
/// Stands for any table, and for a table as a whole.
pub(super) const ANY: &str = "*";

/// How a value stands in a row's JSON, and how it is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A number of 16 bytes, written as a UUID.
    Id,
    /// Other bytes, in Base64.
    Bytes,
    /// Milliseconds since 1970 in UTC.
    Instant,
    /// A date of the practice's calendar, YYYY-MM-DD.
    Day,
    /// A whole number.
    Whole,
    /// 0 or 1.
    Flag,
    /// A number with a fraction.
    Number,
    Text,
    /// JSON inside a text.
    Json,
    /// The table itself.
    Table,
    /// Not in an archive; the words say why.
    LeftOut,
    /// A member of an entry's body, or one of its values.
    Part,
}

impl Kind {
    fn of(word: &str) -> Kind {
        match word {
            "id" => Kind::Id,
            "bytes" => Kind::Bytes,
            "instant" => Kind::Instant,
            "day" => Kind::Day,
            "whole" => Kind::Whole,
            "flag" => Kind::Flag,
            "number" => Kind::Number,
            "json" => Kind::Json,
            "table" => Kind::Table,
            "left out" => Kind::LeftOut,
            "member" | "value" => Kind::Part,
            _ => Kind::Text,
        }
    }

    /// What a value of a type of SQLite is where nothing more is known.
    pub(super) fn of_type(sqlite: &str) -> Kind {
        match sqlite.to_ascii_uppercase().as_str() {
            "BLOB" => Kind::Bytes,
            "INTEGER" => Kind::Whole,
            "REAL" => Kind::Number,
            _ => Kind::Text,
        }
    }

    /// As `tables.json` says it.
    pub(super) fn words(self) -> &'static str {
        match self {
            Kind::Id => "id: a UUID in letters",
            Kind::Bytes => "bytes in Base64",
            Kind::Instant => "instant: whole milliseconds since 1970-01-01 00:00 UTC",
            Kind::Day => "day: YYYY-MM-DD in the practice's time zone",
            Kind::Whole => "whole number",
            Kind::Flag => "0 for no, 1 for yes",
            Kind::Number => "number",
            Kind::Json => "JSON inside a text",
            Kind::Text | Kind::Table | Kind::LeftOut | Kind::Part => "text",
        }
    }
}

/// What a column, or a table as a whole, means.
#[derive(Debug, Clone, Copy)]
pub struct Meaning {
    pub kind: Kind,
    pub unit: &'static str,
    pub words: &'static str,
}

type Meanings = HashMap<(&'static str, &'static str), Meaning>;

static KNOWN: LazyLock<Meanings> = LazyLock::new(|| lines().collect());

/// Every line of the file, in its order.
fn lines() -> impl Iterator<Item = ((&'static str, &'static str), Meaning)> {
    FILE.lines().filter(|line| !line.starts_with('#')).skip(1).filter_map(|line| {
        let mut cells = line.split('\t');
        let (table, column) = (cells.next()?, cells.next()?);
        let kind = Kind::of(cells.next()?);
        let (unit, words) = (cells.next()?, cells.next()?);
        Some(((table, column), Meaning { kind, unit, words }))
    })
}

/// What a column means, or with `*` the table; a column that means the same everywhere is found under any table.
pub fn meaning_of(table: &str, column: &str) -> Option<Meaning> {
    let everywhere = || if column == ANY { None } else { KNOWN.get(&(ANY, column)) };
    KNOWN.get(&(table, column)).or_else(everywhere).copied()
}

/// The parts of what is no table of its own: members and kinds of an entry.
pub(super) fn parts_of(what: &str) -> Vec<(&'static str, &'static str)> {
    lines()
        .filter(|((table, _), _)| *table == what)
        .map(|((_, part), meaning)| (part, meaning.words))
        .collect()
}

/// Everything that is left out with its reason: table, column or `*`, reason.
pub(super) fn left_out() -> Vec<(&'static str, &'static str, &'static str)> {
    let out = lines().filter(|(_, meaning)| meaning.kind == Kind::LeftOut);
    out.map(|((table, column), meaning)| (table, column, meaning.words)).collect()
}
