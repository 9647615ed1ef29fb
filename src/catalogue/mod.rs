//! What the trade knows: places, findings, scales, tests, cautions and the lists of the horse and call pages.
//!
//! Knowledge lives in `data/`, one file a kind, each row with its source and how sure we are of it; this module
//! types it and checks it once. Nothing here knows about pages, requests or the database. Thresholds are
//! references shown to a person, never diagnoses.
//!
//! [`catalogue`] is the whole of it. [`Place`] is what findings hang on, [`sweep_places`] what one gesture covers.

pub mod biosecurity;
mod blocks;
mod breeds;
pub mod care;
mod cautions;
pub mod charges;
mod check;
pub mod competition;
pub mod desk;
pub mod diagnostics;
mod files;
mod findings;
pub mod formulary;
pub mod letters;
pub mod localise;
mod moving;
mod place;
pub mod procedures;
pub mod programmes;
pub mod projection;
pub mod records;
mod regions;
pub mod road;
mod row;
mod scales;
mod side;
mod sweep;
mod tsv;
pub mod weight;
pub mod words;

use std::sync::{Arc, OnceLock};

pub use blocks::{Block, BlockKind};
pub use breeds::Breed;
pub use cautions::{Caution, GradeTrigger, RedFlag, Saying, Severity, Urgency, VitalTrigger, Where};
pub use check::CatalogueError;
pub use diagnostics::{Study, StudyKind};
pub use files::Files;
pub use findings::{Attribute, Choice, Finding, FindingKind};
pub use moving::{
    Condition, Direction, Fact, Flexion, NeuroItem, NeuroPattern, Order, Pair, Position, Step, StepSection,
};
pub use place::{Place, PlaceError, places};
pub use projection::{Part, Projection, ProjectionError};
pub use regions::{Field, FieldKind, Group, Pick, Region, Sides, TesterSite};
pub use row::{Confidence, Row, Table};
pub use scales::{Grade, Mark, Plausibility, Range, Scale, Vital};
pub use side::{Limb, Side};
pub use sweep::{Section, sweep_from, sweep_places};

use files::{Reader, single};

/// Everything the trade knows, each kind in the order of its file.
#[derive(Debug)]
pub struct Catalogue {
    /// Trunk, limbs and feet, by `seq`.
    pub regions: Table<Region>,
    pub tester_sites: Table<TesterSite>,
    pub findings: Table<Finding>,
    pub modifiers: Modifiers,
    pub scales: Table<Scale>,
    pub vitals: Table<Vital>,
    pub conditions: Table<Condition>,
    pub flexions: Table<Flexion>,
    /// What to know before a flexion test is believed.
    pub flexion_facts: Table<Fact>,
    /// Diagnostic blocks, by name.
    pub blocks: Table<Block>,
    pub neuro: Table<NeuroItem>,
    pub neuro_patterns: Table<NeuroPattern>,
    pub orders: Table<Order>,
    /// The questions of the call, in the order they are asked.
    pub red_flags: Table<RedFlag>,
    /// What callers are told by the class of their call.
    pub sayings: Table<Saying>,
    /// What a caller is asked besides.
    pub also_asked: Table<Choice>,
    pub cautions: Table<Caution>,
    pub horse: HorseLists,
    pub complaint: ComplaintLists,
    pub breeds: Vec<Breed>,
    /// The vocabulary of the line reader; read last, since its rows name codes of all the others.
    pub words: words::Words,
    /// What blocks numb, and what follows from an answer; read after the rest, whose codes it names.
    pub localise: Arc<localise::Localising>,
    /// What can be ordered; read last of all, since it answers the imaging sets of localising.
    pub diagnostics: diagnostics::Diagnostics,
    /// How vets get about and how long visits take.
    pub road: road::Road,
    /// What is said to clients, brought along and asked leave for.
    pub desk: desk::Desk,
    /// Farriery and joint treatments.
    pub procedures: procedures::Procedures,
    /// The way back to work.
    pub programmes: programmes::Programmes,
    /// What keeps horses safe from one another.
    pub biosecurity: biosecurity::Biosecurity,
    /// How a weight is come by.
    pub weighing: weight::Weighing,
    /// Medicines and their doses, as shipped; a practice's own stand beside.
    pub formulary: formulary::Formulary,
    /// What is asked before a medicine is given, and what its papers need.
    pub care: care::Care,
    /// What the words of competition rules mean.
    pub competition: competition::Competition,
    /// What a record must hold; read after care, whose jurisdictions it names.
    pub records: records::Records,
    /// Papers in words of the practice's own; read after care too.
    pub letters: letters::Letters,
    /// What a visit can be charged for.
    pub charges: charges::Charges,
}

/// What any finding may add.
#[derive(Debug)]
pub struct Modifiers {
    pub aspects: Table<Choice>,
    pub positions: Table<Choice>,
    pub onsets: Table<Choice>,
}

/// The lists of the horse page.
#[derive(Debug)]
pub struct HorseLists {
    pub sexes: Table<Choice>,
    pub uses: Table<Choice>,
    pub work_levels: Table<Choice>,
    pub colours: Table<Choice>,
    pub markings: Table<Choice>,
    /// Warnings, with their sentence and where it is shown.
    pub temperament: Table<Choice>,
}

/// What the caller is asked.
#[derive(Debug)]
pub struct ComplaintLists {
    pub sites: Table<Choice>,
    pub onsets: Table<Choice>,
    pub since: Table<Choice>,
    pub courses: Table<Choice>,
    pub weight_bearing: Table<Choice>,
}

static CATALOGUE: OnceLock<Catalogue> = OnceLock::new();

/// The catalogue of this program, read on first use.
pub fn catalogue() -> &'static Catalogue {
    Catalogue::ready()
        .expect("the embedded files cannot change after the build, and the tests load these very bytes")
}

impl Catalogue {
    /// The catalogue of this program, read once. A command asks for it first, for a readable error.
    pub fn ready() -> Result<&'static Self, CatalogueError> {
        if let Some(catalogue) = CATALOGUE.get() {
            return Ok(catalogue);
        }
        let read = Self::load()?;
        Ok(CATALOGUE.get_or_init(|| read))
    }

    /// Reads and checks the embedded files.
    pub fn load() -> Result<Self, CatalogueError> {
        Self::read(&Files::shipped())
    }

    /// Reads and checks any files of the same shape.
    pub fn read(files: &Files) -> Result<Self, CatalogueError> {
        let mut neuro = Reader::new("neuro.toml", &files.neuro)?;
        let mut flexion = Reader::new("flexion.toml", &files.flexion)?;
        let mut triage = Reader::new("triage.toml", &files.triage)?;
        let mut catalogue = Self {
            regions: read_regions(files)?,
            tester_sites: single("tester_sites.toml", &files.tester_sites, "site")?,
            findings: single("findings.toml", &files.findings, "finding")?,
            modifiers: read_modifiers(files)?,
            scales: single("scales.toml", &files.scales, "scale")?,
            vitals: single("vitals.toml", &files.vitals, "vital")?,
            conditions: single("conditions.toml", &files.conditions, "condition")?,
            flexions: flexion.table("flexion")?,
            flexion_facts: flexion.table("fact")?,
            blocks: single("blocks.toml", &files.blocks, "block")?,
            neuro: neuro.table("item")?,
            neuro_patterns: neuro.table("pattern")?,
            orders: single("orders.toml", &files.orders, "order")?,
            red_flags: in_asking_order(triage.rows("red_flag")?)?,
            sayings: triage.table("saying")?,
            also_asked: triage.table("also")?,
            cautions: single("cautions.toml", &files.cautions, "caution")?,
            horse: read_horse(files)?,
            complaint: read_complaint(files)?,
            breeds: breeds::read(&files.breeds)?,
            words: words::Words::default(),
            localise: Arc::default(),
            diagnostics: diagnostics::Diagnostics::default(),
            road: road::Road::read(&files.road)?,
            desk: desk::Desk::read(&files.desk)?,
            procedures: procedures::Procedures::read(&files.procedures)?,
            programmes: programmes::Programmes::read(&files.programmes)?,
            biosecurity: biosecurity::Biosecurity::read(&files.biosecurity)?,
            weighing: weight::Weighing::read(&files.weight)?,
            formulary: formulary::Formulary::read(&files.formulary)?,
            care: care::Care::read(&files.care)?,
            competition: competition::Competition::read(&files.competition)?,
            records: records::Records::default(),
            letters: letters::Letters::default(),
            charges: charges::Charges::read(&files.charges)?,
        };
        neuro.end()?;
        flexion.end()?;
        triage.end()?;
        check::check(&catalogue)?;
        let known = |code: &str| catalogue.care.jurisdiction(code).is_some();
        catalogue.records = records::Records::read(&files.records, known)?;
        catalogue.letters = letters::Letters::read(&files.letters, known)?;
        catalogue.words = words::Words::read(files, &catalogue)?;
        catalogue.localise = Arc::new(localise::Localising::read(files, &catalogue)?);
        catalogue.diagnostics = diagnostics::Diagnostics::read(files, &catalogue)?;
        Ok(catalogue)
    }

    pub fn region(&self, code: &str) -> Option<&Region> {
        self.regions.get(code)
    }

    pub fn tester_site(&self, code: &str) -> Option<&TesterSite> {
        self.tester_sites.get(code)
    }

    pub fn finding(&self, code: &str) -> Option<&Finding> {
        self.findings.get(code)
    }

    pub fn scale(&self, code: &str) -> Option<&Scale> {
        self.scales.get(code)
    }

    pub fn vital(&self, code: &str) -> Option<&Vital> {
        self.vitals.get(code)
    }

    pub fn condition(&self, code: &str) -> Option<&Condition> {
        self.conditions.get(code)
    }

    pub fn flexion(&self, code: &str) -> Option<&Flexion> {
        self.flexions.get(code)
    }

    pub fn block(&self, code: &str) -> Option<&Block> {
        self.blocks.get(code)
    }

    pub fn neuro(&self, code: &str) -> Option<&NeuroItem> {
        self.neuro.get(code)
    }

    pub fn order(&self, code: &str) -> Option<&Order> {
        self.orders.get(code)
    }

    pub fn red_flag(&self, code: &str) -> Option<&RedFlag> {
        self.red_flags.get(code)
    }

    pub fn caution(&self, code: &str) -> Option<&Caution> {
        self.cautions.get(code)
    }

    /// The cautions that stand at this point of use, hardest first.
    pub fn cautions_at(&self, point: Where) -> Vec<&Caution> {
        let mut found: Vec<_> = self.cautions.iter().filter(|row| row.shown_at.contains(&point)).collect();
        found.sort_by_key(|row| row.severity);
        found
    }

    /// Breeds whose name holds every word of `text`; none for an empty text.
    pub fn breed_search(&self, text: &str) -> Vec<&Breed> {
        breeds::search(&self.breeds, text)
    }
}

fn in_asking_order(mut rows: Vec<RedFlag>) -> Result<Table<RedFlag>, CatalogueError> {
    rows.sort_by_key(|row| row.seq);
    Table::new("triage.toml", rows)
}

/// Two files, one table: codes are unique over both.
fn read_regions(files: &Files) -> Result<Table<Region>, CatalogueError> {
    let mut rows: Vec<Region> = Vec::new();
    for (file, text) in [("regions.toml", &files.regions), ("foot.toml", &files.foot)] {
        let mut reader = Reader::new(file, text)?;
        rows.extend(reader.rows::<Region>("region")?);
        reader.end()?;
    }
    rows.sort_by_key(|row| row.seq);
    Table::new("regions.toml, foot.toml", rows)
}

fn read_modifiers(files: &Files) -> Result<Modifiers, CatalogueError> {
    let mut reader = Reader::new("modifiers.toml", &files.modifiers)?;
    let modifiers = Modifiers {
        aspects: reader.table("aspect")?,
        positions: reader.table("position")?,
        onsets: reader.table("onset")?,
    };
    reader.end()?;
    Ok(modifiers)
}

fn read_horse(files: &Files) -> Result<HorseLists, CatalogueError> {
    let mut reader = Reader::new("horse.toml", &files.horse)?;
    let lists = HorseLists {
        sexes: reader.table("sex")?,
        uses: reader.table("use")?,
        work_levels: reader.table("work_level")?,
        colours: reader.table("colour")?,
        markings: reader.table("marking")?,
        temperament: reader.table("temperament")?,
    };
    reader.end()?;
    Ok(lists)
}

fn read_complaint(files: &Files) -> Result<ComplaintLists, CatalogueError> {
    let mut reader = Reader::new("complaint.toml", &files.complaint)?;
    let lists = ComplaintLists {
        sites: reader.table("site")?,
        onsets: reader.table("onset")?,
        since: reader.table("since")?,
        courses: reader.table("course")?,
        weight_bearing: reader.table("weight")?,
    };
    reader.end()?;
    Ok(lists)
}
