//! The form of a block: what was typed, and what is meant by it.

use serde::Deserialize;

use super::{
    consent::{self, Asked},
    scene::Scene,
    when,
};
use crate::{
    catalogue::{Block, BlockKind, Limb, Row, catalogue},
    ids::VisitId,
    record::{Body, Given, Kind},
    web::{Check, Errors},
};

pub(super) const SKIN: [(&str, &str); 3] = [("", "not tested"), ("numb", "numb"), ("feels", "still feels")];
pub(super) const CLEAN: [(&str, &str); 3] =
    [("", "not judged"), ("yes", "lame as before"), ("no", "still better")];

/// The form as typed, and as the address asks for it.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    pub limb: String,
    pub block: String,
    pub agent: String,
    pub mg_per_ml: String,
    pub volume: String,
    pub sites: String,
    pub site: String,
    pub skin: String,
    pub at: String,
    pub clean: String,
    pub consent: String,
    pub consent_by: String,
    pub consent_how: String,
    /// Of the forms before it: why it goes in all the same, which cautions hold, and words about them.
    pub reason: String,
    pub code: Vec<String>,
    pub words: String,
}

/// A block that is done on this limb; those of the trunk are told on a hind limb.
pub(super) fn on(limb: Limb, code: &str) -> Option<&'static Block> {
    let here = |block: &&Block| block.suits(limb) || (block.limbs.is_empty() && !limb.is_fore());
    catalogue().block(code).filter(here)
}

/// Where the form of a block is; a plus in an address is a blank.
pub(super) fn address(visit: VisitId, limb: Limb, block: &str) -> String {
    format!("/visits/{visit}/work-up/block?limb={}&block={}", limb.code(), block.replace('+', "%2B"))
}

/// A needle in a joint, a sheath or a bursa is an injection; any other one a block.
pub(super) fn consent_of(block: &Block) -> &'static str {
    if block.kind == BlockKind::Synovial { "injections" } else { "blocks" }
}

pub(super) fn variants(block: &Block) -> Vec<(&'static str, &'static str)> {
    let rows = catalogue().localise.variants.iter().filter(|row| row.blocks.contains(&block.code));
    rows.map(|row| (row.code(), row.name.as_str())).collect()
}

/// The block, and the consent that is asked with it.
pub(super) fn check(typed: &Typed, scene: &Scene) -> std::result::Result<(Body, Option<Body>), Errors> {
    let limb: Option<Limb> = typed.limb.parse().ok();
    let Some((limb, block)) = limb.and_then(|limb| Some((limb, on(limb, &typed.block)?))) else {
        return Err(Errors::one("", "Choose a limb, and a block that is done on it."));
    };
    let mut check = Check::new();
    let asked = Asked { answer: &typed.consent, by: &typed.consent_by, how: &typed.consent_how };
    let what = consent_of(block);
    let asks = (!consent::is_given(&scene.entries, what)).then(|| consent::read(&mut check, what, &asked));
    let given = given(&mut check, typed, scene, block);
    let mut body = Body::new(Kind::Block);
    body.limb = Some(limb.code().to_owned());
    body.code = Some(block.code.clone());
    body.given = Some(given);
    // Nothing of a block that was not done has to be right.
    if asks.as_ref().is_some_and(|asks| asks.present == Some(false)) && typed.consent == "withheld" {
        let wrong = check.errors.all().iter().any(|(field, _)| field.starts_with("consent"));
        return if wrong { check.done((body, asks)) } else { Ok((body, asks)) };
    }
    check.done((body, asks))
}

fn given(check: &mut Check, typed: &Typed, scene: &Scene, block: &Block) -> Given {
    let volume = check.number("volume", &typed.volume, 0.1..=100.0, "ml");
    if typed.volume.trim().is_empty() {
        check.errors.add("volume", "Enter how many ml went to each site.");
    }
    let sites = check.number("sites", &typed.sites, 1.0..=12.0, "");
    if sites.is_some_and(|sites| sites.fract() != 0.0) {
        check.errors.add("sites", "Enter a whole number of sites.");
    }
    if catalogue().localise.agents.get(&typed.agent).is_none() {
        check.errors.add("agent", "Choose the local anaesthetic.");
    }
    let mg_per_ml = check.number("mg_per_ml", &typed.mg_per_ml, 0.1..=100.0, "mg a ml");
    let variant = variants(block).into_iter().find(|(code, _)| *code == typed.site);
    if variant.is_none() && !typed.site.is_empty() {
        check.errors.add("site", "Choose one of the list.");
    }
    let at = when::past(check, "at", &typed.at, (scene.now, scene.visit.starts_at), scene.zone());
    Given {
        agent: Some(typed.agent.clone()),
        mg_per_ml,
        volume_ml: volume,
        sites,
        site: variant.map(|(code, _)| code.to_owned()),
        skin_numb: one_of(check, "skin", &typed.skin, &SKIN).map(|word| word == "numb"),
        clean_baseline: one_of(check, "clean", &typed.clean, &CLEAN).map(|word| word == "yes"),
        at,
    }
}

/// A pick of a short list whose empty answer is none.
pub(super) fn one_of(
    check: &mut Check,
    field: &str,
    picked: &str,
    list: &[(&'static str, &str)],
) -> Option<&'static str> {
    let found = list.iter().map(|(key, _)| *key).find(|key| *key == picked);
    if found.is_none() {
        check.errors.add(field, "Choose one of the list.");
    }
    found.filter(|key| !key.is_empty())
}
