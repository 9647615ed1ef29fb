//! What an entry says, as the canonical JSON that the chain is made over: members in the order below, the empty
//! ones left out.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{After, Death, Dosed, Drawn, Exercise, Given, Marked, Parcel, Sample, Scan};
use crate::ids::{EntryId, HorseId, OrderId, ProgrammeId, SweepId};

/// What kind of thing an entry says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "snake_case")]
#[sqlx(rename_all = "snake_case")]
pub enum Kind {
    /// A place was examined and nothing was found (`present` false), or could not be examined (`text` says why).
    Place,
    /// A sign at a place: `code` of the finding list, `present` false when it was looked for and not there.
    Finding,
    /// A measured sign of the whole horse: `code` such as `temp_c`, `number` in its SI unit.
    Vital,
    /// How one limb went under one condition: `code` is the condition, `grade` on `scale`.
    Gait,
    /// The answer to a flexion test: `code` is the test, `number` the seconds it was held.
    Flexion,
    /// An item of the neurological screen: `code`, `present` true when abnormal, `grade` if it has one.
    Neuro,
    /// A diagnostic block: `code` on `limb`, `given` how; older ones in words.
    Block,
    /// How the horse went after the block that `about` names: `code` is the condition, `after` the rest.
    Reading,
    /// Leave for `code` (sedation, blocks, injections), `present` false when withheld; `held_by` who, `value` how, `text` the
    /// estimate that was told with it.
    Consent,
    /// A caution that a person says holds: `code` is the caution's.
    Caution,
    /// An image or sample taken, in words until it has a page of its own.
    Image,
    /// What a radiologist, a laboratory or the vet says of an `order`; `images` the files it rests on.
    Report,
    /// What the images or samples of an `order` show at a place: `text`, `present` false when nothing out of the ordinary.
    Shown,
    /// What was measured on a picture of an `order`: `code` is `foot` or `tendon`, `value` the view or the structure,
    /// `images` the picture's file, `marked` the rest.
    Measured,
    /// Something of a bone scan that was done or measured: `scan`, its name in `code`.
    Scan,
    /// A sample of an `order`: `code` is its item's, `text` the muscle or tube in words, `held_by` who took it, `sample` how.
    Sample,
    /// Samples of an `order` on their way: `parcel`.
    Parcel,
    /// A muscle enzyme of an `order`: `code` is CK or AST, `number` in the unit of `drawn`.
    Enzyme,
    /// What the record does not hold of a submission sheet of an `order`: `answers` by field.
    Submission,
    /// Something of a `programme`: `exercise`, its name in `code`.
    Programme,
    /// A file at the result of an `order`: `value` its SHA-256, `text` what it is and how it was called.
    File,
    /// A treatment: a medicine as `dosed` has it, or in words; `given` when, for a sedation.
    Treatment,
    /// The horse was put down: `death`.
    Euthanasia,
    /// What the horse's people tell, and whatever has no other room.
    Note,
    /// A problem at a place, `value` says how certain.
    Problem,
    Plan,
    /// A caution that was shown and passed, with the reason: `code` is the caution's.
    Override,
    /// Takes back the entry it supersedes.
    Withdrawal,
    /// The visit was signed: what was examined, what was not, and how much came from sweeps.
    Signature,
    /// Words added after signing.
    Addendum,
    /// A late entry taken into a signed visit: `about` names it.
    Adoption,
    /// The visit was moved to another horse: `from_horse`, `to_horse`.
    Moved,
}

/// One entry's words. A member that does not belong to the entry's kind is absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Body {
    pub kind: Kind,
    /// Code of the catalogue's region.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub region: Option<String>,
    /// `L`, `R` or `M`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// `LF`, `RF`, `LH` or `RH`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limb: Option<String>,
    /// medial, lateral, dorsal, palmar ...
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aspect: Option<String>,
    /// Code of the finding, condition, flexion test, neurological item, vital sign, caution or kind of study.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub present: Option<bool>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grade: Option<f64>,
    /// Key of the scale that `grade` is on; never converted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<String>,
    /// A pick from the item's list: a sole's shape, a swelling's quality, a problem's certainty; of what a report is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// Qualities of a finding: firm, focal, fluctuant; of a report of muscle, the codes of its classes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub qualities: Vec<String>,
    /// A measured number, in the unit that the code names.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<f64>,
    /// Free words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// Why this entry corrects, withdraws or overrides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// Who held the limb, the horse, answered, or wrote a report that came from outside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held_by: Option<String>,
    /// Set when one gesture recorded many places at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sweep: Option<SweepId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<EntryId>,
    /// The order that a result belongs to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<OrderId>,
    /// SHA-256 of each file that a report rests on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub images: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_horse: Option<HorseId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_horse: Option<HorseId>,
    /// How it was injected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub given: Option<Given>,
    /// How the horse went after a block.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<After>,
    /// What was marked on a picture and reckoned from it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marked: Option<Marked>,
    /// How a sample was taken and kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sample: Option<Sample>,
    /// Where samples were sent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parcel: Option<Parcel>,
    /// When the blood of an enzyme was drawn, and whose numbers it stands beside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawn: Option<Drawn>,
    /// What was typed into a submission sheet, by field.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub answers: BTreeMap<String, String>,
    /// The line of speech or shorthand that it was read from, word for word.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
    /// What was done or measured for a bone scan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scan: Option<Scan>,
    /// The programme that an entry belongs to, and what it says of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub programme: Option<ProgrammeId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exercise: Option<Exercise>,
    /// A medicine that was given, handed over or prescribed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dosed: Option<Box<Dosed>>,
    /// How a horse was put down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub death: Option<Box<Death>>,
}

impl Body {
    /// An entry of this kind that says nothing yet.
    pub fn new(kind: Kind) -> Self {
        Body {
            kind,
            region: None,
            side: None,
            limb: None,
            aspect: None,
            code: None,
            present: None,
            grade: None,
            scale: None,
            value: None,
            qualities: Vec::new(),
            number: None,
            text: None,
            reason: None,
            held_by: None,
            sweep: None,
            about: None,
            order: None,
            images: Vec::new(),
            from_horse: None,
            to_horse: None,
            given: None,
            after: None,
            marked: None,
            sample: None,
            parcel: None,
            drawn: None,
            answers: BTreeMap::new(),
            line: None,
            scan: None,
            programme: None,
            exercise: None,
            dosed: None,
            death: None,
        }
    }

    /// The bytes that are kept and digested.
    pub fn canonical(&self) -> serde_json::Result<String> {
        serde_json::to_string(self)
    }

    /// Whether `self` and `other` speak of the same place.
    pub fn same_place(&self, other: &Body) -> bool {
        self.region == other.region && self.side == other.side && self.limb == other.limb
    }

    /// The key of the place as pages and forms write it: `FETL_D.L`, `FT_SOLE.LF`; `None` where there is no place.
    pub fn place_key(&self) -> Option<String> {
        let region = self.region.as_deref()?;
        let at = if region.starts_with("FT_") || region.starts_with("HT_") {
            self.limb.as_deref()
        } else {
            self.side.as_deref()
        };
        Some(format!("{region}.{}", at?))
    }
}
