//! Words that cover several places, and how one of them is chosen.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::catalogue::{Catalogue, CatalogueError, Confidence, Group, Limb, Pair, Region, row::rows};

/// A word for one place or several: "fetlock", "hock", "back". A region's own words are a spot of that one region.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spot {
    pub code: String,
    #[serde(default)]
    pub fore: Vec<String>,
    #[serde(default)]
    pub hind: Vec<String>,
    #[serde(default)]
    pub axial: Vec<String>,
    #[serde(default)]
    pub foot: Vec<String>,
    /// The place meant for a finding, `*` for all others. `A|B`: whichever the limb has. `A:F`: there it is called F.
    #[serde(default)]
    pub default: BTreeMap<String, String>,
    /// The place that a direction picks out.
    #[serde(default)]
    pub aspect: BTreeMap<String, String>,
    #[serde(default)]
    pub flexion: Flexes,
    /// A stretch of the limb in which other places lie: beside one of them it only says where.
    #[serde(default)]
    pub stretch: bool,
    /// What is found is found in each of its places.
    #[serde(default)]
    pub each: bool,
    /// The direction that the word is right after a place of a limb: "knee back".
    #[serde(default)]
    pub beside: Option<String>,
    /// The pair that is meant where none is said.
    #[serde(default)]
    pub usual: Option<Pair>,
    pub source: String,
    pub confidence: Confidence,
}

/// The flexion test that carries the spot's name.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flexes {
    pub fore: Option<String>,
    pub hind: Option<String>,
}

impl Flexes {
    pub fn is_none(&self) -> bool {
        self.fore.is_none() && self.hind.is_none()
    }
}

impl Spot {
    /// A spot of these regions alone; several of one group are asked about.
    pub(super) fn of(regions: &[&Region]) -> Self {
        let group = |group| {
            regions.iter().filter(|region| region.group == group).map(|region| region.code.clone()).collect()
        };
        let first = regions.first();
        Self {
            code: regions.iter().map(|region| region.code.as_str()).collect::<Vec<_>>().join("|"),
            fore: group(Group::Fore),
            hind: group(Group::Hind),
            axial: group(Group::Axial),
            foot: group(Group::Foot),
            default: BTreeMap::new(),
            aspect: BTreeMap::new(),
            flexion: Flexes::default(),
            stretch: false,
            each: false,
            beside: None,
            usual: None,
            source: first.map(|region| region.source.clone()).unwrap_or_default(),
            confidence: Confidence::working(),
        }
    }

    /// Its regions on a limb.
    pub fn on(&self, limb: Limb) -> &[String] {
        match (limb.is_fore(), &self.foot) {
            (_, foot) if !foot.is_empty() => foot,
            (true, _) => &self.fore,
            (false, _) => &self.hind,
        }
    }

    /// Its limbs; none for a spot of the axis.
    pub fn limbs(&self) -> Vec<Limb> {
        Limb::ALL.into_iter().filter(|limb| !self.on(*limb).is_empty()).collect()
    }

    /// Whether it is found on both a fore and a hind.
    pub fn on_both_pairs(&self) -> bool {
        !self.foot.is_empty() || (!self.fore.is_empty() && !self.hind.is_empty())
    }

    pub fn flexion_on(&self, pair: Pair) -> Option<&str> {
        match pair {
            Pair::Fore => self.flexion.fore.as_deref(),
            Pair::Hind => self.flexion.hind.as_deref(),
        }
    }

    /// Whether both words can mean one and the same place.
    pub fn meets(&self, other: &Spot) -> bool {
        let shares = |a: &[String], b: &[String]| a.iter().any(|code| b.contains(code));
        shares(&self.fore, &other.fore)
            || shares(&self.hind, &other.hind)
            || shares(&self.axial, &other.axial)
            || shares(&self.foot, &other.foot)
    }

    /// This spot as a part of a wider one: "collateral ligament" of the hock.
    #[must_use]
    pub fn narrowed(&self, wide: &Spot) -> Spot {
        let both = |own: &[String], wide: &[String]| -> Vec<String> {
            let shared: Vec<String> = own.iter().filter(|code| wide.contains(code)).cloned().collect();
            if shared.is_empty() && !wide.is_empty() { own.to_vec() } else { shared }
        };
        let mut spot = Spot {
            fore: both(&self.fore, &wide.fore),
            hind: both(&self.hind, &wide.hind),
            axial: both(&self.axial, &wide.axial),
            foot: both(&self.foot, &wide.foot),
            ..self.clone()
        };
        let all = [&spot.fore, &spot.hind, &spot.axial, &spot.foot];
        let holds = |code: &str| all.iter().any(|regions| regions.iter().any(|region| region == code));
        let parts = |map: &BTreeMap<String, String>| -> BTreeMap<String, String> {
            map.iter()
                .filter(|(_, code)| holds(code))
                .map(|(key, code)| (key.clone(), code.clone()))
                .collect()
        };
        let (default, aspect) = (parts(&wide.default), parts(&wide.aspect));
        spot.default.extend(default);
        spot.aspect.extend(aspect);
        spot
    }

    /// Number of regions it may mean.
    pub fn breadth(&self) -> usize {
        self.fore.len().max(self.hind.len()).max(self.axial.len()).max(self.foot.len())
    }
}

pub(super) fn check(catalogue: &Catalogue, spot: &Spot) -> Result<(), CatalogueError> {
    let refused = |what: String| CatalogueError::row("words/spots.toml", &spot.code, &what);
    let defaults = spot.default.values().flat_map(|value| value.split('|'));
    let regions = [&spot.fore, &spot.hind, &spot.axial, &spot.foot].into_iter().flatten().map(String::as_str);
    let regions = regions
        .chain(defaults.map(|value| value.split(':').next().unwrap_or_default()))
        .chain(spot.aspect.values().map(String::as_str));
    for region in regions {
        if catalogue.region(region).is_none() {
            return Err(refused(format!("names the region `{region}`, which does not exist")));
        }
    }
    for finding in spot.default.keys().filter(|key| *key != "*") {
        if catalogue.finding(finding).is_none() {
            return Err(refused(format!("names the finding `{finding}`, which does not exist")));
        }
    }
    let tests = [&spot.flexion.fore, &spot.flexion.hind].into_iter().flatten();
    for test in tests {
        if catalogue.flexion(test).is_none() {
            return Err(refused(format!("names the flexion test `{test}`, which does not exist")));
        }
    }
    Ok(())
}

rows!(Spot);
