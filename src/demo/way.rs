//! One horse on its way back to work, in the middle of walking.

use anyhow::Context;

use super::{horses::Horse, orders::newest_begun};
use crate::{
    catalogue::catalogue,
    clock::At,
    db::Tx,
    programmes::{New, prescribe},
    reasoning::programme::Step,
    record::{Stamp, exercise::Prescribed},
    visits,
};

const HORSE: &str = "Larkrise Mill";
const PROGRAMME: &str = "psd_hind";
/// Days since it began.
const BEGAN: i64 = 55;

pub(super) async fn write(
    tx: &mut Tx,
    horses: &[Horse],
    zone: &jiff::tz::TimeZone,
    now: At,
) -> anyhow::Result<()> {
    let horse = horses.iter().find(|h| h.name == HORSE).context("the horse on its way is not there")?;
    let Some(visit) = newest_begun(tx, horse.id, zone, now).await? else { return Ok(()) };
    let row = catalogue().programmes.programmes.get(PROGRAMME).context("there is no such programme")?;
    let today = now.day(zone);
    let prescribed = Prescribed {
        name: row.name.clone(),
        source: format!("{} ({})", row.source, row.confidence.words()),
        ground: row.text.clone(),
        start: today.plus_days(-BEGAN),
        steps: Step::of(row),
        ring: "the practice".into(),
    };
    let open = visits::store::get(&mut **tx, visit.id).await?.state.is_open();
    let limb = Some("LH".to_owned());
    let new = New { visit: visit.id, horse: horse.id, open, limb, prescribed };
    prescribe(tx, &Stamp::here(visit.vet, "demo", now), &new, today).await?;
    Ok(())
}
