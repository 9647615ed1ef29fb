//! What words mean to the line reader.

use std::sync::Arc;

use super::Spot;
use crate::catalogue::{Limb, Pair, Side};

/// How a horse moves, as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Move {
    Walk,
    Trot,
    Lunge,
    Circle,
    TightCircle,
    FigureOfEight,
    Rising,
    Sitting,
    Canter,
    Ridden,
    Uphill,
    Downhill,
    Back,
    AfterWork,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    Hard,
    Soft,
}

/// The answer to a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Positive,
    Negative,
    Unsure,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    Ml,
    Mm,
    Cm,
    Inch,
    Seconds,
    Minutes,
    Hours,
    Percent,
    Kg,
    Lb,
    Celsius,
    Fahrenheit,
    Degrees,
    Beats,
    Breaths,
}

/// What a word or phrase stands for. Codes are the catalogue's.
#[derive(Clone, Debug)]
pub enum Meaning {
    Limbs(Vec<Limb>),
    Side(Side),
    /// A side only beside a place: "off hock", but not "off" alone.
    WeakSide(Side),
    BothSides,
    /// As before, where the clause says nothing else: "left elbow too".
    Also,
    /// Of no place that was named: "no pain elsewhere".
    Elsewhere,
    /// The limbs that were not named: "the other three".
    Others,
    /// May mean the two things that were named, and no two sides: "swollen and sore, both 2/3".
    OfTwo,
    /// The limb or side opposite the one that was named last.
    Other,
    Pair(Pair),
    /// "leg": says that the words beside it are a limb.
    LimbWord,
    /// A place, or a word for several; `plural` when it was said so ("fetlocks").
    Spot {
        spot: Arc<Spot>,
        plural: bool,
    },
    Aspect(String),
    /// `says_so`: an adjective ("warm"), which does not carry on a list of things that are not there.
    Finding {
        code: String,
        says_so: bool,
    },
    /// An adjective that says a finding is not there: "painless", "flexes freely".
    Lacks(String),
    /// Finding and place in one word: "bog spavin". `or_place`: the word may be the place alone.
    Sign {
        code: String,
        spot: Arc<Spot>,
        grade: Option<f64>,
        or_place: bool,
        plural: bool,
    },
    /// A pick of an item of the foot: "flat sole". `normal` when a sound foot has it.
    Pick {
        spot: Arc<Spot>,
        field: String,
        value: Option<String>,
        normal: bool,
    },
    /// An adjective that says this of some places only: "flat" of a sole, "tense" of a back. `of`: their codes.
    Trait {
        says: Box<Meaning>,
        of: Vec<String>,
    },
    /// An adjective that says this only of a movement that was named before: "the range is reduced".
    Bent(Box<Meaning>),
    /// A measured item of the foot: the number follows.
    Measure {
        spot: Arc<Spot>,
        field: String,
    },
    /// Hoof testers, with the answer where the words hold it.
    Testers(Option<bool>),
    TesterSite(String),
    /// On scales that end at 3, and at 4.
    Grade(f64, f64),
    /// A grade that only a noun can have: "swelling moderate, tender", never "moderate tender".
    OfNoun,
    /// "a bit of": how much comes after it, where it is said.
    PartOf,
    /// "halfway down": how high up in a stretch.
    Partway,
    /// Said of what was pressed: a grade beside it is one of pain.
    Press,
    /// Says that a number beside it is a grade.
    GradeWord,
    Quality,
    Not,
    Absent,
    And,
    Or,
    But,
    /// Spoken full stop.
    Then,
    Fill,
    /// Joins what goes together: "thickened with effusion".
    With,
    Preposition,
    /// Nothing abnormal.
    Nad,
    Rest,
    Whole,
    /// Where something was named before: "sore to the testers there".
    There,
    /// A place of which each limb has two, one on either side: "branch".
    Twin,
    /// All places spoken of so far: "none of them", "neither".
    Them,
    /// What was found is there, whatever list of absent things it stands in: "effusion present".
    Present,
    /// Off the place after it, which only says where: "above the fetlock".
    Beyond,
    /// Says that what hurts, hurts when it is bent: "when I flex it".
    Bends,
    /// From the place before it down to the ground.
    Down,
    /// How far a thing reaches: the place after it is not where it is ("filled up to the hock").
    Extent,
    Same,
    /// What follows replaces what was said.
    Fix,
    /// What was said before is cancelled.
    Scratch,
    /// What follows is a question, a plan or history: never read.
    Aside,
    Number(f64),
    /// A scale named by its end: "AAEP" is out of 5.
    OutOf(f64),
    /// A flexion held so many seconds, in one word: "a minute".
    Hold(f64),
    /// A word that sounds like a number, and is one only where a number is due: "forty too".
    Echo(f64),
    Vital(String),
    /// Temperature, pulse and respiration, three numbers in this order.
    Tpr,
    Unit(Unit),
    Move(Move),
    Diagonal,
    Ground(Ground),
    Straight,
    Lame,
    Sound,
    NonWeightBearing,
    FlexionWord,
    /// The test on a fore and on a hind.
    FlexionLevel {
        fore: Option<String>,
        hind: Option<String>,
    },
    Flexion {
        fore: Option<String>,
        hind: Option<String>,
    },
    Outcome(Outcome),
    /// On a fore and on a hind; the same where there is one only.
    Block {
        fore: String,
        hind: String,
    },
    BlockWord,
    /// How much better, in percent.
    Change(f64),
    Improved,
    Agent,
    PerSite,
}
