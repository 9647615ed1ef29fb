//! What stands beside a picture.

use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;

use super::{
    NamedWindow, Object, Spacing,
    attributes::{item, number, text},
    grey,
    shape::Photometric,
    spacing, window,
};

#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    pub rows: u16,
    pub columns: u16,
    pub frames: u32,
    /// As the file has it: `MONOCHROME2`, `RGB` and so on.
    pub photometric: String,
    /// Bits of a value that count.
    pub bits: u16,
    pub spacing: Option<Spacing>,
    /// Milliseconds from one frame to the next.
    pub frame_time_ms: Option<f64>,
    /// `CR`, `DX`, `US`, `NM` and so on.
    pub modality: Option<String>,
    /// `L`, `R`, `B` or `U`, as the file has it.
    pub laterality: Option<String>,
    /// The view's name, or its short form where only that is there.
    pub view: Option<String>,
    /// The windows of the first frame, in the order of the file.
    pub windows: Vec<NamedWindow>,
    /// Whether the file brings its own table of lightness, which is shown before any window.
    pub has_table: bool,
    /// Between which values a window can be chosen; `None` for colour.
    pub range: Option<(f64, f64)>,
    /// Whether something was lost when the picture was packed, by the machine or on the way.
    pub lossy: bool,
}

pub fn facts(object: &Object) -> Facts {
    let (set, shape) = (object.set(), object.shape());
    let is_grey = matches!(shape.photometric, Photometric::Monochrome1 | Photometric::Monochrome2);
    Facts {
        rows: shape.rows,
        columns: shape.columns,
        frames: shape.frames,
        photometric: text(set, tags::PHOTOMETRIC_INTERPRETATION).unwrap_or_default(),
        bits: shape.stored,
        spacing: spacing::spacing(set),
        frame_time_ms: frame_time(set).filter(|_| shape.frames > 1),
        modality: text(set, tags::MODALITY),
        laterality: text(set, tags::IMAGE_LATERALITY).or_else(|| text(set, tags::LATERALITY)),
        view: view(set),
        windows: if is_grey { window::windows(set, 0) } else { Vec::new() },
        has_table: is_grey && window::table(set, shape.signed).is_some(),
        range: is_grey.then(|| grey::range(object)),
        lossy: text(set, tags::LOSSY_IMAGE_COMPRESSION).as_deref() == Some("01"),
    }
}

/// The machine's own time, or what it recommends for a cine.
fn frame_time(set: &InMemDicomObject) -> Option<f64> {
    let positive = |tag| number(set, tag).filter(|value| *value > 0.0);
    let rate = || positive(tags::RECOMMENDED_DISPLAY_FRAME_RATE).or_else(|| positive(tags::CINE_RATE));
    positive(tags::FRAME_TIME).or_else(|| rate().map(|rate| 1000.0 / rate))
}

fn view(set: &InMemDicomObject) -> Option<String> {
    let coded = item(set, tags::VIEW_CODE_SEQUENCE).and_then(|code| text(code, tags::CODE_MEANING));
    coded.or_else(|| text(set, tags::VIEW_POSITION))
}
