//! Skin that is hurt where a needle would go through it.

use crate::{
    catalogue::{
        Block, Limb, Pair, catalogue,
        localise::{Holds, Localising},
    },
    exam::movement::{Raised, cautions},
    ids::StaffId,
    papers::words::{self, Units},
    record::{Body, Entry, Kind},
};

/// The caution that findings at the needle's regions raise for this block on this limb, with what was found where; none
/// where one of `others` holds the needle for the same. Leave to go on is of these findings: at another needle, or with
/// another wound, it stops again.
pub(super) fn raised(
    entries: &[Entry],
    rows: &Localising,
    (limb, block): (Limb, &Block),
    others: &[Raised],
    name: impl Fn(StaffId) -> String,
) -> Option<Raised> {
    let rung = rows.ladder.iter().find(|rung| rung.limb == Pair::of(limb) && rung.block == block.code)?;
    let hold = rows.holds.iter().find(|hold| hold.holds == Holds::Site)?;
    let bodies = || entries.iter().filter_map(|entry| entry.body.as_ref());
    let sore = |body: &&Body| {
        let region = body.region.as_deref().unwrap_or_default();
        body.kind == Kind::Finding
            && body.present == Some(true)
            && body.code.as_ref().is_some_and(|code| hold.findings.contains(code))
            && body.limb.as_deref() == Some(limb.code())
            && rung.regions.iter().any(|through| through == region)
    };
    let found: Vec<String> =
        bodies().filter(sore).map(|body| words::sentence(body, Units::default())).collect();
    let stopped = others.iter().any(|other| other.code == hold.code && other.holds_needle());
    let caution = catalogue().caution(&hold.code).filter(|_| !found.is_empty() && !stopped)?;
    let mut raised = cautions::raised_by(entries, caution, found.join("; "), name);
    let of_these = |body: &Body| {
        body.kind == Kind::Override
            && body.code.as_ref() == Some(&hold.code)
            && body.text.as_ref() == Some(&raised.because)
    };
    if !bodies().any(of_these) {
        raised.overridden = None;
        raised.passed_at.clear();
    }
    Some(raised)
}
