//! The call's form as it is meant, with every error by field.

use super::{
    clear::Clearing,
    form::{CallForm, sex},
};
use crate::{
    catalogue::Urgency,
    clients, horses,
    ids::{ClientId, FollowUpId, HorseId, YardId},
    visits::{
        complaint::NewComplaint,
        store::booking::Where,
        when::{Basis, When},
    },
    web::{Check, Errors},
};

/// A booking as meant.
pub(super) struct Booking {
    pub who: Who,
    pub when: When,
    pub place: Place,
    pub urgent: bool,
    pub kind: &'static str,
    pub promised: bool,
    pub complaints: Vec<NewComplaint>,
    pub follow_up: Option<FollowUpId>,
    /// More horses on the same stop.
    pub with: Vec<HorseId>,
    pub with_words: String,
    pub clearing: Option<Vec<Clearing>>,
}

/// Which horse, and who called about it.
pub(super) enum Who {
    Known { horse: HorseId, caller: Option<ClientId> },
    New { client: NewClient, horse: Box<horses::Details> },
}

pub(super) enum NewClient {
    Known(ClientId),
    New(Box<clients::Details>),
}

#[derive(Debug, Clone)]
pub(super) enum Place {
    Known(Where),
    /// A yard that is made with the booking.
    NewYard(String),
}

/// What the form may choose from.
pub(super) struct Given<'a> {
    pub basis: Basis<'a>,
    pub callers: Vec<ClientId>,
    pub yards: Vec<YardId>,
    /// The other horses of the yard.
    pub neighbours: Vec<HorseId>,
}

impl CallForm {
    pub(super) fn check(&self, given: &Given<'_>) -> Result<Booking, Errors> {
        let mut check = Check::new();
        let who = self.who(&mut check, given);
        let complaints = self.check_complaints(&mut check);
        let when = self.when.check(&mut check, &given.basis);
        let place = self.place(&mut check, given);
        let (with, with_words) = self.check_with(&mut check, given);
        let clearing = self.clears.then(|| self.clearing(&mut check));
        let follow_up = self.follow_up.parse().ok();
        self.answers.check(&mut check.errors);
        if self.kind().is_none() && !self.kind.is_empty() {
            check.errors.add("kind", "Choose one of the list.");
        }
        match when.zip(place) {
            Some((when, place)) if check.errors.is_empty() => Ok(Booking {
                who,
                when,
                place,
                urgent: self.urgent || self.class() == Urgency::Now,
                kind: self.kind().map_or("", |kind| kind.code.as_str()),
                promised: self.promised,
                complaints,
                follow_up,
                with,
                with_words,
                clearing,
            }),
            _ => Err(check.errors),
        }
    }

    /// The other horses, and what is said about them: what is said of the first where that is left empty.
    fn check_with(&self, check: &mut Check, given: &Given<'_>) -> (Vec<HorseId>, String) {
        let with: Vec<HorseId> = self.with.iter().filter_map(|id| id.parse().ok()).collect();
        if with.len() < self.with.len() || with.iter().any(|id| !given.neighbours.contains(id)) {
            check.errors.add("with", "Choose horses that stand at the yard of the visit.");
        }
        let said = check.words("with_words", &self.with_words, 2000);
        let first = self.complaints.first().map_or("", |c| c.words.trim());
        (with, if said.is_empty() { first.to_owned() } else { said })
    }

    fn clearing(&self, check: &mut Check) -> Vec<Clearing> {
        let moves = self.moves.iter().map(|(id, choice)| Clearing::read(id, choice));
        let moves: Option<Vec<Clearing>> = moves.collect();
        moves.unwrap_or_else(|| {
            check.errors.add("", "Choose where each visit goes that is in the way.");
            Vec::new()
        })
    }

    fn check_complaints(&self, check: &mut Check) -> Vec<NewComplaint> {
        // One that was opened and left empty is none, but the first is needed.
        self.complaints.iter().filter(|c| c.number == 1 || !c.is_empty()).map(|c| c.check(check)).collect()
    }

    fn who(&self, check: &mut Check, given: &Given<'_>) -> Who {
        if let Some(horse) = self.horse_id() {
            let caller = check.maybe_choice::<ClientId>("caller", &self.called_by);
            if caller.is_some_and(|id| !given.callers.contains(&id)) {
                check.errors.add("caller", "Choose one of this horse's people.");
            }
            return Who::Known { horse, caller };
        }
        let client = match self.client_id() {
            Some(id) => NewClient::Known(id),
            None => NewClient::New(Box::new(self.new_client(check))),
        };
        let name = check.needed("horse_name", &self.horse_name, 200, "Enter the horse's name.");
        let mut horse = horses::Details::named(&name);
        (horse.sex, horse.neutered) = sex(&self.horse_sex);
        Who::New { client, horse: Box::new(horse) }
    }

    fn new_client(&self, check: &mut Check) -> clients::Details {
        let name = check.needed("client_name", &self.client_name, 200, "Enter the caller's name.");
        let phone =
            check.needed("client_phone", &self.client_phone, 60, "Enter a number to call back, in digits.");
        if !phone.is_empty() && phone.chars().filter(char::is_ascii_digit).count() < 3 {
            check.errors.add("client_phone", "Enter a number to call back, in digits.");
        }
        clients::Details::caller(&name, &phone)
    }

    fn place(&self, check: &mut Check, given: &Given<'_>) -> Option<Place> {
        let new = check.line("new_yard", &self.new_yard, 200);
        if !new.is_empty() {
            return Some(Place::NewYard(new));
        }
        place(check, &self.place, &self.other_yard, &given.yards).map(Place::Known)
    }
}

/// A tapped place, or a yard picked from all of them, which goes before it.
pub(in crate::visits) fn place(
    check: &mut Check,
    tapped: &str,
    other_yard: &str,
    yards: &[YardId],
) -> Option<Where> {
    let picked = if other_yard.trim().is_empty() { tapped } else { other_yard };
    if picked == "clinic" {
        return Some(Where { place: "clinic", yard: None });
    }
    let yard: YardId = check.choice("place", picked, "Choose where the visit is.")?;
    if yards.contains(&yard) {
        return Some(Where { place: "yard", yard: Some(yard) });
    }
    check.errors.add("place", "Choose a yard that is known, or the clinic.");
    None
}
