//! The tab-separated files of localising.

use std::collections::HashMap;

use super::{
    beside::Differential,
    rows::{Clock, MatrixRow, Structure},
};
use crate::catalogue::{CatalogueError, Table, tsv::table};

pub(super) fn structures(file: &'static str, text: &str) -> Result<Table<Structure>, CatalogueError> {
    table(file, text, |line| {
        let part = line.text("part")?;
        let (fore, hind) = part.split_once('|').unwrap_or((part, part));
        Ok(Structure {
            code: line.text("code")?.to_owned(),
            name: line.text("name")?.to_owned(),
            part: (fore.to_owned(), hind.to_owned()),
            limbs: line.pairs()?,
            is_check_site: line.text("is")? == "check",
            imaging: line.codes("imaging")?,
            regions: line.codes("regions")?,
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    })
}

pub(super) fn differentials(file: &'static str, text: &str) -> Result<Table<Differential>, CatalogueError> {
    table(file, text, Differential::read)
}

pub(super) fn clock(file: &'static str, text: &str) -> Result<Table<Clock>, CatalogueError> {
    table(file, text, |line| {
        Ok(Clock {
            code: line.text("code")?.to_owned(),
            assess_min: line.number("assess_min")?,
            again_min: line.number("again_min")?,
            late_min: line.number("late_min")?,
            ml_least: line.number("ml_least")?,
            ml_most: line.number("ml_most")?,
            sites: line.number("sites")?,
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    })
}

pub(super) fn matrix(file: &'static str, text: &str) -> Result<Table<MatrixRow>, CatalogueError> {
    table(file, text, |line| {
        let is_block = |column: &str| !matches!(column, "structure" | "source" | "confidence");
        let letters: HashMap<String, String> = line
            .columns
            .iter()
            .zip(&line.cells)
            .filter(|(column, _)| is_block(column))
            .map(|(column, letter)| ((*column).to_owned(), (*letter).to_owned()))
            .collect();
        Ok(MatrixRow {
            code: line.text("structure")?.to_owned(),
            letters,
            own: HashMap::new(),
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    })
}
