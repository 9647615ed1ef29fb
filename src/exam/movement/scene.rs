//! What the sections are drawn from: the visit, the horse, who is there, what was said and recorded so far.

use serde::Deserialize;

use super::{
    cautions::{self, Raised},
    store::{self, Earlier},
};
use crate::{
    App,
    accounts::{self, Act, User, store::Staff},
    catalogue::{Limb, Where},
    clock::Day,
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
    /// One more gait condition, one more flexion test, and the other flexion scale.
    pub gait: String,
    pub flexion: String,
    pub flexion_scale: String,
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
    pub entries: Vec<Entry>,
    pub raised: Vec<Raised>,
    /// Grades of this horse's earlier visits, newest first.
    pub(super) earlier: Vec<Earlier>,
    pub asked: Asked,
}

impl Scene {
    pub async fn load(app: &App, user: &User, id: VisitId, asked: Asked) -> Result<Self> {
        let db = app.db.read();
        let (visit, card) = if let Some(blank) = crate::away::blank(id, user.id, app.clock.now()) {
            blank
        } else {
            let visit = visits::store::get(db, id).await?;
            let card = horses::store::card(db, visit.horse_id).await?;
            (visit, card)
        };
        let practice = practice::store::get(db).await?;
        let staff = accounts::store::all(db).await?;
        let complaints = visits::store::complaints(db, id).await?;
        let entries = record::current_of_visit(db, id).await?;
        let earlier = store::earlier_grades(db, visit.horse_id, id, visit.starts_at).await?;
        let today = app.clock.now().day(&practice.zone);
        let name = |id: StaffId| name_of(&staff, id);
        let raised = cautions::for_visit(&entries, &complaints, &card, today, name);
        // Whoever may not sign writes down what the vet of the visit sees.
        let seen_by = if user.may(Act::Sign) { user.id } else { visit.vet_id.unwrap_or(user.id) };
        Ok(Scene { visit, card, practice, today, staff, seen_by, entries, raised, earlier, asked })
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
        FormStamp { visit: self.visit.id, seen_by: self.seen_by }
    }
}

fn name_of(staff: &[Staff], id: StaffId) -> String {
    staff.iter().find(|one| one.id == id).map_or_else(String::new, |one| one.name.clone())
}

/// The hidden beginning of every form.
#[derive(Debug, Clone, Copy)]
pub(super) struct FormStamp {
    pub visit: VisitId,
    pub seen_by: StaffId,
}

impl FormStamp {
    /// A fresh number for one more form.
    #[expect(clippy::unused_self, reason = "templates call methods, not functions of a type")]
    pub(super) fn submission(self) -> SubmissionId {
        SubmissionId::new()
    }
}
