//! The rows of one thing said at one place.

use std::sync::Arc;

use super::say::{Say, What};
use crate::{
    catalogue::{
        Place, Scale, catalogue,
        words::{Meaning, Spot},
    },
    reasoning::line::reading::Finding,
};

pub(super) fn place_at(region: &str, side: &str, limb: Option<&str>) -> Option<Place> {
    let limb = limb.map(str::parse).transpose().ok()?;
    Place::new(region, side.parse().ok()?, limb).ok()
}

pub(super) fn testers_spot() -> Option<Arc<Spot>> {
    let words = &catalogue().words;
    match words.meaning("place:FT_HT", catalogue()) {
        Ok(Meaning::Spot { spot, .. }) => Some(spot),
        _ => None,
    }
}

/// Testers that were closed, without what came of it.
pub(super) fn is_unsaid(say: &Say<'_>) -> bool {
    match say.what {
        What::Testers(None) => !say.negated && say.grade.is_none(),
        What::Measure { .. } => say.number.or(say.mm).is_none(),
        _ => false,
    }
}

/// "lower" is a finding on the axis only ("left tuber coxae lower"); elsewhere it says where.
pub(super) fn is_only_a_level(say: &Say<'_>, spot: &Spot) -> bool {
    let own = say.of.first().filter(|piece| piece.holds.is_none());
    let level = own.is_some_and(|piece| piece.is(|m| matches!(m, Meaning::FlexionLevel { .. })));
    let uneven = matches!(&say.what, What::Finding(code) if code == "ASYM") && say.says_so;
    (level || uneven) && spot.axial.is_empty()
}

pub(super) fn code_of(say: &Say<'_>) -> String {
    match &say.what {
        What::Finding(code) | What::Sign { code, .. } => code.clone(),
        What::Pick { field, .. } | What::Measure { field, .. } => field.clone(),
        What::Testers(_) => "HTST".to_owned(),
        What::Nad { .. } | What::Same => String::new(),
    }
}

/// The rows of one thing at one place: one, or one for each site of the testers.
pub(super) fn rows(say: &Say<'_>, place: Place, finding: &str, aspect: Option<String>) -> Vec<Finding> {
    let (grade, scale) = graded(say, finding);
    let present = match &say.what {
        What::Pick { normal, .. } => !normal && !say.negated,
        What::Testers(Some(false)) => false,
        _ => !say.negated && grade != Some(0.0),
    };
    let grade = if present { grade } else { Some(0.0) };
    let scale = if grade.is_some() { scale } else { None };
    let value = match &say.what {
        What::Pick { value, .. } => value.clone(),
        _ => None,
    };
    let row = Finding {
        region: place.region().code.clone(),
        side: place.side().code().to_owned(),
        limb: place.limb().map(|limb| limb.code().to_owned()),
        aspect,
        finding: finding.to_owned(),
        present,
        grade,
        scale,
        value,
        value_mm: say.number.or(say.mm),
        ..Finding::default()
    };
    // "negative all round"
    let named = say.sites.iter().filter(|site| present || *site != "HT_DIFF");
    let sited: Vec<Finding> =
        named.map(|site| Finding { value: Some(site.clone()), ..row.clone() }).collect();
    if sited.is_empty() { vec![row] } else { sited }
}

/// The grade on the finding's own scale. A denominator of another scale keeps the number without one.
pub(super) fn graded(say: &Say<'_>, finding: &str) -> (Option<f64>, Option<String>) {
    let scale: Option<&Scale> = catalogue()
        .finding(finding)
        .and_then(|row| row.scale.as_deref())
        .and_then(|key| catalogue().scale(key));
    let Some(scale) = scale else { return (None, None) };
    let own = || Some(scale.code.clone());
    if let What::Sign { grade: Some(grade), .. } = say.what {
        return (Some(grade), own());
    }
    match say.grade.as_ref().and_then(|grade| grade.on(scale)) {
        Some((grade, true)) => (Some(grade), own()),
        Some((grade, false)) => (Some(grade), None),
        None => (None, own()),
    }
}
