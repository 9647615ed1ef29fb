//! Eight bits a pixel, scaled and written as PNG. JPEG is never made: its blocks can look like findings.

use image::{
    DynamicImage, GrayImage, ImageEncoder, ImageResult, RgbImage,
    codecs::png::{CompressionType, FilterType, PngEncoder},
    imageops,
};

use super::{Unshown, shape::Shape};

/// A frame as it looks on a screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster(DynamicImage);

impl Raster {
    pub(super) fn grey(shape: &Shape, pixels: Vec<u8>) -> Result<Self, Unshown> {
        GrayImage::from_raw(shape.columns.into(), shape.rows.into(), pixels)
            .map(|image| Raster(image.into()))
            .ok_or(Unshown::Damaged)
    }

    pub(super) fn colour(shape: &Shape, pixels: Vec<u8>) -> Result<Self, Unshown> {
        RgbImage::from_raw(shape.columns.into(), shape.rows.into(), pixels)
            .map(|image| Raster(image.into()))
            .ok_or(Unshown::Damaged)
    }

    pub fn columns(&self) -> u32 {
        self.0.width()
    }

    pub fn rows(&self) -> u32 {
        self.0.height()
    }

    /// Row after row from the top left: one byte a pixel for grey, three for colour.
    pub fn pixels(&self) -> &[u8] {
        self.0.as_bytes()
    }

    pub fn is_colour(&self) -> bool {
        self.0.color().has_color()
    }

    /// Made smaller until the longer side has so many pixels; a small picture stays as it is.
    #[must_use]
    pub fn within(self, edge: u32) -> Self {
        if self.columns().max(self.rows()) <= edge {
            return self;
        }
        Raster(self.0.resize(edge, edge, imageops::FilterType::Triangle))
    }

    /// The picture without loss, packed fast rather than small: it goes over a LAN.
    ///
    /// # Errors
    /// The picture is too large for the format, which none is that was rendered here.
    pub fn png(&self) -> ImageResult<Vec<u8>> {
        let mut bytes = Vec::new();
        let encoder = PngEncoder::new_with_quality(&mut bytes, CompressionType::Fast, FilterType::Up);
        encoder.write_image(self.pixels(), self.columns(), self.rows(), self.0.color().into())?;
        Ok(bytes)
    }
}
