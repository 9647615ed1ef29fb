//! Pictures in red, green and blue, or in luminance and two colour differences.

use super::{Raster, Unshown, shape::Shape, unpack::Samples};

pub(super) fn render(shape: &Shape, samples: &Samples) -> Result<Raster, Unshown> {
    let largest = u32::from(u16::MAX >> (16 - samples.bits));
    let table: Vec<u8> = (0..=largest).map(|value| byte((value * 255 + largest / 2) / largest)).collect();
    let mut bytes: Vec<u8> =
        samples.values.iter().filter_map(|value| table.get(usize::from(*value)).copied()).collect();
    if samples.ybr {
        bytes.as_chunks_mut::<3>().0.iter_mut().for_each(|pixel| *pixel = rgb(*pixel));
    }
    Raster::colour(shape, bytes)
}

/// PS3.3 C.7.6.3.1.2 says how the differences are made (ITU-R BT.601); this is the way back, in 65,536ths.
fn rgb([y, blue, red]: [u8; 3]) -> [u8; 3] {
    let (y, blue, red) = (i32::from(y) << 16, i32::from(blue) - 128, i32::from(red) - 128);
    let green = y - 22_554 * blue - 46_802 * red;
    [y + 91_881 * red, green, y + 116_130 * blue]
        .map(|value| byte(((value + (1 << 15)) >> 16).max(0).cast_unsigned()))
}

fn byte(value: u32) -> u8 {
    u8::try_from(value).unwrap_or(u8::MAX)
}
