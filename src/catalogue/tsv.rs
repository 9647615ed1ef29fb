//! Tab-separated files: `#` lines are words about the file, the first other line names the columns, the last two
//! columns are source and confidence.

use super::{CatalogueError, Confidence, Pair, Row, Table};

/// One line of a file: its cells by column.
pub(super) struct Line<'t> {
    file: &'static str,
    pub(super) columns: &'t [&'t str],
    pub(super) cells: Vec<&'t str>,
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

    pub(super) fn number(&self, column: &str) -> Result<f64, CatalogueError> {
        self.text(column)?.parse().map_err(|_| self.refused(&format!("has no number for `{column}`")))
    }

    /// The codes of a cell; none for `-`.
    pub(super) fn codes(&self, column: &str) -> Result<Vec<String>, CatalogueError> {
        let words = self.text(column)?.split_whitespace().filter(|word| *word != "-");
        Ok(words.map(str::to_owned).collect())
    }

    /// The text of a cell; none for `-`.
    pub(super) fn maybe(&self, column: &str) -> Result<Option<String>, CatalogueError> {
        let text = self.text(column)?;
        Ok((text != "-").then(|| text.to_owned()))
    }

    /// The number of a cell; none for `-`.
    pub(super) fn maybe_number(&self, column: &str) -> Result<Option<f64>, CatalogueError> {
        if self.maybe(column)?.is_some() { Ok(Some(self.number(column)?)) } else { Ok(None) }
    }

    pub(super) fn confidence(&self) -> Result<Confidence, CatalogueError> {
        Confidence::try_from(self.text("confidence")?.to_owned()).map_err(|error| self.refused(&error))
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
}

/// The rows of a file, each read from its line.
pub(super) fn table<T: Row>(
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
