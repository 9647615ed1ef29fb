//! Tab-separated files: `#` lines are words about the file, the first other line names the columns, the last two
//! columns are source and confidence.

use std::collections::HashMap;

use super::{
    beside::Differential,
    rows::{Clock, MatrixRow, Structure},
};
use crate::catalogue::{CatalogueError, Confidence, Pair, Row, Table};

/// One line of a file: its cells by column.
pub(super) struct Line<'t> {
    file: &'static str,
    columns: &'t [&'t str],
    cells: Vec<&'t str>,
}

impl<'t> Line<'t> {
    pub(super) fn refused(&self, what: &str) -> CatalogueError {
        CatalogueError::row(self.file, self.cells.first().copied().unwrap_or_default(), what)
    }

    pub(super) fn text(&self, column: &str) -> Result<&'t str, CatalogueError> {
        let place = self.columns.iter().position(|name| *name == column);
        place
            .and_then(|place| self.cells.get(place).copied())
            .ok_or_else(|| self.refused(&format!("has no `{column}`")))
    }

    fn number(&self, column: &str) -> Result<f64, CatalogueError> {
        self.text(column)?.parse().map_err(|_| self.refused(&format!("has no number for `{column}`")))
    }

    /// The codes of a cell; none for `-`.
    pub(super) fn codes(&self, column: &str) -> Result<Vec<String>, CatalogueError> {
        let words = self.text(column)?.split_whitespace().filter(|word| *word != "-");
        Ok(words.map(str::to_owned).collect())
    }

    /// The pairs of limbs of the column `limbs`.
    pub(super) fn pairs(&self) -> Result<Vec<Pair>, CatalogueError> {
        match self.text("limbs")? {
            "both" => Ok(vec![Pair::Fore, Pair::Hind]),
            "fore" => Ok(vec![Pair::Fore]),
            "hind" => Ok(vec![Pair::Hind]),
            _ => Err(self.refused("is on no pair of limbs")),
        }
    }

    pub(super) fn confidence(&self) -> Result<Confidence, CatalogueError> {
        Confidence::try_from(self.text("confidence")?.to_owned()).map_err(|error| self.refused(&error))
    }
}

fn table<T: Row>(
    file: &'static str,
    text: &str,
    read: impl Fn(&Line<'_>) -> Result<T, CatalogueError>,
) -> Result<Table<T>, CatalogueError> {
    let mut lines = text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty());
    let columns: Vec<&str> = lines.next().unwrap_or_default().split('\t').collect();
    let rows: Result<Vec<T>, _> = lines
        .map(|text| {
            let line = Line { file, columns: &columns, cells: text.split('\t').collect() };
            if line.cells.len() == columns.len() {
                read(&line)
            } else {
                Err(line.refused("has not one cell a column"))
            }
        })
        .collect();
    Table::new(file, rows?)
}

pub(super) fn structures(file: &'static str, text: &str) -> Result<Table<Structure>, CatalogueError> {
    table(file, text, |line| {
        let part = line.text("part")?;
        let (fore, hind) = part.split_once('|').unwrap_or((part, part));
        Ok(Structure {
            code: line.text("code")?.to_owned(),
            name: line.text("name")?.to_owned(),
            part: (fore.to_owned(), hind.to_owned()),
            limbs: line.pairs()?,
            is_check_site: line.text("is")? == "check",
            imaging: line.codes("imaging")?,
            regions: line.codes("regions")?,
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    })
}

pub(super) fn differentials(file: &'static str, text: &str) -> Result<Table<Differential>, CatalogueError> {
    table(file, text, Differential::read)
}

pub(super) fn clock(file: &'static str, text: &str) -> Result<Table<Clock>, CatalogueError> {
    table(file, text, |line| {
        Ok(Clock {
            code: line.text("code")?.to_owned(),
            assess_min: line.number("assess_min")?,
            again_min: line.number("again_min")?,
            late_min: line.number("late_min")?,
            ml_least: line.number("ml_least")?,
            ml_most: line.number("ml_most")?,
            sites: line.number("sites")?,
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    })
}

pub(super) fn matrix(file: &'static str, text: &str) -> Result<Table<MatrixRow>, CatalogueError> {
    table(file, text, |line| {
        let is_block = |column: &str| !matches!(column, "structure" | "source" | "confidence");
        let letters: HashMap<String, String> = line
            .columns
            .iter()
            .zip(&line.cells)
            .filter(|(column, _)| is_block(column))
            .map(|(column, letter)| ((*column).to_owned(), (*letter).to_owned()))
            .collect();
        Ok(MatrixRow {
            code: line.text("structure")?.to_owned(),
            letters,
            own: HashMap::new(),
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    })
}
