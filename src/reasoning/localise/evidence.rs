//! From blocks that were done to answers that count: which reading holds, what is too early or late, what a failed
//! skin test or a limb that was not lame again takes away.

use super::{
    LocaliseError,
    input::{Done, WorkUp, block_on},
    likelihood::{Setting, Way, published},
    output::Code,
    words,
};
use crate::catalogue::{
    Block, Limb,
    localise::{Agent, Answer, Clock, Override, When},
};

/// One answer that counts.
#[derive(Debug)]
pub(super) struct Piece<'a> {
    pub(super) block: &'static Block,
    pub(super) answer: &'a Answer,
    pub(super) pct: f64,
    pub(super) way: Way,
    pub(super) published: Vec<&'a Override>,
    /// Blocks that still held when this one was read.
    pub(super) active: Vec<Earlier<'a>>,
    /// No block that had made it better still held.
    pub(super) is_clean: bool,
    pub(super) agent: Option<&'a Agent>,
}

/// A block before this one.
#[derive(Clone, Debug)]
pub(super) struct Earlier<'a> {
    pub(super) block: &'static Block,
    pub(super) way: Way,
    pub(super) published: Vec<&'a Override>,
    is_better: bool,
}

impl Piece<'_> {
    pub(super) fn is_better(&self) -> bool {
        self.way.answer == Some(When::Better)
    }

    pub(super) fn is_negative(&self) -> bool {
        self.way.answer == Some(When::Negative)
    }

    /// Better, and not only in part.
    pub(super) fn is_positive(&self) -> bool {
        self.is_better() && self.answer.slope >= 1.0
    }
}

/// All that the blocks of one limb say.
#[derive(Debug, Default)]
pub(super) struct Evidence<'a> {
    /// In the order of time.
    pub(super) pieces: Vec<Piece<'a>>,
    /// Blocks whose answer does not count, to be done again.
    pub(super) uncounted: Vec<&'static Block>,
    notes: Vec<Code>,
    switched: Vec<Limb>,
}

impl<'a> Evidence<'a> {
    pub(super) fn gather(work: &WorkUp, setting: &Setting<'a>) -> Result<Self, LocaliseError> {
        let mut evidence = Self::default();
        let mut before: Vec<(&Done, Earlier<'a>)> = Vec::new();
        for done in in_order(&work.blocks) {
            let block = block_on(work.limb, &done.block)?;
            let active = still_active(work, setting, done, &before);
            let read = evidence.take(work, setting, block, done, &active);
            for piece in read {
                let earlier = Earlier {
                    block,
                    way: piece.way,
                    published: piece.published.clone(),
                    is_better: piece.is_better(),
                };
                before.push((done, earlier));
                evidence.pieces.push(piece);
            }
        }
        Ok(evidence)
    }

    /// The answers of one block that count; what does not count leaves a note.
    fn take(
        &mut self,
        work: &WorkUp,
        setting: &Setting<'a>,
        block: &'static Block,
        done: &Done,
        active: &[Earlier<'a>],
    ) -> Vec<Piece<'a>> {
        let Some(clock) = setting.rows.clocks.get(&block.code) else { return Vec::new() };
        if done.read.is_empty() {
            return Vec::new();
        }
        self.switched.extend(done.read.iter().filter_map(|read| read.switched_to));
        if done.skin_numb == Some(false) {
            self.uncounted.push(block);
            self.notes.push(words::skin_failed(block));
            return Vec::new();
        }
        let readings = readings(setting, done);
        let chosen = choose(setting, clock, &readings);
        if chosen.is_empty() {
            self.uncounted.push(block);
            self.notes.push(words::too_early(block, clock));
        }
        let agent = agent(work, setting, done);
        let mut pieces = Vec::new();
        for (minutes, pct) in chosen {
            let Some(answer) = answer_of(setting, pct) else { continue };
            let is_better = is_better(setting, pct);
            let is_unclean = done.clean_baseline == Some(false) && active.is_empty();
            let hides = active.iter().any(|earlier| earlier.is_better);
            if !answer.counts {
                self.notes.push(words::worse(block, minutes));
            } else if is_unclean || (hides && !is_better) {
                self.notes.push(words::not_clean(block));
            } else {
                let late = minutes > clock.late_min;
                let large = done.volume_ml.is_some_and(|ml| ml > clock.ml_most);
                if is_better && late {
                    self.notes.push(words::late(block, minutes, clock));
                }
                if is_better && large {
                    self.notes.push(words::large(block, clock));
                }
                let mut way = Way::of(done, minutes);
                way.wide = is_better && (late || large);
                way.negative_cap = agent.and_then(|agent| agent.negative_cap);
                way.answer = match answer.slope {
                    _ if is_better => Some(When::Better),
                    slope if slope < 0.0 => Some(When::Negative),
                    _ => None,
                };
                if way.answer == Some(When::Negative) && done.skin_numb.is_none() && block.is_nerve() {
                    self.notes.push(words::skin_untested(block));
                }
                let published = published(setting, &block.code, &way);
                let (active, is_clean) = (active.to_vec(), !hides);
                pieces.push(Piece { block, answer, pct, way, published, active, is_clean, agent });
                continue;
            }
            self.uncounted.push(block);
        }
        pieces
    }

    pub(super) fn caveats(&self, work: &WorkUp, setting: &Setting<'a>) -> Vec<Code> {
        let mut all = self.notes.clone();
        for piece in &self.pieces {
            let rows = piece.published.iter().filter(|row| {
                row.structures.is_empty()
                    || (piece.way.answer.is_some()
                        && (row.from_min.is_some()
                            || row.over_ml.is_some()
                            || row.site.is_some()
                            || row.severe))
            });
            all.extend(rows.map(|row| Code::new(&row.code, row.text.clone())));
        }
        for done in &work.blocks {
            let agent = agent(work, setting, done);
            all.extend(agent.and_then(|agent| Some(Code::new("AGENT", agent.text.clone()?))));
        }
        all.extend(self.switched.iter().map(|limb| words::switched(work.limb, *limb, setting)));
        all.extend(words::dose(work, setting));
        let mut seen = Vec::new();
        all.retain(|code| {
            let is_new = !seen.contains(code);
            seen.push(code.clone());
            is_new
        });
        all
    }
}

/// By the clock where every block has one, otherwise as they were given.
fn in_order(blocks: &[Done]) -> Vec<&Done> {
    let mut all: Vec<(Option<f64>, &Done)> = blocks
        .iter()
        .map(|done| {
            (done.at().zip(blocks.first().and_then(Done::at)).and_then(|(at, first)| at.since(first)), done)
        })
        .collect();
    if all.iter().all(|(at, _)| at.is_some()) {
        all.sort_by(|(a, _), (b, _)| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
    }
    all.into_iter().map(|(_, done)| done).collect()
}

/// The earlier blocks that still held when this one was done. A limb that was lame again is clean; where nobody said,
/// it is taken as lame still after answers that made it no better.
fn still_active<'a>(
    work: &WorkUp,
    setting: &Setting<'_>,
    done: &Done,
    before: &[(&Done, Earlier<'a>)],
) -> Vec<Earlier<'a>> {
    if done.clean_baseline == Some(true) {
        return Vec::new();
    }
    let holds = |earlier: &Done| {
        let lasts = agent(work, setting, earlier).map_or(f64::INFINITY, |agent| agent.active_min);
        let since = done.at().zip(earlier.at()).and_then(|(at, before)| at.since(before));
        since.is_none_or(|minutes| minutes <= lasts)
    };
    let active: Vec<Earlier<'a>> =
        before.iter().filter(|(done, _)| holds(done)).map(|(_, earlier)| earlier.clone()).collect();
    let counts = done.clean_baseline == Some(false) || active.iter().any(|earlier| earlier.is_better);
    if counts { active } else { Vec::new() }
}

fn agent<'a>(work: &WorkUp, setting: &Setting<'a>, done: &Done) -> Option<&'a Agent> {
    let code = done.agent.as_deref().or(work.agent.as_deref()).unwrap_or("mepivacaine");
    setting.rows.agents.get(code)
}

/// Minutes and percent, in the order of time. Lameness that moved to another limb is a yes here.
fn readings(setting: &Setting<'_>, done: &Done) -> Vec<(f64, f64)> {
    let yes = setting.rows.answers.get("positive").map_or(100.0, |answer| answer.at_least_pct);
    let mut all: Vec<(f64, f64)> = done
        .read
        .iter()
        .map(|read| {
            let pct = read.improvement_pct.unwrap_or(yes);
            (read.minutes, if read.switched_to.is_some() { pct.max(yes) } else { pct })
        })
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
    all
}

fn is_better(setting: &Setting<'_>, pct: f64) -> bool {
    setting.rows.answers.get("partly positive").is_some_and(|answer| pct >= answer.at_least_pct)
}

fn answer_of<'a>(setting: &Setting<'a>, pct: f64) -> Option<&'a Answer> {
    setting.rows.answers.iter().find(|answer| pct >= answer.at_least_pct)
}

/// The readings that hold. In time, the best answer counts at the minute at which it was first a yes: the earlier, the
/// more local. A no before the block can work is none. A yes that came only late is a second answer, of spread.
fn choose(setting: &Setting<'_>, clock: &Clock, readings: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let ripe = |(minutes, pct): &&(f64, f64)| *minutes >= clock.assess_min || is_better(setting, *pct);
    let (timely, late): (Vec<_>, Vec<_>) =
        readings.iter().filter(ripe).copied().partition(|(minutes, _)| *minutes <= clock.late_min);
    let [timely, late] = [timely, late].map(|readings| best(setting, &readings));
    match (timely, late) {
        (Some(timely), Some(late)) if !is_better(setting, timely.1) && is_better(setting, late.1) => {
            vec![timely, late]
        }
        (Some(only), _) | (None, Some(only)) => vec![only],
        (None, None) => Vec::new(),
    }
}

fn best(setting: &Setting<'_>, readings: &[(f64, f64)]) -> Option<(f64, f64)> {
    let best = readings.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.total_cmp(&a.0)))?;
    let first_yes = readings.iter().find(|(_, pct)| is_better(setting, *pct));
    Some((first_yes.map_or(best.0, |yes| yes.0), best.1))
}
