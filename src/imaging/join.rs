//! Whose picture it is: the study that we minted, then the accession number, then the horse, if only one of its orders
//! can be meant. What contradicts itself or could be two things waits for a person.

use super::{
    How, equipment,
    object::Seen,
    store::objects::{self, Arrival, Match},
};
use crate::{
    catalogue::Projection,
    clock::At,
    db::Tx,
    diagnostics::{self, Item, Order},
    ids::{ArrivalId, HorseId},
    merging,
    reasoning::projection::dicom_view,
};

/// What a picture says of what it shows, as its equipment wrote it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View<'a> {
    pub position: &'a str,
    pub name: &'a str,
    pub laterality: &'a str,
    pub body_part: &'a str,
}

impl<'a> From<&'a Seen> for View<'a> {
    fn from(seen: &'a Seen) -> Self {
        View {
            position: &seen.view_position,
            name: &seen.view_name,
            laterality: &seen.laterality,
            body_part: &seen.body_part,
        }
    }
}

impl<'a> From<&'a Arrival> for View<'a> {
    fn from(arrival: &'a Arrival) -> Self {
        View {
            position: &arrival.view_position,
            name: &arrival.view_name,
            laterality: &arrival.laterality,
            body_part: &arrival.body_part,
        }
    }
}

/// Finds the order of an object that has just come, and whether it is plainly the picture of one of its items.
pub(super) async fn by_machine(tx: &mut Tx, id: ArrivalId, seen: &Seen, now: At) -> anyhow::Result<bool> {
    if objects::under_uid(&mut **tx, &seen.sop_instance).await? > 1 {
        // Two different objects say that they are the same one.
        return Ok(false);
    }
    let Some((order, how)) = order_of(tx, seen).await? else { return Ok(false) };
    let items = diagnostics::store::items(&mut **tx, order.id).await?;
    let item = item_of(View::from(seen), &items).map(|item| item.id);
    objects::set_match(tx, id, &Match { order: order.id, item, how, by: None }, now).await?;
    Ok(true)
}

async fn order_of(tx: &mut Tx, seen: &Seen) -> sqlx::Result<Option<(Order, How)>> {
    let horse = match horse_of(&seen.patient_id) {
        // Equipment may still know it by the number that it had before it was put together with another row.
        Some(horse) => Some(merging::store::kept_horse(&mut **tx, horse).await?),
        None => None,
    };
    // An order of one horse and the number of another: one of both was mistaken. And nobody looks at a closed order.
    let fits = |order: &Order| !order.is_closed() && horse.is_none_or(|horse| horse == order.horse_id);
    if !seen.study_uid.is_empty()
        && let Some(order) = diagnostics::store::by_study_uid(&mut **tx, &seen.study_uid).await?
    {
        return Ok(fits(&order).then_some((order, How::StudyUid)));
    }
    if !seen.accession.is_empty()
        && let Some(order) = diagnostics::store::by_accession(&mut **tx, &seen.accession).await?
    {
        return Ok(fits(&order).then_some((order, How::Accession)));
    }
    let Some(horse) = horse else { return Ok(None) };
    let undone = diagnostics::store::undone(&mut **tx).await?;
    let mut open = undone
        .into_iter()
        .filter(|order| order.horse_id == horse && equipment::takes(order.kind, &seen.modality));
    let (first, second) = (open.next(), open.next());
    Ok(first.filter(|_| second.is_none()).map(|order| (order, How::Patient)))
}

/// The number that a horse goes by on equipment: its id in letters, 32 of the 64 that there may be.
pub(crate) fn record_number(horse: HorseId) -> String {
    horse.to_string().replace('-', "")
}

/// The horse that a number means, if it is one of ours.
pub(crate) fn horse_of(record_number: &str) -> Option<HorseId> {
    (record_number.len() == 32).then(|| record_number.parse().ok()).flatten()
}

/// The one item that this is the picture of, whatever was said of the item before; none when it could be two.
pub(crate) fn item_of<'a>(view: View<'_>, items: &'a [Item]) -> Option<&'a Item> {
    let names = [bare(view.position), bare(view.name)];
    let mut fitting = items.iter().filter(|item| {
        names.iter().any(|name| !name.is_empty() && is_of(name, &item.code)) && side_fits(&item.side, view)
    });
    let (first, second) = (fitting.next(), fitting.next());
    first.filter(|_| second.is_none())
}

/// Whether equipment means this projection: by its abbreviation, or by the standard's term for it where that is another.
fn is_of(name: &str, code: &str) -> bool {
    let term = Projection::parse(code).map(|view| dicom_view(&view).position);
    name == bare(code) || term.is_ok_and(|term| name == bare(&term))
}

/// A projection without what its spellings differ in: `D60Pr-PaDiO` is `D60PR_PADIO` on equipment (PS3.16 CID 7484).
fn bare(name: &str) -> String {
    name.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
}

/// Whether a picture can be of this side: `LF` is left and fore. What it does not say fits everything.
fn side_fits(side: &str, view: View<'_>) -> bool {
    let mut letters = side.chars();
    let (left_right, fore_hind) = (letters.next(), letters.next());
    let laterality = view.laterality.chars().next().filter(|c| matches!(c, 'L' | 'R'));
    let end = match view.body_part {
        part if part.starts_with("FORE") => Some('F'),
        part if part.starts_with("HIND") => Some('H'),
        _ => None,
    };
    let fits = |wanted: Option<char>, said: Option<char>| match (wanted, said) {
        (Some(wanted), Some(said)) => wanted == said,
        _ => true,
    };
    fits(left_right, laterality) && fits(fore_hind, end)
}
