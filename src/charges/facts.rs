//! What the record of one visit holds that can be charged. Each thing has a source that stays the same for as long as it is
//! there: an entry that was amended is still the one that it was at first.

use std::collections::HashMap;

use jiff::tz::TimeZone;
use sqlx::SqlitePool;

use super::store::{self, Went};
use crate::{
    catalogue::{
        Limb, catalogue,
        charges::{Charge, Found, Unit},
    },
    diagnostics::{self, ItemState},
    ids::EntryId,
    reasoning::{
        charges::{Fact, ONE, handed_over, thousandths},
        road::{Spot, road_km, straight_km},
        watch::Part,
    },
    record::{self, Body, Dosed, Entry, How, Kind},
    rota, rounds,
    visits::Visit,
    web::Result,
};

/// A fact with its words and the page that it stands on.
#[derive(Debug, Clone)]
pub(super) struct Recorded {
    pub fact: Fact,
    pub charge: &'static Charge,
    pub words: String,
    pub href: String,
}

/// Everything of a visit, in the order in which one would tell it. Nothing before it has begun.
pub(super) async fn of_visit(db: &SqlitePool, visit: &Visit, zone: &TimeZone) -> Result<Vec<Recorded>> {
    if !visit.state.has_begun() {
        return Ok(Vec::new());
    }
    let mut told = Told { visit, found: Vec::new() };
    let went = store::went(db, visit.id).await?;
    told.kind(&went);
    if visit.place == "yard" && !went.follows {
        told.road(db, &went).await?;
    }
    let at = went.arrived_at.unwrap_or(visit.starts_at);
    if rota::at(db, at, zone).await?.watch.part == Part::Night {
        told.once(Found::OutOfHours, "night", String::new());
    }
    let all = record::entries_of_visit(db, visit.id).await?;
    let current = record::current_of_visit(db, visit.id).await?;
    told.entries(&Roots::of(&all), &current);
    told.orders(db).await?;
    for copy in store::copies(db, visit.horse_id, visit.id).await? {
        let words = format!("for {}, {}", copy.asked_by, copy.given_on.words());
        let href = format!("/horses/{}/record#copies", visit.horse_id);
        told.add(Found::Copy, format!("copy:{}", copy.id), Counted::one(), (words, href));
    }
    Ok(told.found)
}

/// How much of which one.
struct Counted {
    of: String,
    unit: Unit,
    quantity: i64,
    km: Option<f64>,
}

impl Counted {
    fn one() -> Self {
        Counted { of: String::new(), unit: Unit::Each, quantity: ONE, km: None }
    }

    fn one_of(of: &str) -> Self {
        Counted { of: of.to_owned(), ..Counted::one() }
    }
}

/// What was told so far.
struct Told<'a> {
    visit: &'a Visit,
    found: Vec<Recorded>,
}

impl Told<'_> {
    /// Adds a fact; `more` are the words behind the name of the charge, and its page.
    fn add(&mut self, found: Found, source: String, counted: Counted, (more, href): (String, String)) {
        let Some(charge) = catalogue().charges.found(found) else { return };
        let words = if more.is_empty() { charge.name.clone() } else { format!("{}: {more}", charge.name) };
        let Counted { of, unit, quantity, km } = counted;
        let fact = Fact { source, charge: charge.code.clone(), of, unit, quantity, km };
        self.found.push(Recorded { fact, charge, words: words.chars().take(300).collect(), href });
    }

    /// Something of the visit as a whole, once.
    fn once(&mut self, found: Found, source: &str, words: String) {
        let href = self.page("");
        self.add(found, source.to_owned(), Counted::one(), (words, href));
    }

    fn page(&self, tail: &str) -> String {
        format!("/visits/{}{tail}", self.visit.id)
    }

    /// What it was booked for; the name of a purchase examination begins as the charge is called.
    fn kind(&mut self, went: &Went) {
        let name = catalogue().road.kinds.get(&went.kind).map_or("", |kind| kind.name.as_str());
        let found = if went.kind.starts_with("purchase") { Found::Purchase } else { Found::Visit };
        let words = name.strip_prefix("purchase examination, ").unwrap_or(name).to_owned();
        let href = self.page("");
        self.add(found, "visit".into(), Counted::one_of(&went.kind), (words, href));
    }

    /// The way to the yard: its zone, its kilometres, and the minutes where the drive was logged.
    async fn road(&mut self, db: &SqlitePool, went: &Went) -> Result<()> {
        let yard = went.yard.clone().unwrap_or_else(|| "a yard that nobody named".into());
        let there = went.lat.zip(went.lon).map(|(lat, lon)| Spot { lat, lon });
        let here = rounds::store::practice_spot(db).await?.map(|(spot, _)| spot);
        let circuity = rounds::rules(db).await?.circuity;
        let km = here.zip(there).and_then(|(here, there)| road_km(straight_km(here, there), circuity).ok());
        let how_far = km.map_or_else(String::new, |km| format!(", {km:.1} km one way"));
        let href = self.page("");
        let call = Counted { km, ..Counted::one() };
        self.add(Found::CallOut, "call_out".into(), call, (format!("{yard}{how_far}"), href.clone()));
        if let Some(quantity) = km.and_then(thousandths) {
            let counted = Counted { unit: Unit::Km, quantity, ..Counted::one() };
            self.add(Found::Kilometres, "kilometres".into(), counted, (yard.clone(), href.clone()));
        }
        if let Some(minutes) = went.minutes {
            let counted = Counted { unit: Unit::Minutes, quantity: minutes * ONE, ..Counted::one() };
            self.add(Found::DriveMinutes, "drive_minutes".into(), counted, (yard, href));
        }
        Ok(())
    }

    fn entries(&mut self, roots: &Roots, current: &[Entry]) {
        let bodies = || current.iter().filter_map(|entry| Some((entry, entry.body.as_ref()?)));
        for (entry, body) in bodies().filter(|(_, body)| body.kind == Kind::Block) {
            let code = body.code.clone().unwrap_or_default();
            let href = self.page("/work-up");
            let source = format!("block:{}", roots.root(entry.id));
            self.add(Found::Block, source, Counted::one_of(&code), (block_words(body), href));
        }
        if bodies().any(|(_, body)| body.kind == Kind::Flexion) {
            let href = self.page("/exam");
            self.add(Found::Flexion, "flexion".into(), Counted::one(), (String::new(), href));
        }
        for (entry, body) in bodies() {
            if let Some(dosed) = body.dosed.as_deref().filter(|_| body.kind == Kind::Treatment)
                && dosed.how != How::Prescribed
            {
                let href = self.page("/care");
                let source = format!("medicine:{}", roots.root(entry.id));
                self.add(Found::Medicine, source, measured(dosed), (medicine_words(dosed), href));
            }
        }
        for (code, found) in [("joint", Found::Joint), ("farriery", Found::Farriery)] {
            let is = |body: &Body| {
                matches!(body.kind, Kind::Plan | Kind::Treatment) && body.code.as_deref() == Some(code)
            };
            for (entry, body) in bodies().filter(|(_, body)| is(body)) {
                let href = self.page(&format!("/procedures/{code}"));
                let source = format!("{code}:{}", roots.root(entry.id));
                self.add(found, source, Counted::one(), (limb_words(body), href));
            }
        }
    }

    /// What was ordered and taken, a line an order. A bone scan is one thing, however many views it has.
    async fn orders(&mut self, db: &SqlitePool) -> Result<()> {
        for order in diagnostics::store::of_visit(db, self.visit.id).await? {
            let items = diagnostics::store::items(db, order.id).await?;
            let taken = items.iter().filter(|item| item.state == ItemState::Taken).count();
            let found = Found::of_study(order.kind);
            let taken = if found == Found::BoneScan { taken.min(1) } else { taken };
            if taken > 0 {
                let quantity = i64::try_from(taken).unwrap_or_default() * ONE;
                let counted = Counted { quantity, ..Counted::one_of(&order.study) };
                let to = (order.name.clone(), format!("/diagnostics/{}", order.id));
                self.add(found, format!("order:{}", order.id), counted, to);
            }
        }
        Ok(())
    }
}

/// Which entry each amended one was at first.
struct Roots(HashMap<EntryId, EntryId>);

impl Roots {
    fn of(all: &[Entry]) -> Self {
        Roots(all.iter().filter_map(|entry| Some((entry.id, entry.supersedes?))).collect())
    }

    fn root(&self, mut id: EntryId) -> EntryId {
        while let Some(earlier) = self.0.get(&id) {
            id = *earlier;
        }
        id
    }
}

fn block_words(body: &Body) -> String {
    let name = body.code.as_deref().and_then(|code| catalogue().block(code)).map(|block| block.name.clone());
    let name = name.or_else(|| body.text.clone()).unwrap_or_default();
    let limb = limb_words(body);
    if limb.is_empty() { name } else { format!("{name}, {limb}") }
}

fn limb_words(body: &Body) -> String {
    let limb = body.limb.as_deref().and_then(|limb| limb.parse::<Limb>().ok());
    limb.map_or_else(String::new, |limb| limb.name().to_owned())
}

/// Millilitres where the record has them, with what was wasted of them; else as it was handed over, or one.
fn measured(dosed: &Dosed) -> Counted {
    let (quantity, unit) = match dosed.how {
        How::Dispensed => dosed.quantity.as_deref().and_then(handed_over).unwrap_or((ONE, Unit::Each)),
        How::Administered | How::Prescribed => {
            let ml = dosed.ml.map(|ml| ml + dosed.waste_ml.unwrap_or_default()).and_then(thousandths);
            ml.filter(|ml| *ml > 0).map_or((ONE, Unit::Each), |ml| (ml, Unit::Ml))
        }
    };
    Counted { unit, quantity, ..Counted::one_of(&dosed.row) }
}

fn medicine_words(dosed: &Dosed) -> String {
    let words = format!("{}, {}, {}", dosed.name, dosed.route, dosed.how.word());
    let waste = dosed.waste_ml.filter(|waste| *waste > 0.0 && dosed.how == How::Administered);
    let words = match waste {
        Some(waste) => format!("{words}, with {waste} ml wasted"),
        None => words,
    };
    match dosed.quantity.as_ref().filter(|_| dosed.how == How::Dispensed) {
        Some(quantity) => format!("{words}: {quantity}"),
        None => words,
    }
}
