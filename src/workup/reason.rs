//! From what a visit holds to the reckoning over blocks, and from its answer to what the page shows.

use super::{course::Shot, form, own, scene::Scene};
use crate::{
    catalogue::{Limb, Pair, catalogue},
    reasoning::localise::{
        Candidate, Code, Done, Lameness, Localised, Pictures, Read, SEEN, Seen, Site, WorkUp, localise,
    },
    record::{Body, Kind},
};

/// A structure with its evidence, the blocks' apart from the examination's.
pub(super) struct Shown {
    pub name: &'static str,
    pub standing: &'static str,
    /// What it would be by the shipped values, where the practice's own make it another.
    pub shipped: Option<&'static str>,
    pub blocks: Vec<String>,
    pub seen: Vec<String>,
}

/// A block that is worth doing next.
pub(super) struct Next {
    pub code: &'static str,
    pub name: &'static str,
    pub gain: f64,
    pub why: String,
    pub href: String,
}

/// What the blocks of one limb say.
pub(super) struct Reasoned {
    pub limb: Limb,
    /// A block was answered: before that everything stands.
    pub answered: bool,
    pub field: Vec<String>,
    pub standing: Vec<Shown>,
    /// Less likely, and not supported by these blocks.
    pub others: Vec<Shown>,
    pub next: Vec<Next>,
    pub pictures: Vec<Pictures>,
    /// Names, a group each.
    pub not_separable: Vec<String>,
    pub several: bool,
    /// Names of blocks of this limb that wait to be read.
    pub waits: Vec<&'static str>,
    pub caveats: Vec<Code>,
    pub stops: Vec<Code>,
    /// The practice's own values among those that this limb is reckoned with: where each stands, and its words.
    pub own: Vec<(String, String)>,
    pub answer: Localised,
}

/// So many alternatives stand in the open; the others behind a fold.
const FIRST: usize = 4;

impl Reasoned {
    pub(super) fn first(&self) -> &[Next] {
        self.next.get(..FIRST).unwrap_or(&self.next)
    }

    pub(super) fn rest(&self) -> &[Next] {
        self.next.get(FIRST..).unwrap_or_default()
    }

    /// Candidates and possible ones by code, once a block was answered.
    pub(super) fn stands(&self, structure: &str) -> bool {
        self.answered
            && self.answer.candidates.iter().any(|one| one.structure == structure && does_stand(one))
    }
}

fn does_stand(candidate: &Candidate) -> bool {
    matches!(candidate.standing.as_str(), "candidate" | "possible")
}

/// How a standing is said: blocks never exclude.
pub(super) fn standing_words(standing: &str) -> &'static str {
    match standing {
        "candidate" => "candidate",
        "possible" => "possible",
        "unlikely" => "less likely",
        _ => "not supported by these blocks",
    }
}

/// What the visit says of one limb; nothing where the reckoning cannot take it.
pub(super) fn of(scene: &Scene, limb: Limb) -> Option<Reasoned> {
    let work = work_up(scene, limb);
    let answer = localise(&work, &scene.rows).ok()?;
    let own = own::of(&scene.rows, limb);
    let by_shipped = if own.is_empty() { None } else { localise(&work, &catalogue().localise).ok() };
    let shown = |one: &Candidate| shown(one, by_shipped.as_ref());
    let held = scene.before_needle();
    let is_shown = |code: &str| held.iter().any(|raised| raised.code == code);
    let (standing, others) = answer.candidates.iter().partition::<Vec<_>, _>(|one| does_stand(one));
    Some(Reasoned {
        limb,
        answered: work.blocks.iter().any(|block| !block.read.is_empty()),
        field: answer.field.clone(),
        standing: standing.into_iter().filter_map(shown).collect(),
        others: others.into_iter().filter_map(shown).collect(),
        next: nexts(scene, limb, &answer),
        pictures: answer.imaging.clone(),
        not_separable: answer.not_separable.iter().map(|group| names(group)).collect(),
        several: answer.several_sources,
        waits: shots_of(scene, limb)
            .filter(|shot| shot.waits(scene.now))
            .map(|shot| shot.block.name.as_str())
            .collect(),
        // What holds before any needle stands on the page already.
        caveats: answer.caveats.iter().filter(|caveat| !is_shown(&caveat.code)).cloned().collect(),
        stops: answer.stops.clone(),
        own,
        answer,
    })
}

fn shown(candidate: &Candidate, by_shipped: Option<&Localised>) -> Option<Shown> {
    let row = catalogue().localise.structures.get(&candidate.structure)?;
    let (seen, blocks): (Vec<String>, Vec<String>) =
        candidate.because.iter().cloned().partition(|sentence| sentence.starts_with(SEEN));
    let seen = seen.into_iter().map(|sentence| sentence.trim_start_matches(SEEN).to_owned()).collect();
    let shipped = by_shipped.and_then(|answer| {
        let same = answer.candidates.iter().find(|one| one.structure == candidate.structure)?;
        (same.standing != candidate.standing).then(|| standing_words(&same.standing))
    });
    Some(Shown { name: &row.name, standing: standing_words(&candidate.standing), shipped, blocks, seen })
}

fn names(codes: &[String]) -> String {
    let rows = codes.iter().filter_map(|code| catalogue().localise.structures.get(code));
    rows.map(|row| row.name.as_str()).collect::<Vec<_>>().join("; ")
}

/// The blocks worth doing next on this limb.
pub(super) fn next(scene: &Scene, limb: Limb) -> Vec<Next> {
    localise(&work_up(scene, limb), &scene.rows).map(|answer| nexts(scene, limb, &answer)).unwrap_or_default()
}

/// What was injected and waits to be read is no news.
fn nexts(scene: &Scene, limb: Limb, answer: &Localised) -> Vec<Next> {
    let waits =
        |code: &str| shots_of(scene, limb).any(|shot| shot.block.code == code && shot.waits(scene.now));
    let one = |next: &crate::reasoning::localise::Next| {
        let block = catalogue().block(&next.block)?;
        Some(Next {
            code: &block.code,
            name: &block.name,
            gain: next.gain,
            why: next.why.clone(),
            href: form::address(scene.visit.id, limb, &block.code),
        })
    };
    answer.next.iter().filter(|next| !waits(&next.block)).filter_map(one).collect()
}

/// The visit as the reckoning takes it.
pub(super) fn work_up(scene: &Scene, limb: Limb) -> WorkUp {
    let held = scene.before_needle();
    let known = |raised: &&crate::exam::movement::Raised| catalogue().caution(raised.code).is_some();
    let (passed, flags) =
        held.iter().filter(known).partition::<Vec<_>, _>(|raised| raised.is_passed_for_blocks());
    let code = |raised: &crate::exam::movement::Raised| raised.code.to_owned();
    WorkUp {
        limb,
        lameness: lameness(scene, limb),
        flags: flags.into_iter().map(code).collect(),
        passed: passed.into_iter().map(code).collect(),
        blocks: shots_of(scene, limb).map(done).collect(),
        findings: seen(scene, limb),
        weight_kg: scene.card.kg.filter(|kg| (20.0..=1500.0).contains(kg)),
        agent: None,
        mg_per_ml: None,
        ataxia_grade: ataxia(scene, Pair::of(limb)),
    }
}

/// The blocks of a limb; one of the trunk that names none belongs to no limb.
pub(super) fn shots_of(scene: &Scene, limb: Limb) -> impl Iterator<Item = &Shot> {
    scene.shots.iter().filter(move |shot| shot.limb == Some(limb))
}

/// The worst grade of the limb, whatever it was watched under.
fn lameness(scene: &Scene, limb: Limb) -> Option<Lameness> {
    let ours = scene.of(Kind::Gait).filter(|(_, body)| body.limb.as_deref() == Some(limb.code()));
    let graded = ours.filter_map(|(_, body)| Some((body.scale.clone()?, body.grade?)));
    let known = graded.filter(|(scale, _)| matches!(scale.as_str(), "aaep_0_5" | "uk_0_10"));
    let (scale, grade) = known.max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(Lameness { scale, grade })
}

fn ataxia(scene: &Scene, pair: Pair) -> Option<f64> {
    let name = if pair == Pair::Fore { "fore" } else { "hind" };
    let graded = scene.of(Kind::Neuro).filter(|(_, body)| body.scale.as_deref() == Some("ataxia_0_5"));
    let ours = graded.filter(|(_, body)| body.value.as_deref() == Some(name));
    ours.filter_map(|(_, body)| body.grade).max_by(f64::total_cmp)
}

fn done(shot: &Shot) -> Done {
    let read = shot.looks.iter().filter_map(|look| {
        (look.better_pct.is_some() || look.switched_to.is_some()).then_some(())?;
        Some(Read {
            minutes: look.minutes?.clamp(0.0, 1440.0),
            improvement_pct: look.better_pct.map(|pct| pct.clamp(-1000.0, 100.0)),
            switched_to: look.switched_to.filter(|limb| shot.limb != Some(*limb)),
        })
    });
    Done {
        block: shot.block.code.clone(),
        injected_at: Some(shot.at.iso()),
        read: read.filter(|read| read.improvement_pct.is_some() || read.switched_to.is_some()).collect(),
        skin_numb: shot.skin_numb(),
        volume_ml: shot.given.volume_ml.map(|ml| ml.clamp(0.1, 100.0)),
        site: shot.given.site.as_deref().and_then(Site::of),
        clean_baseline: shot.given.clean_baseline,
        agent: shot.given.agent.clone(),
        mg_per_ml: shot.given.mg_per_ml,
    }
}

/// Findings and flexion tests of this limb, as a line of speech would give them.
fn seen(scene: &Scene, limb: Limb) -> Vec<Seen> {
    let here = |body: &&Body| body.limb.as_deref().is_none_or(|code| code == limb.code());
    let bodies = scene.entries.iter().filter_map(|entry| entry.body.as_ref()).filter(here);
    bodies
        .filter_map(|body| match body.kind {
            Kind::Finding => finding(body, limb),
            Kind::Flexion => Some(Seen {
                limb: Some(limb),
                flexion: body.code.clone().filter(|code| catalogue().flexion(code).is_some()),
                grade: body.grade,
                scale: body.scale.clone(),
                hold_s: body.number,
                ..Seen::default()
            }),
            _ => None,
        })
        .filter(|seen| seen.finding.is_some() || seen.flexion.is_some())
        .collect()
}

/// A site of the testers is a value of the testers' place there.
fn finding(body: &Body, limb: Limb) -> Option<Seen> {
    let region = body.region.clone()?;
    let (region, value) = if catalogue().tester_site(&region).is_some() {
        ("FT_HT".to_owned(), Some(region))
    } else {
        (region, body.value.clone())
    };
    catalogue().region(&region)?;
    Some(Seen {
        region: Some(region),
        side: body.side.clone(),
        limb: Some(limb),
        finding: body.code.clone(),
        present: body.present,
        grade: body.grade,
        scale: body.scale.clone(),
        value,
        ..Seen::default()
    })
}
