//! Pictures out of kept DICOM objects: a file goes in, the pixels of one frame come out as grey or colour, and as PNG.
//!
//! The way of a frame: [`open`] reads the file and says what is in it, or why it cannot be shown; `unpack` gives the
//! stored values of a frame, however they were packed; `grey` or `colour` makes eight bits of them; `raster` scales
//! and writes the PNG. What comes from a machine is not trusted: sizes are bounded before anything is unpacked, and a
//! decoder that gives up is a reason not to show the object, never the end of the server.
//!
//! Rows and windows follow DICOM PS3.3 C.7.6.3 (pixels, palettes), C.11.1 (rescale) and C.11.2 (windows). Overlays,
//! shutters and presentation states are not applied. The pictures are not certified for primary diagnosis.

mod attributes;
mod colour;
mod facts;
mod grey;
mod lookup;
mod open;
mod palette;
mod raster;
mod scan;
mod shape;
mod spacing;
mod unpack;
mod unshown;
mod window;

pub use facts::{Facts, facts};
pub use grey::first_window;
pub use open::{Object, open};
pub use raster::Raster;
pub use spacing::{Scale, Spacing};
pub use unshown::Unshown;
pub use window::{NamedWindow, Window};

use shape::Photometric;

/// How the grey values of a picture become light and dark. Colour pictures have nothing to choose.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum View {
    /// As the file asks for: its table of values, its first window, or else what most pixels lie in.
    #[default]
    AsKept,
    /// As the person asks for.
    Own(Window),
}

/// The frame of this number, counted from 1, as it looks on a screen.
///
/// # Errors
/// There is no such frame, or its pixels cannot be unpacked.
pub fn frame(object: &Object, number: u32, view: View) -> Result<Raster, Unshown> {
    unshown::guarded(|| {
        let index = number.checked_sub(1).filter(|index| *index < object.shape().frames);
        let frames = object.shape().frames;
        let index = index.ok_or(Unshown::NoFrame { number, frames })?;
        let samples = unpack::frame(object, index)?;
        match object.shape().photometric {
            Photometric::Monochrome1 | Photometric::Monochrome2 => {
                grey::render(object, index, &samples, view)
            }
            Photometric::Palette => palette::render(object, &samples),
            _ => colour::render(object.shape(), &samples),
        }
    })
}
