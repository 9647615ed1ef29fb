//! A block work-up as it is handed in, and what of it is refused.

use jiff::{Timestamp, civil::Time};
use serde::Deserialize;

use super::LocaliseError;
use crate::catalogue::{Block, Limb, Urgency, catalogue};

/// The blocks of one limb at one visit. Numbers carry their units in their names.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkUp {
    pub limb: Limb,
    #[serde(default)]
    pub lameness: Option<Lameness>,
    /// Codes of cautions and of questions of the call, each as `CODE` or `CODE@REGION`.
    #[serde(default)]
    pub flags: Vec<String>,
    /// Codes of cautions that somebody went on over, with a reason.
    #[serde(default)]
    pub passed: Vec<String>,
    #[serde(default)]
    pub blocks: Vec<Done>,
    /// Rows of a line reading: findings, and flexion tests.
    #[serde(default)]
    pub findings: Vec<Seen>,
    #[serde(default)]
    pub weight_kg: Option<f64>,
    #[serde(default)]
    pub agent: Option<String>,
    #[serde(default)]
    pub mg_per_ml: Option<f64>,
    #[serde(default)]
    pub ataxia_grade: Option<f64>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lameness {
    pub scale: String,
    pub grade: f64,
}

/// A block that was done.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Done {
    pub block: String,
    /// `HH:MM`, or RFC 3339.
    #[serde(default)]
    pub injected_at: Option<String>,
    #[serde(default)]
    pub read: Vec<Read>,
    /// Not tested, or a joint, when null.
    #[serde(default)]
    pub skin_numb: Option<bool>,
    /// At each site.
    #[serde(default)]
    pub volume_ml: Option<f64>,
    #[serde(default)]
    pub site: Option<Site>,
    /// The lameness was back, or never gone, before this block.
    #[serde(default)]
    pub clean_baseline: Option<bool>,
    /// In place of the work-up's.
    #[serde(default)]
    pub agent: Option<String>,
    #[serde(default)]
    pub mg_per_ml: Option<f64>,
}

/// One look after a block.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Read {
    pub minutes: f64,
    /// Against the grade just before the block, on the same condition.
    #[serde(default)]
    pub improvement_pct: Option<f64>,
    /// The limb that lameness moved to.
    #[serde(default)]
    pub switched_to: Option<Limb>,
}

/// How or where a block was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub enum Site {
    #[serde(rename = "at_cartilage")]
    AtCartilage,
    #[serde(rename = "proximal_2_3_cm")]
    Proximal,
    #[serde(rename = "weight_bearing")]
    WeightBearing,
    #[serde(rename = "flexed")]
    Flexed,
}

impl Site {
    /// By its code.
    pub fn of(code: &str) -> Option<Self> {
        [Self::AtCartilage, Self::Proximal, Self::WeightBearing, Self::Flexed]
            .into_iter()
            .find(|site| site.code() == code)
    }

    pub fn code(self) -> &'static str {
        match self {
            Self::AtCartilage => "at_cartilage",
            Self::Proximal => "proximal_2_3_cm",
            Self::WeightBearing => "weight_bearing",
            Self::Flexed => "flexed",
        }
    }
}

/// A row of a line reading; a flexion row has `flexion`, any other has `finding`.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Seen {
    pub region: Option<String>,
    pub side: Option<String>,
    pub limb: Option<Limb>,
    pub aspect: Option<String>,
    pub structure: Option<String>,
    pub finding: Option<String>,
    pub present: Option<bool>,
    pub grade: Option<f64>,
    pub scale: Option<String>,
    pub value: Option<String>,
    pub value_mm: Option<f64>,
    pub text: Option<String>,
    pub flexion: Option<String>,
    pub hold_s: Option<f64>,
}

/// When a block was done, in minutes of a day or of the epoch; the two are never compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum At {
    Day(f64),
    Instant(f64),
}

impl At {
    pub(super) fn read(text: &str) -> Option<Self> {
        if let Ok(instant) = text.parse::<Timestamp>() {
            #[expect(clippy::cast_precision_loss, reason = "seconds of any year are exact in an f64")]
            return Some(Self::Instant(instant.as_second() as f64 / 60.0));
        }
        let time = Time::strptime("%H:%M", text).ok()?;
        Some(Self::Day(f64::from(time.hour()) * 60.0 + f64::from(time.minute())))
    }

    /// Minutes from `earlier` to here.
    pub(super) fn since(self, earlier: Self) -> Option<f64> {
        match (self, earlier) {
            (Self::Day(a), Self::Day(b)) | (Self::Instant(a), Self::Instant(b)) => Some(a - b),
            _ => None,
        }
    }
}

impl Done {
    pub(super) fn at(&self) -> Option<At> {
        self.injected_at.as_deref().and_then(At::read)
    }
}

/// The block meant on this limb: the hind fetlock joint may be called by the fore's code.
pub(super) fn block_on(limb: Limb, code: &str) -> Result<&'static Block, LocaliseError> {
    let code = if code == "MCPJ" && !limb.is_fore() { "MTPJ" } else { code };
    let block = catalogue().block(code).ok_or_else(|| LocaliseError::Unknown("block", code.to_owned()))?;
    if block.suits(limb) || (block.limbs.is_empty() && !limb.is_fore()) {
        Ok(block)
    } else {
        Err(LocaliseError::Limb(code.to_owned(), limb.name()))
    }
}

/// Refuses what cannot be meant, by name.
pub(super) fn check(work: &WorkUp) -> Result<(), LocaliseError> {
    if let Some(lameness) = &work.lameness {
        let most = match lameness.scale.as_str() {
            "aaep_0_5" => 5.0,
            "uk_0_10" => 10.0,
            other => return Err(LocaliseError::Unknown("lameness scale", other.to_owned())),
        };
        within("lameness.grade", lameness.grade, 0.0, most)?;
    }
    work.blocks.iter().try_for_each(|done| check_done(work.limb, done))?;
    work.flags.iter().chain(&work.passed).try_for_each(|flag| check_flag(flag))?;
    work.findings.iter().try_for_each(check_seen)?;
    maybe("weight_kg", work.weight_kg, 20.0, 1500.0)?;
    maybe("mg_per_ml", work.mg_per_ml, 0.1, 100.0)?;
    maybe("ataxia_grade", work.ataxia_grade, 0.0, 5.0)
}

fn within(name: &'static str, number: f64, least: f64, most: f64) -> Result<(), LocaliseError> {
    if number >= least && number <= most {
        Ok(())
    } else {
        Err(LocaliseError::Number { name, number, least, most })
    }
}

fn maybe(name: &'static str, number: Option<f64>, least: f64, most: f64) -> Result<(), LocaliseError> {
    number.map_or(Ok(()), |number| within(name, number, least, most))
}

fn check_done(limb: Limb, done: &Done) -> Result<(), LocaliseError> {
    block_on(limb, &done.block)?;
    if let Some(at) = done.injected_at.as_deref().filter(|at| At::read(at).is_none()) {
        return Err(LocaliseError::Time(at.to_owned()));
    }
    maybe("volume_ml", done.volume_ml, 0.1, 100.0)?;
    maybe("mg_per_ml", done.mg_per_ml, 0.1, 100.0)?;
    for read in &done.read {
        within("minutes", read.minutes, 0.0, 1440.0)?;
        maybe("improvement_pct", read.improvement_pct, -1000.0, 100.0)?;
        if read.improvement_pct.is_none() && read.switched_to.is_none() {
            return Err(LocaliseError::NoAnswer(done.block.clone()));
        }
        if read.switched_to == Some(limb) {
            return Err(LocaliseError::SameLimb(limb.code()));
        }
    }
    Ok(())
}

/// A flag's code and its region.
pub(super) fn flag(text: &str) -> (&str, Option<&str>) {
    text.split_once('@').map_or((text, None), |(code, region)| (code, Some(region)))
}

fn check_flag(text: &str) -> Result<(), LocaliseError> {
    let (code, region) = flag(text);
    if catalogue().caution(code).is_none() && catalogue().red_flag(code).is_none() {
        return Err(LocaliseError::Unknown("flag", code.to_owned()));
    }
    match region {
        Some(region) if catalogue().region(region).is_none() => {
            Err(LocaliseError::Unknown("region", region.to_owned()))
        }
        _ => Ok(()),
    }
}

fn check_seen(seen: &Seen) -> Result<(), LocaliseError> {
    let lists = catalogue();
    let unknown = |what, code: &str| Err(LocaliseError::Unknown(what, code.to_owned()));
    if let Some(code) = &seen.region
        && lists.region(code).is_none()
    {
        return unknown("region", code);
    }
    if let Some(code) = &seen.flexion
        && lists.flexion(code).is_none()
    {
        return unknown("flexion", code);
    }
    match &seen.finding {
        // Items of the foot carry their region's code as the finding.
        Some(code) if lists.finding(code).is_none() && seen.region.is_none() => unknown("finding", code),
        _ => Ok(()),
    }
}

/// Whether a question of the call means at once.
pub(super) fn is_urgent(code: &str) -> bool {
    catalogue().red_flag(code).is_some_and(|row| row.urgency == Urgency::Now)
}
