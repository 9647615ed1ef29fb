//! The data files themselves, embedded in the program, and how one is read.

use std::{borrow::Cow, collections::BTreeMap};

use serde::de::DeserializeOwned;

use super::{CatalogueError, Row, Table};

/// The text of every data file. Tests replace one to see that a broken row is refused.
#[derive(Clone, Debug)]
pub struct Files {
    pub regions: Cow<'static, str>,
    pub foot: Cow<'static, str>,
    pub tester_sites: Cow<'static, str>,
    pub findings: Cow<'static, str>,
    pub modifiers: Cow<'static, str>,
    pub scales: Cow<'static, str>,
    pub vitals: Cow<'static, str>,
    pub conditions: Cow<'static, str>,
    pub flexion: Cow<'static, str>,
    pub neuro: Cow<'static, str>,
    pub orders: Cow<'static, str>,
    pub triage: Cow<'static, str>,
    pub road: Cow<'static, str>,
    pub desk: Cow<'static, str>,
    pub programmes: Cow<'static, str>,
    pub procedures: Cow<'static, str>,
    pub biosecurity: Cow<'static, str>,
    pub weight: Cow<'static, str>,
    pub formulary: Cow<'static, str>,
    pub care: Cow<'static, str>,
    pub competition: Cow<'static, str>,
    pub records: Cow<'static, str>,
    pub letters: Cow<'static, str>,
    pub charges: Cow<'static, str>,
    pub cautions: Cow<'static, str>,
    pub horse: Cow<'static, str>,
    pub complaint: Cow<'static, str>,
    pub breeds: Cow<'static, str>,
    pub blocks: Cow<'static, str>,
    pub spots: Cow<'static, str>,
    /// The vocabulary of the line reader, each file with its name.
    pub words: Vec<(&'static str, Cow<'static, str>)>,
    pub plain: Cow<'static, str>,
    pub short: Cow<'static, str>,
    pub alike: Cow<'static, str>,
    pub pointing: Cow<'static, str>,
    /// The files of localising with blocks, each with its name.
    pub localise: Vec<(&'static str, Cow<'static, str>)>,
    /// The files of what can be ordered, each with its name.
    pub diagnostics: Vec<(&'static str, Cow<'static, str>)>,
}

const WORDS: [(&str, &str); 9] = [
    ("words/sides.tsv", include_str!("data/words/sides.tsv")),
    ("words/places.tsv", include_str!("data/words/places.tsv")),
    ("words/findings.tsv", include_str!("data/words/findings.tsv")),
    ("words/foot.tsv", include_str!("data/words/foot.tsv")),
    ("words/grades.tsv", include_str!("data/words/grades.tsv")),
    ("words/vitals.tsv", include_str!("data/words/vitals.tsv")),
    ("words/movement.tsv", include_str!("data/words/movement.tsv")),
    ("words/blocks.tsv", include_str!("data/words/blocks.tsv")),
    ("words/glue.tsv", include_str!("data/words/glue.tsv")),
];

const LOCALISE: [(&str, &str); 15] = [
    ("structures.tsv", include_str!("data/localise/structures.tsv")),
    ("matrix_fore.tsv", include_str!("data/localise/matrix_fore.tsv")),
    ("matrix_hind.tsv", include_str!("data/localise/matrix_hind.tsv")),
    ("clock.tsv", include_str!("data/localise/clock.tsv")),
    ("weights.toml", include_str!("data/localise/weights.toml")),
    ("bounds.toml", include_str!("data/localise/bounds.toml")),
    ("overrides.toml", include_str!("data/localise/overrides.toml")),
    ("ladder.toml", include_str!("data/localise/ladder.toml")),
    ("imaging.toml", include_str!("data/localise/imaging.toml")),
    ("support.toml", include_str!("data/localise/support.toml")),
    ("together.toml", include_str!("data/localise/together.toml")),
    ("holds.toml", include_str!("data/localise/holds.toml")),
    ("needle.toml", include_str!("data/localise/needle.toml")),
    ("compensation.toml", include_str!("data/localise/compensation.toml")),
    ("differentials.tsv", include_str!("data/localise/differentials.tsv")),
];

const DIAGNOSTICS: [(&str, &str); 19] = [
    ("radiographs.toml", include_str!("data/diagnostics/radiographs.toml")),
    ("ultrasound.toml", include_str!("data/diagnostics/ultrasound.toml")),
    ("scans.toml", include_str!("data/diagnostics/scans.toml")),
    ("laboratory.toml", include_str!("data/diagnostics/laboratory.toml")),
    ("items.tsv", include_str!("data/diagnostics/items.tsv")),
    ("zones.toml", include_str!("data/diagnostics/zones.toml")),
    ("scintigraphy.toml", include_str!("data/diagnostics/scintigraphy.toml")),
    ("phases.toml", include_str!("data/diagnostics/phases.toml")),
    ("prepare.toml", include_str!("data/diagnostics/prepare.toml")),
    ("biopsy.toml", include_str!("data/diagnostics/biopsy.toml")),
    ("samples.toml", include_str!("data/diagnostics/samples.toml")),
    ("purchase.toml", include_str!("data/diagnostics/purchase.toml")),
    ("anatomy.tsv", include_str!("data/diagnostics/anatomy.tsv")),
    ("views.tsv", include_str!("data/diagnostics/views.tsv")),
    ("profiles.toml", include_str!("data/diagnostics/profiles.toml")),
    ("decay.toml", include_str!("data/diagnostics/decay.toml")),
    ("tendon.toml", include_str!("data/diagnostics/tendon.toml")),
    ("hoof.toml", include_str!("data/diagnostics/hoof.toml")),
    ("references.tsv", include_str!("data/diagnostics/references.tsv")),
];

impl Files {
    /// The text of one file of localising; empty, and refused as such, when it is not there.
    pub(super) fn localise(&self, name: &str) -> &str {
        self.localise.iter().find(|(file, _)| *file == name).map_or("", |(_, text)| text)
    }

    /// The text of one file of diagnostics; empty, and refused as such, when it is not there.
    pub(super) fn diagnostics(&self, name: &str) -> &str {
        self.diagnostics.iter().find(|(file, _)| *file == name).map_or("", |(_, text)| text)
    }

    pub fn shipped() -> Self {
        Self {
            regions: include_str!("data/regions.toml").into(),
            foot: include_str!("data/foot.toml").into(),
            tester_sites: include_str!("data/tester_sites.toml").into(),
            findings: include_str!("data/findings.toml").into(),
            modifiers: include_str!("data/modifiers.toml").into(),
            scales: include_str!("data/scales.toml").into(),
            vitals: include_str!("data/vitals.toml").into(),
            conditions: include_str!("data/conditions.toml").into(),
            flexion: include_str!("data/flexion.toml").into(),
            neuro: include_str!("data/neuro.toml").into(),
            orders: include_str!("data/orders.toml").into(),
            triage: include_str!("data/triage.toml").into(),
            road: include_str!("data/road.toml").into(),
            desk: include_str!("data/desk.toml").into(),
            programmes: include_str!("data/programmes.toml").into(),
            procedures: include_str!("data/procedures.toml").into(),
            biosecurity: include_str!("data/biosecurity.toml").into(),
            weight: include_str!("data/weight.toml").into(),
            formulary: include_str!("data/formulary.toml").into(),
            care: include_str!("data/care.toml").into(),
            competition: include_str!("data/competition.toml").into(),
            records: include_str!("data/records.toml").into(),
            letters: include_str!("data/letters.toml").into(),
            charges: include_str!("data/charges.toml").into(),
            cautions: include_str!("data/cautions.toml").into(),
            horse: include_str!("data/horse.toml").into(),
            complaint: include_str!("data/complaint.toml").into(),
            breeds: include_str!("data/breeds.tsv").into(),
            blocks: include_str!("data/blocks.toml").into(),
            spots: include_str!("data/words/spots.toml").into(),
            plain: include_str!("data/words/plain.txt").into(),
            short: include_str!("data/words/short.txt").into(),
            alike: include_str!("data/words/alike.txt").into(),
            pointing: include_str!("data/words/pointing.txt").into(),
            words: WORDS.map(|(file, text)| (file, text.into())).to_vec(),
            localise: LOCALISE.map(|(file, text)| (file, text.into())).to_vec(),
            diagnostics: DIAGNOSTICS.map(|(file, text)| (file, text.into())).to_vec(),
        }
    }
}

/// One file being read: its lists are taken out by name, and none may be left over.
pub(super) struct Reader {
    file: &'static str,
    lists: BTreeMap<String, toml::Value>,
}

impl Reader {
    pub(super) fn new(file: &'static str, text: &str) -> Result<Self, CatalogueError> {
        let lists = toml::from_str(text).map_err(|error| CatalogueError::toml(file, &error))?;
        Ok(Self { file, lists })
    }

    /// The rows of one list, in file order.
    pub(super) fn rows<T: DeserializeOwned>(&mut self, list: &str) -> Result<Vec<T>, CatalogueError> {
        let value =
            self.lists.remove(list).ok_or_else(|| CatalogueError::row(self.file, list, "is missing"))?;
        value.try_into().map_err(|error| CatalogueError::toml(self.file, &error))
    }

    pub(super) fn table<T: DeserializeOwned + Row>(
        &mut self,
        list: &str,
    ) -> Result<Table<T>, CatalogueError> {
        Table::new(self.file, self.rows(list)?)
    }

    pub(super) fn end(self) -> Result<(), CatalogueError> {
        match self.lists.into_keys().next() {
            Some(list) => Err(CatalogueError::row(self.file, &list, "is not a list of this file")),
            None => Ok(()),
        }
    }
}

/// A file that holds one list only.
pub(super) fn single<T: DeserializeOwned + Row>(
    file: &'static str,
    text: &str,
    list: &str,
) -> Result<Table<T>, CatalogueError> {
    let mut reader = Reader::new(file, text)?;
    let table = reader.table(list)?;
    reader.end()?;
    Ok(table)
}
