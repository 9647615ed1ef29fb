//! What is made ready, and what is taken care of, before a study is done.

use crate::catalogue::{Caution, Study, catalogue};

/// The list of what to make ready, in words.
pub(super) fn prepare(study: &Study) -> Vec<&'static str> {
    let rows = study.prepare.iter().filter_map(|code| catalogue().diagnostics.prepare.get(code));
    rows.map(|row| row.name.as_str()).collect()
}

pub(super) fn cautions(study: &Study) -> Vec<&'static Caution> {
    study.cautions.iter().filter_map(|code| catalogue().caution(code)).collect()
}
