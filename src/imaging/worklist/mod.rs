//! The modality worklist (PS3.4 annex K): every open order that equipment can work off, one answer an order, as
//! whoever asks wants it.

mod animal;
mod keys;

use std::collections::HashMap;

use dicom_core::VR;
use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;

use self::animal::{Code, component, line, sequence, text};
use super::{
    equipment,
    store::worklist::{self, Animal},
};
use crate::{
    App,
    catalogue::{Projection, catalogue},
    clock::Day,
    diagnostics::{self, Item, Order},
    ids::{OrderId, VisitId},
    practice,
    reasoning::projection,
};

pub(super) use keys::Answer;

/// An order that is still to be worked off.
struct Wanted<'a> {
    order: &'a Order,
    items: &'a [Item],
    animal: &'a Animal,
    /// When equipment is to expect it: what was not done on its day is for today.
    day: Day,
    time: String,
}

/// All answers to a query of the equipment that calls itself `calling`.
pub(super) async fn answers(
    app: &App,
    query: &InMemDicomObject,
    calling: &str,
) -> anyhow::Result<Vec<Answer>> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let today = app.clock.now().day(&zone);
    let orders = diagnostics::store::undone(db).await?;
    let mut items: HashMap<OrderId, Vec<Item>> = HashMap::new();
    for item in diagnostics::store::items_undone(db).await? {
        items.entry(item.order_id).or_default().push(item);
    }
    let animals: HashMap<VisitId, Animal> =
        worklist::animals(db).await?.into_iter().map(|animal| (animal.visit_id, animal)).collect();
    let asks_for_a_day = keys::asks_for_a_day(query);
    let mut answers = Vec::new();
    for order in &orders {
        let of_order = items.get(&order.id).map(Vec::as_slice).unwrap_or_default();
        let Some(animal) = animals.get(&order.visit_id) else { continue };
        let settled = !of_order.is_empty() && of_order.iter().all(|item| item.state.is_settled());
        // Without a day it is for whenever the horse is there: whoever asks for a day does not mean it.
        let due = match order.planned_on {
            None => !asks_for_a_day,
            Some(day) => day <= today || asks_for_a_day,
        };
        if settled || !due || order.kind.modality().is_none() {
            continue;
        }
        let day = order.planned_on.map_or(today, |day| day.max(today));
        let starts = animal.starts_at;
        let booked = starts.day(&zone) == day;
        let time = if booked { format!("{}00", starts.hm(&zone).replace(':', "")) } else { "000000".into() };
        let wanted = Wanted { order, items: of_order, animal, day, time };
        answers.extend(keys::answer(query, &whole(&wanted, query, calling)));
    }
    Ok(answers)
}

/// Everything that can be said of an order.
fn whole(wanted: &Wanted<'_>, query: &InMemDicomObject, calling: &str) -> InMemDicomObject {
    let Wanted { order, items, animal, .. } = wanted;
    let mut all = InMemDicomObject::new_empty();
    animal::put(&mut all, animal);
    text(&mut all, tags::ANATOMICAL_ORIENTATION_TYPE, VR::CS, "QUADRUPED");
    text(&mut all, tags::ACCESSION_NUMBER, VR::SH, &order.accession);
    text(&mut all, tags::STUDY_INSTANCE_UID, VR::UI, &order.study_uid);
    text(&mut all, tags::REQUESTED_PROCEDURE_ID, VR::SH, &order.accession);
    text(&mut all, tags::REQUESTED_PROCEDURE_DESCRIPTION, VR::LO, &description(order, items));
    animal::codes(&mut all, tags::REQUESTED_PROCEDURE_CODE_SEQUENCE, &codes(order, items));
    text(&mut all, tags::REASON_FOR_THE_REQUESTED_PROCEDURE, VR::LO, &line(&order.question));
    let vet = vet(animal);
    text(&mut all, tags::REQUESTING_PHYSICIAN, VR::PN, &vet);
    text(&mut all, tags::REFERRING_PHYSICIAN_NAME, VR::PN, "");
    sequence(&mut all, tags::REFERENCED_STUDY_SEQUENCE, Vec::new());
    sequence(&mut all, tags::REFERENCED_PATIENT_SEQUENCE, Vec::new());
    sequence(&mut all, tags::SCHEDULED_PROCEDURE_STEP_SEQUENCE, vec![step(wanted, query, calling)]);
    all
}

/// The one step of an order. It is for whichever machine asks: nobody orders a certain one.
fn step(wanted: &Wanted<'_>, query: &InMemDicomObject, calling: &str) -> InMemDicomObject {
    let Wanted { order, items, animal, day, time } = wanted;
    let asked = |tag| keys::step_key(query, tag).filter(|text| !text.is_empty());
    let station = asked(tags::SCHEDULED_STATION_AE_TITLE).filter(|title| !title.contains(['*', '?']));
    let modality = asked(tags::MODALITY).filter(|asked| equipment::takes(order.kind, asked));
    let modality = modality.or_else(|| order.kind.modality().map(str::to_owned)).unwrap_or_default();
    let mut step = InMemDicomObject::new_empty();
    text(&mut step, tags::SCHEDULED_STATION_AE_TITLE, VR::AE, station.as_deref().unwrap_or(calling));
    text(&mut step, tags::SCHEDULED_PROCEDURE_STEP_START_DATE, VR::DA, &day.to_string().replace('-', ""));
    text(&mut step, tags::SCHEDULED_PROCEDURE_STEP_START_TIME, VR::TM, time);
    text(&mut step, tags::MODALITY, VR::CS, &modality);
    text(&mut step, tags::SCHEDULED_PERFORMING_PHYSICIAN_NAME, VR::PN, &vet(animal));
    text(&mut step, tags::SCHEDULED_PROCEDURE_STEP_DESCRIPTION, VR::LO, &description(order, items));
    animal::codes(&mut step, tags::SCHEDULED_PROTOCOL_CODE_SEQUENCE, &codes(order, items));
    text(&mut step, tags::SCHEDULED_PROCEDURE_STEP_ID, VR::SH, &order.accession);
    text(&mut step, tags::SCHEDULED_STATION_NAME, VR::SH, "");
    text(&mut step, tags::SCHEDULED_PROCEDURE_STEP_LOCATION, VR::SH, "");
    text(&mut step, tags::ANATOMICAL_ORIENTATION_TYPE, VR::CS, "QUADRUPED");
    step
}

/// The vet of the visit as a person's name: family, then given.
fn vet(animal: &Animal) -> String {
    let name = component(animal.vet.as_deref().unwrap_or_default());
    match name.rsplit_once(' ') {
        Some((given, family)) => format!("{family}^{given}"),
        None => name,
    }
}

/// What is to be taken, in one line: the study, then what of it is still missing.
fn description(order: &Order, items: &[Item]) -> String {
    let missing = items.iter().filter(|item| !item.state.is_settled());
    let missing: Vec<String> =
        missing.map(|item| format!("{} {}", item.side, item.code).trim().to_owned()).collect();
    if missing.is_empty() {
        line(&order.name)
    } else {
        line(&format!("{}: {}", order.name, missing.join(", ")))
    }
}

/// The codes of the part of the body (PS3.16 CID 7483), then of each view that is still missing (CID 7484), as far as
/// the standard has them.
fn codes(order: &Order, items: &[Item]) -> Vec<Code<'static>> {
    let diagnostics = &catalogue().diagnostics;
    let mut codes: Vec<Code<'static>> = Vec::new();
    let mut add = |value, scheme, meaning| {
        if !codes.iter().any(|code| code.value == value) {
            codes.push(Code { value, scheme, meaning });
        }
    };
    for item in items.iter().filter(|item| !item.state.is_settled()) {
        let part = diagnostics.study(&order.study);
        if let Some(part) = part.and_then(|study| diagnostics.anatomy_of(study, item.side.parse().ok())) {
            add(&part.code, &part.scheme, &part.meaning);
        }
    }
    for item in items.iter().filter(|item| !item.state.is_settled()) {
        let view = Projection::parse(&item.code).ok().and_then(|view| projection::dicom_view(&view).code);
        if let Some(view) = view {
            add(&view.dicom, &view.scheme, &view.meaning);
        }
    }
    codes
}
