//! The clock of a block: too early, read now, late, and until when it may be numb. Computed from the stored instant, so
//! that it survives whatever happens to a page.

use jiff::tz::TimeZone;

use super::course::{Shot, millis};
use crate::clock::{At, since_words};

/// Where a block stands on its clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    Early,
    Now,
    Late,
}

impl Phase {
    /// The class of its shape, and the start of its words.
    pub fn key(self) -> &'static str {
        match self {
            Self::Early => "early",
            Self::Now => "now",
            Self::Late => "late",
        }
    }
}

/// One running clock, ready for a page and for its script.
#[derive(Debug, Clone)]
pub struct Ticking {
    pub phase: Phase,
    /// Instants in RFC 3339.
    pub at: String,
    pub from: String,
    pub until: String,
    /// The words of each phase.
    pub early: String,
    pub now: String,
    pub late: String,
    /// Whole minutes since it went in.
    pub minutes: i64,
}

impl Ticking {
    /// How long ago it went in, in words.
    pub fn since(&self) -> String {
        since_words(self.minutes)
    }

    /// None for a block without a clock.
    pub fn of(shot: &Shot, now: At, zone: &TimeZone) -> Option<Self> {
        let clock = shot.clock()?;
        let from = shot.at.plus_millis(millis(clock.assess_min));
        let until = shot.at.plus_millis(millis(clock.late_min));
        let phase = match now {
            now if now < from => Phase::Early,
            now if now <= until => Phase::Now,
            _ => Phase::Late,
        };
        let (first, last) = (from.hm(zone), until.hm(zone));
        Some(Ticking {
            phase,
            at: shot.at.iso(),
            from: from.iso(),
            until: until.iso(),
            early: format!("too early, read from {first}"),
            now: format!("read now, until {last}"),
            late: format!("late since {last}"),
            minutes: now.minutes_since(shot.at),
        })
    }

    pub fn words(&self) -> &str {
        match self.phase {
            Phase::Early => &self.early,
            Phase::Now => &self.now,
            Phase::Late => &self.late,
        }
    }
}

/// Until when a block may keep its field numb; none once the lameness was seen to be back.
pub fn numb_until(shot: &Shot) -> Option<At> {
    let agent = shot.drug()?;
    (!shot.is_gone()).then(|| shot.at.plus_millis(millis(agent.active_min)))
}

/// The latest hour until which any of these may be numb, when that is still ahead.
pub fn all_numb_until(shots: &[Shot], now: At) -> Option<At> {
    shots.iter().filter_map(numb_until).filter(|until| *until > now).max()
}

/// What the day page says of a visit's clocks: the block that waits to be read, else until when the horse may be numb.
pub fn for_the_day(shots: &[Shot], now: At, zone: &TimeZone) -> Option<(String, Option<Ticking>)> {
    let waits = shots.iter().rev().find(|shot| shot.waits(now));
    if let Some(ticking) = waits.and_then(|shot| Ticking::of(shot, now, zone)) {
        return Some((format!("block: {}", ticking.words()), Some(ticking)));
    }
    let until = all_numb_until(shots, now)?;
    Some((format!("may be numb until {}", until.hm(zone)), None))
}
