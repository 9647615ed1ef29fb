//! An order and its items, as the store keeps them.

use crate::{
    clock::{At, Day},
    ids::{HorseId, ItemId, OrderId, StaffId, VisitId},
};

/// What kind of looking it is; the worklist is by kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, sqlx::Type)]
#[sqlx(rename_all = "snake_case")]
pub enum Kind {
    Radiograph,
    Ultrasound,
    BoneScan,
    Biopsy,
    Blood,
    Synovial,
    Other,
}

impl Kind {
    pub const ALL: [Kind; 7] = [
        Kind::Radiograph,
        Kind::Ultrasound,
        Kind::BoneScan,
        Kind::Biopsy,
        Kind::Blood,
        Kind::Synovial,
        Kind::Other,
    ];

    /// The key in addresses and in the catalogue.
    pub fn key(self) -> &'static str {
        match self {
            Kind::Radiograph => "radiograph",
            Kind::Ultrasound => "ultrasound",
            Kind::BoneScan => "bone_scan",
            Kind::Biopsy => "biopsy",
            Kind::Blood => "blood",
            Kind::Synovial => "synovial",
            Kind::Other => "other",
        }
    }

    pub fn of(key: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.key() == key)
    }

    /// As a heading says it.
    pub fn title(self) -> &'static str {
        match self {
            Kind::Radiograph => "Radiographs",
            Kind::Ultrasound => "Ultrasound",
            Kind::BoneScan => "Bone scans",
            Kind::Biopsy => "Muscle biopsies",
            Kind::Blood => "Blood",
            Kind::Synovial => "Synovial fluid",
            Kind::Other => "Other",
        }
    }

    /// What DICOM calls the equipment; none for samples.
    pub fn modality(self) -> Option<&'static str> {
        match self {
            Kind::Radiograph => Some("DX"),
            Kind::Ultrasound => Some("US"),
            Kind::BoneScan => Some("NM"),
            Kind::Other => Some("OT"),
            Kind::Biopsy | Kind::Blood | Kind::Synovial => None,
        }
    }

    /// What is done with one item: a view is taken, a sample too, a structure is scanned.
    pub fn done(self) -> &'static str {
        match self {
            Kind::Ultrasound | Kind::BoneScan => "scanned",
            _ => "taken",
        }
    }
}

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
    pub kind: Kind,
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

/// A line in an order's own history.
#[derive(Debug, Clone)]
pub struct Step {
    pub at: At,
    pub by: String,
    pub what: String,
    pub reason: String,
}
