//! Tab-separated files: `#` lines are words about the file, the first other line names the columns, the last two
//! columns are source and confidence.

use std::collections::HashMap;

use super::rows::{Clock, MatrixRow, Structure};
use crate::catalogue::{CatalogueError, Confidence, Pair, Row, Table};

/// One line of a file: its cells by column.
struct Line<'t> {
    file: &'static str,
    columns: &'t [&'t str],
    cells: Vec<&'t str>,
}

impl<'t> Line<'t> {
    fn refused(&self, what: &str) -> CatalogueError {
        CatalogueError::row(self.file, self.cells.first().copied().unwrap_or_default(), what)
    }

    fn text(&self, column: &str) -> Result<&'t str, CatalogueError> {
        let place = self.columns.iter().position(|name| *name == column);
        place
            .and_then(|place| self.cells.get(place).copied())
            .ok_or_else(|| self.refused(&format!("has no `{column}`")))
    }

    fn number(&self, column: &str) -> Result<f64, CatalogueError> {
        self.text(column)?.parse().map_err(|_| self.refused(&format!("has no number for `{column}`")))
    }

    fn confidence(&self) -> Result<Confidence, CatalogueError> {
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
            limbs: match line.text("limbs")? {
                "both" => vec![Pair::Fore, Pair::Hind],
                "fore" => vec![Pair::Fore],
                "hind" => vec![Pair::Hind],
                _ => return Err(line.refused("is on no pair of limbs")),
            },
            is_check_site: line.text("is")? == "check",
            imaging: line
                .text("imaging")?
                .split_whitespace()
                .filter(|set| *set != "-")
                .map(str::to_owned)
                .collect(),
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    })
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
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    })
}
