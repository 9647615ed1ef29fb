//! What an entry means for the assessment: whether it is abnormal, and which caution it raises.

use crate::{
    catalogue::Caution,
    record::{Body, Kind},
};

/// Whether an entry says that something is not as it should be.
pub(super) fn is_abnormal(body: &Body) -> bool {
    match body.kind {
        Kind::Place | Kind::Finding | Kind::Neuro => body.present == Some(true),
        Kind::Gait | Kind::Flexion => body.grade.is_some_and(|grade| grade > 0.0),
        _ => false,
    }
}

/// Whether an entry raises a caution by itself.
pub(super) fn raises(caution: &Caution, body: &Body) -> bool {
    let code = body.code.as_deref().unwrap_or_default();
    let by_grade =
        body.scale.as_deref().zip(body.grade).is_some_and(|(s, g)| caution.is_raised_by_grade(s, g));
    let region = body.region.as_deref().unwrap_or_default();
    let by_finding = body.kind == Kind::Finding && caution.is_raised_by_finding(code, region);
    let by_item = body.kind == Kind::Neuro && caution.items.iter().any(|item| item == code);
    by_grade || (body.present == Some(true) && (by_finding || by_item))
}
