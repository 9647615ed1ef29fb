//! Windows: which grey values are spread from black to white (PS3.3 C.11.2).

use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;

use super::{
    attributes::{group, item, numbers, text},
    lookup::Lookup,
};

/// In the values of the machine after rescaling: Hounsfield units for CT, counts for scintigraphy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    centre: f64,
    width: f64,
}

impl Window {
    /// `None` when this spreads nothing: the width must be above zero, and both be finite.
    pub fn new(centre: f64, width: f64) -> Option<Self> {
        (centre.is_finite() && width.is_finite() && width > 0.0).then_some(Window { centre, width })
    }

    pub fn centre(&self) -> f64 {
        self.centre
    }

    pub fn width(&self) -> f64 {
        self.width
    }

    /// The window of [`Function::Linear`] that makes `low` black, `high` white, and no value between them either.
    pub(super) fn between(low: f64, high: f64) -> Self {
        Window { centre: f64::midpoint(low, high) + 0.5, width: high - low + 1.0 }
    }
}

/// A window that the machine or its operator has put into the file.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedWindow {
    pub window: Window,
    pub name: Option<String>,
}

/// How a window spreads the values in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Function {
    #[default]
    Linear,
    LinearExact,
    Sigmoid,
}

impl Function {
    fn read(set: &InMemDicomObject) -> Self {
        match text(set, tags::VOILUT_FUNCTION).as_deref() {
            Some("LINEAR_EXACT") => Function::LinearExact,
            Some("SIGMOID") => Function::Sigmoid,
            _ => Function::Linear,
        }
    }
}

/// From a rescaled value to lightness.
pub(super) enum Shade {
    Window(Window, Function),
    Table(Lookup),
}

impl Shade {
    /// From 0, black, to 1, white; before the light and the dark are swapped.
    pub(super) fn lightness(&self, value: f64) -> f64 {
        match self {
            Shade::Window(Window { centre, width }, Function::Linear) => {
                let (middle, span) = (centre - 0.5, (width - 1.0).max(0.0));
                ramp(value - middle, span)
            }
            Shade::Window(Window { centre, width }, Function::LinearExact) => ramp(value - centre, *width),
            Shade::Window(Window { centre, width }, Function::Sigmoid) => {
                1.0 / (1.0 + (-4.0 * (value - centre) / width).exp())
            }
            Shade::Table(table) => f64::from(table.entry(rounded(value))) / f64::from(table.largest()),
        }
    }
}

fn ramp(from_middle: f64, span: f64) -> f64 {
    if from_middle <= -span / 2.0 {
        0.0
    } else if from_middle > span / 2.0 {
        1.0
    } else {
        from_middle / span + 0.5
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a cast keeps to the ends of the range, which a table does too"
)]
fn rounded(value: f64) -> i32 {
    value.round() as i32
}

/// The windows of a frame in the order of the file, without those that spread nothing.
pub(super) fn windows(set: &InMemDicomObject, frame: u32) -> Vec<NamedWindow> {
    let set = group(set, frame, tags::FRAME_VOILUT_SEQUENCE, tags::WINDOW_CENTER);
    let centres = numbers(set, tags::WINDOW_CENTER).unwrap_or_default();
    let widths = numbers(set, tags::WINDOW_WIDTH).unwrap_or_default();
    let names = text(set, tags::WINDOW_CENTER_WIDTH_EXPLANATION).unwrap_or_default();
    let mut names = names.split('\\').map(str::trim);
    let pairs = centres.into_iter().zip(widths);
    let read = pairs.map(|(centre, width)| {
        let name = names.next().filter(|name| !name.is_empty()).map(ToOwned::to_owned);
        Some(NamedWindow { window: Window::new(centre, width)?, name })
    });
    read.flatten().collect()
}

pub(super) fn function(set: &InMemDicomObject, frame: u32) -> Function {
    Function::read(group(set, frame, tags::FRAME_VOILUT_SEQUENCE, tags::WINDOW_CENTER))
}

/// The file's own table of lightness; `signed` as for [`Lookup::read`].
pub(super) fn table(set: &InMemDicomObject, signed: bool) -> Option<Lookup> {
    Lookup::read(item(set, tags::VOILUT_SEQUENCE)?, tags::LUT_DESCRIPTOR, tags::LUT_DATA, signed)
}
