//! One visit as care sees it: the horse, its weight, what it got and gets, and what the checks must know.

use std::sync::Arc;

use super::store::{self, Given, Risk};
use crate::{
    App, accounts,
    catalogue::{catalogue, localise::Localising},
    clock::{At, Day},
    formulary::{self, Kept, store::Prescribing},
    horses::{self, Card, Dosing},
    ids::{EntryId, StaffId, VisitId},
    practice::{self, Practice},
    reasoning::dose::{
        Ask, Each, Kg, Mg, Reckoned, Warning,
        checks::{self, Facts, Other},
        sums::Course,
    },
    record::{self, Body, Entry, Kind},
    stock::{self, store::Store},
    visits::{self, Visit},
    web::Result,
    workup::course::shots,
};

/// Local anaesthetic of other visits counts as far back as this.
const BACK_MIN: i64 = 36 * 60;

pub(super) struct Scene {
    pub visit: Visit,
    pub card: Card,
    pub practice: Practice,
    pub now: At,
    pub today: Day,
    pub staff: Vec<accounts::store::Staff>,
    /// Entries of the visit that stand.
    pub entries: Vec<Entry>,
    pub dosing: Option<Dosing>,
    /// All rows of the formulary.
    pub rows: Vec<Kept>,
    pub prescribing: Prescribing,
    /// Medicines of the horse, the newest first.
    pub given: Vec<Given>,
    pub risks: Vec<Risk>,
    /// Where controlled drugs are kept, and who may see one wasted.
    pub stores: Vec<Store>,
    pub witnesses: Vec<(StaffId, String)>,
    scores: Vec<horses::store::condition::Score>,
    blocks: Vec<(String, Mg, At)>,
}

impl Scene {
    pub(super) async fn load(app: &App, id: VisitId, user: Option<StaffId>) -> Result<Self> {
        let db = app.db.read();
        let visit = visits::store::get(db, id).await?;
        let practice = practice::store::get(db).await?;
        let now = app.clock.now();
        let today = now.day(&practice.zone);
        let weights = horses::store::weights(db, visit.horse_id).await?;
        let rows = app.weighing.rows(db, visit.signed_at).await?;
        let entries = record::current_of_visit(db, id).await?;
        let staff = accounts::store::all(db).await?;
        let others = staff.iter().filter(|one| one.active && Some(one.id) != user);
        Ok(Scene {
            card: horses::store::card(db, visit.horse_id).await?,
            witnesses: others.map(|one| (one.id, one.name.clone())).collect(),
            stores: stock::store::stores(db).await?,
            staff,
            dosing: horses::dosing(&weights, today, &practice.weight_unit),
            rows: formulary::rows(db).await?,
            prescribing: formulary::store::prescribing(db).await?,
            given: store::medicines(db, visit.horse_id).await?,
            risks: store::risks(db, visit.horse_id).await?,
            scores: horses::store::condition::scores(db, visit.horse_id).await?,
            blocks: blocks(app, &visit, &entries, &rows).await?,
            entries,
            visit,
            practice,
            now,
            today,
        })
    }

    pub(super) fn row(&self, code: &str) -> Option<&Kept> {
        self.rows.iter().find(|kept| kept.code() == code)
    }

    /// The medicines of this visit, the first one first.
    pub(super) fn here(&self) -> Vec<(&Entry, &Body)> {
        let of = |entry: &'_ Entry| {
            entry.body.as_ref().is_some_and(|b| b.kind == Kind::Treatment && b.dosed.is_some())
        };
        self.entries
            .iter()
            .filter(|entry| of(entry))
            .filter_map(|entry| Some((entry, entry.body.as_ref()?)))
            .collect()
    }

    /// The row for this horse, with the amount that was asked for.
    pub(super) fn reckon(
        &self,
        kept: &Kept,
        asked: &Asked,
    ) -> std::result::Result<Reckoned, crate::reasoning::Refused> {
        let weight = Kg(self.dosing.as_ref().map_or(0.0, |used| used.kg));
        let ask = Ask {
            weight,
            each: asked.each,
            strength: asked.strength,
            every_h: asked.every_h,
            days: asked.days,
        };
        crate::reasoning::dose::reckon(&kept.row.dose, &ask)
    }

    /// Everything that is raised by giving it: by the row's own numbers, then by the horse and what else it gets.
    pub(super) fn warnings(&self, kept: &Kept, asked: &Asked, reckoned: &Reckoned) -> Vec<Warning> {
        let mut all = checks::raised(&self.facts(kept, asked, reckoned));
        let numbers = reckoned.warnings.iter().filter(|_| asked.each.is_some());
        all.extend(numbers.cloned());
        all.sort_by_key(|one| catalogue().care.checks.get(one.check).map(|row| row.pass));
        all
    }

    fn facts(&self, kept: &Kept, asked: &Asked, reckoned: &Reckoned) -> Facts {
        let (row, used) = (&kept.row, self.dosing.as_ref());
        let labels = catalogue().care.jurisdiction(&self.prescribing.jurisdiction).map(|place| &place.labels);
        let code = |code: &str| self.scores.iter().find(|score| score.code == code).map(|score| score.score);
        let vital = |code: &str| {
            let of = |b: &&Body| b.kind == Kind::Vital && b.code.as_deref() == Some(code);
            self.entries.iter().rev().filter_map(|e| e.body.as_ref()).find(of)
        };
        let risks = self.risks.iter().filter(|risk| risk.ended_at.is_none());
        Facts {
            medicine: row.dose.medicine.clone(),
            name: row.name.clone(),
            group: row.group,
            food: row.food,
            confirmed: kept.is_active(),
            labelled_here: row.dose.label && labels.is_some_and(|list| list.contains(&row.dose.jurisdiction)),
            food_excluded: self.card.food_chain == "excluded",
            weight: used.map(|used| Kg(used.kg)),
            weight_doubts: used.map(|used| used.doubts.clone()).unwrap_or_default(),
            mg: reckoned.dose,
            at: asked.at,
            course: Course::new(asked.at, asked.every_h.or(row.dose.every_h), asked.days),
            others: self
                .given
                .iter()
                .filter(|one| Some(one.entry) != asked.was)
                .map(|one| self.other(one))
                .collect(),
            blocks: self.blocks.clone(),
            risks: risks
                .map(|risk| checks::Risk { code: risk.code.clone(), words: risk_words(risk) })
                .collect(),
            bcs: code("bcs"),
            crest: code("crest"),
            obel: vital("obel").and_then(|body| body.grade),
            temp_c: vital("temp_c").and_then(|body| body.number),
            foal: self.card.age(self.today) == Some(0),
            gait_seen: self.entries.iter().any(|e| e.body.as_ref().is_some_and(|b| b.kind == Kind::Gait)),
        }
    }

    fn other(&self, given: &Given) -> Other {
        let one = &given.dosed;
        Other {
            medicine: one.medicine.clone(),
            name: one.name.clone(),
            group: one.group,
            mg: Some(Mg(one.mg)),
            at: one.at,
            course: Course::new(one.at, one.every_h, one.days),
            here: given.visit == self.visit.id,
        }
    }
}

/// What a form asks of a row.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    pub each: Option<Each>,
    pub strength: Option<crate::reasoning::dose::MgPerMl>,
    pub every_h: Option<f64>,
    pub days: Option<u32>,
    pub at: At,
    /// The entry that is amended.
    pub was: Option<EntryId>,
}

/// "laminitis before: autumn 2024"
pub(super) fn risk_words(risk: &Risk) -> String {
    let name = catalogue().care.risk(&risk.code).map_or(risk.code.as_str(), |row| row.name.as_str());
    if risk.note.is_empty() { format!("{name}.") } else { format!("{name}: {}.", risk.note) }
}

/// Local anaesthetics of blocks, at this visit and at others of the last hours.
async fn blocks(
    app: &App,
    visit: &Visit,
    entries: &[Entry],
    rows: &Arc<Localising>,
) -> Result<Vec<(String, Mg, At)>> {
    let db = app.db.read();
    let mut all = shots(entries, rows);
    let since = app.clock.now().plus_minutes(-BACK_MIN);
    let near = |other: &Visit| other.id != visit.id && other.starts_at >= since;
    for other in visits::store::of_horse(db, visit.horse_id).await?.into_iter().filter(near) {
        all.extend(shots(&record::current_of_visit(db, other.id).await?, rows));
    }
    Ok(all.iter().filter_map(|shot| Some((shot.agent().to_owned(), Mg(shot.mg()?), shot.at))).collect())
}
