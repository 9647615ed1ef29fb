//! What the sections are drawn from: the visit, the horse, who is there, what was said and recorded so far.

use serde::Deserialize;

use super::{
    cautions::{self, Raised},
    store::{self, Earlier},
};
use crate::{
    App,
    accounts::{
        self, Act, User,
        store::{Staff, name_of},
    },
    catalogue::{Limb, Where},
    clock::{At, Day},
    exam::way::Way,
    horses::{self, Card},
    ids::{StaffId, SubmissionId, VisitId},
    papers::words::Units,
    practice::{self, Practice},
    record::{self, Body, Entry, Kind},
    visits::{self, Visit},
    web::Result,
};

/// What the address asks these sections to open.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// More gait conditions, more flexion tests, each list apart by spaces, and the other flexion scale.
    pub gait: String,
    pub flexion: String,
    pub flexion_scale: String,
    /// One more than the short neurological screen.
    pub neuro: String,
    /// The section to open, or the one that a form came back to.
    pub to: String,
    pub at: String,
}

impl Asked {
    /// Whether the conditions or tests asked for, `ALL` or some by their codes, hold this one.
    pub(super) fn names(asked: &str, code: &str) -> bool {
        asked.split_whitespace().any(|one| one == code || one == "all")
    }

    pub(super) fn opens(&self, section: &str) -> bool {
        let asked = match section {
            "flexion" => !self.flexion.is_empty() || !self.flexion_scale.is_empty(),
            "neuro" => !self.neuro.is_empty(),
            _ => false,
        };
        asked || self.to == section || self.at == section
    }
}

/// One visit as these sections see it.
#[derive(Debug, Clone)]
pub struct Scene {
    pub visit: Visit,
    pub card: Card,
    pub practice: Practice,
    pub today: Day,
    pub staff: Vec<Staff>,
    /// Whose words the next entries are, until somebody else is chosen.
    pub seen_by: StaffId,
    /// An order of the hands other than the practice's own; else empty.
    pub order: String,
    pub entries: Vec<Entry>,
    pub raised: Vec<Raised>,
    /// The newest grade of this horse's earlier visits for each test by limb.
    pub(super) earlier: Vec<Earlier>,
    pub asked: Asked,
}

impl Scene {
    /// Whoever is chosen on the page saw it, in every section; until somebody is, it is who is signed in, or the
    /// vet of the visit for those who only write down what a vet sees.
    pub(in crate::exam) async fn load(app: &App, user: &User, way: &Way, asked: Asked) -> Result<Self> {
        let id = way.visit;
        let db = app.db.read();
        let (visit, card) = if let Some(blank) = crate::away::blank(id, user.id, app.clock.now()) {
            blank
        } else {
            let visit = visits::store::get(db, id).await?;
            let card = horses::store::card(db, visit.horse_id).await?;
            (visit, card)
        };
        let (practice, staff, complaints, entries, earlier) = tokio::try_join!(
            practice::store::get(db),
            accounts::store::all(db),
            visits::store::complaints(db, id),
            record::current_of_visit(db, id),
            store::earlier_grades(db, visit.horse_id, id, visit.starts_at),
        )?;
        let today = app.clock.now().day(&practice.zone);
        let name = |id: StaffId| name_of(&staff, id);
        let raised = cautions::for_visit(&entries, &[], &complaints, &card, today, name);
        let usual = if user.may(Act::Sign) { user.id } else { visit.vet_id.unwrap_or(user.id) };
        let seen_by = way.by.parse().unwrap_or(usual);
        let order = way.order.clone();
        Ok(Scene { visit, card, practice, today, staff, seen_by, order, entries, raised, earlier, asked })
    }

    /// Nobody's visit, before anything is known: whoever has the horse puts the rest in.
    pub(in crate::exam) fn blank(
        (visit, card): (Visit, Card),
        seen_by: StaffId,
        scale: &str,
        asked: Asked,
    ) -> Self {
        let practice = Practice { lameness_scale: scale.to_owned(), ..Practice::blank() };
        Scene {
            visit,
            card,
            today: At(0).day(&practice.zone),
            practice,
            staff: Vec::new(),
            seen_by,
            order: String::new(),
            entries: Vec::new(),
            raised: Vec::new(),
            earlier: Vec::new(),
            asked,
        }
    }

    /// The cautions that hold at one of these points of use.
    pub(super) fn raised_at(&self, points: &[Where]) -> Vec<Raised> {
        let here = |raised: &&Raised| raised.shown_at.iter().any(|at| points.contains(at));
        self.raised.iter().filter(here).cloned().collect()
    }

    /// The standing entries of a kind, in order of receipt.
    pub(super) fn of(&self, kind: Kind) -> impl Iterator<Item = (&Entry, &Body)> {
        self.entries
            .iter()
            .filter_map(|entry| Some((entry, entry.body.as_ref()?)))
            .filter(move |(_, body)| body.kind == kind)
    }

    /// The newest grade of an earlier visit for the same test on the same limb.
    pub(super) fn last(&self, kind: &str, code: &str, limb: Limb) -> Option<&Earlier> {
        self.earlier.iter().find(|e| e.kind == kind && e.code == code && e.limb == limb.code())
    }

    /// An entry's author and time: "Vala, 09:12".
    pub(super) fn author(&self, entry: &Entry) -> String {
        let at = entry.seen().hm(&self.practice.zone);
        let seen = name_of(&self.staff, entry.seen_by);
        if entry.seen_by == entry.entered_by {
            return format!("{seen}, {at}");
        }
        format!("{seen}, {at}, typed by {}", name_of(&self.staff, entry.entered_by))
    }

    pub(super) fn units(&self) -> Units {
        Units::of(&self.practice)
    }

    pub(super) fn stamp(&self) -> FormStamp {
        FormStamp { visit: self.visit.id, seen_by: self.seen_by, order: self.order.clone() }
    }
}

/// The hidden beginning of every form.
#[derive(Debug, Clone)]
pub(super) struct FormStamp {
    pub visit: VisitId,
    pub seen_by: StaffId,
    pub order: String,
}

impl FormStamp {
    /// What else of the page follows from a tap in these sections.
    #[expect(clippy::unused_self, reason = "templates call methods, not functions of a type")]
    pub(super) fn around(&self) -> &'static str {
        crate::exam::sections::AROUND
    }

    /// A fresh number for one more form.
    #[expect(clippy::unused_self, reason = "templates call methods, not functions of a type")]
    pub(super) fn submission(&self) -> SubmissionId {
        SubmissionId::new()
    }
}
