//! What can be ordered, and what an order is made of.

use std::borrow::Cow;

use serde::Deserialize;

use super::{
    kinds::{Segment, StudyKind, StudyLimbs},
    samples::Weekday,
};
use crate::catalogue::{CatalogueError, Confidence, Limb, Pair, Part, Projection, row::rows, tsv::Line};

/// Something that can be ordered.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Study {
    pub code: String,
    pub kind: StudyKind,
    pub name: String,
    pub limbs: StudyLimbs,
    /// Of a radiograph only.
    pub part: Option<Segment>,
    /// The usual set, ticked when an order begins; of a radiograph in the form of the forelimb.
    #[serde(default)]
    pub items: Vec<String>,
    /// What is added to it.
    #[serde(default)]
    pub more: Vec<String>,
    /// Regions of the examination that it is proposed from.
    #[serde(default)]
    pub places: Vec<String>,
    /// Imaging sets that it answers, alone or with others.
    #[serde(default)]
    pub sets: Vec<String>,
    /// What is made ready before.
    #[serde(default)]
    pub prepare: Vec<String>,
    #[serde(default)]
    pub cautions: Vec<String>,
    /// Rows of `anatomy.tsv`; the trunk has the same on both.
    pub anatomy_fore: Option<String>,
    pub anatomy_hind: Option<String>,
    pub remark: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

impl Study {
    /// The usual set as it is called on this limb: plantar for palmar on a hindlimb.
    pub fn items_on(&self, limb: Option<Limb>) -> Vec<Cow<'_, str>> {
        self.items.iter().map(|item| self.item_on(item, limb)).collect()
    }

    /// What may be added, as it is called on this limb.
    pub fn more_on(&self, limb: Option<Limb>) -> Vec<Cow<'_, str>> {
        self.more.iter().map(|item| self.item_on(item, limb)).collect()
    }

    /// One item as it is called on this limb. Only projections differ.
    pub fn item_on<'a>(&self, item: &'a str, limb: Option<Limb>) -> Cow<'a, str> {
        match (self.kind, limb) {
            (StudyKind::Radiograph, Some(limb)) if !limb.is_fore() => {
                Projection::parse(item).map_or(item.into(), |projection| projection.hind().code().into())
            }
            _ => item.into(),
        }
    }

    /// Every item, the usual ones first, as it stands in the catalogue.
    pub fn all_items(&self) -> impl Iterator<Item = &String> {
        self.items.iter().chain(&self.more)
    }

    /// The code of `anatomy.tsv` on this limb; the forelimb's where none is named.
    pub fn anatomy_on(&self, limb: Option<Limb>) -> Option<&str> {
        let on = if limb.is_none_or(Limb::is_fore) { &self.anatomy_fore } else { &self.anatomy_hind };
        on.as_deref()
    }

    /// The part of the body whose words its projections use; none for what is no radiograph.
    pub fn part_on(&self, limb: Option<Limb>) -> Option<Part> {
        Some(self.part?.on(limb.or_else(|| (self.limbs == StudyLimbs::Hind).then_some(Limb::LH))))
    }
}

/// What a study that is no radiograph is made of: a structure, a sample, a muscle, a region of a scan.
#[derive(Clone, Debug)]
pub struct Item {
    pub code: String,
    pub kind: StudyKind,
    pub name: String,
    /// Zones that it is scanned in, by the zones of that pair of limbs and of the pastern.
    pub zones_fore: Vec<String>,
    pub zones_hind: Vec<String>,
    pub phase: Option<String>,
    /// Where it is taken.
    pub site: Option<String>,
    /// The tube or container, with the amount.
    pub into: Option<String>,
    pub handling: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

impl Item {
    pub fn zones_on(&self, limb: Limb) -> &[String] {
        if limb.is_fore() { &self.zones_fore } else { &self.zones_hind }
    }

    pub(super) fn read(line: &Line<'_>) -> Result<Self, CatalogueError> {
        let kind = StudyKind::of(line.text("kind")?).ok_or_else(|| line.refused("is of no kind of study"))?;
        Ok(Self {
            code: line.text("code")?.to_owned(),
            kind,
            name: line.text("name")?.to_owned(),
            zones_fore: line.codes("zones_fore")?,
            zones_hind: line.codes("zones_hind")?,
            phase: line.maybe("phase")?,
            site: line.maybe("site")?,
            into: line.maybe("into")?,
            handling: line.maybe("handling")?,
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    }
}

/// A zone of tendons and ligaments.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Zone {
    pub code: String,
    pub name: String,
    /// Nominal distance from the distal border of the accessory carpal bone, in cm.
    pub from_cm: Option<f64>,
    pub to_cm: Option<f64>,
    pub source: String,
    pub confidence: Confidence,
}

/// A phase of a bone scan, in minutes after the injection.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Phase {
    pub code: String,
    pub name: String,
    pub from_min: f64,
    pub to_min: f64,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// What is made ready before a study: one line of a list to tick.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prepare {
    pub code: String,
    pub name: String,
    pub source: String,
    pub confidence: Confidence,
}

/// Which muscles are taken for a suspected disorder.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Suspicion {
    pub code: String,
    pub name: String,
    pub items: Vec<String>,
    pub remark: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// How one laboratory wants its biopsies.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Protocol {
    pub code: String,
    pub name: String,
    /// The biopsies that it is for.
    pub items: Vec<String>,
    pub steps: Vec<String>,
    /// Days of the week on which it is taken; empty for any.
    #[serde(default)]
    pub take_days: Vec<Weekday>,
    /// Days of the week on which it may arrive; empty where none are named.
    #[serde(default)]
    pub arrive_days: Vec<Weekday>,
    /// In air before it is fixed, from and to, in minutes.
    pub air_min: Option<[f64; 2]>,
    /// At most so many days in the fixative.
    pub fixed_days: Option<f64>,
    /// At most so many hours on its way.
    pub courier_hours: Option<f64>,
    pub source: String,
    pub confidence: Confidence,
}

/// A set of radiographs seen in purchase examinations.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Purchase {
    pub code: String,
    pub name: String,
    /// Projections of the whole set, where its source counts them.
    pub views: Option<usize>,
    /// None where the buyer chooses.
    #[serde(default)]
    pub parts: Vec<PurchasePart>,
    pub remark: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// Projections of one study, on both limbs of a pair.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PurchasePart {
    pub study: String,
    pub pair: Pair,
    pub items: Vec<String>,
}

impl PurchasePart {
    pub fn limbs(&self) -> [Limb; 2] {
        match self.pair {
            Pair::Fore => [Limb::LF, Limb::RF],
            Pair::Hind => [Limb::LH, Limb::RH],
        }
    }
}

rows!(Study, Item, Zone, Phase, Prepare, Suspicion, Protocol, Purchase);
