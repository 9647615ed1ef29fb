//! What the call page looks ahead to: how soon, who is near, who else stands at the yard, and where it fits into the coming
//! days.

use super::pages::{AHEAD, CallPage};
use crate::{
    App, biosecurity,
    catalogue::Urgency,
    clients,
    ids::YardId,
    practice,
    reasoning::road::Place,
    rounds::{
        Planner,
        nearest::Shifted,
        planner::{Wish, yard_place},
    },
    visits::{
        store::stop::{self, Neighbour},
        triage::Told,
        when::USUAL_LENGTH,
    },
    web::Result,
};

impl CallPage {
    /// How soon, who is near, and where it fits into the coming days.
    pub(super) async fn look_ahead(&mut self, app: &App) -> Result<()> {
        let db = app.db.read();
        let class = self.form.class();
        self.told = None;
        if let Some(verdict) = self.form.verdict() {
            self.told = Some(Told::new(verdict, &practice::advice::approved(db).await?));
        }
        let is_now = class == Urgency::Now;
        let chosen = self.card.is_some() || self.client.is_some() || self.chosen;
        if !is_now && !chosen {
            return Ok(());
        }
        let yard = self.yard();
        self.meet(app, yard).await?;
        let planner = Planner::load(db, &self.vets, (self.today, AHEAD), self.now, &self.zone).await?;
        let place = self.place(app, &planner).await?;
        let kind = self.form.kind();
        let clinic = kind.is_some_and(|kind| kind.clinic).then(|| planner.practice().clone());
        let beside = self.form.with.iter().map(|id| id.parse().ok());
        let mut wish = Wish {
            vet: self.form.when.vet.parse().ok(),
            place: place.clone(),
            horses: std::iter::once(self.form.horse_id()).chain(beside).collect(),
            yard,
            minutes: planner.roads.rules.whole("minutes_emergency"),
            needs: kind.map_or(&[], |kind| &kind.needs),
            class,
        };
        if is_now {
            self.near = planner.nearest(&wish, &self.on_call);
        }
        wish.place = clinic.or(place);
        wish.minutes = self.form.when.minutes.parse().unwrap_or(USUAL_LENGTH).clamp(5, 720);
        self.offers = planner.offers(&wish);
        Ok(())
    }

    /// The yard that is chosen, if it is one that is known.
    fn yard(&self) -> Option<YardId> {
        let form = &self.form;
        if !form.new_yard.trim().is_empty() {
            return None;
        }
        let picked = if form.other_yard.trim().is_empty() { &form.place } else { &form.other_yard };
        let id = picked.parse::<YardId>().ok()?;
        self.all_yards.iter().any(|(yard, _)| *yard == id).then_some(id)
    }

    /// Who else stands at the yard, and what is marked there.
    async fn meet(&mut self, app: &App, yard: Option<YardId>) -> Result<()> {
        self.neighbours.clear();
        self.marks.clear();
        let Some(yard) = yard else { return Ok(()) };
        self.neighbours = stop::neighbours(app.db.read(), yard, self.today.start(&self.zone)).await?;
        let horse = self.form.horse_id();
        self.neighbours.retain(|one| Some(one.id) != horse);
        if self.card.as_ref().is_none_or(|card| card.yard_id != Some(yard)) {
            let marks = biosecurity::store::standing(app.db.read()).await?;
            let marks = marks.of(None, Some(yard), self.today);
            self.marks = marks.iter().map(|mark| format!("{}: {}", mark.whose, mark.words())).collect();
        }
        Ok(())
    }

    /// The other horses as they can be ticked: whose each is, and when it is seen anyway.
    pub(super) fn with_options(&self) -> Vec<(String, String)> {
        let one = |one: &Neighbour| {
            let owner = one.owner.as_ref().map_or_else(String::new, |owner| format!(" ({owner})"));
            let booked =
                one.booked.map_or_else(String::new, |at| format!(", booked {}", at.words(&self.zone)));
            (one.id.to_string(), format!("{}{owner}{booked}", one.name))
        };
        self.neighbours.iter().map(one).collect()
    }

    /// "4 horses, 60 min together"; nothing for one.
    pub(super) fn whole_words(&self) -> Option<String> {
        let horses = self.form.horses();
        let minutes: usize = self.form.when.minutes.parse().ok()?;
        (horses > 1)
            .then(|| format!("{horses} horses on one stop, {} min together and one drive.", minutes * horses))
    }

    /// What is chosen for a visit that is in the way: what was tapped, or the likeliest.
    pub(super) fn chosen_move(&self, moved: &Shifted) -> String {
        let id = moved.visit.to_string();
        let tapped =
            self.form.moves.iter().find(|(visit, _)| *visit == id).map(|(_, choice)| choice.as_str());
        let known = tapped.filter(|choice| moved.choices.iter().any(|(value, _)| value == choice));
        known.or(moved.choices.first().map(|(value, _)| value.as_str())).unwrap_or_default().to_owned()
    }

    /// Where the visit would be; none while nobody said.
    async fn place(&self, app: &App, planner: &Planner<'_>) -> Result<Option<Place>> {
        let form = &self.form;
        if !form.new_yard.trim().is_empty() {
            return Ok(Some(Place::new("new", form.new_yard.trim(), None)));
        }
        if form.other_yard.trim().is_empty() && form.place == "clinic" {
            return Ok(Some(planner.practice().clone()));
        }
        let Some(id) = self.yard() else { return Ok(None) };
        let yard = clients::yards::store::get(app.db.read(), id).await?;
        Ok(Some(yard_place(id, &yard.name, yard.lat, yard.lon)))
    }
}
