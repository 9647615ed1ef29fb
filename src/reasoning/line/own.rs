//! A practice's own words: what its people say for a thing that the vocabulary knows by another word.

use crate::catalogue::{Catalogue, words::Meaning};

/// A practice's own word for something: `says` as its people say it, `means` as the vocabulary writes it
/// (`finding:EFF`), or a word of the vocabulary that it stands for ("effusion").
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PracticeWord {
    pub says: String,
    pub means: String,
}

/// Why a practice's word cannot be used.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
pub enum WordError {
    #[error("`{0}` is no word: it needs two letters at least.")]
    NoWord(String),
    #[error("`{0}` is an everyday word: it would be found where nothing of the trade is meant.")]
    Everyday(String),
    #[error("`{says}` is read already, as {known}.")]
    Known { says: String, known: String },
    #[error("`{means}` is no word that the reader knows: {why}.")]
    Unknown { means: String, why: String },
}

impl PracticeWord {
    /// What it stands for.
    ///
    /// # Errors
    /// A word without two letters, or one that stands for nothing the vocabulary knows.
    pub fn meaning(&self, catalogue: &Catalogue) -> Result<Meaning, WordError> {
        if self.says.chars().filter(|c| c.is_alphabetic()).count() < 2 {
            return Err(WordError::NoWord(self.says.clone()));
        }
        let means = plain(&self.means);
        if let Some(row) =
            catalogue.words.rows.iter().find(|row| row.says.iter().any(|says| plain(says) == means))
        {
            return Ok(row.means.clone());
        }
        let unknown = |why| WordError::Unknown { means: self.means.clone(), why };
        catalogue.words.meaning(&self.means, catalogue).map_err(unknown)
    }

    /// Whether it may stand beside the vocabulary: no word is ever to mean two things.
    ///
    /// # Errors
    /// As [`meaning`](Self::meaning), and a word that the vocabulary reads already, or that everybody says all day.
    pub fn check(&self, catalogue: &Catalogue) -> Result<(), WordError> {
        self.meaning(catalogue)?;
        let says = plain(&self.says);
        if let Some(row) =
            catalogue.words.rows.iter().find(|row| row.says.iter().any(|word| plain(word) == says))
        {
            let known = row.says.iter().find(|word| plain(word) != says).unwrap_or(&row.says[0]);
            return Err(WordError::Known { says: self.says.clone(), known: known.clone() });
        }
        if catalogue.words.plain.iter().any(|word| plain(word) == says) {
            return Err(WordError::Everyday(self.says.clone()));
        }
        Ok(())
    }
}

/// Words as they are compared: without regard to case and spaces.
fn plain(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}
