//! The vocabulary of the line reader (`data/words/*.tsv`): which words mean what. One row holds one meaning and all
//! the words for it, so that a new synonym is one more word in a row.
//!
//! [`Meaning`] is the small language of the first column, which `read` reads; [`Spot`] (`data/words/spots.toml`) are
//! words that cover several places. A practice may add rows of its own: [`Words::read`] reads the same two columns from
//! anywhere.

mod meaning;
mod read;
mod spots;

pub use meaning::{Ground, Meaning, Move, Outcome, Unit};
pub use spots::{Flexes, Spot};

use super::{Catalogue, CatalogueError, Confidence, Table, files::Files};

/// One meaning and every word for it.
#[derive(Debug)]
pub struct Word {
    pub means: Meaning,
    pub says: Vec<String>,
    /// The file it stands in, for a reader of the vocabulary.
    pub file: &'static str,
    pub source: String,
    pub confidence: Confidence,
}

/// The whole vocabulary, in the order of its files.
#[derive(Debug, Default)]
pub struct Words {
    pub spots: Table<Spot>,
    pub rows: Vec<Word>,
    /// Everyday words that look like words of the trade and are never taken for one.
    pub plain: Vec<String>,
    /// Short words of the trade that are said in every line, so that one slip in them is put right too.
    pub short: Vec<String>,
    /// A word and its short forms, which are one and the same in every phrase.
    pub alike: Vec<Vec<String>>,
    /// Words before "one" that point at something and count nothing.
    pub pointing: Vec<String>,
}

impl Words {
    /// Reads every file and checks that each code it names exists.
    pub(super) fn read(files: &Files, catalogue: &Catalogue) -> Result<Self, CatalogueError> {
        let spots = super::files::single("words/spots.toml", &files.spots, "spot")?;
        spots.iter().try_for_each(|spot| spots::check(catalogue, spot))?;
        let (plain, short) = (listed(&files.plain), listed(&files.short));
        let alike = entries(&files.alike).map(|line| line.split_whitespace().map(str::to_owned).collect());
        let (alike, pointing) = (alike.collect(), listed(&files.pointing));
        let mut words = Self { spots, rows: Vec::new(), plain, short, alike, pointing };
        for (file, text) in &files.words {
            for line in text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty()).skip(1)
            {
                let row = words.row(file, line, catalogue)?;
                words.rows.push(row);
            }
        }
        Ok(words)
    }

    fn row(&self, file: &'static str, line: &str, catalogue: &Catalogue) -> Result<Word, CatalogueError> {
        let refused = |what: &str| CatalogueError::row(file, line, what);
        let mut cells = line.split('\t');
        let (Some(means), Some(says), Some(source), Some(confidence), None) =
            (cells.next(), cells.next(), cells.next(), cells.next(), cells.next())
        else {
            return Err(refused("is not a meaning, words, a source and a confidence"));
        };
        if source.trim().is_empty() {
            return Err(refused("has no source"));
        }
        let says: Vec<String> =
            says.split(';').map(str::trim).filter(|word| !word.is_empty()).map(str::to_owned).collect();
        if says.is_empty() {
            return Err(refused("has no words"));
        }
        Ok(Word {
            means: self.meaning(means, catalogue).map_err(|what| refused(&what))?,
            says,
            file,
            source: source.to_owned(),
            confidence: confidence.to_owned().try_into().map_err(|what: String| refused(&what))?,
        })
    }

    /// Reads a meaning as the first column writes it: `finding:EFF`, `spot:hock`, `grade:3/4`.
    ///
    /// # Errors
    /// Says in words what cannot be read, or which code does not exist.
    pub fn meaning(&self, text: &str, catalogue: &Catalogue) -> Result<Meaning, String> {
        read::read(text.trim(), self, catalogue)
    }
}

/// The words of a mere list.
fn listed(text: &str) -> Vec<String> {
    entries(text).flat_map(str::split_whitespace).map(str::to_owned).collect()
}

/// The lines that are no comments.
fn entries(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter(|line| !line.starts_with('#'))
}
