//! A row as one line of JSON, and a line as a row again: every value as it was, to the last bit.

use std::collections::BTreeMap;

use anyhow::{Context, anyhow, bail};
use base64::{Engine, engine::general_purpose::STANDARD as BASE64};
use serde::{Serializer, ser::SerializeMap};
use serde_json::value::RawValue;
use sqlx::{
    Row, Sqlite, ValueRef,
    query::Query,
    sqlite::{SqliteArguments, SqliteRow},
};
use uuid::Uuid;

use super::{schema::Column, words::Kind};

/// The row as JSON with its columns in the order of the table; `first` is where they begin in what was asked for.
pub(super) fn to_line(row: &SqliteRow, columns: &[Column], first: usize) -> anyhow::Result<Vec<u8>> {
    let mut line = Vec::new();
    let mut json = serde_json::Serializer::new(&mut line);
    let mut map = json.serialize_map(Some(columns.len()))?;
    for (at, column) in columns.iter().enumerate() {
        let (at, name) = (first + at, column.name.as_str());
        if row.try_get_raw(at)?.is_null() {
            map.serialize_entry(name, &())?;
            continue;
        }
        match column.kind {
            Kind::Id => map.serialize_entry(name, &row.try_get::<Uuid, _>(at)?.to_string())?,
            Kind::Bytes => map.serialize_entry(name, &BASE64.encode(row.try_get::<&[u8], _>(at)?))?,
            Kind::Instant | Kind::Whole | Kind::Flag => {
                map.serialize_entry(name, &row.try_get::<i64, _>(at)?)?;
            }
            Kind::Number => map.serialize_entry(name, &row.try_get::<f64, _>(at)?)?,
            _ => map.serialize_entry(name, row.try_get::<&str, _>(at)?)?,
        }
    }
    SerializeMap::end(map)?;
    Ok(line)
}

/// A value on its way into the database.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    Empty,
    Whole(i64),
    Number(f64),
    Text(String),
    Bytes(Vec<u8>),
}

impl Cell {
    pub(super) fn bind(
        self,
        query: Query<'_, Sqlite, SqliteArguments>,
    ) -> Query<'_, Sqlite, SqliteArguments> {
        match self {
            Cell::Empty => query.bind(None::<i64>),
            Cell::Whole(number) => query.bind(number),
            Cell::Number(number) => query.bind(number),
            Cell::Text(text) => query.bind(text),
            Cell::Bytes(bytes) => query.bind(bytes),
        }
    }
}

/// The cells of a line in the order of the columns.
///
/// # Errors
/// The line is no JSON, a column is not known or is missing, or a value is not of its kind; each is named.
pub(super) fn from_line(line: &str, columns: &[Column]) -> anyhow::Result<Vec<Cell>> {
    let mut members: BTreeMap<String, &RawValue> =
        serde_json::from_str(line).context("it is no JSON object")?;
    let cells = columns.iter().map(|column| {
        let raw = members.remove(&column.name).ok_or_else(|| anyhow!("{} is missing", column.name))?;
        cell(raw.get(), column.kind).with_context(|| format!("{} cannot be read", column.name))
    });
    let cells = cells.collect::<anyhow::Result<Vec<_>>>()?;
    match members.keys().next() {
        Some(unknown) => bail!("the column {unknown} is not known"),
        None => Ok(cells),
    }
}

fn cell(raw: &str, kind: Kind) -> anyhow::Result<Cell> {
    if raw == "null" {
        return Ok(Cell::Empty);
    }
    let text = || serde_json::from_str::<String>(raw);
    Ok(match kind {
        Kind::Id => Cell::Bytes(Uuid::parse_str(&text()?)?.as_bytes().to_vec()),
        Kind::Bytes => Cell::Bytes(BASE64.decode(text()?)?),
        Kind::Instant | Kind::Whole | Kind::Flag => Cell::Whole(raw.parse()?),
        Kind::Number => Cell::Number(raw.parse()?),
        _ => Cell::Text(text()?),
    })
}
