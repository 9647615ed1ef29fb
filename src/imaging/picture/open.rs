//! Reading a kept file. Nothing in it is believed: its parts are scanned before they are taken into memory.

use std::{
    fs::File,
    io::{BufRead, BufReader, Read},
    path::Path,
};

use dicom_dictionary_std::tags;
use dicom_encoding::{Codec, TransferSyntax, TransferSyntaxIndex};
use dicom_object::{FileDicomObject, FileMetaTable, InMemDicomObject, OpenFileOptions};
use dicom_transfer_syntax_registry::TransferSyntaxRegistry;

use super::{Unshown, scan, shape::Shape, unshown::guarded};

/// A file, and what a deflated one may grow to.
const MOST_BYTES: u64 = 1 << 30;
const PREAMBLE: usize = 128;
/// Preamble and head of an ordinary file take half a kibibyte.
const LONGEST_HEAD: usize = 64 << 10;
/// MPEG-2, MPEG-4 and HEVC (PS3.5 8.2.5 to 8.2.8).
const VIDEO: std::ops::RangeInclusive<u32> = 100..=108;

/// A kept object with pixels that can be looked for. It is read once and can give all its frames.
#[derive(Debug)]
pub struct Object {
    file: FileDicomObject<InMemDicomObject>,
    shape: Shape,
}

impl Object {
    pub(super) fn set(&self) -> &InMemDicomObject {
        &self.file
    }

    pub(super) fn file(&self) -> &FileDicomObject<InMemDicomObject> {
        &self.file
    }

    pub(super) fn shape(&self) -> &Shape {
        &self.shape
    }
}

/// Reads a file of DICOM PS3.10, up to and with its pixels.
///
/// # Errors
/// Says in a sentence why the object cannot be shown. A file that is not there or cannot be read counts as damaged.
pub fn open(path: &Path) -> Result<Object, Unshown> {
    guarded(|| {
        let bytes = path.metadata().map_err(|_| Unshown::Damaged)?.len();
        if bytes > MOST_BYTES {
            return Err(Unshown::TooLarge("more than 1 GiB"));
        }
        let (syntax, data) = head(path)?;
        // What was deflated may be longer than its file.
        let longest = if matches!(syntax.codec(), Codec::Dataset(_)) { MOST_BYTES } else { bytes };
        scan::scan(data, syntax, longest)?;
        let file =
            OpenFileOptions::new().read_to(tags::PIXEL_DATA).open_file(path).map_err(|_| Unshown::Damaged)?;
        if file.get(tags::PIXEL_DATA).is_none() {
            return Err(Unshown::NoPixels);
        }
        let shape = Shape::read(&file)?;
        Ok(Object { file, shape })
    })
}

/// The transfer syntax, and the data set behind the head, inflated where it was deflated.
fn head(path: &Path) -> Result<(&'static TransferSyntax, Box<dyn Read>), Unshown> {
    let mut file = BufReader::with_capacity(LONGEST_HEAD, File::open(path).map_err(|_| Unshown::Damaged)?);
    let start = file.fill_buf().map_err(|_| Unshown::Damaged)?;
    if !start.get(PREAMBLE + 4..).is_some_and(scan::is_whole) {
        return Err(Unshown::NoObject);
    }
    file.read_exact(&mut [0; PREAMBLE]).map_err(|_| Unshown::NoObject)?;
    let meta = FileMetaTable::from_reader(&mut file).map_err(|_| Unshown::NoObject)?;
    let uid = meta.transfer_syntax();
    if is_video(uid) {
        return Err(Unshown::Video);
    }
    let syntax = TransferSyntaxRegistry.get(uid).ok_or_else(|| Unshown::Packing(uid.to_owned()))?;
    Ok(match syntax.codec() {
        Codec::Dataset(Some(adapter)) => {
            (syntax, Box::new(adapter.adapt_reader(Box::new(file)).take(MOST_BYTES)))
        }
        Codec::Dataset(None) => return Err(Unshown::Packing(syntax.name().to_owned())),
        _ => (syntax, Box::new(file)),
    })
}

fn is_video(uid: &str) -> bool {
    let number =
        uid.strip_prefix("1.2.840.10008.1.2.4.").and_then(|rest| rest.split('.').next()?.parse().ok());
    number.is_some_and(|number: u32| VIDEO.contains(&number))
}
