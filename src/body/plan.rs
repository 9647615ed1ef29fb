//! The plan of the horse: navigator of the exam, index of the history, picture of the report.

use askama::{Template, filters::HtmlSafe};

use super::{
    Mark,
    drawing::{Drawing, DrawingSpot, drawing},
    mark::{Shape, State},
};

/// What is known of one place: its mark, and what was found in words ("effusion 2").
#[derive(Clone, Debug, Default)]
pub struct Seen {
    pub mark: Mark,
    pub found: Option<String>,
}

impl From<Mark> for Seen {
    fn from(mark: Mark) -> Self {
        Self { mark, found: None }
    }
}

/// The picture with its marks. Stands in a template as `{{ plan }}`; it is safe HTML already.
#[derive(Template)]
#[template(path = "body/plan.html")]
pub struct Plan {
    drawing: &'static Drawing,
    spots: Vec<Spot>,
    title: String,
    /// Blocks are drawn in it, so that it needs its hatchings.
    hatched: bool,
}

// The template escapes every name and link.
impl HtmlSafe for Plan {}

struct Spot {
    x: f64,
    y: f64,
    name: String,
    href: Option<String>,
    shape: Shape,
    over: Over,
}

/// How numb a place is from blocks, least first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Numb {
    Possible,
    Partial,
    Full,
}

impl Numb {
    /// The name of its hatching, and its word.
    pub fn key(self) -> &'static str {
        match self {
            Self::Possible => "possible",
            Self::Partial => "partial",
            Self::Full => "full",
        }
    }

    /// Of several parts of one place: numb as a whole only when all are, in part when some are.
    pub fn together(parts: impl Iterator<Item = Option<Self>> + Clone) -> Option<Self> {
        let most = parts.clone().flatten().max()?;
        let all_full = parts.into_iter().all(|part| part == Some(Self::Full));
        Some(if most == Self::Full && !all_full { Self::Partial } else { most })
    }
}

/// What blocks say of a place, drawn over its mark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Over {
    pub numb: Option<Numb>,
    pub candidate: bool,
}

impl Plan {
    /// `seen` tells a place's mark by its key, `href` where its spot leads (`None`: it is only a picture).
    pub fn new<S: Into<Seen>>(seen: impl Fn(&str) -> S, href: impl Fn(&str) -> Option<String>) -> Self {
        let drawing = drawing();
        let spots = drawing.spots.iter().map(|at| spot(at, &seen, &href)).collect();
        Self { drawing, spots, title: "Plan of the horse".to_owned(), hatched: false }
    }

    /// With what blocks say drawn over the places; `None` where they say nothing of a place.
    #[must_use]
    pub fn over(mut self, over: impl Fn(&str) -> Option<Over>) -> Self {
        for (spot, at) in self.spots.iter_mut().zip(&self.drawing.spots) {
            let said: Vec<Over> = at.places.iter().filter_map(|key| over(key)).collect();
            spot.over = Over {
                numb: Numb::together(said.iter().map(|over| over.numb)),
                candidate: said.iter().any(|over| over.candidate),
            };
            if let Some(numb) = spot.over.numb {
                spot.name = format!("{}; numb: {}", spot.name, numb.key());
            }
            if spot.over.candidate {
                spot.name.push_str("; candidate");
            }
            self.hatched |= spot.over != Over::default();
        }
        self
    }

    /// What the picture is of: "Plan of the horse, Briar, 14 May".
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// Without links it is one picture; its title then sums up what can be seen.
    fn is_picture(&self) -> bool {
        self.spots.iter().all(|spot| spot.href.is_none())
    }
}

/// A shared spot shows the mark of most concern, and leads to the place that has it.
fn spot<S: Into<Seen>>(
    at: &DrawingSpot,
    seen: &impl Fn(&str) -> S,
    href: &impl Fn(&str) -> Option<String>,
) -> Spot {
    let all: Vec<(&String, Seen)> = at.places.iter().map(|key| (key, seen(key).into())).collect();
    // The first of equals, so that a spot leads to where the hands begin.
    let worst = all.iter().rev().max_by(|a, b| a.1.mark.concern(&b.1.mark));
    let mut mark = worst.map(|(_, seen)| seen.mark).unwrap_or_default();
    mark.look_again = all.iter().any(|(_, seen)| seen.mark.look_again);
    Spot {
        x: at.x,
        y: at.y,
        name: format!("{}: {}", at.name, words(&all, mark)),
        href: worst.and_then(|(key, _)| href(key)),
        shape: mark.shape(),
        over: Over::default(),
    }
}

fn words(all: &[(&String, Seen)], mark: Mark) -> String {
    let found: Vec<&str> = all.iter().filter_map(|(_, seen)| seen.found.as_deref()).collect();
    let clean = all.iter().filter(|(_, seen)| seen.mark.state == State::NothingFound).count();
    if mark.is_abnormal() && !found.is_empty() {
        let mut words = found.join("; ");
        mark.add_asides(&mut words);
        words
    } else if mark.state == State::NotExamined && clean > 0 {
        format!("nothing found in {clean} of {}, the rest not examined", all.len())
    } else {
        mark.words()
    }
}
