//! Sheets that are filled in at a visit (`data/procedures.toml`): farriery and joint treatments, with the after-care.

use serde::Deserialize;

use super::{CatalogueError, Choice, Confidence, Table, check::require, files::Reader, row::rows};

const FILE: &str = "procedures.toml";

/// One sheet: farriery or a joint treatment.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    pub code: String,
    pub name: String,
    /// What its printed page is called.
    pub paper: String,
    /// The caution at the point of use.
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// How a field is filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldKind {
    Text,
    Number,
    Choice,
    Date,
}

/// One field of a sheet; its code begins with the sheet's.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Field {
    pub code: String,
    pub sheet: String,
    pub name: String,
    pub kind: FieldKind,
    pub unit: String,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub options: Vec<String>,
    pub needed: bool,
    pub hint: String,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Sheet, Field);

/// Everything of the file.
#[derive(Debug, Default)]
pub struct Procedures {
    pub sheets: Table<Sheet>,
    pub fields: Table<Field>,
    /// What the yard does afterwards, by the name of the procedure.
    pub aftercare: Table<Choice>,
}

impl Procedures {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self {
            sheets: reader.table("sheet")?,
            fields: reader.table("field")?,
            aftercare: reader.table("aftercare")?,
        };
        reader.end()?;
        for row in &read.fields {
            require(read.sheets.get(&row.sheet).is_some(), FILE, &row.code, "names no sheet")?;
            let chooses = row.kind == FieldKind::Choice;
            require(chooses != row.options.is_empty(), FILE, &row.code, "has options, or is no choice")?;
            let bounded = row.low.is_some() && row.high.is_some();
            require(
                bounded == (row.kind == FieldKind::Number),
                FILE,
                &row.code,
                "has bounds, or is no number",
            )?;
        }
        for row in &read.aftercare {
            require(row.text.is_some(), FILE, &row.code, "has no words")?;
        }
        Ok(read)
    }

    /// The fields of a sheet, in their order.
    pub fn of<'a>(&'a self, sheet: &'a str) -> impl Iterator<Item = &'a Field> {
        self.fields.iter().filter(move |row| row.sheet == sheet)
    }
}
