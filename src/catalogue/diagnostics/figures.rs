//! The numbers behind the calculators: half-lives, classes, what is measured on a foot, and the references that a
//! result is shown beside.

use serde::Deserialize;

use crate::catalogue::{
    CatalogueError, Confidence, Files, Table,
    check::{known, require},
    files::Reader,
    row::rows,
    tsv::{Line, table},
};

/// A half-life as one table of nuclear data has it. The code is the nuclide's own name for the default.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HalfLife {
    pub code: String,
    pub nuclide: String,
    /// Hours.
    pub hours: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// A factor of the reckoning.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Constant {
    pub code: String,
    pub name: String,
    pub is: f64,
    pub unit: String,
    pub source: String,
    pub confidence: Confidence,
}

/// A class of a lesion, up to and with a share of the tendon.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SeverityClass {
    pub code: String,
    pub at_most_pct: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// A point marked on a radiograph of the foot.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoofPoint {
    pub code: String,
    /// `LM`, `DPa` or `both`.
    pub view: String,
    pub name: String,
    pub source: String,
    pub confidence: Confidence,
}

/// What is measured on a radiograph of the foot.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoofMeasure {
    /// With its unit, as it is called in JSON.
    pub code: String,
    pub view: String,
    /// The points that it needs.
    pub points: Vec<String>,
    /// As a table has it.
    pub label: String,
    /// What it is, point by point.
    pub name: String,
    pub unit: String,
    pub source: String,
    pub confidence: Confidence,
}

/// How the proximal limit of the dorsal wall was seen.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WallMark {
    pub code: String,
    pub name: String,
    pub source: String,
    pub confidence: Confidence,
}

/// A scale on which a zone of a tendon is scored.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ScoreScale {
    pub code: String,
    pub name: String,
    /// The words of 0, 1, 2 and so on.
    pub steps: Vec<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// A published value, or a threshold of practice, that a result is shown beside.
#[derive(Clone, Debug)]
pub struct Reference {
    pub code: String,
    /// What it is of, as the calculators call it.
    pub measure: String,
    pub value: Option<f64>,
    /// Standard deviation.
    pub spread: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: String,
    pub population: Option<String>,
    /// What value and limits are: mean and SD, range, a working band.
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

impl Reference {
    fn read(line: &Line<'_>) -> Result<Self, CatalogueError> {
        Ok(Self {
            code: line.text("code")?.to_owned(),
            measure: line.text("measure")?.to_owned(),
            value: line.maybe_number("value")?,
            spread: line.maybe_number("spread")?,
            low: line.maybe_number("low")?,
            high: line.maybe_number("high")?,
            unit: line.text("unit")?.to_owned(),
            population: line.maybe("population")?,
            text: line.text("text")?.to_owned(),
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    }

    /// As it stands beside a result, never as a diagnosis: "51.8 ± 3.9 deg, forelimb: mean and SD (source)".
    pub fn words(&self) -> String {
        let value = self.value.map(short);
        let spread = self.spread.map(|spread| format!("± {}", short(spread)));
        let limits = match (self.low, self.high) {
            (Some(low), Some(high)) => Some(format!("{} to {}", short(low), short(high))),
            (Some(low), None) => Some(format!("from {}", short(low))),
            (None, Some(high)) => Some(format!("to {}", short(high))),
            (None, None) => None,
        };
        let limits = limits.map(|limits| if value.is_some() { format!("({limits})") } else { limits });
        let unit = Some(self.unit.clone()).filter(|unit| unit != "ratio");
        let numbers = [value, spread, limits, unit].into_iter().flatten().collect::<Vec<_>>().join(" ");
        let who = self.population.as_deref().map(|who| format!(", {who}")).unwrap_or_default();
        format!("{numbers}{who}: {} ({}; {})", self.text, self.source, self.confidence.words())
    }
}

/// A number as a person writes it in a table: at most two decimals, none that say nothing.
pub fn short(number: f64) -> String {
    let text = format!("{number:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// All of them.
#[derive(Clone, Debug, Default)]
pub struct Figures {
    pub half_lives: Table<HalfLife>,
    pub constants: Table<Constant>,
    /// Best first.
    pub severities: Table<SeverityClass>,
    pub scores: Table<ScoreScale>,
    pub hoof_points: Table<HoofPoint>,
    pub hoof_measures: Table<HoofMeasure>,
    pub wall_marks: Table<WallMark>,
    pub references: Table<Reference>,
}

impl Figures {
    pub(super) fn read(files: &Files) -> Result<Self, CatalogueError> {
        let mut decay = Reader::new("diagnostics/decay.toml", files.diagnostics("decay.toml"))?;
        let mut hoof = Reader::new("diagnostics/hoof.toml", files.diagnostics("hoof.toml"))?;
        let mut tendon = Reader::new("diagnostics/tendon.toml", files.diagnostics("tendon.toml"))?;
        let references = files.diagnostics("references.tsv");
        let read = Self {
            half_lives: decay.table("half_life")?,
            constants: decay.table("constant")?,
            severities: tendon.table("severity")?,
            scores: tendon.table("score")?,
            hoof_points: hoof.table("point")?,
            hoof_measures: hoof.table("measure")?,
            wall_marks: hoof.table("wall_mark")?,
            references: table("diagnostics/references.tsv", references, Reference::read)?,
        };
        decay.end()?;
        hoof.end()?;
        tendon.end()?;
        read.check()?;
        Ok(read)
    }

    /// What a result of this measure is shown beside.
    pub fn references_of(&self, measure: &str) -> impl Iterator<Item = &Reference> {
        self.references.iter().filter(move |row| row.measure == measure)
    }

    /// A factor by its code; the check at reading sees to it that those in use are there.
    pub fn constant(&self, code: &str) -> f64 {
        self.constants.get(code).map_or(f64::NAN, |row| row.is)
    }

    fn check(&self) -> Result<(), CatalogueError> {
        let file = "diagnostics/decay.toml";
        for row in &self.half_lives {
            let positive = row.hours > 0.0 && row.hours.is_finite();
            require(positive, file, &row.code, "has no half-life")?;
            known(file, &row.code, &self.half_lives, [&row.nuclide])?;
        }
        for code in ["mbq_per_mci", "usv_per_mr", "bedding_half_lives"] {
            require(self.constants.get(code).is_some(), file, code, "is missing")?;
        }
        let rising = self.severities.windows(2).all(|pair| pair[0].at_most_pct < pair[1].at_most_pct);
        let whole = self.severities.last().is_some_and(|row| row.at_most_pct >= 100.0);
        require(rising && whole, "diagnostics/tendon.toml", "severity", "does not rise to 100 %")?;
        for row in &self.hoof_measures {
            known("diagnostics/hoof.toml", &row.code, &self.hoof_points, &row.points)?;
        }
        for row in &self.references {
            let says = [row.value, row.low, row.high].iter().any(Option::is_some);
            require(says, "diagnostics/references.tsv", &row.code, "has neither a value nor a limit")?;
        }
        Ok(())
    }
}

rows!(HalfLife, Constant, SeverityClass, ScoreScale, HoofPoint, HoofMeasure, WallMark, Reference);
