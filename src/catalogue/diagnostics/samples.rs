//! Samples: words for how they are taken and kept, what reports of muscle say, what is said beside enzymes, and the
//! days of the week on which laboratories take samples in.

use serde::Deserialize;

use super::StudyKind;
use crate::catalogue::{CatalogueError, Confidence, Files, Table, files::Reader, row::rows};

/// A day of the week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Weekday {
    Mon,
    Tue,
    Wed,
    Thu,
    Fri,
    Sat,
    Sun,
}

impl Weekday {
    pub const ALL: [Self; 7] = [Self::Mon, Self::Tue, Self::Wed, Self::Thu, Self::Fri, Self::Sat, Self::Sun];

    pub fn code(self) -> &'static str {
        match self {
            Self::Mon => "mon",
            Self::Tue => "tue",
            Self::Wed => "wed",
            Self::Thu => "thu",
            Self::Fri => "fri",
            Self::Sat => "sat",
            Self::Sun => "sun",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Mon => "Monday",
            Self::Tue => "Tuesday",
            Self::Wed => "Wednesday",
            Self::Thu => "Thursday",
            Self::Fri => "Friday",
            Self::Sat => "Saturday",
            Self::Sun => "Sunday",
        }
    }

    pub fn of(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|day| day.code() == code)
    }

    /// Nobody takes samples in as a matter of course.
    pub fn is_weekend(self) -> bool {
        matches!(self, Self::Sat | Self::Sun)
    }

    /// "Monday to Thursday", "Monday, Thursday"; the days in the order of the week.
    pub fn words(days: &[Self]) -> String {
        let unbroken = days.windows(2).all(|pair| pair[0] as u8 + 1 == pair[1] as u8);
        match days {
            [first, _, .., last] if unbroken => format!("{} to {}", first.name(), last.name()),
            days => days.iter().map(|day| day.name()).collect::<Vec<_>>().join(", "),
        }
    }
}

/// A way to take a sample, or what it is put in, as words to pick.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SampleWord {
    pub code: String,
    pub name: String,
    /// The kinds of studies whose samples it is for.
    pub kinds: Vec<StudyKind>,
    pub source: String,
    pub confidence: Confidence,
}

/// How a report of muscle puts it, and what that usually means: a reference, never a diagnosis.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResultClass {
    pub code: String,
    pub name: String,
    pub usual: String,
    pub source: String,
    pub confidence: Confidence,
}

/// One sentence that stands beside what it is about.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SampleNote {
    pub code: String,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// All of them.
#[derive(Clone, Debug, Default)]
pub struct Samples {
    pub methods: Table<SampleWord>,
    pub containers: Table<SampleWord>,
    pub result_classes: Table<ResultClass>,
    /// How enzymes come and go, and what else moves them.
    pub enzyme_notes: Table<SampleNote>,
    /// Of orders and submission sheets.
    pub sheet_notes: Table<SampleNote>,
}

impl Samples {
    pub(super) fn read(files: &Files) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new("diagnostics/samples.toml", files.diagnostics("samples.toml"))?;
        let read = Self {
            methods: reader.table("method")?,
            containers: reader.table("container")?,
            result_classes: reader.table("result_class")?,
            enzyme_notes: reader.table("enzyme_note")?,
            sheet_notes: reader.table("sheet_note")?,
        };
        reader.end()?;
        Ok(read)
    }

    /// Words to pick for samples of this kind.
    pub fn words_for(table: &Table<SampleWord>, kind: StudyKind) -> Vec<&str> {
        table.iter().filter(|row| row.kinds.contains(&kind)).map(|row| row.name.as_str()).collect()
    }
}

rows!(SampleWord, ResultClass, SampleNote);
