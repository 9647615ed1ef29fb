//! The call's form: as typed, and as meant.

use jiff::tz::TimeZone;

use crate::{
    catalogue::{Urgency, catalogue, road::VisitKind},
    clock::At,
    horses::{Known, Sex},
    ids::{ClientId, HorseId},
    reasoning::{road::Rules, triage::Verdict},
    visits::{
        complaint::{ComplaintForm, MOST},
        triage::{self, Answers},
        when::{USUAL_LENGTH, WhenForm},
    },
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

    /// The fields whose names begin so, each with the rest of its name.
    pub(in crate::visits) fn starting(&self, start: &str) -> Vec<(String, String)> {
        let found = self.0.iter().filter_map(|(n, v)| Some((n.strip_prefix(start)?.to_owned(), v.clone())));
        found.collect()
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
    /// Other horses of the yard that are seen on the same stop, and what is said about them.
    pub with: Vec<String>,
    pub with_words: String,
    /// What stands in the way of an emergency: each visit with where it goes.
    pub moves: Vec<(String, String)>,
    /// The press that books it and moves the others.
    pub clears: bool,
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
            with: fields.all("with"),
            with_words: fields.get("with_words"),
            moves: fields.starting("move-"),
            clears: take.ends_with("@clear"),
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

    /// How many horses are seen on the stop.
    pub(super) fn horses(&self) -> usize {
        1 + self.with.len()
    }

    pub(super) fn horse_id(&self) -> Option<HorseId> {
        self.horse.parse().ok()
    }

    pub(super) fn client_id(&self) -> Option<ClientId> {
        self.client.parse().ok()
    }
}

/// What the desk can tell of a new horse; everything else is entered on its own page.
pub(super) const SEXES: [(&str, &str); 4] =
    [("mare", "mare"), ("gelding", "gelding"), ("stallion", "stallion"), ("", "not known")];

pub(super) fn sex(key: &str) -> (Sex, Known) {
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
