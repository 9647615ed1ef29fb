//! The mark of a place: one small sign that means the same on the plan, in lists, in history and on paper.
//!
//! Not examined is a dotted outline, nothing found a thin ring, abnormal a filled shape that gains corners and
//! carries its grade. A notch asks to look again; a tail says worse (up) or better (down) than last time.

use std::cmp::Ordering;

use askama::{Template, filters::HtmlSafe};

/// What is known of a place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum State {
    #[default]
    NotExamined,
    NothingFound,
    /// The grade is on the finding's own scale; `None` where the finding has none.
    Abnormal {
        grade: Option<f64>,
    },
}

/// Compared with the last time the place was examined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trend {
    Worse,
    Better,
}

#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mark {
    pub state: State,
    pub look_again: bool,
    pub trend: Option<Trend>,
}

impl Mark {
    pub const NOT_EXAMINED: Self = Self { state: State::NotExamined, look_again: false, trend: None };
    pub const NOTHING_FOUND: Self = Self { state: State::NothingFound, look_again: false, trend: None };

    pub const fn abnormal(grade: Option<f64>) -> Self {
        Self { state: State::Abnormal { grade }, look_again: false, trend: None }
    }

    #[must_use]
    pub const fn look_again(self) -> Self {
        Self { look_again: true, ..self }
    }

    #[must_use]
    pub const fn trend(self, trend: Option<Trend>) -> Self {
        Self { trend, ..self }
    }

    pub const fn is_abnormal(&self) -> bool {
        matches!(self.state, State::Abnormal { .. })
    }

    /// The mark in words: "abnormal, grade 2, worse than last time, look again".
    pub fn words(&self) -> String {
        let mut words = match self.state {
            State::NotExamined => "not examined".to_owned(),
            State::NothingFound => "nothing found".to_owned(),
            State::Abnormal { grade: None } => "abnormal".to_owned(),
            State::Abnormal { grade: Some(grade) } => format!("abnormal, grade {grade}"),
        };
        self.add_asides(&mut words);
        words
    }

    /// What the notch and the tail say, added to words that already tell the finding.
    pub(super) fn add_asides(&self, words: &mut String) {
        match self.trend {
            Some(Trend::Worse) => words.push_str(", worse than last time"),
            Some(Trend::Better) => words.push_str(", better than last time"),
            None => {}
        }
        if self.look_again {
            words.push_str(", look again");
        }
    }

    /// The mark as an inline picture with its name: `{{ mark.picture() }}` in a template.
    pub fn picture(&self) -> MarkPicture {
        MarkPicture { words: self.words(), shape: self.shape() }
    }

    pub(super) fn shape(&self) -> Shape {
        let solid = |corners: Corners| Shape::new("solid", corners.outline(self.look_again));
        let mut shape = match self.state {
            State::NotExamined if self.look_again => Shape::new("dots", RING_NOTCHED),
            State::NotExamined => Shape::new("dots", RING),
            State::NothingFound if self.look_again => Shape::new("ring", RING_NOTCHED),
            State::NothingFound => Shape::new("ring", RING),
            State::Abnormal { grade } => Shape { grade: grade_text(grade), ..solid(Corners::of(grade)) },
        };
        shape.tail = match self.trend {
            Some(Trend::Worse) => TAIL_UP,
            Some(Trend::Better) => TAIL_DOWN,
            None => "",
        };
        shape
    }

    /// The order of concern: which of several marks a shared spot shows.
    pub(super) fn concern(&self, other: &Self) -> Ordering {
        let rank = |mark: &Self| match mark.state {
            State::NothingFound => (0, 0.0),
            State::NotExamined => (1, 0.0),
            State::Abnormal { grade } => (2, grade.unwrap_or(0.0)),
        };
        let (mine, theirs) = (rank(self), rank(other));
        mine.0.cmp(&theirs.0).then(mine.1.total_cmp(&theirs.1))
    }
}

impl From<State> for Mark {
    fn from(state: State) -> Self {
        Self { state, look_again: false, trend: None }
    }
}

/// A mark ready to stand in a line of text.
#[derive(Template)]
#[template(path = "body/mark.html")]
pub struct MarkPicture {
    words: String,
    shape: Shape,
}

// The template escapes its words; the rest are our own constants.
impl HtmlSafe for MarkPicture {}

/// What is drawn, around the origin, about 20 units across.
#[derive(Debug)]
pub(super) struct Shape {
    pub(super) class: &'static str,
    pub(super) outline: &'static str,
    pub(super) grade: String,
    pub(super) tail: &'static str,
}

impl Shape {
    fn new(class: &'static str, outline: &'static str) -> Self {
        Self { class, outline, grade: String::new(), tail: "" }
    }
}

const RING: &str = "M0-8.8A8.8 8.8 0 1 1 0 8.8A8.8 8.8 0 1 1 0-8.8Z";
const RING_NOTCHED: &str = "M-8.4-3.2A8.9 8.9 0 1 1-8.4 3.2L-3.2 0Z";
const TAIL_UP: &str = "M14.4 7V-7M11.2-3.6 14.4-7.6 17.6-3.6";
const TAIL_DOWN: &str = "M14.4-7V7M11.2 3.6 14.4 7.6 17.6 3.6";

/// Severity by shape: round, square, standing on its corner, star.
#[derive(Clone, Copy)]
enum Corners {
    Round,
    Square,
    Lozenge,
    Star,
}

impl Corners {
    /// The shape follows the number it carries. Scales differ in length, so it says "this number", not "this bad".
    fn of(grade: Option<f64>) -> Self {
        match grade {
            Some(grade) if grade >= 4.0 => Self::Star,
            Some(grade) if grade >= 3.0 => Self::Lozenge,
            Some(grade) if grade >= 2.0 => Self::Square,
            _ => Self::Round,
        }
    }

    fn outline(self, notched: bool) -> &'static str {
        match (self, notched) {
            (Self::Round, false) => "M0-9A9 9 0 1 1 0 9A9 9 0 1 1 0-9Z",
            (Self::Round, true) => "M-8.4-3.8A9.2 9.2 0 1 1-8.4 3.8L-4.4 0Z",
            (Self::Square, false) => "M-8.6-8.6H8.6V8.6H-8.6Z",
            (Self::Square, true) => "M-8.6-8.6H8.6V8.6H-8.6V4L-4.2 0-8.6-4Z",
            (Self::Lozenge, false) => "M0-12 12 0 0 12-12 0Z",
            (Self::Lozenge, true) => "M0-12 12 0 0 12-8.2 3.8-4.4 0-8.2-3.8Z",
            (Self::Star, false) => {
                "M0-12.4 3.6-8.8 8.8-8.8 8.8-3.6 12.4 0 8.8 3.6 8.8 8.8 3.6 8.8 0 12.4-3.6 8.8-8.8 8.8-8.8 3.6-12.4 0-8.8-3.6-8.8-8.8-3.6-8.8Z"
            }
            (Self::Star, true) => {
                "M0-12.4 3.6-8.8 8.8-8.8 8.8-3.6 12.4 0 8.8 3.6 8.8 8.8 3.6 8.8 0 12.4-3.6 8.8-8.8 8.8-8.8 4L-4.4 0-8.8-4-8.8-8.8-3.6-8.8Z"
            }
        }
    }
}

/// "2", "2½": short enough to be read at 16 px. A mark without a grade carries an "!".
fn grade_text(grade: Option<f64>) -> String {
    match grade {
        None => "!".to_owned(),
        Some(grade) if (grade.fract() - 0.5).abs() < f64::EPSILON && grade < 1.0 => "½".to_owned(),
        Some(grade) if (grade.fract() - 0.5).abs() < f64::EPSILON => format!("{}½", grade.trunc()),
        Some(grade) => grade.to_string(),
    }
}
