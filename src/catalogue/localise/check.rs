//! What must hold over the files of localising: every code that a row names exists.

use super::{Holds, Localising};
use crate::catalogue::{Catalogue, CatalogueError, Limb, Severity, check::known};

type Checked = Result<(), CatalogueError>;

const NUMBERS: [&str; 5] = ["numb_from", "widened_to", "several_below", "dose_mg_per_kg", "dose_window_h"];
const STANDINGS: [&str; 4] = ["candidate", "possible", "unlikely", "excluded"];

pub(super) fn check(read: &Localising, catalogue: &Catalogue) -> Checked {
    let missing = |file, row: &str| Err(CatalogueError::row(file, row, "is missing"));
    if let Some(code) = NUMBERS.iter().find(|code| read.numbers.get(code).is_none()) {
        return missing("localise/weights.toml", code);
    }
    if let Some(code) = STANDINGS.iter().find(|code| read.standings.get(code).is_none()) {
        return missing("localise/weights.toml", code);
    }
    for (file, limb) in [("localise/matrix_fore.tsv", Limb::LF), ("localise/matrix_hind.tsv", Limb::LH)] {
        if let Some(row) = read.sources(limb).find(|row| read.matrix(limb).get(&row.code).is_none()) {
            return missing(file, &row.code);
        }
        for row in read.matrix(limb) {
            known(file, &row.code, &read.structures, [&row.code])?;
            known(file, &row.code, &read.weights, row.letters.values())?;
            known(file, &row.code, &catalogue.blocks, row.letters.keys())?;
            known(file, &row.code, &read.clocks, row.letters.keys())?;
        }
    }
    for row in &read.structures {
        known("localise/structures.tsv", &row.code, &read.imaging, &row.imaging)?;
    }
    rules(read, catalogue)?;
    holds(read, catalogue)
}

fn rules(read: &Localising, catalogue: &Catalogue) -> Checked {
    for row in &read.overrides {
        known("localise/overrides.toml", &row.code, &catalogue.blocks, &row.blocks)?;
        known("localise/overrides.toml", &row.code, &read.structures, &row.structures)?;
    }
    for row in &read.ladder {
        known("localise/ladder.toml", &row.code, &read.clocks, [&row.block])?;
        known("localise/ladder.toml", &row.code, &catalogue.regions, &row.regions)?;
        known("localise/ladder.toml", &row.code, &read.structures, &row.early_for)?;
    }
    for row in &read.support {
        known("localise/support.toml", &row.code, &catalogue.findings, &row.findings)?;
        known("localise/support.toml", &row.code, &catalogue.flexions, &row.flexions)?;
        known("localise/support.toml", &row.code, &catalogue.regions, &row.regions)?;
        known("localise/support.toml", &row.code, &catalogue.tester_sites, &row.values)?;
        known("localise/support.toml", &row.code, &read.structures, &row.structures)?;
    }
    for row in &read.together {
        known("localise/together.toml", &row.code, &catalogue.blocks, &row.blocks)?;
        known("localise/together.toml", &row.code, &read.structures, &row.structures)?;
    }
    Ok(())
}

/// A hard stop that let blocks go on would be one in name only.
fn holds(read: &Localising, catalogue: &Catalogue) -> Checked {
    for row in &read.holds {
        known("localise/holds.toml", &row.code, &catalogue.cautions, [&row.code])?;
    }
    let open = catalogue.cautions.iter().find(|caution| {
        caution.severity == Severity::HardStop
            && read.holds.get(&caution.code).is_none_or(|row| row.holds != Holds::All)
    });
    match open {
        Some(caution) => Err(CatalogueError::row(
            "localise/holds.toml",
            &caution.code,
            "is a hard stop that holds nothing",
        )),
        None => Ok(()),
    }
}
