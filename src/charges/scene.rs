//! Everything that the page of a visit's charges rests on.

use std::collections::HashMap;

use jiff::tz::TimeZone;
use sqlx::SqlitePool;

use super::{
    facts::{self, Recorded},
    kept::{self, Kept},
    store::{self, Price},
};
use crate::{
    App,
    clock::Day,
    horses::{self, Card, PartyRole},
    ids::{ClientId, VisitId},
    practice,
    reasoning::charges::{Open, Rule, money, open, price_of, quantity},
    visits::{self, Visit},
    web::Result,
};

/// A line that is proposed: what the record holds beyond what was gone over before.
#[derive(Debug, Clone)]
pub(super) struct OpenLine {
    pub recorded: Recorded,
    /// Thousandths.
    pub quantity: i64,
    /// None where the practice keeps none.
    pub price: Option<Price>,
    /// Why there is no price.
    pub missing: String,
}

impl OpenLine {
    pub(super) fn source(&self) -> &str {
        &self.recorded.fact.source
    }

    /// "11 ml"
    pub(super) fn count(&self) -> String {
        let words = format!("{} {}", quantity(self.quantity), self.recorded.fact.unit.behind());
        words.trim().to_owned()
    }

    /// "2.40 EUR each ml"
    pub(super) fn price_words(&self, currency: &str) -> String {
        self.price.as_ref().map_or_else(String::new, |price| {
            format!("{}: {} {currency} {}", price.code, money(price.minor), per(price))
        })
    }
}

/// "each", "a ml"
pub(super) fn per(price: &Price) -> String {
    let unit = price.unit.behind();
    if unit.is_empty() { "each".to_owned() } else { format!("each {unit}") }
}

pub(super) struct Scene {
    pub visit: Visit,
    pub card: Card,
    pub zone: TimeZone,
    pub today: Day,
    pub currency: Option<String>,
    /// Prices that hold on the day of the visit.
    pub prices: Vec<Price>,
    pub open: Vec<OpenLine>,
    /// What is recorded no more, or less of, than was gone over: as sentences.
    pub less: Vec<String>,
    pub kept: Vec<Kept>,
    /// Whoever may pay.
    pub payers: Vec<(ClientId, String)>,
    /// Who pays where nobody says otherwise.
    pub payer: Option<ClientId>,
}

impl Scene {
    pub(super) async fn load(app: &App, id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = visits::store::get(db, id).await?;
        let zone = practice::store::get(db).await?.zone;
        let day = visit.starts_at.day(&zone);
        let mut prices = store::prices(db).await?;
        prices.retain(|price| price.rule().holds_on(day));
        let recorded = facts::of_visit(db, &visit, &zone).await?;
        let kept = kept::of_visit(db, id).await?;
        let (payers, payer) = payers(db, &visit).await?;
        let mut scene = Scene {
            card: horses::store::card(db, visit.horse_id).await?,
            today: app.clock.now().day(&zone),
            currency: store::currency(db).await?,
            prices,
            open: Vec::new(),
            less: Vec::new(),
            kept,
            payers,
            payer,
            zone,
            visit,
        };
        scene.propose(recorded, day);
        Ok(scene)
    }

    fn propose(&mut self, recorded: Vec<Recorded>, day: Day) {
        let rules: Vec<Rule> = self.prices.iter().map(Price::rule).collect();
        let mut gone_over: HashMap<&str, i64> = HashMap::new();
        for line in &self.kept {
            *gone_over.entry(line.source.as_str()).or_default() += line.recorded;
        }
        let (mut open_lines, mut less) = (Vec::new(), Vec::new());
        for one in recorded {
            let before = gone_over.remove(one.fact.source.as_str()).unwrap_or_default();
            match open(one.fact.quantity, before) {
                Open::Nothing => {}
                Open::Less(by) => less.push(format!("{}: {} less is recorded", one.words, quantity(by))),
                Open::More(more) => {
                    let price = price_of(&one.fact, &rules, day).and_then(|at| self.prices.get(at)).cloned();
                    if price.is_some() || !one.charge.priced_only {
                        let missing = missing(&one, &rules);
                        open_lines.push(OpenLine { recorded: one, quantity: more, price, missing });
                    }
                }
            }
        }
        let gone = gone_over.into_iter().filter(|(_, quantity)| *quantity > 0);
        let words = |source: &str| {
            let line = self.kept.iter().rev().find(|line| line.source == source);
            line.map_or_else(String::new, |line| line.words.clone())
        };
        less.extend(gone.map(|(source, _)| format!("{}: it is recorded no more", words(source))));
        less.sort();
        (self.open, self.less) = (open_lines, less);
    }
}

/// Why a fact has no price, as a sentence.
fn missing(one: &Recorded, rules: &[Rule]) -> String {
    let zoned = rules.iter().any(|rule| rule.charge == one.fact.charge && rule.up_to_km.is_some());
    if zoned && one.fact.km.is_none() {
        return "It is not known how far it is: enter where the practice and the yard are.".to_owned();
    }
    let unit = one.fact.unit.behind();
    let unit = if unit.is_empty() { String::new() } else { format!(", in {unit}") };
    format!("No price is kept for {}{unit}.", one.words)
}

/// Whoever may pay for a visit, and who does where nobody says otherwise: those who are marked for it, else the owner. A
/// visit that was before the horse changed hands is for whoever owned it then.
async fn payers(db: &SqlitePool, visit: &Visit) -> Result<(Vec<(ClientId, String)>, Option<ClientId>)> {
    let parties = horses::store::parties(db, visit.horse_id).await?;
    let former = horses::store::former(db, visit.horse_id).await?;
    let then = former
        .iter()
        .filter(|tie| tie.ended_at > visit.starts_at)
        .min_by_key(|tie| (tie.role != PartyRole::Owner, tie.ended_at));
    let then = then.filter(|tie| tie.role == PartyRole::Owner).map(|tie| tie.client_id);
    let pays = parties.iter().find(|party| party.pays);
    let owner = parties.iter().find(|party| party.role == PartyRole::Owner);
    let payer = then.or(pays.or(owner).map(|party| party.client_id));
    let mut all: Vec<(ClientId, String)> = Vec::new();
    let of_parties = parties.iter().map(|party| (party.client_id, party.name.clone()));
    let of_former = former.iter().map(|tie| (tie.client_id, format!("{} (former)", tie.name)));
    let mut known: Vec<(ClientId, String)> = of_parties.chain(of_former).collect();
    if let Some(caller) = visit.client_id {
        let named = crate::clients::store::get(db, caller).await?.name;
        known.push((caller, format!("{named} (called about it)")));
    }
    for (id, name) in known {
        if !all.iter().any(|(other, _)| *other == id) {
            all.push((id, name));
        }
    }
    Ok((all, payer))
}
