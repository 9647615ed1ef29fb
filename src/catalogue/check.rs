//! What must hold over the whole catalogue: every code that a row names exists, and every row makes sense.

use super::{
    Catalogue, Choice, Field, FieldKind, Finding, FindingKind, Flexion, Group, Range, Region, Row, Scale,
    Table, Vital,
};

/// A data file that cannot be used, with the row at fault.
#[derive(Debug, thiserror::Error)]
pub enum CatalogueError {
    #[error("{file}: {message}")]
    Toml { file: &'static str, message: String },
    #[error("{file}: `{row}` {what}")]
    Row { file: &'static str, row: String, what: String },
}

impl CatalogueError {
    pub(super) fn row(file: &'static str, row: &str, what: &str) -> Self {
        Self::Row { file, row: row.to_owned(), what: what.to_owned() }
    }

    pub(super) fn toml(file: &'static str, error: &toml::de::Error) -> Self {
        Self::Toml { file, message: error.to_string() }
    }
}

type Checked = Result<(), CatalogueError>;

pub(super) fn check(catalogue: &Catalogue) -> Checked {
    for region in &catalogue.regions {
        check_region(catalogue, region)?;
    }
    catalogue.findings.iter().try_for_each(|row| check_finding(catalogue, row))?;
    catalogue.scales.iter().try_for_each(check_scale)?;
    catalogue.vitals.iter().try_for_each(|row| check_vital(catalogue, row))?;
    catalogue.flexions.iter().try_for_each(check_flexion)?;
    for site in &catalogue.tester_sites {
        known("tester_sites.toml", &site.code, &catalogue.tester_sites, &site.covers)?;
    }
    check_cautions(catalogue)?;
    check_choices(catalogue)
}

/// Refuses `row` when one of the codes it names is not in `table`.
pub(super) fn known<'a, T: Row>(
    file: &'static str,
    row: &str,
    table: &Table<T>,
    codes: impl IntoIterator<Item = &'a String>,
) -> Checked {
    match codes.into_iter().find(|code| table.get(code).is_none()) {
        Some(code) => Err(CatalogueError::row(file, row, &format!("names `{code}`, which does not exist"))),
        None => Ok(()),
    }
}

/// Refuses `row` when what must hold of it does not.
pub(super) fn require(holds: bool, file: &'static str, row: &str, what: &str) -> Checked {
    if holds { Ok(()) } else { Err(CatalogueError::row(file, row, what)) }
}

fn check_region(catalogue: &Catalogue, region: &Region) -> Checked {
    let file = if region.group == Group::Foot { "foot.toml" } else { "regions.toml" };
    let row = region.code.as_str();
    known(file, row, &catalogue.findings, &region.offer)?;
    known(file, row, &catalogue.scales, &region.scale)?;
    let same_place = catalogue.regions.iter().filter(|other| other.seq == region.seq).count();
    require(same_place == 1, file, row, "shares its seq with another region")?;
    region.fields.iter().try_for_each(|field| check_field(catalogue, file, row, field))
}

fn check_field(catalogue: &Catalogue, file: &'static str, row: &str, field: &Field) -> Checked {
    known(file, row, &catalogue.scales, &field.scale)?;
    let makes_sense = match field.kind {
        FieldKind::Pick | FieldKind::Picks => !field.picks.is_empty(),
        FieldKind::Number => {
            field.unit.is_some() && matches!((field.min, field.max), (Some(min), Some(max)) if min < max)
        }
        FieldKind::Scale => field.scale.is_some(),
        FieldKind::YesNo | FieldKind::Date => true,
    };
    require(makes_sense, file, row, &format!("has a field `{}` that lacks what its kind needs", field.key))
}

fn check_finding(catalogue: &Catalogue, finding: &Finding) -> Checked {
    let (file, row) = ("findings.toml", finding.code.as_str());
    known(file, row, &catalogue.scales, &finding.scale)?;
    let graded = finding.kind == FindingKind::Graded;
    require(
        graded == finding.scale.is_some(),
        file,
        row,
        "must have a scale when it is graded, and none otherwise",
    )
}

fn check_scale(scale: &Scale) -> Checked {
    let (file, row) = ("scales.toml", scale.code.as_str());
    require(!scale.attribution.trim().is_empty(), file, row, "has no attribution")?;
    require(scale.grades.len() > 1, file, row, "has fewer than two grades")?;
    let in_order = scale.grades.windows(2).all(|pair| pair[0].value + 1 == pair[1].value);
    require(in_order, file, row, "has grades that do not rise one by one")
}

fn check_vital(catalogue: &Catalogue, vital: &Vital) -> Checked {
    let (file, row) = ("vitals.toml", vital.code.as_str());
    known(file, row, &catalogue.scales, &vital.scale)?;
    let inside = |inner: Range, outer: Range| inner.min >= outer.min && inner.max <= outer.max;
    require(vital.possible.min < vital.possible.max, file, row, "has an empty possible range")?;
    require(inside(vital.plausible, vital.possible), file, row, "takes as plausible what is not possible")?;
    let reference = vital.reference.is_none_or(|range| inside(range, vital.plausible));
    require(reference, file, row, "has a reference outside what is plausible")
}

fn check_flexion(flexion: &Flexion) -> Checked {
    let held = flexion.hold_s.is_none_or(|seconds| seconds.min > 0.0 && seconds.min <= seconds.max);
    require(held && !flexion.limbs.is_empty(), "flexion.toml", &flexion.code, "has no limbs or a wrong hold")
}

fn check_cautions(catalogue: &Catalogue) -> Checked {
    for caution in &catalogue.cautions {
        let (file, row) = ("cautions.toml", caution.code.as_str());
        require(!caution.shown_at.is_empty(), file, row, "is shown nowhere")?;
        known(file, row, &catalogue.scales, caution.grades.iter().map(|trigger| &trigger.scale))?;
        known(file, row, &catalogue.findings, &caution.findings)?;
        known(file, row, &catalogue.regions, &caution.regions)?;
        known(file, row, &catalogue.neuro, &caution.items)?;
        known(file, row, &catalogue.vitals, caution.vitals.iter().map(|trigger| &trigger.code))?;
        known(file, row, &catalogue.complaint.weight_bearing, &caution.weight_bearing)?;
        known(file, row, &catalogue.horse.temperament, &caution.temperament)?;
        let onsets = caution.grades.iter().flat_map(|trigger| &trigger.onsets);
        known(file, row, &catalogue.complaint.onsets, onsets)?;
        let bounded =
            caution.grades.iter().all(|trigger| trigger.at_least.is_some() || trigger.below.is_some());
        require(bounded, file, row, "has a grade trigger without a bound")?;
    }
    Ok(())
}

fn check_choices(catalogue: &Catalogue) -> Checked {
    let complaint = &catalogue.complaint;
    let lists: [&[Choice]; 5] = [
        &complaint.sites,
        &complaint.onsets,
        &complaint.since,
        &complaint.courses,
        &complaint.weight_bearing,
    ];
    for choice in lists.into_iter().flatten() {
        known("complaint.toml", &choice.code, &catalogue.red_flags, &choice.red_flag)?;
    }
    for warning in &catalogue.horse.temperament {
        let shown = warning.text.is_some() && !warning.shown_at.is_empty();
        require(shown, "horse.toml", &warning.code, "is a warning without a sentence or a place to show it")?;
    }
    Ok(())
}
