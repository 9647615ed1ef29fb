//! The line reader: what a veterinarian says or types in one line, as rows of the examination.
//!
//! A line is cut into [`token`]s, those are put together into [`piece`]s by the catalogue's vocabulary, corrections
//! are applied ([`correct`]), the pieces are parted by what they speak of ([`parts`]), and each part is read by its
//! own rules: [`hands`] for what hands find, [`gait`], [`flexion`], [`blocks`], [`vitals`]. What a place carries on
//! to, and which of several places a word means, is [`place`]'s. Whatever was not read stays in `unread`, whatever
//! could be two things is asked: [`cover`] sees to it that no character of the line is lost. [`own`] are the words
//! that a practice adds.

mod blocks;
mod condition;
mod correct;
mod cover;
mod flexion;
mod gait;
mod graded;
mod hands;
mod heard;
mod numbers;
mod own;
mod parts;
mod phrase;
mod piece;
mod place;
mod reading;
mod rows;
mod scene;
mod signs;
mod spell;
mod token;
mod vitals;
mod vocabulary;

use crate::catalogue::{Catalogue, words::Meaning};

pub use own::{PracticeWord, WordError};
pub use reading::{Answer, Ask, Block, Choice, Examined, Finding, Flexion, Gait, Reading, Vital};
use scene::Scene;
use vocabulary::Vocabulary;

/// Longer lines are not read: nobody says that much in one breath.
const LONGEST_LINE: usize = 4000;

/// The vocabulary made ready, once, for any number of lines.
#[derive(Debug)]
pub struct Reader {
    vocabulary: Vocabulary,
}

impl Reader {
    /// A reader of the catalogue's vocabulary and a practice's own words, which stand before the catalogue's.
    pub fn new(catalogue: &'static Catalogue, own: &[PracticeWord]) -> Result<Self, WordError> {
        let own: Result<Vec<(&str, Meaning)>, WordError> =
            own.iter().map(|word| Ok((word.says.trim(), word.meaning(catalogue)?))).collect();
        Ok(Self::with(catalogue, own?))
    }

    /// A reader of the catalogue's vocabulary alone.
    pub fn shipped(catalogue: &'static Catalogue) -> Self {
        Self::with(catalogue, Vec::new())
    }

    fn with(catalogue: &'static Catalogue, own: Vec<(&str, Meaning)>) -> Self {
        let shipped = catalogue
            .words
            .rows
            .iter()
            .flat_map(|row| row.says.iter().map(|says| (says.as_str(), row.means.clone())));
        Self { vocabulary: Vocabulary::new(own.into_iter().chain(shipped), &catalogue.words) }
    }

    /// Reads one line. Pure: the same line is always read the same.
    pub fn read(&self, line: &str) -> Reading {
        if line.len() > LONGEST_LINE {
            return Reading { line: line.to_owned(), unread: line.trim().to_owned(), ..Reading::default() };
        }
        Scene::new(line, &self.vocabulary).read()
    }

    /// The vocabulary's word that an unknown word is taken for; `None` for a known word and for a strange one.
    pub fn corrected(&self, word: &str) -> Option<&str> {
        self.vocabulary.corrected(&word.to_lowercase())
    }

    /// Whether the vocabulary holds this word by itself or in a phrase.
    pub fn knows(&self, word: &str) -> bool {
        self.vocabulary.knows(&word.to_lowercase())
    }
}
