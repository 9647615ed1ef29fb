//! The report of an import as a table: the rows as they came, and what became of each. Corrected, it can be brought in
//! again: its own columns are known and left out.

use super::store::{Import, Row};
use crate::exports::safe;

/// Headings of the columns that the report adds; a column whose heading begins so is never taken for a field.
const ADDED: [&str; 3] = ["Import row", "Import result", "Import says"];

/// # Errors
/// None that a table in memory can have.
pub(super) fn csv(import: &Import, rows: &[Row]) -> anyhow::Result<Vec<u8>> {
    let mut out = csv::Writer::from_writer(Vec::new());
    let header = import.header.iter().map(|name| safe::cell(name).into_owned());
    out.write_record(header.chain(ADDED.map(str::to_owned)))?;
    for row in rows {
        let number = row.line.to_string();
        let faults = row.faults();
        let (result, said) = match row.result.as_str() {
            "" if row.is_wrong() => ("wrong", faults.as_str()),
            "" => ("not yet", row.why.as_str()),
            result => (words(result), row.said.as_str()),
        };
        let added = [number.as_str(), result, said];
        let cells = row.cells.iter().map(String::as_str).chain(added);
        out.write_record(cells.map(|cell| safe::cell(cell).into_owned()))?;
    }
    Ok(out.into_inner()?)
}

/// A result as people read it.
pub(super) fn words(result: &str) -> &str {
    match result {
        "there" => "here already",
        "left" => "left out",
        other => other,
    }
}
