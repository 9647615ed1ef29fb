//! What a visit holds of blocks, out of the entries that stand. Pure.

use std::{cmp::Ordering, sync::Arc};

use crate::{
    catalogue::{
        Block, Limb, catalogue,
        localise::{Agent, Clock, Localising},
    },
    clock::At,
    ids::{EntryId, StaffId},
    record::{Body, Entry, Given, Kind},
};

/// A block that was done, with every look after it.
#[derive(Debug, Clone)]
pub struct Shot {
    pub entry: EntryId,
    /// None for a block of the trunk that names none.
    pub limb: Option<Limb>,
    pub block: &'static Block,
    pub given: Given,
    /// When it went in: as said, else reckoned back from the first look, else when it was told.
    pub at: At,
    /// The time was not said.
    pub is_reckoned: bool,
    pub by: StaffId,
    pub body: Body,
    /// In the order of minutes.
    pub looks: Vec<Look>,
    /// The numbers that it is judged by.
    rows: Arc<Localising>,
}

/// One look after a block.
#[derive(Debug, Clone)]
pub struct Look {
    pub entry: EntryId,
    /// After injecting; none where nobody said and nothing tells.
    pub minutes: Option<f64>,
    pub better_pct: Option<f64>,
    pub switched_to: Option<Limb>,
    pub by: StaffId,
    pub seen: At,
    pub body: Body,
}

impl Shot {
    /// None for a block of the trunk without one.
    pub fn clock(&self) -> Option<&Clock> {
        self.rows.clocks.get(&self.block.code)
    }

    /// The local anaesthetic.
    pub fn drug(&self) -> Option<&Agent> {
        self.rows.agents.get(self.agent())
    }

    /// Whether the skin was numb, as it was said last.
    pub fn skin_numb(&self) -> Option<bool> {
        let mut looks = self.looks.iter().rev();
        looks.find_map(|look| look.body.after.as_ref()?.skin_numb).or(self.given.skin_numb)
    }

    /// Whether somebody looked, in time to judge it by.
    pub fn is_read(&self) -> bool {
        let from = self.clock().map_or(0.0, |clock| clock.assess_min);
        self.looks.iter().any(|look| {
            (look.better_pct.is_some() || look.switched_to.is_some())
                && look.minutes.is_none_or(|minutes| minutes >= from)
        })
    }

    /// Whether it waits to be read: nobody looked in time, and it may still work.
    pub fn waits(&self, now: At) -> bool {
        !self.is_read() && super::clock::numb_until(self).is_some_and(|until| until > now)
    }

    /// Whether the lameness was seen to be back after it.
    pub fn is_gone(&self) -> bool {
        self.looks.iter().rev().find_map(|look| look.body.after.as_ref()?.baseline_back) == Some(true)
    }

    /// Milligrams of the drug, all sites together; none where the volume was not said.
    pub fn mg(&self) -> Option<f64> {
        let sites = self.given.sites.or(self.clock().map(|clock| clock.sites))?;
        Some(self.given.volume_ml? * sites * self.mg_per_ml())
    }

    /// The key of the agent; mepivacaine where nobody said.
    pub fn agent(&self) -> &str {
        self.given.agent.as_deref().unwrap_or("mepivacaine")
    }

    fn mg_per_ml(&self) -> f64 {
        let usual = self.drug().map_or(20.0, |agent| agent.mg_per_ml);
        self.given.mg_per_ml.unwrap_or(usual)
    }
}

/// The blocks of a visit in the order of time, from its standing entries, to be judged by these numbers.
pub fn shots(entries: &[Entry], rows: &Arc<Localising>) -> Vec<Shot> {
    let bodies = || entries.iter().filter_map(|entry| Some((entry, entry.body.as_ref()?)));
    let mut shots: Vec<Shot> = bodies()
        .filter(|(_, body)| body.kind == Kind::Block)
        .filter_map(|(entry, body)| {
            let about = bodies()
                .filter(|(_, said)| said.kind == Kind::Reading && said.about == Some(entry.id))
                .collect::<Vec<_>>();
            shot(entry, body, &about, rows)
        })
        .collect();
    shots.sort_by_key(|shot| shot.at);
    shots
}

fn shot(entry: &Entry, body: &Body, about: &[(&Entry, &Body)], rows: &Arc<Localising>) -> Option<Shot> {
    let block = catalogue().block(body.code.as_deref()?)?;
    let given = body.given.clone().unwrap_or_default();
    let told = about.iter().find_map(|(look, said)| Some((look.seen(), said.after.as_ref()?.minutes?)));
    let reckoned = told.map(|(seen, minutes)| seen.plus_millis(-millis(minutes)));
    let at = given.at.or(reckoned).unwrap_or_else(|| entry.seen());
    let mut looks: Vec<Look> = about.iter().map(|(entry, body)| look(entry, body, given.at)).collect();
    looks.sort_by(|a, b| a.minutes.partial_cmp(&b.minutes).unwrap_or(Ordering::Equal));
    Some(Shot {
        entry: entry.id,
        limb: body.limb.as_deref().and_then(|limb| limb.parse().ok()),
        block,
        is_reckoned: given.at.is_none(),
        given,
        at,
        by: entry.seen_by,
        body: body.clone(),
        looks,
        rows: rows.clone(),
    })
}

fn look(entry: &Entry, body: &Body, injected: Option<At>) -> Look {
    let after = body.after.clone().unwrap_or_default();
    #[expect(clippy::cast_precision_loss, reason = "minutes of a visit are few")]
    let by_clock = injected.map(|at| entry.seen().minutes_since(at) as f64).filter(|min| *min >= 0.0);
    Look {
        entry: entry.id,
        minutes: after.minutes.or(by_clock),
        better_pct: after.better_by(body.grade),
        switched_to: after.switched_to.as_deref().and_then(|limb| limb.parse().ok()),
        by: entry.seen_by,
        seen: entry.seen(),
        body: body.clone(),
    }
}

/// Minutes of the catalogue as milliseconds.
#[expect(clippy::cast_possible_truncation, reason = "minutes of a clock are few and whole")]
pub fn millis(minutes: f64) -> i64 {
    (minutes * 60_000.0) as i64
}
