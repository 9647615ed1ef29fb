//! Run lengths (PS3.5 annex G).

use dicom_encoding::{Codec, TransferSyntax, TransferSyntaxIndex, adapters::PixelDataObject};
use dicom_transfer_syntax_registry::TransferSyntaxRegistry;

use super::{Samples, is_ybr, native};
use crate::imaging::picture::{Object, Unshown};

const NAME: &str = "run-length";

/// # Errors
/// The frame is damaged.
pub(super) fn frame(object: &Object, index: u32) -> Result<Samples, Unshown> {
    let shape = object.shape();
    let syntax = TransferSyntaxRegistry.get(object.file().meta().transfer_syntax());
    let Some(Codec::EncapsulatedPixelData(Some(decoder), _)) = syntax.map(TransferSyntax::codec) else {
        return Err(Unshown::Packing(NAME.to_owned()));
    };
    // The decoder makes room for as many segments as a frame claims to have.
    let segments = u32::from(shape.samples * shape.allocated.div_ceil(8));
    let packed = object.file().fragment(index as usize).ok_or(Unshown::FrameLost(index + 1))?;
    if packed.first_chunk() != Some(&segments.to_le_bytes()) {
        return Err(Unshown::Codec(NAME));
    }
    let mut bytes = Vec::new();
    decoder.decode_frame(object.file(), index, &mut bytes).map_err(|_| Unshown::Codec(NAME))?;
    let values = native::stored(shape, &bytes);
    if values.len() != shape.values() {
        return Err(Unshown::Mismatch(NAME));
    }
    Ok(Samples { values, bits: shape.stored, signed: shape.signed, ybr: is_ybr(shape.photometric) })
}
