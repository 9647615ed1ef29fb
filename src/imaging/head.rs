//! The head of a DICOM file (PS3.10 7.1): 128 bytes of zeros, `DICM`, and a meta group that says class, instance and
//! transfer syntax. We always write our own, and nothing of the sender into it: the same data set is the same file,
//! however it came.

use std::io::{Read, Write};

use anyhow::{Context, bail, ensure};
use dicom_object::{FileMetaTable, FileMetaTableBuilder};

const PREAMBLE: usize = 128;
const MAGIC: &[u8; 4] = b"DICM";
/// Ours under the root of UUIDs (PS3.5 B.2).
const IMPLEMENTATION: &str = "2.25.94113062298919269449662752934730863688";
const VERSION_NAME: &str = "LIMBLEDGER";
/// A meta group is a few lines; whoever sends more means something else.
const LONGEST_META: usize = 64 * 1024;
/// Up to the length of the meta group.
const FIRST: usize = PREAMBLE + MAGIC.len() + 12;

/// Writes the head of an object.
pub(crate) fn write(
    mut to: impl Write,
    class: &str,
    instance: &str,
    transfer_syntax: &str,
) -> anyhow::Result<()> {
    let meta = FileMetaTableBuilder::new()
        .media_storage_sop_class_uid(class)
        .media_storage_sop_instance_uid(instance)
        .transfer_syntax(transfer_syntax)
        .implementation_class_uid(IMPLEMENTATION)
        .implementation_version_name(VERSION_NAME)
        .build()?;
    to.write_all(&[0; PREAMBLE])?;
    to.write_all(MAGIC)?;
    meta.write(to)?;
    Ok(())
}

/// How long the head of a file is that begins like this; `None` while too little of it is there to say.
///
/// # Errors
/// It is no DICOM file, or its first bytes belong to another kind of file: one that is two things at once is not taken.
pub(crate) fn length(beginning: &[u8]) -> anyhow::Result<Option<usize>> {
    let Some((start, _)) = beginning.split_first_chunk::<FIRST>() else { return Ok(None) };
    let (preamble, rest) = start.split_at(PREAMBLE);
    let (magic, first) = rest.split_at(MAGIC.len());
    ensure!(magic == MAGIC, "it is no DICOM file");
    let tiff = preamble.starts_with(b"II*\0") || preamble.starts_with(b"MM\0*");
    ensure!(tiff || preamble.iter().all(|b| *b == 0), "it is another kind of file as well");
    // The meta group says its own length in its first element, which is always written the same way.
    let &[2, 0, 0, 0, b'U', b'L', 4, 0, a, b, c, d] = first else { bail!("its head cannot be read") };
    let length = u32::from_le_bytes([a, b, c, d]) as usize;
    ensure!(length <= LONGEST_META, "its head cannot be read");
    Ok(Some(FIRST + length))
}

/// Reads the head of a file and leaves `from` where the data set begins.
///
/// # Errors
/// See [`length`]; or the head is cut off.
pub(crate) fn read(from: &mut impl Read) -> anyhow::Result<FileMetaTable> {
    let mut head = vec![0; FIRST];
    from.read_exact(&mut head).context("it is no DICOM file")?;
    let whole = length(&head)?.unwrap_or(FIRST);
    head.resize(whole, 0);
    from.read_exact(head.get_mut(FIRST..).unwrap_or_default()).context("its head is cut off")?;
    let group = head.get(PREAMBLE..).unwrap_or_default();
    FileMetaTable::from_reader(group).context("its head cannot be read")
}
