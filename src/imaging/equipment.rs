//! What equipment may send, and which orders a machine's pictures belong to.
//!
//! Classes: PS3.4 B.5; transfer syntaxes: PS3.5 annex A; modality terms: PS3.3 C.7.3.1.1.1.

use dicom_dictionary_std::uids;

use crate::catalogue::StudyKind;

/// Storage classes that are taken: radiographs, ultrasound, bone scans and what is captured beside them, with the
/// retired forms that older machines still send.
pub(crate) const STORED: &[&str] = &[
    uids::COMPUTED_RADIOGRAPHY_IMAGE_STORAGE,
    uids::DIGITAL_X_RAY_IMAGE_STORAGE_FOR_PRESENTATION,
    uids::DIGITAL_X_RAY_IMAGE_STORAGE_FOR_PROCESSING,
    uids::ULTRASOUND_IMAGE_STORAGE,
    uids::ULTRASOUND_MULTI_FRAME_IMAGE_STORAGE,
    // Ultrasound, ultrasound multi-frame and nuclear medicine, retired.
    "1.2.840.10008.5.1.4.1.1.6",
    "1.2.840.10008.5.1.4.1.1.3",
    "1.2.840.10008.5.1.4.1.1.5",
    uids::NUCLEAR_MEDICINE_IMAGE_STORAGE,
    uids::SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::MULTI_FRAME_SINGLE_BIT_SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::MULTI_FRAME_GRAYSCALE_BYTE_SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::MULTI_FRAME_GRAYSCALE_WORD_SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::MULTI_FRAME_TRUE_COLOR_SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::VL_PHOTOGRAPHIC_IMAGE_STORAGE,
    uids::VIDEO_PHOTOGRAPHIC_IMAGE_STORAGE,
    uids::ENCAPSULATED_PDF_STORAGE,
    uids::CT_IMAGE_STORAGE,
    uids::MR_IMAGE_STORAGE,
    uids::X_RAY_RADIOFLUOROSCOPIC_IMAGE_STORAGE,
    uids::BASIC_TEXT_SR_STORAGE,
];

pub(crate) const IMPLICIT_LITTLE: &str = uids::IMPLICIT_VR_LITTLE_ENDIAN;
pub(crate) const EXPLICIT_LITTLE: &str = uids::EXPLICIT_VR_LITTLE_ENDIAN;
pub(crate) const DEFLATED: &str = uids::DEFLATED_EXPLICIT_VR_LITTLE_ENDIAN;

/// Transfer syntaxes that are kept as they were sent.
pub(crate) const SYNTAXES: &[&str] = &[
    IMPLICIT_LITTLE,
    EXPLICIT_LITTLE,
    "1.2.840.10008.1.2.2",
    DEFLATED,
    uids::JPEG_BASELINE8_BIT,
    uids::JPEG_EXTENDED12_BIT,
    uids::JPEG_LOSSLESS,
    uids::JPEG_LOSSLESS_SV1,
    uids::JPEGLS_LOSSLESS,
    uids::JPEGLS_NEAR_LOSSLESS,
    uids::JPEG2000_LOSSLESS,
    uids::JPEG2000,
    uids::RLE_LOSSLESS,
];

/// The modalities that take the pictures of an order of this kind. Radiographs come off plates and panels alike, and
/// whoever orders does not say which; what no other kind has is ordered as something else.
pub(crate) fn takes(kind: StudyKind, modality: &str) -> bool {
    match kind {
        StudyKind::Radiograph => matches!(modality, "DX" | "CR"),
        StudyKind::Ultrasound => modality == "US",
        StudyKind::BoneScan => modality == "NM",
        StudyKind::Other => !matches!(modality, "" | "DX" | "CR" | "US" | "NM"),
        StudyKind::Biopsy | StudyKind::Blood | StudyKind::Synovial => false,
    }
}

/// Whether this can be an AE title: up to 16 printable characters of ASCII, no backslash, not only blanks (PS3.5 6.2).
pub(crate) fn is_title(text: &str) -> bool {
    let printable = |b: u8| (b' '..=b'~').contains(&b) && b != b'\\';
    !text.trim().is_empty() && text.len() <= 16 && text.bytes().all(printable)
}

/// Whether this can be a UID: digits in groups, 64 characters at most (PS3.5 9.1).
pub(crate) fn is_uid(text: &str) -> bool {
    let group = |g: &str| !g.is_empty() && g.bytes().all(|b| b.is_ascii_digit());
    text.len() <= 64 && text.split('.').all(group)
}
