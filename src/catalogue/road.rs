//! How vets get about and how long visits take (`data/road.toml`).

use serde::Deserialize;

use super::{
    CatalogueError, Choice, Confidence, Table,
    check::{known, require},
    files::Reader,
    row::rows,
};

const FILE: &str = "road.toml";

/// A number of the road that the practice may replace by its own.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RoadFigure {
    pub code: String,
    pub name: String,
    pub value: f64,
    pub unit: String,
    pub least: f64,
    pub most: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// What a visit is for: how long it takes, and what it cannot do without.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VisitKind {
    pub code: String,
    pub name: String,
    pub minutes: i32,
    /// Codes of equipment.
    #[serde(default)]
    pub needs: Vec<String>,
    /// Only done in the clinic.
    #[serde(default)]
    pub clinic: bool,
    pub source: String,
    pub confidence: Confidence,
}

rows!(RoadFigure, VisitKind);

/// Everything about roads and times.
#[derive(Debug, Default)]
pub struct Road {
    pub figures: Table<RoadFigure>,
    pub kinds: Table<VisitKind>,
    /// What a vehicle may carry.
    pub equipment: Table<Choice>,
}

/// How long a visit may take, in minutes.
const VISIT_MINUTES: std::ops::RangeInclusive<i32> = 5..=720;

impl Road {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let (mut figures, kinds): (Vec<RoadFigure>, Table<VisitKind>) =
            (reader.rows("figure")?, reader.table("kind")?);
        figures.extend(kinds.iter().map(VisitKind::minutes_figure));
        let read = Self { figures: Table::new(FILE, figures)?, kinds, equipment: reader.table("equipment")? };
        reader.end()?;
        for row in &read.figures {
            require(
                row.least <= row.value && row.value <= row.most,
                FILE,
                &row.code,
                "lies outside its bounds",
            )?;
        }
        for kind in &read.kinds {
            require(VISIT_MINUTES.contains(&kind.minutes), FILE, &kind.code, "takes no possible time")?;
            known(FILE, &kind.code, &read.equipment, &kind.needs)?;
        }
        Ok(read)
    }

    /// The shipped value of a figure; 0 for one that is not there, which the tests refuse.
    pub fn value(&self, code: &str) -> f64 {
        self.figures.get(code).map_or(0.0, |row| row.value)
    }
}

impl VisitKind {
    /// The code of its minutes among the figures.
    pub fn minutes_code(&self) -> String {
        format!("minutes_{}", self.code)
    }

    /// Its minutes as a number that the practice may replace.
    fn minutes_figure(&self) -> RoadFigure {
        RoadFigure {
            code: self.minutes_code(),
            name: format!("Time for: {}", self.name),
            value: f64::from(self.minutes),
            unit: "min".to_owned(),
            least: f64::from(*VISIT_MINUTES.start()),
            most: f64::from(*VISIT_MINUTES.end()),
            source: self.source.clone(),
            confidence: self.confidence.clone(),
        }
    }
}

impl RoadFigure {
    /// With its unit.
    pub fn shown(&self, value: f64) -> String {
        if self.unit.is_empty() { value.to_string() } else { format!("{value} {}", self.unit) }
    }
}
