//! Tests that are answered yes or no over the years: flexion and the neurological screen. What was positive stays
//! open until the same test on the same limb or side is negative.

use std::collections::{BTreeMap, HashMap};

use super::Standing;
use crate::{
    ids::{EntryId, VisitId},
    record::{Body, Kind},
};

/// An entry of a kind of which only its words are shown.
#[derive(Debug, Clone)]
pub struct Line {
    pub id: EntryId,
    pub visit: VisitId,
    pub late: bool,
    pub body: Body,
}

/// A test whose last answer was positive, and the visit (by its position) that gave it.
#[derive(Debug, Clone)]
pub struct Positive<'a> {
    pub visit: usize,
    pub body: &'a Body,
}

/// The tests of `kind` that were positive when they were last done.
pub fn open<'a>(visits: &[VisitId], lines: &'a [Line], kind: Kind, standing: &Standing) -> Vec<Positive<'a>> {
    let column: HashMap<VisitId, usize> = visits.iter().enumerate().map(|(n, v)| (*v, n)).collect();
    let mut last: BTreeMap<_, Positive> = BTreeMap::new();
    for line in lines.iter().filter(|l| l.body.kind == kind && standing.stands(l.id, l.late)) {
        let Some(&visit) = column.get(&line.visit) else { continue };
        let body = &line.body;
        // What was not done answers nothing.
        if body.present.is_none() && body.grade.is_none() {
            continue;
        }
        // Ataxia is graded fore and hind under one code.
        let pair = body.value.as_deref().filter(|_| body.grade.is_some());
        let key = (&body.limb, &body.side, &body.code, pair);
        let now = Positive { visit, body };
        match last.get(&key) {
            // On one visit a positive answer outweighs a negative one.
            Some(known) if known.visit > visit => {}
            Some(known) if known.visit == visit && is_positive(known.body) => {}
            _ => drop(last.insert(key, now)),
        }
    }
    last.into_values().filter(|p| is_positive(p.body)).collect()
}

/// Positive or abnormal; a grade of nought is neither.
pub fn is_positive(body: &Body) -> bool {
    match (body.present, body.grade) {
        (Some(present), None) => present,
        (Some(false), _) => false,
        (_, grade) => grade.is_some_and(|g| g > 0.0),
    }
}

/// The lines of `kind` on the newest visit that has any, and which visit that is.
pub fn newest<'a>(
    visits: &[VisitId],
    lines: &'a [Line],
    kind: Kind,
    standing: &Standing,
) -> Option<(usize, Vec<&'a Body>)> {
    let of_kind = || lines.iter().filter(|l| l.body.kind == kind && standing.stands(l.id, l.late));
    let visit = of_kind().filter_map(|l| visits.iter().position(|v| *v == l.visit)).max()?;
    let id = visits.get(visit)?;
    Some((visit, of_kind().filter(|l| l.visit == *id).map(|l| &l.body).collect()))
}
