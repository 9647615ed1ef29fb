//! The call's form: as typed, and as meant.

use jiff::tz::TimeZone;

use crate::{
    catalogue::{Urgency, catalogue, road::VisitKind},
    clients,
    clock::At,
    horses::{self, Known, Sex},
    ids::{ClientId, FollowUpId, HorseId, YardId},
    reasoning::{road::Rules, triage::Verdict},
    visits::{
        complaint::{ComplaintForm, MOST, NewComplaint},
        store::booking::Where,
        triage::{self, Answers},
        when::{Basis, USUAL_LENGTH, When, WhenForm},
    },
    web::{Check, Errors},
};

/// A form's fields by name, for forms whose fields are counted.
pub(in crate::visits) struct Fields(pub Vec<(String, String)>);

impl Fields {
    pub(in crate::visits) fn get(&self, name: &str) -> String {
        self.0.iter().find(|(n, _)| n == name).map(|(_, v)| v.clone()).unwrap_or_default()
    }

    pub(in crate::visits) fn all(&self, name: &str) -> Vec<String> {
        self.0.iter().filter(|(n, _)| n == name).map(|(_, v)| v.clone()).collect()
    }

    /// A day that was tapped goes before one that was typed, and the time tapped on another day is let go.
    pub(in crate::visits) fn when(&self) -> WhenForm {
        let near = self.get("near");
        WhenForm {
            vet: self.get("vet"),
            slot: if near.is_empty() { self.get("slot") } else { String::new() },
            day: if near.is_empty() { self.get("day") } else { near },
            start: self.get("start"),
            minutes: self.get("minutes"),
        }
    }

    /// As many complaints as the form showed, at least one.
    pub(in crate::visits) fn complaints(&self) -> Vec<ComplaintForm> {
        let shown = self.get("complaints").parse().unwrap_or(1).clamp(1, MOST);
        (1..=shown).map(|n| ComplaintForm::read(n, |name| self.get(name))).collect()
    }
}

#[derive(Debug, Clone, Default)]
pub(super) struct CallForm {
    pub submission: String,
    /// The button, when it was not the one that books.
    pub go: String,
    pub horse: String,
    pub client: String,
    pub follow_up: String,
    pub called_by: String,
    pub client_name: String,
    pub client_phone: String,
    pub horse_name: String,
    pub horse_sex: String,
    pub when: WhenForm,
    pub place: String,
    pub other_yard: String,
    pub new_yard: String,
    pub urgent: bool,
    /// What the visit is for, and what it was for when the page was made.
    pub kind: String,
    pub kind_was: String,
    /// The caller was promised this very time.
    pub promised: bool,
    /// The questions that tell how soon.
    pub answers: Answers,
    pub complaints: Vec<ComplaintForm>,
}

impl CallForm {
    pub(super) fn read(fields: &Fields) -> Self {
        let (go, near, take) = (fields.get("go"), fields.get("near"), fields.get("take"));
        let mut complaints = fields.complaints();
        if go == "more" && complaints.len() < MOST {
            complaints.push(ComplaintForm { number: complaints.len() + 1, ..ComplaintForm::default() });
        }
        let mut form = CallForm {
            submission: fields.get("submission"),
            go: if near.is_empty() { go } else { "times".into() },
            horse: fields.get("horse"),
            client: fields.get("client"),
            follow_up: fields.get("follow_up"),
            called_by: fields.get("caller"),
            client_name: fields.get("client_name"),
            client_phone: fields.get("client_phone"),
            horse_name: fields.get("horse_name"),
            horse_sex: fields.get("horse_sex"),
            when: fields.when(),
            place: fields.get("place"),
            other_yard: fields.get("other_yard"),
            new_yard: fields.get("new_yard"),
            urgent: !fields.get("urgent").is_empty(),
            kind: fields.get("kind"),
            kind_was: fields.get("kind_was"),
            promised: !fields.get("promised").is_empty(),
            answers: Answers::read(|name| fields.get(name)),
            complaints,
        };
        form.when.take(&take);
        form
    }

    /// Another kind of visit takes its own time when the page is shown again; a length that was tapped after it stays,
    /// and so does what is sent to be booked.
    pub(super) fn follow_kind(&mut self, rules: &Rules) {
        if !self.go.is_empty()
            && self.kind != self.kind_was
            && let Some(kind) = self.kind()
        {
            self.when.minutes = rules.whole(&kind.minutes_code()).to_string();
        }
        self.kind_was.clone_from(&self.kind);
    }

    pub(super) fn kind(&self) -> Option<&'static VisitKind> {
        catalogue().road.kinds.get(&self.kind)
    }

    /// How soon, from everything that was answered.
    pub(super) fn verdict(&self) -> Option<Verdict> {
        triage::weigh(&self.answers, &self.complaints)
    }

    pub(super) fn class(&self) -> Urgency {
        self.verdict().map_or(Urgency::Routine, |verdict| verdict.class)
    }

    /// The form as it is first shown: today, the usual length, one complaint.
    pub(super) fn fresh(today: String) -> Self {
        CallForm {
            when: WhenForm { day: today, minutes: USUAL_LENGTH.to_string(), ..WhenForm::default() },
            complaints: vec![ComplaintForm { number: 1, ..ComplaintForm::default() }],
            ..CallForm::default()
        }
    }

    pub(super) fn horse_id(&self) -> Option<HorseId> {
        self.horse.parse().ok()
    }

    pub(super) fn client_id(&self) -> Option<ClientId> {
        self.client.parse().ok()
    }
}

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
}

impl CallForm {
    pub(super) fn check(&self, given: &Given<'_>) -> Result<Booking, Errors> {
        let mut check = Check::new();
        let who = self.who(&mut check, given);
        let complaints = self.check_complaints(&mut check);
        let when = self.when.check(&mut check, &given.basis);
        let place = self.place(&mut check, given);
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
            }),
            _ => Err(check.errors),
        }
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

/// What the desk can tell of a new horse; everything else is entered on its own page.
pub(super) const SEXES: [(&str, &str); 4] =
    [("mare", "mare"), ("gelding", "gelding"), ("stallion", "stallion"), ("", "not known")];

fn sex(key: &str) -> (Sex, Known) {
    match key {
        "mare" => (Sex::Female, Known::Unknown),
        "gelding" => (Sex::Male, Known::Yes),
        "stallion" => (Sex::Male, Known::No),
        _ => (Sex::Unknown, Known::Unknown),
    }
}

/// The words of a booked time in a visit's history.
pub(in crate::visits) fn when_words(at: At, minutes: i64, zone: &TimeZone, vet: &str, place: &str) -> String {
    format!("{}, {minutes} min, {vet}, {place}", at.words(zone))
}
