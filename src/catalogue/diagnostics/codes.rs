//! Codes of the imaging standard (DICOM PS3.16) for parts of the body and views, and what oblique views profile.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::catalogue::{CatalogueError, Confidence, row::rows, tsv::Line};

/// A part of the body, of context group 7483 or Table L-2.
#[derive(Clone, Debug)]
pub struct Anatomy {
    pub code: String,
    /// Whose code it is: `SCT` or `UMLS`.
    pub scheme: String,
    pub meaning: String,
    /// The term of Body Part Examined (0018,0015), where there is one.
    pub body_part: Option<String>,
    /// Of Table L-2 alone: not a code of the context group.
    pub is_of_table_only: bool,
    pub source: String,
    pub confidence: Confidence,
}

impl Anatomy {
    pub(super) fn read(line: &Line<'_>) -> Result<Self, CatalogueError> {
        Ok(Self {
            code: line.text("code")?.to_owned(),
            scheme: line.text("scheme")?.to_owned(),
            meaning: line.text("meaning")?.to_owned(),
            body_part: line.maybe("body_part")?,
            is_of_table_only: line.text("within")? == "L-2",
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    }
}

/// A view of context group 7484.
#[derive(Clone, Debug)]
pub struct ViewCode {
    /// The projection, as this program writes it.
    pub code: String,
    /// The code in the standard.
    pub dicom: String,
    /// Whose code it is: `SCT` or `DCM`.
    pub scheme: String,
    pub meaning: String,
    /// The abbreviation as the standard prints it.
    pub printed: String,
    /// The term of View Position (0018,5101), as the standard prints it.
    pub position: String,
    pub source: String,
    pub confidence: Confidence,
}

impl ViewCode {
    pub(super) fn read(line: &Line<'_>) -> Result<Self, CatalogueError> {
        Ok(Self {
            code: line.text("code")?.to_owned(),
            dicom: line.text("dicom")?.to_owned(),
            scheme: line.text("scheme")?.to_owned(),
            meaning: line.text("meaning")?.to_owned(),
            printed: line.text("printed")?.to_owned(),
            position: line.text("position")?.to_owned(),
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    }
}

/// What an oblique projection shows in profile.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Profile {
    /// The projection, in the form of the forelimb.
    pub code: String,
    /// Projections that are taken in its place.
    #[serde(default)]
    pub same_as: Vec<String>,
    /// Margins of the limb, in the form of the forelimb.
    pub margins: String,
    /// By study: what they are there.
    pub at: BTreeMap<String, String>,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Anatomy, ViewCode, Profile);
