//! Everything that is sent of a horse, read at once.

use std::collections::{HashMap, HashSet};

use crate::{
    App,
    accounts::{self, store::Staff},
    clock::At,
    diagnostics::{self, Order},
    followups::{self, FollowUp},
    horses::{
        self, Card, Details,
        store::{Party, Weight},
    },
    ids::{HorseId, StaffId, VisitId},
    imaging::store::pictures::{self, Pictured},
    practice::{self, Practice},
    record::{self, Entry},
    visits::{self, Complaint, Visit},
    web::Result,
};

/// A visit, what was said of it when it was booked, and what stands in its record.
pub(super) struct OfVisit {
    pub visit: Visit,
    pub complaints: Vec<Complaint>,
    pub entries: Vec<Entry>,
}

/// An order, its pictures, and what stands of its results.
pub(super) struct Ordered {
    pub order: Order,
    pub pictures: Vec<Pictured>,
    pub entries: Vec<Entry>,
}

pub(super) struct Facts {
    pub id: HorseId,
    pub practice: Practice,
    pub card: Card,
    pub details: Details,
    pub parties: Vec<Party>,
    pub weights: Vec<Weight>,
    pub visits: Vec<OfVisit>,
    pub orders: Vec<Ordered>,
    pub follow_ups: Vec<FollowUp>,
    pub staff: HashMap<StaffId, Staff>,
}

impl Facts {
    /// The horse alone, without what was recorded of it.
    pub(super) async fn of_horse(app: &App, id: HorseId) -> Result<Self> {
        let db = app.db.read();
        let (details, _) = horses::store::details(db, id).await?;
        Ok(Facts {
            id,
            practice: practice::store::get(db).await?,
            card: horses::store::card(db, id).await?,
            details,
            parties: horses::store::parties(db, id).await?,
            weights: Vec::new(),
            visits: Vec::new(),
            orders: Vec::new(),
            follow_ups: Vec::new(),
            staff: HashMap::new(),
        })
    }

    /// The horse with everything that stands, of the time from `since` on where there is one. What was taken back,
    /// corrected or erased is not sent.
    pub(super) async fn everything(app: &App, id: HorseId, since: Option<At>) -> Result<Self> {
        let db = app.db.read();
        let mut facts = Self::of_horse(app, id).await?;
        let first_day = since.map(|at| at.day(&facts.practice.zone));
        facts.weights = horses::store::weights(db, id).await?;
        facts.weights.retain(|weight| first_day.is_none_or(|day| weight.weighed_on >= day));
        facts.staff = accounts::store::all(db).await?.into_iter().map(|one| (one.id, one)).collect();
        let mut visits = visits::store::of_horse(db, id).await?;
        visits.retain(|visit| since.is_none_or(|at| visit.starts_at >= at));
        let kept: HashSet<VisitId> = visits.iter().map(|visit| visit.id).collect();
        facts.follow_ups = followups::store::open_of_horse(db, id).await?;
        facts.follow_ups.retain(|one| one.visit_id.is_none_or(|visit| kept.contains(&visit)));
        for visit in visits {
            let complaints = visits::store::complaints(db, visit.id).await?;
            let entries = record::current_of_visit(db, visit.id).await?;
            facts.visits.push(OfVisit { visit, complaints, entries });
        }
        let orders = diagnostics::store::of_horse(db, id).await?;
        for order in orders.into_iter().filter(|order| kept.contains(&order.visit_id)) {
            let pictures = pictures::of_order(db, order.id).await?;
            let (entries, _) = record::results_of_order(db, order.id).await?;
            facts.orders.push(Ordered { order, pictures, entries });
        }
        Ok(facts)
    }
}
