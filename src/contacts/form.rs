//! The form of a contact: as typed, and as meant.

use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{CHANNELS, WAYS, is_known, store::NewContact};
use crate::{
    clock::At,
    ids::ClientId,
    web::{Check, Errors},
};

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct ContactForm {
    pub(super) submission: String,
    /// Whom of the horse's people; empty for somebody else.
    pub(super) client: String,
    pub(super) follow_up: String,
    pub(super) channel: String,
    pub(super) way: String,
    pub(super) person: String,
    pub(super) words: String,
    pub(super) on: String,
    pub(super) at: String,
}

impl ContactForm {
    /// A call just now.
    pub(super) fn now(now: At, zone: &TimeZone) -> Self {
        ContactForm {
            on: now.day(zone).words(),
            at: now.hm(zone),
            channel: "phone".into(),
            ..Self::default()
        }
    }

    /// What is meant, without whom it is about.
    pub(super) fn check(&self, now: At, zone: &TimeZone) -> Result<NewContact, Errors> {
        let mut c = Check::new();
        if !is_known(&CHANNELS, &self.channel) {
            c.errors.add("channel", "Choose how you were in touch.");
        }
        if !is_known(&WAYS, &self.way) {
            c.errors.add("way", "Choose who went to whom.");
        }
        let client = c.maybe_choice::<ClientId>("client", &self.client);
        let person = c.needed("person", &self.person, 120, "Enter with whom: the groom is an answer.");
        let words = c.needed_words("words", &self.words, 2000, "Enter what was said.");
        let day = c.day("on", &self.on);
        if self.on.trim().is_empty() {
            c.errors.add("on", "Enter the day.");
        }
        let time = c.time("at", &self.at);
        let at = day.zip(time).map(|(day, (hour, minute))| day.at(hour, minute, zone));
        if at.is_some_and(|at| at > now.plus_minutes(5)) {
            c.errors.add("at", "This is still to come.");
        }
        c.done(NewContact {
            client,
            horse: None,
            visit: None,
            follow_up: self.follow_up.parse().ok(),
            at: at.unwrap_or(now),
            channel: self.channel.clone(),
            way: self.way.clone(),
            person,
            words,
        })
    }
}
