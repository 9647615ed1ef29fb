//! What a query asks for: which answers match its keys, and which attributes it wants back (PS3.4 C.2.2.2, K.2.2).

use dicom_core::{DataElement, PrimitiveValue, Tag, VR, header::Header, value::DataSetSequence};
use dicom_dictionary_std::tags;
use dicom_object::{InMemDicomObject, mem::InMemElement};

use super::animal::text;

/// One answer.
pub(in crate::imaging) struct Answer {
    pub identifier: InMemDicomObject,
    /// Every key that was asked for a value is one that we match.
    pub all_keys: bool,
}

/// What every answer holds, asked for or not (PS3.4 table K.6-1, type 1).
const ALWAYS: [Tag; 6] = [
    tags::PATIENT_NAME,
    tags::PATIENT_ID,
    tags::STUDY_INSTANCE_UID,
    tags::REQUESTED_PROCEDURE_DESCRIPTION,
    tags::SCHEDULED_PROCEDURE_STEP_SEQUENCE,
    tags::REQUESTED_PROCEDURE_ID,
];
const ALWAYS_OF_STEP: [Tag; 6] = [
    tags::MODALITY,
    tags::SCHEDULED_STATION_AE_TITLE,
    tags::SCHEDULED_PROCEDURE_STEP_START_DATE,
    tags::SCHEDULED_PROCEDURE_STEP_START_TIME,
    tags::SCHEDULED_PROCEDURE_STEP_DESCRIPTION,
    tags::SCHEDULED_PROCEDURE_STEP_ID,
];
const DAY: Tag = tags::SCHEDULED_PROCEDURE_STEP_START_DATE;
const TIME: Tag = tags::SCHEDULED_PROCEDURE_STEP_START_TIME;

/// Whether the query names a day or a span of days.
pub(super) fn asks_for_a_day(query: &InMemDicomObject) -> bool {
    step_key(query, DAY).is_some_and(|day| !matches!(day.as_str(), "" | "*"))
}

/// A key of the query's step, if it is there.
pub(super) fn step_key(query: &InMemDicomObject, tag: Tag) -> Option<String> {
    key(first_item(query.get(tags::SCHEDULED_PROCEDURE_STEP_SEQUENCE)?)?, tag)
}

fn first_item(element: &InMemElement) -> Option<&InMemDicomObject> {
    element.items()?.first()
}

fn key(object: &InMemDicomObject, tag: Tag) -> Option<String> {
    Some(object.get(tag)?.to_str().ok()?.trim_matches([' ', '\0']).to_owned())
}

/// The answer to a query out of everything that can be said; none if a key does not match.
pub(super) fn answer(query: &InMemDicomObject, whole: &InMemDicomObject) -> Option<Answer> {
    let all_keys = matches(query, whole)?;
    let mut identifier = picked(query, whole, &ALWAYS);
    let tag = tags::SCHEDULED_PROCEDURE_STEP_SEQUENCE;
    let step = first_item(whole.get(tag)?)?;
    let step = match query.get(tag).and_then(first_item) {
        Some(asked) => picked(asked, step, &ALWAYS_OF_STEP),
        None => step.clone(),
    };
    let ascii = is_ascii(&identifier) && is_ascii(&step);
    identifier.put(DataElement::new(tag, VR::SQ, DataSetSequence::from(vec![step])));
    if !ascii {
        text(&mut identifier, tags::SPECIFIC_CHARACTER_SET, VR::CS, "ISO_IR 192");
    }
    Some(Answer { identifier, all_keys })
}

/// What was asked for, empty where nothing is known, and what always belongs to it.
fn picked(asked: &InMemDicomObject, whole: &InMemDicomObject, always: &[Tag]) -> InMemDicomObject {
    let mut out = InMemDicomObject::new_empty();
    for element in asked.iter().filter(|element| !is_about_the_message(element.tag())) {
        let empty = || match element.vr() {
            VR::SQ => DataElement::new(element.tag(), VR::SQ, DataSetSequence::<InMemDicomObject>::empty()),
            vr => DataElement::new(element.tag(), vr, PrimitiveValue::Empty),
        };
        out.put(whole.get(element.tag()).cloned().unwrap_or_else(empty));
    }
    for tag in always {
        if let Some(element) = whole.get(*tag) {
            out.put(element.clone());
        }
    }
    out
}

/// Group lengths, the character set and the zone say how a query is written, not what it wants.
fn is_about_the_message(tag: Tag) -> bool {
    tag.element() == 0 || matches!(tag, tags::SPECIFIC_CHARACTER_SET | tags::TIMEZONE_OFFSET_FROM_UTC)
}

/// Whether all keys match; and if so, whether all of them are keys that we know.
fn matches(query: &InMemDicomObject, whole: &InMemDicomObject) -> Option<bool> {
    let mut all_keys = true;
    let joint = joint_times(query, whole)?;
    for element in query.iter().filter(|element| !is_about_the_message(element.tag())) {
        let tag = element.tag();
        if joint && matches!(tag, DAY | TIME) {
            continue;
        }
        if element.vr() == VR::SQ {
            let Some(asked) = first_item(element).filter(|item| item.iter().next().is_some()) else {
                continue;
            };
            match whole.get(tag).and_then(InMemElement::items) {
                Some(items) => {
                    all_keys &= items.iter().filter_map(|item| matches(asked, item)).max()?;
                }
                None => all_keys &= !asks(asked),
            }
            continue;
        }
        let Some(asked) = key(query, tag).filter(|asked| !asked.is_empty() && asked != "*") else { continue };
        match whole.get(tag) {
            Some(has) if !value_matches(has.vr(), &asked, &key(whole, tag).unwrap_or_default()) => {
                return None;
            }
            Some(_) => {}
            None => all_keys = false,
        }
    }
    Some(all_keys)
}

/// Whether anything in it has a value.
fn asks(object: &InMemDicomObject) -> bool {
    object.iter().any(|element| match element.items() {
        Some(items) => items.iter().any(asks),
        None => key(object, element.tag()).is_some_and(|text| !text.is_empty()),
    })
}

/// A span of days and a span of times are one span, from the first time of the first day to the last of the last.
/// `None` when it does not match, `false` when both are to be matched by themselves.
fn joint_times(query: &InMemDicomObject, whole: &InMemDicomObject) -> Option<bool> {
    let (Some(days), Some(times)) = (key(query, DAY), key(query, TIME)) else { return Some(false) };
    if !times.contains('-') || digits(&days).is_empty() {
        return Some(false);
    }
    let (first, last) = days.split_once('-').unwrap_or((&days, &days));
    let (from, until) = times.split_once('-')?;
    let has = format!("{}{}", key(whole, DAY)?, filled(&key(whole, TIME)?, '0'));
    let after = digits(first).is_empty() || has >= format!("{}{}", digits(first), filled(from, '0'));
    let before = digits(last).is_empty() || has <= format!("{}{}", digits(last), filled(until, '9'));
    (after && before).then_some(true)
}

fn value_matches(vr: VR, asked: &str, has: &str) -> bool {
    if has.is_empty() {
        // What is not known matches no value.
        return false;
    }
    match vr {
        VR::DA => in_span(asked, &digits(has), |bound, _| digits(bound)),
        VR::TM => in_span(asked, &filled(has, '0'), filled),
        VR::UI => asked.split('\\').any(|uid| uid.trim_matches([' ', '\0']) == has),
        VR::AE => asked == has,
        VR::PN => is_like(&person(asked), &person(has)),
        _ => is_like(asked, has),
    }
}

/// One value, or `from-until` with either end open. `bound` writes a bound out, filled up with a digit.
fn in_span(asked: &str, has: &str, bound: impl Fn(&str, char) -> String) -> bool {
    let (from, until) = asked.split_once('-').unwrap_or((asked, asked));
    let after = from.trim().is_empty() || has >= bound(from, '0').as_str();
    let before = until.trim().is_empty() || has <= bound(until, '9').as_str();
    after && before
}

fn digits(text: &str) -> String {
    text.chars().filter(char::is_ascii_digit).collect()
}

/// A time to the second: what was left out is its first or its last moment.
fn filled(time: &str, with: char) -> String {
    let whole = time.split('.').next().unwrap_or_default();
    let digits = digits(whole);
    digits.chars().chain(std::iter::repeat(with)).take(6).collect()
}

/// A name as names are compared: its first way of writing, without case, without empty parts at its end.
fn person(name: &str) -> String {
    let alphabetic = name.split('=').next().unwrap_or_default();
    alphabetic.trim_end_matches(['^', ' ']).to_lowercase()
}

/// `*` is any run of characters, `?` any one of them.
fn is_like(pattern: &str, text: &str) -> bool {
    let (pattern, text): (Vec<char>, Vec<char>) = (pattern.chars().collect(), text.chars().collect());
    // Where a match may stand after each character of the pattern; a star spreads it to the end.
    let mut at = vec![false; text.len() + 1];
    at[0] = true;
    for wanted in pattern {
        let mut next = vec![false; at.len()];
        if wanted == '*' {
            let mut reached = false;
            for (place, was) in next.iter_mut().zip(&at) {
                reached |= *was;
                *place = reached;
            }
        } else {
            for ((place, was), has) in next.iter_mut().skip(1).zip(&at).zip(&text) {
                *place = *was && (wanted == '?' || wanted == *has);
            }
        }
        at = next;
    }
    at.last().copied().unwrap_or(false)
}

fn is_ascii(object: &InMemDicomObject) -> bool {
    object.iter().all(|element| match element.items() {
        Some(items) => items.iter().all(is_ascii),
        None => element.to_str().is_ok_and(|text| text.is_ascii()),
    })
}
