//! What the page of a bone scan offers (`data/diagnostics/scintigraphy.toml`).

use serde::Deserialize;

use crate::catalogue::{CatalogueError, Confidence, Files, Table, files::Reader, row::rows};

/// What carries the nuclide to the bone.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Agent {
    pub code: String,
    pub name: String,
    pub nuclide: String,
    pub source: String,
    pub confidence: Confidence,
}

/// Where on the horse a dose rate is measured.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Point {
    pub code: String,
    pub name: String,
    /// When it is the hottest.
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// A grade of uptake by eye; the code is its number.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UptakeGrade {
    pub code: String,
    pub name: String,
    pub source: String,
    pub confidence: Confidence,
}

/// Terms of a licence seen elsewhere: an example to read, never a default.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Convention {
    pub code: String,
    pub name: String,
    pub source: String,
    pub confidence: Confidence,
}

/// All of them.
#[derive(Clone, Debug, Default)]
pub struct Scintigraphy {
    pub agents: Table<Agent>,
    pub points: Table<Point>,
    pub grades: Table<UptakeGrade>,
    pub conventions: Table<Convention>,
}

impl Scintigraphy {
    pub(super) fn read(files: &Files) -> Result<Self, CatalogueError> {
        let name = "diagnostics/scintigraphy.toml";
        let mut file = Reader::new(name, files.diagnostics("scintigraphy.toml"))?;
        let read = Self {
            agents: file.table("agent")?,
            points: file.table("point")?,
            grades: file.table("uptake")?,
            conventions: file.table("convention")?,
        };
        file.end()?;
        Ok(read)
    }
}

rows!(Agent, Point, UptakeGrade, Convention);
