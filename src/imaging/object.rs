//! What an object says of itself: who, which study, which view. Read element by element from the top of its data set,
//! and no further than the pictures; nothing that was sent decides how deep or how much is read.

use std::io::{Cursor, Read, Seek};

use anyhow::{Context, bail, ensure};
use dicom_core::{PrimitiveValue, Tag, header::Header};
use dicom_dictionary_std::tags;
use dicom_encoding::TransferSyntaxIndex;
use dicom_parser::dataset::{LazyDataToken, lazy_read::LazyDataSetReader};
use dicom_transfer_syntax_registry::TransferSyntaxRegistry;

use super::equipment::{self, DEFLATED, EXPLICIT_LITTLE};

/// Everything that is asked of an object stands before this group.
const ENOUGH: Tag = Tag(0x0042, 0x0000);
/// Behind every element.
const LAST: Tag = Tag(0xFFFF, 0xFFFF);
/// Sequences in sequences; the standard's own go half as deep.
const DEEPEST: usize = 16;
/// The longest value that is looked at; longer ones are passed over.
const LONGEST: u32 = 16 * 1024;
/// So much of a deflated object is unpacked to read its head.
const HEAD: u64 = 8 * 1024 * 1024;

/// What an object says of itself, as it was sent; what it does not say is empty.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Seen {
    pub transfer_syntax: String,
    pub sop_class: String,
    pub sop_instance: String,
    pub study_uid: String,
    pub series_uid: String,
    pub modality: String,
    pub accession: String,
    pub patient_id: String,
    pub patient_name: String,
    pub body_part: String,
    pub view_position: String,
    pub view_name: String,
    pub laterality: String,
    pub series_number: Option<i64>,
    pub instance_number: Option<i64>,
    pub frames: Option<i64>,
    pub rows: Option<i64>,
    pub columns: Option<i64>,
    pub acquired: String,
}

/// Reads the data set that begins where `source` stands.
///
/// # Errors
/// It is not a data set in this transfer syntax, or does not say which object it is.
pub(crate) fn read(source: impl Read + Seek, transfer_syntax: &str) -> anyhow::Result<Seen> {
    let mut seen = Seen { transfer_syntax: transfer_syntax.to_owned(), ..Seen::default() };
    let mut times = [const { String::new() }; 4];
    let mut each = |tag: Tag, value: &PrimitiveValue| note(&mut seen, &mut times, tag, value);
    if transfer_syntax == DEFLATED {
        let mut head = Vec::new();
        flate2::read::DeflateDecoder::new(source).take(HEAD).read_to_end(&mut head)?;
        walk(Cursor::new(head), EXPLICIT_LITTLE, ENOUGH, &mut each)?;
    } else {
        walk(source, transfer_syntax, ENOUGH, &mut each)?;
    }
    let [day, time, content_day, content_time] = times;
    let acquired = if day.is_empty() { (content_day, content_time) } else { (day, time) };
    format!("{} {}", acquired.0, acquired.1).trim().clone_into(&mut seen.acquired);
    ensure!(equipment::is_uid(&seen.sop_instance), "it does not say which object it is");
    ensure!(equipment::is_uid(&seen.sop_class), "it does not say of which class it is");
    Ok(seen)
}

/// Whether these bytes are a data set that may be held as a whole: short, and nothing in it longer or deeper than
/// we go.
pub(crate) fn is_sound(bytes: &[u8], transfer_syntax: &str) -> bool {
    bytes.len() <= LONGEST as usize && walk(Cursor::new(bytes), transfer_syntax, LAST, &mut |_, _| ()).is_ok()
}

/// Goes through a data set up to an element, and shows each short value that stands in no sequence.
fn walk(
    source: impl Read + Seek,
    transfer_syntax: &str,
    until: Tag,
    each: &mut impl FnMut(Tag, &PrimitiveValue),
) -> anyhow::Result<()> {
    let syntax = TransferSyntaxRegistry.get(transfer_syntax).context("its transfer syntax is not known")?;
    let mut reader = LazyDataSetReader::new_with_ts(source, syntax)?;
    let mut depth = 0_usize;
    while let Some(token) = reader.advance() {
        match token? {
            LazyDataToken::ElementHeader(header) if depth == 0 && header.tag() >= until => break,
            LazyDataToken::SequenceStart { tag, .. } if depth == 0 && tag >= until => break,
            LazyDataToken::PixelSequenceStart if until == ENOUGH => break,
            LazyDataToken::PixelSequenceStart => bail!("pictures stand where none belong"),
            LazyDataToken::SequenceStart { .. } | LazyDataToken::ItemStart { .. } => {
                depth += 1;
                // A sequence and its item are two steps.
                ensure!(depth <= 2 * DEEPEST, "its sequences go too deep");
            }
            LazyDataToken::SequenceEnd | LazyDataToken::ItemEnd => {
                depth = depth.checked_sub(1).context("a sequence ends that has not begun")?;
            }
            token @ LazyDataToken::LazyValue { .. } => {
                let LazyDataToken::LazyValue { header, .. } = &token else { bail!("a value has no head") };
                let (tag, length) = (header.tag(), header.len.0);
                if length > LONGEST {
                    ensure!(until == ENOUGH, "a value is longer than the whole");
                    token.skip()?;
                } else if depth > 0 {
                    token.skip()?;
                } else {
                    each(tag, &token.into_value()?);
                }
            }
            token => token.skip()?,
        }
    }
    Ok(())
}

fn note(seen: &mut Seen, times: &mut [String; 4], tag: Tag, value: &PrimitiveValue) {
    let [day, time, content_day, content_time] = times;
    let text = match tag {
        tags::SOP_CLASS_UID => &mut seen.sop_class,
        tags::SOP_INSTANCE_UID => &mut seen.sop_instance,
        tags::STUDY_INSTANCE_UID => &mut seen.study_uid,
        tags::SERIES_INSTANCE_UID => &mut seen.series_uid,
        tags::MODALITY => &mut seen.modality,
        tags::ACCESSION_NUMBER => &mut seen.accession,
        tags::PATIENT_ID => &mut seen.patient_id,
        tags::PATIENT_NAME => &mut seen.patient_name,
        tags::BODY_PART_EXAMINED => &mut seen.body_part,
        tags::VIEW_POSITION => &mut seen.view_position,
        tags::VIEW_NAME => &mut seen.view_name,
        tags::IMAGE_LATERALITY => &mut seen.laterality,
        // The series' side stands for an image that does not say its own.
        tags::LATERALITY if seen.laterality.is_empty() => &mut seen.laterality,
        tags::ACQUISITION_DATE => day,
        tags::ACQUISITION_TIME => time,
        tags::CONTENT_DATE => content_day,
        tags::CONTENT_TIME => content_time,
        _ => return note_number(seen, tag, value),
    };
    *text = printable(&value.to_str());
}

fn note_number(seen: &mut Seen, tag: Tag, value: &PrimitiveValue) {
    let number = match tag {
        tags::SERIES_NUMBER => &mut seen.series_number,
        tags::INSTANCE_NUMBER => &mut seen.instance_number,
        tags::NUMBER_OF_FRAMES => &mut seen.frames,
        tags::ROWS => &mut seen.rows,
        tags::COLUMNS => &mut seen.columns,
        _ => return,
    };
    *number = value.to_int().ok();
}

/// A text without padding, and without what cannot be printed or stored.
fn printable(text: &str) -> String {
    let kept: String = text.chars().filter(|c| !c.is_control()).take(400).collect();
    kept.trim().to_owned()
}
