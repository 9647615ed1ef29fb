//! What stops blocks, and what is only to be borne in mind.

use super::{
    input::{Seen, WorkUp, flag, is_urgent},
    output::Code,
};
use crate::{
    catalogue::{
        Limb, Pair, Severity, catalogue,
        localise::{Holds, Localising},
    },
    reasoning::cautions::{Facts, Sign, raised},
};

#[derive(Debug, Default)]
pub(super) struct Halt {
    pub(super) stops: Vec<Code>,
    pub(super) caveats: Vec<Code>,
    /// No block at all.
    pub(super) holds_all: bool,
    /// No needle through the skin of these regions.
    pub(super) regions: Vec<String>,
}

pub(super) fn halt(work: &WorkUp, rows: &Localising) -> Halt {
    let mut halt = Halt::default();
    let is_passed = |code: &str| work.passed.iter().any(|passed| passed == code);
    for text in &work.flags {
        let (code, region) = flag(text);
        if is_passed(code) {
            continue;
        }
        if let Some(row) = catalogue().red_flag(code) {
            let words = format!("{} {}", row.because, row.advice);
            halt.add(code, &words, is_urgent(code).then_some(Holds::All), None);
        } else {
            halt.caution(rows, code, region, None);
        }
    }
    let site = rows.holds.iter().filter(|hold| hold.holds == Holds::Site && !is_passed(&hold.code));
    for hold in site {
        for seen in work.findings.iter().filter(|seen| is_sore(seen, work.limb, &hold.findings)) {
            halt.caution(rows, &hold.code, seen.region.as_deref(), None);
        }
    }
    let facts = Facts { signs: signs(work), ..Facts::default() };
    for raise in raised(&facts).into_iter().filter(|raise| !is_passed(raise.code)) {
        halt.caution(rows, raise.code, None, raise.because.first().map(String::as_str));
    }
    halt
}

impl Halt {
    fn caution(&mut self, rows: &Localising, code: &str, region: Option<&str>, because: Option<&str>) {
        let Some(row) = catalogue().caution(code) else { return };
        let holds = rows.holds.get(code).map(|hold| hold.holds);
        let mut words = format!("{}: {}", row.name, row.text);
        if let Some(place) = region.and_then(|region| catalogue().region(region)) {
            words = format!("{words} At {}.", place.name);
        }
        if let Some(because) = because {
            words = format!("{words} Raised by {because}.");
        }
        self.add(code, &words, holds.filter(|_| row.severity != Severity::Caution), region);
    }

    /// Once a code: what was said of it first stays.
    fn add(&mut self, code: &str, words: &str, holds: Option<Holds>, region: Option<&str>) {
        match holds {
            Some(Holds::All) => self.holds_all = true,
            Some(Holds::Site) => self.regions.extend(region.map(str::to_owned)),
            Some(Holds::Agent) | None => {}
        }
        let list = if holds.is_some() { &mut self.stops } else { &mut self.caveats };
        if list.iter().all(|known| known.code != code) {
            list.push(Code::new(code, words));
        }
    }
}

/// What of the work-up raises cautions by itself: the lameness, ataxia, and findings on this limb.
fn signs(work: &WorkUp) -> Vec<Sign<'_>> {
    let mut signs = Vec::new();
    if let Some(lameness) = &work.lameness {
        // The gait is not told; the limits at walk are the ones that stop a block, so it is taken as graded there.
        signs.push(Sign::Grade {
            scale: &lameness.scale,
            grade: lameness.grade,
            gait: Some("walk"),
            limb: Some(work.limb),
            pair: None,
        });
    }
    if let Some(grade) = work.ataxia_grade {
        let pair = Some(Pair::of(work.limb));
        signs.push(Sign::Grade { scale: "ataxia_0_5", grade, gait: None, limb: None, pair });
    }
    signs.extend(work.findings.iter().filter_map(|seen| sign(seen, work.limb)));
    signs
}

/// Whether skin of this limb has one of these findings.
fn is_sore(seen: &Seen, limb: Limb, findings: &[String]) -> bool {
    let here = seen.limb.is_none_or(|at| at == limb) && seen.present.unwrap_or(true);
    here && seen.finding.as_ref().is_some_and(|code| findings.contains(code))
}

fn sign(seen: &Seen, limb: Limb) -> Option<Sign<'_>> {
    let is_here = seen.limb.is_none_or(|at| at == limb) && seen.present.unwrap_or(true);
    let code = seen.finding.as_deref().filter(|_| is_here)?;
    Some(Sign::Finding { code, region: seen.region.as_deref()?, at: "" })
}
