//! Which rows stand on the page, in which order: an order of the catalogue laid out as sections, each row a
//! region with its left, middle and right place.

use crate::catalogue::{
    Catalogue, Direction, Group, Limb, Place, Region, Section, Side, StepSection, catalogue,
};

/// The region whose sites are pressed last of all.
const TESTERS: &str = "FT_HT";

/// What of the page follows from any tap: what is saved, the bar of sections, and cautions wherever they stand.
pub const AROUND: &str = "#saved, #bar, #cautions, #gait-cautions, #flexion-cautions, #neuro-cautions";

/// A run of rows on the page: a pair of limbs or feet, or the axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Part {
    Axial,
    Fore,
    Hind,
    ForeFeet,
    HindFeet,
    Testers,
}

impl Part {
    /// Its id on the page.
    pub fn id(self) -> &'static str {
        match self {
            Part::Axial => "axial",
            Part::Fore => "fore",
            Part::Hind => "hind",
            Part::ForeFeet => "fore-feet",
            Part::HindFeet => "hind-feet",
            Part::Testers => "testers",
        }
    }

    pub fn title(self) -> &'static str {
        match self {
            Part::Axial => "Neck, back and pelvis",
            Part::Fore => "Forelimbs",
            Part::Hind => "Hindlimbs",
            Part::ForeFeet => "Fore feet",
            Part::HindFeet => "Hind feet",
            Part::Testers => "Hoof testers",
        }
    }

    /// In the bar of sections, where a word has the room of a thumb.
    pub fn short(self) -> &'static str {
        match self {
            Part::Axial => "Back",
            Part::Fore => "Fore",
            Part::Hind => "Hind",
            Part::ForeFeet => "Fore feet",
            Part::HindFeet => "Hind feet",
            Part::Testers => "Testers",
        }
    }

    /// What one gesture for both limbs is about; none where there is no pair.
    pub fn both(self) -> Option<&'static str> {
        match self {
            Part::Axial | Part::Testers => None,
            Part::Fore => Some("Both forelimbs"),
            Part::Hind => Some("Both hindlimbs"),
            Part::ForeFeet => Some("Both fore feet"),
            Part::HindFeet => Some("Both hind feet"),
        }
    }

    /// What stands over the left and the right cells.
    pub fn sides(self) -> (&'static str, &'static str) {
        match self {
            Part::Axial | Part::Testers => ("left", "right"),
            Part::Fore | Part::ForeFeet => ("LF", "RF"),
            Part::Hind | Part::HindFeet => ("LH", "RH"),
        }
    }

    /// What one sweep each may cover here; testers are never swept.
    pub fn sweeps(self) -> &'static [Section] {
        match self {
            Part::Axial => &[Section::Axial],
            Part::Fore => &[Section::Limb(Limb::LF), Section::Limb(Limb::RF)],
            Part::Hind => &[Section::Limb(Limb::LH), Section::Limb(Limb::RH)],
            Part::ForeFeet => &[Section::Foot(Limb::LF), Section::Foot(Limb::RF)],
            Part::HindFeet => &[Section::Foot(Limb::LH), Section::Foot(Limb::RH)],
            Part::Testers => &[],
        }
    }

    /// Where a place stands.
    pub fn of(place: Place) -> Part {
        let fore = place.limb().is_some_and(Limb::is_fore);
        match place.region().group {
            Group::Axial => Part::Axial,
            Group::Fore => Part::Fore,
            Group::Hind => Part::Hind,
            Group::Foot if place.region().code == TESTERS => Part::Testers,
            Group::Foot if fore => Part::ForeFeet,
            Group::Foot => Part::HindFeet,
        }
    }

    /// The pairs of limbs whose rows stand here; none on the axis.
    fn pairs(self) -> &'static [[Limb; 2]] {
        match self {
            Part::Axial => &[],
            Part::Fore | Part::ForeFeet => &[[Limb::LF, Limb::RF]],
            Part::Hind | Part::HindFeet => &[[Limb::LH, Limb::RH]],
            Part::Testers => &[[Limb::LF, Limb::RF], [Limb::LH, Limb::RH]],
        }
    }

    fn holds(self, region: &Region) -> bool {
        let testers = region.code == TESTERS;
        match self {
            Part::Axial => region.group == Group::Axial,
            Part::Fore => region.group == Group::Fore,
            Part::Hind => region.group == Group::Hind,
            Part::ForeFeet | Part::HindFeet => region.group == Group::Foot && !testers,
            Part::Testers => testers,
        }
    }
}

/// How far a section has come, and what stands in it in a few words.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Progress {
    pub stage: Stage,
    pub abnormal: bool,
    pub words: String,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    #[default]
    Untouched,
    Begun,
    /// Nothing is left here that belongs to every examination, or that one gesture could cover.
    Done,
    /// Every place or item has an answer.
    Whole,
}

impl Stage {
    /// Of a section in which everything that is asked belongs to every examination.
    pub fn of(begun: bool, whole: bool) -> Stage {
        match (whole, begun) {
            (true, _) => Stage::Whole,
            (false, true) => Stage::Begun,
            (false, false) => Stage::Untouched,
        }
    }
}

impl Progress {
    pub fn is_done(&self) -> bool {
        self.stage >= Stage::Done
    }

    pub fn is_whole(&self) -> bool {
        self.stage == Stage::Whole
    }
}

/// One row of the page: a region, with the places it has.
#[derive(Debug, Clone)]
pub struct Row {
    /// Its id on the page, which the plan of the horse leads to.
    pub id: String,
    pub region: &'static Region,
    /// The pair of limbs, where the row is on limbs.
    pub limbs: Option<[Limb; 2]>,
    pub left: Option<Place>,
    pub middle: Option<Place>,
    pub right: Option<Place>,
}

impl Row {
    fn axial(region: &'static Region) -> Row {
        let at = |side| Place::new(&region.code, side, None).ok();
        Row {
            id: format!("at-{}", region.code),
            region,
            limbs: None,
            left: at(Side::L),
            middle: at(Side::M),
            right: at(Side::R),
        }
    }

    fn paired(region: &'static Region, pair: [Limb; 2]) -> Row {
        let [left, right] = pair.map(|limb| Place::on(&region.code, limb).ok());
        let id = left.map_or_else(String::new, row_id);
        Row { id, region, limbs: Some(pair), left, middle: None, right }
    }

    /// Its places, left to right.
    pub fn places(&self) -> impl Iterator<Item = Place> {
        [self.left, self.middle, self.right].into_iter().flatten()
    }
}

/// The id of the row in which a place stands.
pub fn row_id(place: Place) -> String {
    let code = &place.region().code;
    match (place.region().group, place.limb()) {
        (Group::Foot, Some(limb)) if limb.is_fore() => format!("at-{code}-fore"),
        (Group::Foot, Some(_)) => format!("at-{code}-hind"),
        _ => format!("at-{code}"),
    }
}

/// The parts of the page in this order, each once: where an order passes a limb twice, down and up again, its
/// rows stand as the hand first meets them.
pub fn layout(order: &str) -> Vec<(Part, Vec<Row>)> {
    let catalogue = catalogue();
    let order = catalogue.order(order).or_else(|| catalogue.orders.first());
    let mut parts: Vec<(Part, Vec<Row>)> = Vec::new();
    for step in order.iter().flat_map(|order| &order.steps) {
        let run: &[Part] = match step.section {
            StepSection::Axial => &[Part::Axial],
            StepSection::Fore => &[Part::Fore],
            StepSection::Hind => &[Part::Hind],
            StepSection::Foot => &[Part::ForeFeet, Part::HindFeet],
            StepSection::Testers => &[Part::Testers],
        };
        for &part in run {
            if parts.iter().all(|(known, _)| *known != part) {
                parts.push((part, rows(catalogue, part, step.direction)));
            }
        }
    }
    parts
}

fn rows(catalogue: &'static Catalogue, part: Part, direction: Direction) -> Vec<Row> {
    let regions = catalogue.regions.iter().filter(|region| part.holds(region));
    let mut rows: Vec<Row> = regions
        .flat_map(|region| match part.pairs() {
            [] => vec![Row::axial(region)],
            pairs => pairs.iter().map(|&pair| Row::paired(region, pair)).collect(),
        })
        .collect();
    if direction == Direction::Up {
        rows.reverse();
    }
    rows
}
