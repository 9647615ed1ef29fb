//! What each column of a table is, by its heading and else by what stands in it. A proposal: the person says.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::{
    horses::{Known, Sex},
    reasoning::identity,
};

/// Whether a column may be of this field more than once: several phones, an address in parts.
const REPEATED: [&str; 2] = ["phone", "address"];
/// So many cells of a column are looked at, and so large a part of them has to look alike.
const LOOKED_AT: usize = 200;
const MOST_PERCENT: usize = 80;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Data {
    column: Vec<Column>,
    sex: Vec<SexWords>,
}

/// A field that a column can be of.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Column {
    pub field: String,
    pub label: String,
    says: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SexWords {
    says: Vec<String>,
    sex: String,
    neutered: String,
}

static DATA: LazyLock<Data> = LazyLock::new(|| {
    toml::from_str(include_str!("data/columns.toml"))
        .expect("the embedded file cannot change after the build, and the tests load these very bytes")
});

/// Every field, in the order in which it is chosen from.
pub fn all() -> &'static [Column] {
    &DATA.column
}

pub fn is_known(field: &str) -> bool {
    field.is_empty() || DATA.column.iter().any(|column| column.field == field)
}

pub fn label(field: &str) -> &'static str {
    DATA.column.iter().find(|column| column.field == field).map_or("left out", |column| column.label.as_str())
}

/// What a sex is called elsewhere.
pub fn sex(words: &str) -> Option<(Sex, Known)> {
    let words = folded(words);
    let row = DATA.sex.iter().find(|row| row.says.contains(&words))?;
    Some((row.sex.parse().ok()?, row.neutered.parse().ok()?))
}

/// A field for each column, empty for one that is left out.
pub fn propose<'a>(header: &[String], rows: impl Iterator<Item = &'a [String]>) -> Vec<String> {
    let sample: Vec<&[String]> = rows.take(LOOKED_AT).collect();
    let mut taken: Vec<String> = Vec::new();
    for (at, heading) in header.iter().enumerate() {
        let heading = folded(heading);
        let by_heading = DATA.column.iter().find(|column| column.says.contains(&heading));
        let field = match by_heading {
            Some(column) => column.field.as_str(),
            // Our own report names what became of each row.
            None if heading.starts_with("import ") => "",
            None => by_look(sample.iter().filter_map(|row| row.get(at).map(String::as_str))),
        };
        let free = REPEATED.contains(&field) || taken.iter().all(|known| known != field);
        taken.push(if free { field.to_owned() } else { String::new() });
    }
    taken
}

/// Whether a cell looks like a field.
type Look = fn(&str) -> bool;

/// What nearly all cells of a column are by their look; empty when that says nothing.
fn by_look<'a>(cells: impl Iterator<Item = &'a str>) -> &'static str {
    let cells: Vec<&str> = cells.filter(|cell| !cell.is_empty()).collect();
    let looks: [(&str, Look); 4] = [
        ("email", |cell| cell.contains('@') && cell.contains('.') && !cell.contains(' ')),
        ("microchip", |cell| identity::microchip(cell).is_ok()),
        ("ueln", |cell| identity::ueln(cell).is_ok()),
        ("phone", is_phone),
    ];
    let enough =
        |look: Look| cells.iter().filter(|cell| look(cell)).count() * 100 >= cells.len() * MOST_PERCENT;
    looks.into_iter().find(|(_, look)| !cells.is_empty() && enough(*look)).map_or("", |(field, _)| field)
}

fn is_phone(cell: &str) -> bool {
    let digits = cell.chars().filter(char::is_ascii_digit).count();
    let plain = |c: char| c.is_ascii_digit() || matches!(c, ' ' | '+' | '-' | '/' | '(' | ')' | '.');
    (7..=15).contains(&digits) && cell.chars().all(plain) && cell.starts_with(['+', '0', '('])
}

/// In lower case, with signs and blanks as one blank.
pub fn folded(text: &str) -> String {
    let plain: String = text.chars().map(|c| if c.is_alphanumeric() || c == '?' { c } else { ' ' }).collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}
