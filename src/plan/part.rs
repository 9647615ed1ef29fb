//! The parts of the assessment page, in the order they are thought through.

use std::{fmt, str::FromStr};

use serde::Deserialize;

use crate::{accounts::Act, record::Kind};

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    History,
    Problem,
    Block,
    Image,
    Treatment,
    Plan,
    FollowUp,
}

/// What a note is when it holds what the horse's people tell.
pub const HISTORY: &str = "history";

impl Part {
    pub const ALL: [Part; 7] =
        [Part::History, Part::Problem, Part::Block, Part::Image, Part::Treatment, Part::Plan, Part::FollowUp];

    /// What a visit should not be signed without; the page opens the first that is still empty.
    pub const EXPECTED: [Part; 4] = [Part::History, Part::Problem, Part::Plan, Part::FollowUp];

    /// The key of addresses and of the section on the page.
    pub fn key(self) -> &'static str {
        match self {
            Part::History => "history",
            Part::Problem => "problem",
            Part::Block => "block",
            Part::Image => "image",
            Part::Treatment => "treatment",
            Part::Plan => "plan",
            Part::FollowUp => "follow-up",
        }
    }

    pub fn title(self) -> &'static str {
        match self {
            Part::History => "History as told",
            Part::Problem => "Problems",
            Part::Block => "Blocks",
            Part::Image => "Images and samples",
            Part::Treatment => "Treatments given",
            Part::Plan => "Plan",
            Part::FollowUp => "Follow-ups",
        }
    }

    /// What its button says.
    pub fn add(self) -> &'static str {
        match self {
            Part::History => "Add history",
            Part::Problem => "Add a problem",
            Part::Block => "Add a block",
            Part::Image => "Add an image or sample",
            Part::Treatment => "Add a treatment",
            Part::Plan => "Add to the plan",
            Part::FollowUp => "Add a follow-up",
        }
    }

    /// What the button of its form says.
    pub fn save(self) -> &'static str {
        match self {
            Part::History => "Save the history",
            Part::Problem => "Save the problem",
            Part::Block => "Save the block",
            Part::Image => "Save the image or sample",
            Part::Treatment => "Save the treatment",
            Part::Plan => "Save the plan",
            Part::FollowUp => "Save the follow-up",
        }
    }

    /// The label of its words.
    pub fn asks(self) -> &'static str {
        match self {
            Part::History => "What its people tell",
            Part::Problem => "Problem",
            Part::Block => "Block, volume and answer",
            Part::Image => "What was taken, and what it shows",
            Part::Treatment => "What was given, how much and how",
            Part::Plan => "What is to be done, and by whom",
            Part::FollowUp => "What is due",
        }
    }

    /// The one line under the label.
    pub fn hint(self) -> &'static str {
        match self {
            Part::History => "Since when, how it began, better or worse, work, shoeing, medicines.",
            Part::Problem => "One problem a line; add the next one after saving.",
            Part::Block => "Answer against the gait just before it, and after how many minutes.",
            Part::Image => "Views or site; the finding in words.",
            Part::Treatment => "Product, dose, route and site as on the label; withdrawal where it applies.",
            Part::Plan => "Rest and work, shoeing, medicines, what to watch for.",
            Part::FollowUp => "Such as: trot up again, second set of radiographs, call the owner.",
        }
    }

    /// Whether it has a place on the horse.
    pub fn has_site(self) -> bool {
        matches!(self, Part::Problem | Part::Block | Part::Image | Part::Treatment)
    }

    /// Long words get an area, short ones a line.
    pub fn is_long(self) -> bool {
        matches!(self, Part::History | Part::Plan)
    }

    /// Who may write it: images and treatments also who holds the horse, the rest only a veterinarian.
    pub fn act(self) -> Act {
        match self {
            Part::Image | Part::Treatment => Act::Examine,
            _ => Act::Sign,
        }
    }

    /// The kind of its entries; follow-ups are rows of their own, for the desk.
    pub fn kind(self) -> Option<Kind> {
        match self {
            Part::History => Some(Kind::Note),
            Part::Problem => Some(Kind::Problem),
            Part::Block => Some(Kind::Block),
            Part::Image => Some(Kind::Image),
            Part::Treatment => Some(Kind::Treatment),
            Part::Plan => Some(Kind::Plan),
            Part::FollowUp => None,
        }
    }

    /// The part that an entry of this kind stands in.
    pub fn of(kind: Kind) -> Option<Self> {
        Part::ALL.into_iter().find(|p| p.kind() == Some(kind))
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.key())
    }
}

impl FromStr for Part {
    type Err = ();
    fn from_str(key: &str) -> Result<Self, ()> {
        Part::ALL.into_iter().find(|p| p.key() == key).ok_or(())
    }
}
