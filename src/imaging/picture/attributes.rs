//! Values out of a data set, as numbers and words. What is missing or cannot be read is `None`: whoever asks knows
//! whether that is an error.

use dicom_core::Tag;
use dicom_dictionary_std::tags;
use dicom_object::{InMemDicomObject, mem::InMemElement};

/// All numbers of an attribute; infinite ones and NaN are no numbers.
pub(super) fn numbers(set: &InMemDicomObject, tag: Tag) -> Option<Vec<f64>> {
    let values = set.get(tag)?.to_multi_float64().ok()?;
    (!values.is_empty() && values.iter().all(|value| value.is_finite())).then_some(values)
}

pub(super) fn number(set: &InMemDicomObject, tag: Tag) -> Option<f64> {
    numbers(set, tag)?.first().copied()
}

/// A whole number; what has a fraction or does not fit is none.
pub(super) fn whole<T: TryFrom<i64>>(set: &InMemDicomObject, tag: Tag) -> Option<T> {
    let value: i64 = set.get(tag)?.to_multi_int().ok()?.first().copied()?;
    T::try_from(value).ok()
}

/// A text without the padding around it; an empty one is none.
pub(super) fn text(set: &InMemDicomObject, tag: Tag) -> Option<String> {
    let text = set.get(tag)?.to_str().ok()?;
    let text = text.trim_matches(|c: char| c.is_whitespace() || c == '\0');
    (!text.is_empty()).then(|| text.to_owned())
}

/// The first item of a sequence.
pub(super) fn item(set: &InMemDicomObject, tag: Tag) -> Option<&InMemDicomObject> {
    set.get(tag)?.items()?.first()
}

/// Where the attributes of one frame stand: in the object itself, or in a group of its kind, by frame or for all
/// frames (PS3.3 C.7.6.16).
pub(super) fn group(set: &InMemDicomObject, frame: u32, sequence: Tag, attribute: Tag) -> &InMemDicomObject {
    if set.get(attribute).is_some() {
        return set;
    }
    let of_frame = || {
        let frames = set.get(tags::PER_FRAME_FUNCTIONAL_GROUPS_SEQUENCE).and_then(InMemElement::items)?;
        item(frames.get(frame as usize)?, sequence)
    };
    let of_all = || item(item(set, tags::SHARED_FUNCTIONAL_GROUPS_SEQUENCE)?, sequence);
    of_frame().or_else(of_all).unwrap_or(set)
}
