//! Breeds (`data/breeds.tsv`): SNOMED CT codes as DICOM lists them, searched by any part of the name.

use super::CatalogueError;

#[derive(Debug, PartialEq, Eq)]
pub struct Breed {
    pub code: String,
    /// The coding scheme's designator, `SCT`.
    pub scheme: String,
    pub name: String,
}

const FILE: &str = "breeds.tsv";

pub(super) fn read(text: &str) -> Result<Vec<Breed>, CatalogueError> {
    let lines = text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty());
    lines.skip(1).map(row).collect()
}

fn row(line: &str) -> Result<Breed, CatalogueError> {
    let mut cells = line.split('\t');
    match (cells.next(), cells.next(), cells.next(), cells.next()) {
        (Some(code), Some(scheme), Some(name), None) if !code.is_empty() && !name.is_empty() => {
            Ok(Breed { code: code.into(), scheme: scheme.into(), name: name.into() })
        }
        _ => Err(CatalogueError::row(FILE, line, "is not a code, a scheme and a name")),
    }
}

/// Breeds whose name holds every word of `text`; names that begin with it come first.
pub(super) fn search<'a>(breeds: &'a [Breed], text: &str) -> Vec<&'a Breed> {
    let wanted = text.to_lowercase();
    let words: Vec<&str> = wanted.split_whitespace().collect();
    let Some(first) = words.first() else { return Vec::new() };
    let mut found: Vec<(bool, &Breed)> = breeds
        .iter()
        .filter_map(|breed| {
            let name = breed.name.to_lowercase();
            let all = words.iter().all(|word| name.contains(word));
            all.then(|| (!name.starts_with(first), breed))
        })
        .collect();
    found.sort_by(|(a_later, a), (b_later, b)| a_later.cmp(b_later).then_with(|| a.name.cmp(&b.name)));
    found.into_iter().map(|(_, breed)| breed).collect()
}
