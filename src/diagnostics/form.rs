//! From what was ticked and typed on the order form to an order.

use serde::Deserialize;

use super::{
    changes::Details,
    store::{NewItem, NewOrder},
};
use crate::{
    catalogue::{Limb, Projection, Study, StudyKind, catalogue},
    clock::Day,
    ids::VisitId,
    reasoning::projection,
    samples::TypedPlan,
    web::{Check, Errors},
};

const LONGEST_QUESTION: usize = 1_000;
/// Nobody plans further ahead than this; a later year is a slip of the finger.
const FURTHEST_DAYS: i64 = 3 * 366;

pub(super) const LOADING: [(&str, &str); 2] = [("loaded", "weight-bearing"), ("lifted", "not loaded")];
pub(super) const SHOES: [(&str, &str); 2] = [("off", "shoes off"), ("on", "shoes on")];
pub(super) const WHEN: [(&str, &str); 2] = [("now", "now"), ("open", "not yet said")];

/// The order form as it was sent.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    pub study: String,
    /// Key of the place of the examination that it is ordered from.
    pub place: String,
    pub limb: Vec<String>,
    /// Codes of the catalogue, in the form of the forelimb.
    pub item: Vec<String>,
    /// Further projections, commas between.
    pub own: String,
    #[serde(flatten)]
    pub details: TypedDetails,
    /// Of samples only.
    #[serde(flatten)]
    pub plan: TypedPlan,
}

/// What may be said otherwise later.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(default)]
pub(super) struct TypedDetails {
    pub weight_bearing: String,
    pub shoes: String,
    pub question: String,
    /// What was tapped; a day that was typed stands over it.
    pub when: String,
    pub planned_on: String,
}

impl Typed {
    /// The form as it opens: the usual set ticked; an ultrasound is of both limbs.
    pub(super) fn usual(study: &Study, limb: Option<Limb>, place: &str) -> Self {
        let mut limbs: Vec<Limb> = limb.into_iter().collect();
        if study.kind == StudyKind::Ultrasound {
            limbs.extend(limb.map(Limb::other));
            limbs.sort_unstable();
        }
        Typed {
            study: study.code.clone(),
            place: place.to_owned(),
            limb: limbs.into_iter().map(|limb| limb.code().to_owned()).collect(),
            item: study.items.clone(),
            details: TypedDetails { when: "now".into(), ..TypedDetails::default() },
            ..Typed::default()
        }
    }

    pub(super) fn check(&self, visit: VisitId, today: Day) -> Result<NewOrder, Errors> {
        let Some(study) = catalogue().diagnostics.study(&self.study) else {
            return Err(Errors::one("study", "Choose what to order from the list."));
        };
        let mut check = Check::new();
        let limbs = self.limbs(study, &mut check);
        let items = self.items(study, &limbs, &mut check);
        if items.is_empty() && check.errors.is_empty() {
            check.errors.add("item", "Tick at least one.");
        }
        let details = self.details.read(&mut check, today);
        let place = self.place.parse().map(crate::catalogue::Place::key).unwrap_or_default();
        check.done(NewOrder {
            id: None,
            visit,
            study: study.code.clone(),
            kind: study.kind,
            name: study.name.clone(),
            place,
            details,
            items,
        })
    }

    /// The limbs that are meant; one `None` where the study has no limb.
    fn limbs(&self, study: &Study, check: &mut Check) -> Vec<Option<Limb>> {
        if !study.limbs.has_limb() {
            return vec![None];
        }
        let limbs: Vec<Option<Limb>> = self
            .limb
            .iter()
            .filter_map(|code| code.parse::<Limb>().ok())
            .filter(|limb| study.limbs.suit(*limb))
            .map(Some)
            .collect();
        if limbs.is_empty() {
            check.errors.add("limb", "Choose the limb.");
        }
        limbs
    }

    fn items(&self, study: &Study, limbs: &[Option<Limb>], check: &mut Check) -> Vec<NewItem> {
        let own = self.own_projections(study, limbs, check);
        let ticked = || study.all_items().filter(|code| self.item.contains(code));
        let mut items = Vec::new();
        for limb in limbs {
            items.extend(ticked().map(|code| item(study, code, *limb)));
            items.extend(own.iter().map(|view| view_item(view, *limb)));
        }
        items
    }

    /// Projections that were typed, each valid on every limb that was chosen.
    fn own_projections(&self, study: &Study, limbs: &[Option<Limb>], check: &mut Check) -> Vec<Projection> {
        let mut views = Vec::new();
        for text in check.line("own", &self.own, 200).split(',').map(str::trim).filter(|t| !t.is_empty()) {
            let suits = |view: &Projection, limb: Option<Limb>| match study.part_on(limb) {
                Some(part) => on_limb(view, limb).suits(part),
                None => Ok(()),
            };
            let read = Projection::parse(text).and_then(|view| {
                limbs.iter().try_for_each(|limb| suits(&view, *limb))?;
                Ok(view)
            });
            match read {
                Ok(view) if study.kind == StudyKind::Radiograph => views.push(view),
                Ok(_) => check.errors.add("own", "Only radiographs have projections."),
                Err(error) => check.errors.add("own", format!("{text}: {error}.")),
            }
        }
        views
    }
}

/// The order of a study's usual set, for now.
///
/// # Errors
/// The study is done on a limb and none is named, or it has no usual set.
pub fn usual(study: &Study, limb: Option<Limb>, visit: VisitId, today: Day) -> Result<NewOrder, Errors> {
    Typed::usual(study, limb, "").check(visit, today)
}

impl TypedDetails {
    pub(super) fn of(details: &Details) -> Self {
        let planned = details.planned_on;
        TypedDetails {
            weight_bearing: details.weight_bearing.clone(),
            shoes: details.shoes.clone(),
            question: details.question.clone(),
            when: String::new(),
            planned_on: planned.map(|day| day.to_string()).unwrap_or_default(),
        }
    }

    pub(super) fn read(&self, check: &mut Check, today: Day) -> Details {
        Details {
            planned_on: self.read_day(check, today),
            weight_bearing: one_of(&self.weight_bearing, &LOADING),
            shoes: one_of(&self.shoes, &SHOES),
            question: check.words("question", &self.question, LONGEST_QUESTION),
        }
    }

    fn read_day(&self, check: &mut Check, today: Day) -> Option<Day> {
        if self.planned_on.trim().is_empty() {
            return (self.when == "now").then_some(today);
        }
        let day = check.day("planned_on", &self.planned_on);
        if day.is_some_and(|day| today.days_until(day) > FURTHEST_DAYS) {
            check.errors.add("planned_on", "This day is more than three years ahead. Check the year.");
        }
        day
    }
}

fn one_of(picked: &str, of: &[(&str, &str)]) -> String {
    of.iter().find(|(key, _)| *key == picked).map(|(key, _)| (*key).to_owned()).unwrap_or_default()
}

/// An item of the catalogue as it is ordered on this limb.
pub(super) fn item(study: &Study, code: &str, limb: Option<Limb>) -> NewItem {
    let code = study.item_on(code, limb);
    if study.kind == StudyKind::Radiograph
        && let Ok(view) = Projection::parse(&code)
    {
        return view_item(&view, limb);
    }
    let row = catalogue().diagnostics.item(&code);
    let zones = row.zip(limb).map(|(row, limb)| row.zones_on(limb).join(" ")).unwrap_or_default();
    NewItem {
        name: row.map_or_else(|| code.to_string(), |row| row.name.clone()),
        side: side(limb),
        zones,
        code: code.into_owned(),
    }
}

fn view_item(view: &Projection, limb: Option<Limb>) -> NewItem {
    let view = on_limb(view, limb);
    NewItem { code: view.code(), name: projection::words(&view), side: side(limb), zones: String::new() }
}

/// A view as it is called on this limb: palmar becomes plantar on a hindlimb.
fn on_limb(view: &Projection, limb: Option<Limb>) -> Projection {
    if limb.is_some_and(|limb| !limb.is_fore()) { view.hind() } else { view.clone() }
}

fn side(limb: Option<Limb>) -> String {
    limb.map(|limb| limb.code().to_owned()).unwrap_or_default()
}
