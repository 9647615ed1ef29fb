//! What can be ordered, at the horse and for the laboratory (`data/diagnostics/`): studies with their items, what is
//! made ready before them, the sets of purchase examinations, and the codes of the imaging standard.
//!
//! One kind of row, [`Study`], serves every kind of order. `catalogue().diagnostics` holds them; look one up by its
//! code, by the place of the examination that asks for it, or by the imaging set that it answers.

mod check;
mod codes;
pub mod figures;
mod kinds;
mod rows;
mod samples;
mod scintigraphy;

pub use codes::{Anatomy, Profile, ViewCode};
pub use kinds::{Segment, StudyKind, StudyLimbs};
pub use rows::{Item, Phase, Prepare, Protocol, Purchase, PurchasePart, Study, Suspicion, Zone};
pub use samples::{ResultClass, SampleNote, SampleWord, Samples, Weekday};
pub use scintigraphy::{Agent as ScanAgent, Convention, Point, Scintigraphy, UptakeGrade};

use super::{
    Catalogue, CatalogueError, Files, Limb, Place, Region, Table,
    files::{Reader, single},
    tsv::table,
};

/// Everything behind an order.
#[derive(Clone, Debug, Default)]
pub struct Diagnostics {
    /// By kind, and within it from the foot up.
    pub studies: Table<Study>,
    /// What studies other than radiographs are made of.
    pub items: Table<Item>,
    pub zones: Zones,
    pub phases: Table<Phase>,
    pub scintigraphy: Scintigraphy,
    pub prepare: Table<Prepare>,
    pub suspicions: Table<Suspicion>,
    pub protocols: Table<Protocol>,
    /// How samples are taken and kept, and what their reports say.
    pub samples: Samples,
    pub purchase: Table<Purchase>,
    pub anatomy: Table<Anatomy>,
    /// By projection.
    pub views: Table<ViewCode>,
    pub profiles: Table<Profile>,
    /// The numbers behind the calculators.
    pub figures: figures::Figures,
}

/// The zones of each scheme, proximal to distal.
#[derive(Clone, Debug, Default)]
pub struct Zones {
    pub fore: Table<Zone>,
    pub hind: Table<Zone>,
    /// Five zones of the pastern, on any limb.
    pub pastern: Table<Zone>,
    /// The pastern in three, as others tell it.
    pub pastern_thirds: Table<Zone>,
}

impl Diagnostics {
    pub(super) fn read(files: &Files, catalogue: &Catalogue) -> Result<Self, CatalogueError> {
        let mut biopsy = Reader::new("diagnostics/biopsy.toml", files.diagnostics("biopsy.toml"))?;
        let file = |name| files.diagnostics(name);
        let read = Self {
            studies: studies(files)?,
            items: table("diagnostics/items.tsv", file("items.tsv"), Item::read)?,
            zones: Zones::read(files)?,
            phases: single("diagnostics/phases.toml", file("phases.toml"), "phase")?,
            scintigraphy: Scintigraphy::read(files)?,
            prepare: single("diagnostics/prepare.toml", file("prepare.toml"), "prepare")?,
            suspicions: biopsy.table("suspicion")?,
            protocols: biopsy.table("protocol")?,
            samples: Samples::read(files)?,
            purchase: single("diagnostics/purchase.toml", file("purchase.toml"), "purchase")?,
            anatomy: table("diagnostics/anatomy.tsv", file("anatomy.tsv"), Anatomy::read)?,
            views: table("diagnostics/views.tsv", file("views.tsv"), ViewCode::read)?,
            profiles: single("diagnostics/profiles.toml", file("profiles.toml"), "profile")?,
            figures: figures::Figures::read(files)?,
        };
        biopsy.end()?;
        check::check(&read, catalogue)?;
        Ok(read)
    }

    pub fn study(&self, code: &str) -> Option<&Study> {
        self.studies.get(code)
    }

    pub fn item(&self, code: &str) -> Option<&Item> {
        self.items.get(code)
    }

    /// The studies of a kind, in the order of the catalogue.
    pub fn of_kind(&self, kind: StudyKind) -> impl Iterator<Item = &Study> {
        self.studies.iter().filter(move |study| study.kind == kind)
    }

    /// The studies that a region of the examination asks for. On a limb those that are done on it come with those of
    /// trunk and whole horse; without one (a place on the axis) every study that names the region comes.
    pub fn at_region(&self, region: &str, limb: Option<Limb>) -> Vec<&Study> {
        let fits = |study: &&Study| {
            study.places.iter().any(|code| code == region)
                && limb.is_none_or(|limb| study.limbs.suit(limb) || !study.limbs.has_limb())
        };
        self.studies.iter().filter(fits).collect()
    }

    /// The studies that a place of the examination asks for.
    pub fn at_place(&self, place: Place) -> Vec<&Study> {
        self.at_region(&place.region().code, place.limb())
    }

    /// What is usually ordered from any place of a region, in one tap: pictures with a usual set that can be taken on
    /// every limb that has the region.
    pub fn usual_at(&self, region: &Region) -> Vec<&Study> {
        let limbs = || Limb::ALL.into_iter().filter(|limb| region.is_on(*limb));
        let fits = |study: &&Study| {
            let pictures = matches!(study.kind, StudyKind::Radiograph | StudyKind::Ultrasound);
            let on_all = limbs().all(|limb| study.limbs.suit(limb)) && limbs().next().is_some();
            pictures
                && !study.items.is_empty()
                && study.places.contains(&region.code)
                && (on_all || !study.limbs.has_limb())
        };
        self.studies.iter().filter(fits).collect()
    }

    /// The studies that together answer an imaging set, such as `RX_FOOT`, on a limb where one is named.
    pub fn answering(&self, set: &str, limb: Option<Limb>) -> Vec<&Study> {
        let fits = |study: &&Study| {
            study.sets.iter().any(|code| code == set)
                && limb.is_none_or(|limb| study.limbs.suit(limb) || !study.limbs.has_limb())
        };
        self.studies.iter().filter(fits).collect()
    }

    /// Where a study is coded to be, on this limb.
    pub fn anatomy_of(&self, study: &Study, limb: Option<Limb>) -> Option<&Anatomy> {
        self.anatomy.get(study.anatomy_on(limb)?)
    }

    /// How laboratories want this biopsy.
    pub fn protocols_of(&self, item: &str) -> Vec<&Protocol> {
        self.protocols.iter().filter(|row| row.items.iter().any(|code| code == item)).collect()
    }
}

impl Zones {
    fn read(files: &Files) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new("diagnostics/zones.toml", files.diagnostics("zones.toml"))?;
        let zones = Self {
            fore: reader.table("fore")?,
            hind: reader.table("hind")?,
            pastern: reader.table("pastern")?,
            pastern_thirds: reader.table("pastern_thirds")?,
        };
        reader.end()?;
        Ok(zones)
    }

    /// A zone by its code, whichever scheme has it.
    pub fn get(&self, code: &str) -> Option<&Zone> {
        [&self.fore, &self.hind, &self.pastern, &self.pastern_thirds].iter().find_map(|zones| zones.get(code))
    }
}

/// A file a few kinds, one table: codes are unique over all.
fn studies(files: &Files) -> Result<Table<Study>, CatalogueError> {
    let mut rows: Vec<Study> = Vec::new();
    for (file, name) in [
        ("diagnostics/radiographs.toml", "radiographs.toml"),
        ("diagnostics/ultrasound.toml", "ultrasound.toml"),
        ("diagnostics/scans.toml", "scans.toml"),
        ("diagnostics/laboratory.toml", "laboratory.toml"),
    ] {
        let mut reader = Reader::new(file, files.diagnostics(name))?;
        rows.extend(reader.rows::<Study>("study")?);
        reader.end()?;
    }
    Table::new(check::STUDIES, rows)
}
