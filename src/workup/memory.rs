//! A memory aid beside the candidates: what else it could be, and which of its signs this visit has and lacks; fore and
//! hind together; the patterns of the nerves. Never a diagnosis, and never written into the assessment.

use super::{reason::Reasoned, scene::Scene};
use crate::{
    catalogue::{
        Limb, NeuroPattern, Pair, Place, Side, catalogue,
        localise::{Compensation, Differential, Sides, Sign},
    },
    exam::state::place_of,
    record::{Body, Kind},
};

pub(super) struct Maybe {
    pub row: &'static Differential,
    pub has: Vec<String>,
    /// Looked for, and not there.
    pub not: Vec<String>,
    pub open: Vec<String>,
}

/// How a sign stands in this visit.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stands {
    There,
    NotThere,
    NotLookedFor,
}

/// What it could be on this limb: by a structure that still stands, or by a sign that is there. Most signs first.
pub(super) fn differentials(scene: &Scene, limb: Limb, reasoned: Option<&Reasoned>) -> Vec<Maybe> {
    let stands = |row: &Differential| {
        reasoned.is_some_and(|reasoned| row.structures.iter().any(|code| reasoned.stands(code)))
    };
    let rows = catalogue().localise.differentials.iter().filter(|row| row.suits(limb));
    let mut all: Vec<(bool, Maybe)> = rows
        .map(|row| (stands(row), maybe(scene, limb, row)))
        .filter(|(stands, maybe)| *stands || !maybe.has.is_empty())
        .collect();
    all.sort_by_key(|(stands, maybe)| (!stands, usize::MAX - maybe.has.len(), maybe.row.priority));
    all.into_iter().map(|(_, maybe)| maybe).collect()
}

fn maybe(scene: &Scene, limb: Limb, row: &'static Differential) -> Maybe {
    let mut maybe = Maybe { row, has: Vec::new(), not: Vec::new(), open: Vec::new() };
    for sign in row.signs.iter().filter(|sign| is_of(sign, limb)) {
        let list = match how(scene, limb, sign) {
            Stands::There => &mut maybe.has,
            Stands::NotThere => &mut maybe.not,
            Stands::NotLookedFor => &mut maybe.open,
        };
        list.push(words(sign, limb));
    }
    maybe
}

/// Whether this limb can have the sign.
fn is_of(sign: &Sign, limb: Limb) -> bool {
    match sign {
        Sign::Flexion(code) => catalogue().flexion(code).is_some_and(|row| row.suits(limb)),
        Sign::Block(code) => super::form::on(limb, code).is_some(),
        Sign::Finding(_, regions) => regions.iter().any(|code| is_region_of(code, limb)),
    }
}

fn is_region_of(code: &str, limb: Limb) -> bool {
    catalogue().tester_site(code).is_some()
        || Place::new(code, limb.side(), Some(limb)).is_ok()
        || [limb.side(), Side::M].into_iter().any(|side| Place::new(code, side, None).is_ok())
}

fn words(sign: &Sign, limb: Limb) -> String {
    let lists = catalogue();
    match sign {
        Sign::Flexion(code) => {
            format!("flexion of {}", lists.flexion(code).map_or(code.as_str(), |row| &row.name))
        }
        Sign::Block(code) => format!("better after {code}"),
        Sign::Finding(code, regions) => {
            let name = lists.finding(code).map_or(code.as_str(), |row| &row.name);
            let places = regions.iter().filter(|code| is_region_of(code, limb)).map(|code| {
                let site = lists.tester_site(code).map(|site| site.name.as_str());
                site.or(lists.region(code).map(|region| region.name.as_str())).unwrap_or(code)
            });
            format!("{name}, {}", places.collect::<Vec<_>>().join(" or "))
        }
    }
}

fn how(scene: &Scene, limb: Limb, sign: &Sign) -> Stands {
    let said: Vec<bool> = match sign {
        Sign::Flexion(code) => on_limb(scene, Kind::Flexion, limb)
            .filter(|body| body.code.as_deref() == Some(code))
            .filter_map(|body| Some(body.grade? > 0.0))
            .collect(),
        Sign::Block(code) => super::reason::shots_of(scene, limb)
            .filter(|shot| shot.block.code == *code)
            .flat_map(|shot| &shot.looks)
            .filter_map(|look| Some(look.switched_to.is_some() || look.better_pct? >= partly(scene)))
            .collect(),
        Sign::Finding(code, regions) => {
            let here = |body: &&Body| {
                body.region.as_ref().is_some_and(|region| regions.contains(region)) && is_here(body, limb)
            };
            let found = scene.of(Kind::Finding).map(|(_, body)| body).filter(here);
            let ours =
                found.filter(|body| body.code.as_deref() == Some(code)).filter_map(|body| body.present);
            let clear = scene.of(Kind::Place).map(|(_, body)| body).filter(here);
            ours.chain(clear.filter_map(|body| body.present)).collect()
        }
    };
    match (said.is_empty(), said.contains(&true)) {
        (true, _) => Stands::NotLookedFor,
        (false, true) => Stands::There,
        (false, false) => Stands::NotThere,
    }
}

/// On this limb, or at a place of the trunk that belongs to none.
fn is_here(body: &Body, limb: Limb) -> bool {
    match body.limb.as_deref() {
        Some(code) => code == limb.code(),
        None => place_of(body).is_some_and(|place| {
            place.limb().map_or(place.side() == limb.side() || place.side() == Side::M, |of| of == limb)
        }),
    }
}

fn on_limb(scene: &Scene, kind: Kind, limb: Limb) -> impl Iterator<Item = &Body> {
    scene.of(kind).map(|(_, body)| body).filter(move |body| body.limb.as_deref() == Some(limb.code()))
}

/// From so many percent on, an answer is a yes.
fn partly(scene: &Scene) -> f64 {
    scene.rows.answers.get("partly positive").map_or(50.0, |answer| answer.at_least_pct)
}

/// Which limbs are lame at the straight trot, and what fore and hind together make one think of.
pub(super) struct Both {
    pub lame: String,
    pub rows: Vec<&'static Compensation>,
}

pub(super) fn compensation(scene: &Scene) -> Option<Both> {
    let lame = |limb: &Limb| {
        on_limb(scene, Kind::Gait, *limb)
            .filter(|body| matches!(body.code.as_deref(), Some("TRT_SH" | "TRT_SS")))
            .any(|body| body.grade.is_some_and(|grade| grade > 0.0))
    };
    let limbs: Vec<Limb> = Limb::ALL.into_iter().filter(lame).collect();
    let (fore, hind): (Vec<Limb>, Vec<Limb>) = limbs.iter().partition(|limb| limb.is_fore());
    if fore.is_empty() || hind.is_empty() {
        return None;
    }
    let pairs = || fore.iter().flat_map(|fore| hind.iter().map(move |hind| (fore, hind)));
    let same = pairs().any(|(fore, hind)| fore.side() == hind.side());
    let diagonal = pairs().any(|(fore, hind)| fore.side() != hind.side());
    let rows = catalogue().localise.compensation.iter().filter(|row| match row.sides {
        Sides::Same => same,
        Sides::Diagonal => diagonal,
        Sides::Any => true,
    });
    let lame = limbs.iter().map(|limb| limb.name()).collect::<Vec<_>>().join(", ");
    Some(Both { lame, rows: rows.collect() })
}

/// What the ataxia of fore and hind makes one think of.
pub(super) fn nerves(scene: &Scene) -> Vec<&'static NeuroPattern> {
    let of = |pair: Pair| {
        let name = if pair == Pair::Fore { "fore" } else { "hind" };
        let graded = scene.of(Kind::Neuro).filter(|(_, body)| body.scale.as_deref() == Some("ataxia_0_5"));
        graded
            .filter(|(_, body)| body.value.as_deref() == Some(name))
            .filter_map(|(_, body)| body.grade)
            .last()
    };
    let (Some(fore), Some(hind)) = (of(Pair::Fore), of(Pair::Hind)) else { return Vec::new() };
    catalogue().neuro_patterns.iter().filter(|row| row.fits(fore, hind)).collect()
}
