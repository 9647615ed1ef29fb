//! Why an object is kept and still not shown.

use std::panic::{AssertUnwindSafe, catch_unwind};

/// Each is a sentence for a person. The file itself is safe in every case, and can be handed to another program.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unshown {
    #[error("Kept, cannot be shown: the file is no DICOM object, or its head is damaged.")]
    NoObject,
    #[error("Kept, cannot be shown: the object is damaged or was cut off on its way.")]
    Damaged,
    #[error("Kept, cannot be shown: the object holds no picture.")]
    NoPixels,
    #[error("Kept, cannot be shown: this is a video, and only single pictures can be unpacked here.")]
    Video,
    #[error("Kept, cannot be shown: the pixels are packed as {0}, which cannot be unpacked here.")]
    Packing(String),
    #[error("Kept, cannot be shown: the object's {0} is missing or makes no sense.")]
    Attribute(&'static str),
    #[error("Kept, cannot be shown: its colours are of the kind {0}, which is not known here.")]
    Photometric(String),
    #[error("Kept, cannot be shown: its values have {0} bits, and at most 16 are shown here.")]
    Depth(u16),
    #[error("Kept, cannot be shown: it is larger than what is unpacked here ({0}).")]
    TooLarge(&'static str),
    #[error("Kept, cannot be shown: its parts lie within each other too often to be a picture of a machine.")]
    TooDeep,
    #[error("Kept, cannot be shown: where frame {0} begins cannot be told.")]
    FrameLost(u32),
    #[error("There is no frame {number}: this object has {frames}.")]
    NoFrame { number: u32, frames: u32 },
    #[error(
        "Kept, cannot be shown: the {0} picture inside is damaged or of a kind that cannot be unpacked here."
    )]
    Codec(&'static str),
    #[error("Kept, cannot be shown: the {0} picture inside has another size than the object says.")]
    Mismatch(&'static str),
}

/// Runs what reads foreign bytes. The libraries check what they know of; where one stops in the middle instead, the
/// object is damaged as far as anybody can tell.
pub(super) fn guarded<T>(work: impl FnOnce() -> Result<T, Unshown>) -> Result<T, Unshown> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or(Err(Unshown::Damaged))
}
