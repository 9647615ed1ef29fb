//! Leave of the horse's people, asked where the needle is: given or withheld, by whom, how.

use crate::{
    record::{Body, Entry, Kind},
    web::Check,
};

use super::scene;

pub(super) const HOW: [(&str, &str); 3] =
    [("in person", "in person"), ("by phone", "by phone"), ("in writing", "in writing")];
pub(super) const ANSWERS: [(&str, &str); 2] = [("given", "given"), ("withheld", "withheld")];

/// The fields of the question, as typed.
#[derive(Debug, Clone, Default)]
pub(super) struct Asked<'a> {
    pub answer: &'a str,
    pub by: &'a str,
    pub how: &'a str,
}

/// Whether leave for this stands.
pub(super) fn is_given(entries: &[Entry], what: &str) -> bool {
    scene::consent(entries, what).is_some_and(|body| body.present == Some(true))
}

/// The entry that the answer makes.
pub(super) fn read(check: &mut Check, what: &str, asked: &Asked<'_>) -> Body {
    let known = |list: &[(&str, &str)], picked: &str| list.iter().any(|(key, _)| *key == picked);
    if !known(&ANSWERS, asked.answer) {
        check.errors.add("consent", "Choose whether consent is given or withheld.");
    }
    let by = check.needed("consent_by", asked.by, 120, "Enter who gave or withheld it.");
    if !known(&HOW, asked.how) {
        check.errors.add("consent_how", "Choose how it was given or withheld.");
    }
    let mut body = Body::new(Kind::Consent);
    body.code = Some(what.to_owned());
    body.present = Some(asked.answer == "given");
    body.held_by = Some(by);
    body.value = Some(asked.how.to_owned());
    body
}
