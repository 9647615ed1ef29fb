//! An order and its items, as the store keeps them.

use crate::{
    catalogue::{Limb, StudyKind},
    clock::{At, Day},
    ids::{HorseId, ItemId, OrderId, StaffId, VisitId},
};

/// Something that was ordered for a visit.
#[derive(Debug, Clone)]
pub struct Order {
    pub id: OrderId,
    pub accession: String,
    pub study_uid: String,
    pub visit_id: VisitId,
    /// The horse of the visit.
    pub horse_id: HorseId,
    /// Code of the catalogue's study.
    pub study: String,
    pub kind: StudyKind,
    /// How the study was called when it was ordered.
    pub name: String,
    /// The place of the examination that it was ordered from.
    pub place: String,
    /// `loaded`, `lifted` or empty.
    pub weight_bearing: String,
    /// `on`, `off` or empty.
    pub shoes: String,
    pub question: String,
    pub planned_on: Option<Day>,
    pub ordered_by: StaffId,
    pub ordered_at: At,
    pub read_at: Option<At>,
    pub read_by: Option<StaffId>,
    /// Whom of the client's, and how; or why nobody has to be told.
    pub told: String,
    pub told_at: Option<At>,
    pub told_by: Option<StaffId>,
    pub closed_reason: String,
    pub closed_at: Option<At>,
    pub closed_by: Option<StaffId>,
    pub version: i64,
    /// A report of it stands in the record.
    pub reported: bool,
    /// Pictures that came after that report.
    pub unseen: i64,
    /// Its horse was injected for a bone scan and is not released.
    pub unreleased: bool,
}

impl Order {
    /// Whether nothing more is to be done.
    pub fn is_closed(&self) -> bool {
        self.closed_at.is_some()
    }
}

/// Where one item stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "snake_case")]
pub enum ItemState {
    Wanted,
    Taken,
    /// What was taken does not serve.
    Repeat,
    /// Not taken, and a person said why.
    LeftOut,
}

impl ItemState {
    pub fn of(key: &str) -> Option<ItemState> {
        match key {
            "wanted" => Some(ItemState::Wanted),
            "taken" => Some(ItemState::Taken),
            "repeat" => Some(ItemState::Repeat),
            "left_out" => Some(ItemState::LeftOut),
            _ => None,
        }
    }

    /// The end of the class that draws its shape.
    pub fn shape(self) -> &'static str {
        match self {
            ItemState::Wanted => "wanted",
            ItemState::Taken => "taken",
            ItemState::Repeat => "repeat",
            ItemState::LeftOut => "left-out",
        }
    }

    /// Nothing more has to be done for it.
    pub fn is_settled(self) -> bool {
        matches!(self, ItemState::Taken | ItemState::LeftOut)
    }

    pub fn needs_reason(self) -> bool {
        matches!(self, ItemState::Repeat | ItemState::LeftOut)
    }
}

/// One projection, structure, sample or site of an order.
#[derive(Debug, Clone)]
pub struct Item {
    pub id: ItemId,
    pub order_id: OrderId,
    /// A projection such as `D60Pr-PaDiO`, or the code of the catalogue's item.
    pub code: String,
    pub name: String,
    /// `LF`, `RF`, `LH`, `RH`; `L` or `R` of the trunk; empty where neither is meant.
    pub side: String,
    /// The zones of a tendon that are scanned, spaces between.
    pub zones: String,
    pub state: ItemState,
    /// Why it is to be repeated or was left out.
    pub reason: String,
    pub version: i64,
}

impl Item {
    pub fn words(&self, kind: StudyKind) -> String {
        item_words(kind, &self.code, &self.name)
    }
}

/// "D60Pr-PaDiO: dorsal 60° proximal to palmarodistal"; the code only where it says something to people.
pub(super) fn item_words(kind: StudyKind, code: &str, name: &str) -> String {
    if kind == StudyKind::Radiograph { format!("{code}: {name}") } else { name.to_owned() }
}

/// The sides of these items in words, each once: "left fore", "left fore and right fore".
pub(super) fn sides(items: &[Item]) -> String {
    let mut words: Vec<&str> = Vec::new();
    for item in items {
        let side = match item.side.parse::<Limb>() {
            Ok(limb) => limb.name(),
            Err(_) => match item.side.as_str() {
                "L" => "left",
                "R" => "right",
                _ => continue,
            },
        };
        if !words.contains(&side) {
            words.push(side);
        }
    }
    words.join(" and ")
}

/// A line in an order's own history.
#[derive(Debug, Clone)]
pub struct Step {
    pub at: At,
    pub by: String,
    pub what: String,
    pub reason: String,
}
