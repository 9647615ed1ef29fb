//! Grey pictures: stored value, rescaled value, lightness, in this order (PS3.3 C.11).
//!
//! There are at most 65,536 stored values, so the whole way is worked out once for each of them and then looked up.

use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;

use super::{
    Object, Raster, Unshown, View, Window,
    attributes::{group, item, number, whole},
    lookup::Lookup,
    shape::Photometric,
    unpack::{self, Samples, value_of},
    window::{self, Function, Shade},
};

/// Bits up to which a picture without a window is shown as it is: the machine has made it for a screen.
const SCREEN_BITS: u16 = 8;
/// Without a window, this share of the pixels may be fully black, and as many fully white: one in so many.
const CLIPPED: u64 = 200;

pub(super) fn render(object: &Object, index: u32, samples: &Samples, view: View) -> Result<Raster, Unshown> {
    let scale = Scale::read(object.set(), index, samples);
    let shade = shade(object, index, samples, &scale, view);
    let inverted = object.shape().photometric == Photometric::Monochrome1;
    let table: Vec<u8> = scale.values.iter().map(|value| byte(shade.lightness(*value), inverted)).collect();
    let pixels = samples.values.iter().filter_map(|value| table.get(usize::from(*value)).copied()).collect();
    Raster::grey(object.shape(), pixels)
}

/// The window a person starts from who wants another one: the file's first, or else what the picture is shown with.
/// `None` for colour.
///
/// # Errors
/// The file has none, and its pixels cannot be unpacked.
pub fn first_window(object: &Object) -> Result<Option<Window>, Unshown> {
    super::unshown::guarded(|| {
        if !matches!(object.shape().photometric, Photometric::Monochrome1 | Photometric::Monochrome2) {
            return Ok(None);
        }
        if let Some(first) = window::windows(object.set(), 0).first() {
            return Ok(Some(first.window));
        }
        let middle = middle(object);
        let samples = unpack::frame(object, middle)?;
        Ok(Some(usual(object, &samples, &Scale::read(object.set(), middle, &samples))))
    })
}

/// The lowest and highest value that the machine could have stored, rescaled: the ends of a slider.
pub(super) fn range(object: &Object) -> (f64, f64) {
    let shape = object.shape();
    let none = Samples { values: Vec::new(), bits: shape.stored, signed: shape.signed, ybr: false };
    Scale::read(object.set(), 0, &none).ends()
}

fn shade(object: &Object, index: u32, samples: &Samples, scale: &Scale, view: View) -> Shade {
    let set = object.set();
    let function = window::function(set, index);
    if let View::Own(window) = view {
        return Shade::Window(window, function);
    }
    if let Some(table) = window::table(set, scale.ends().0 < 0.0) {
        return Shade::Table(table);
    }
    if let Some(first) = window::windows(set, index).first() {
        return Shade::Window(first.window, function);
    }
    let middle = middle(object);
    if middle != index
        && let Ok(samples) = unpack::frame(object, middle)
    {
        let scale = Scale::read(set, middle, &samples);
        return Shade::Window(usual(object, &samples, &scale), Function::Linear);
    }
    Shade::Window(usual(object, samples, scale), Function::Linear)
}

/// All frames without a window get the same one, so that a region that lights up can be told from a window that has
/// moved.
fn middle(object: &Object) -> u32 {
    object.shape().frames / 2
}

/// What a picture without a window is shown with.
fn usual(object: &Object, samples: &Samples, scale: &Scale) -> Window {
    let (low, high) = if samples.bits <= SCREEN_BITS {
        scale.ends()
    } else {
        scale.most(&samples.values, padding(object, samples))
    };
    Window::between(low, high)
}

/// Which stored values stand for no measurement (PS3.3 C.7.5.1.1.2), as two ends, lowest first.
fn padding(object: &Object, samples: &Samples) -> Option<(i64, i64)> {
    let bits = |value: i64| if samples.signed { value } else { value & 0xFFFF };
    let value = bits(whole(object.set(), tags::PIXEL_PADDING_VALUE)?);
    let limit = whole(object.set(), tags::PIXEL_PADDING_RANGE_LIMIT).map_or(value, bits);
    Some((value.min(limit), value.max(limit)))
}

fn byte(lightness: f64, inverted: bool) -> u8 {
    let light = if inverted { 1.0 - lightness } else { lightness };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast keeps to 0 and 255")]
    let byte = (light * 255.0).round() as u8;
    byte
}

/// The rescaled value of each pattern of stored bits.
struct Scale {
    values: Vec<f64>,
    signed: bool,
}

impl Scale {
    fn read(set: &InMemDicomObject, index: u32, samples: &Samples) -> Self {
        let signed = samples.signed;
        let stored = (0..1_i32 << samples.bits).map(|pattern| value_of(pattern, samples.bits, signed));
        let table = item(set, tags::MODALITY_LUT_SEQUENCE)
            .and_then(|item| Lookup::read(item, tags::LUT_DESCRIPTOR, tags::LUT_DATA, signed));
        let values = if let Some(table) = table {
            stored.map(|value| f64::from(table.entry(value))).collect()
        } else {
            let set = group(set, index, tags::PIXEL_VALUE_TRANSFORMATION_SEQUENCE, tags::RESCALE_SLOPE);
            let slope = number(set, tags::RESCALE_SLOPE).filter(|slope| *slope != 0.0).unwrap_or(1.0);
            let intercept = number(set, tags::RESCALE_INTERCEPT).unwrap_or(0.0);
            stored.map(|value| f64::from(value) * slope + intercept).collect()
        };
        Scale { values, signed }
    }

    fn ends(&self) -> (f64, f64) {
        let ends = |(low, high): (f64, f64), value: &f64| (low.min(*value), high.max(*value));
        self.values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), ends)
    }

    /// The values between which most of the pixels lie.
    fn most(&self, pixels: &[u16], padding: Option<(i64, i64)>) -> (f64, f64) {
        let mut counts = vec![0_u64; self.values.len()];
        for pixel in pixels {
            if let Some(count) = counts.get_mut(usize::from(*pixel)) {
                *count += 1;
            }
        }
        let bits = u16::try_from(self.values.len().trailing_zeros()).unwrap_or(16);
        let pads = |pattern: i32| {
            let value = i64::from(value_of(pattern, bits, self.signed));
            padding.is_some_and(|(low, high)| (low..=high).contains(&value))
        };
        let mut seen: Vec<(f64, u64)> = (0..)
            .zip(self.values.iter().zip(counts))
            .filter(|(pattern, (_, count))| *count > 0 && !pads(*pattern))
            .map(|(_, (value, count))| (*value, count))
            .collect();
        seen.sort_by(|one, other| one.0.total_cmp(&other.0));
        let clipped = seen.iter().map(|(_, count)| count).sum::<u64>() / CLIPPED;
        let low = reach(seen.iter(), clipped);
        let high = reach(seen.iter().rev(), clipped);
        low.zip(high).unwrap_or_else(|| self.ends())
    }
}

/// The first value behind so many pixels.
fn reach<'a>(values: impl Iterator<Item = &'a (f64, u64)>, clipped: u64) -> Option<f64> {
    let mut passed = 0;
    for (value, count) in values {
        passed += count;
        if passed > clipped {
            return Some(*value);
        }
    }
    None
}
