//! From what was typed on the assessment page to what is stored.

use serde::Deserialize;

use super::{Part, Site, choices::choices, part::HISTORY};
use crate::{
    clock::Day,
    record::{Body, Kind},
    web::{Check, Errors},
};

const LONGEST_LINE: usize = 500;
const LONGEST_WORDS: usize = 5_000;
/// Nobody plans further ahead than this; a later year is a slip of the finger.
const FURTHEST_DAYS: i64 = 3 * 366;

/// One form for every part: a member that a part does not ask for stays empty.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    /// Key of a site that was tapped.
    pub site: String,
    /// Words of a site that was typed; it stands over the tapped one.
    pub other_site: String,
    pub certainty: String,
    pub words: String,
    /// Code of a near day that was tapped.
    pub due: String,
    /// A date that was typed; it stands over the tapped one.
    pub due_on: String,
    /// Why an entry is changed or taken back.
    pub reason: String,
}

/// What was meant.
#[derive(Debug, Clone)]
pub(super) enum Meant {
    Entry(Body),
    FollowUp { due_on: Day, what: String },
}

impl Typed {
    /// A form that shows an entry as it stands.
    pub(super) fn from_entry(body: &Body) -> Self {
        let site = Site::of(body);
        Typed {
            other_site: if site == Site::Whole { String::new() } else { site.to_string() },
            certainty: body.value.clone().unwrap_or_default(),
            words: body.text.clone().unwrap_or_default(),
            ..Typed::default()
        }
    }

    /// A new entry or follow-up of this part.
    pub(super) fn check(&self, part: Part, today: Day) -> Result<Meant, Errors> {
        let mut check = Check::new();
        let meant = self.read(part, today, &mut check);
        check.done(meant)
    }

    /// A changed entry: as a new one, and why.
    pub(super) fn check_change(&self, part: Part, today: Day) -> Result<Body, Errors> {
        let mut check = Check::new();
        let meant = self.read(part, today, &mut check);
        let reason = self.read_reason(&mut check);
        match check.done(meant)? {
            Meant::Entry(body) => Ok(Body { reason: Some(reason), ..body }),
            Meant::FollowUp { .. } => Err(Errors::one("", "A follow-up is changed on the follow-up page.")),
        }
    }

    /// Why an entry is taken back.
    pub(super) fn check_withdrawal(&self) -> Result<Body, Errors> {
        let mut check = Check::new();
        let reason = Some(self.read_reason(&mut check));
        check.done(Body { reason, ..Body::new(Kind::Withdrawal) })
    }

    fn read(&self, part: Part, today: Day, check: &mut Check) -> Meant {
        let Some(kind) = part.kind() else {
            let what = check.needed("words", &self.words, LONGEST_LINE, "Say what is due.");
            return Meant::FollowUp { due_on: self.read_due(today, check), what };
        };
        let mut body = Body::new(kind);
        if part.has_site() {
            self.read_site(check).put(&mut body);
        }
        let missing = "Say it in words, or leave this part out.";
        body.text = Some(if part.is_long() {
            check.needed_words("words", &self.words, LONGEST_WORDS, missing)
        } else {
            check.needed("words", &self.words, LONGEST_LINE, missing)
        });
        match part {
            Part::History => body.value = Some(HISTORY.to_owned()),
            Part::Problem => body.value = Some(self.read_certainty(check)),
            _ => {}
        }
        Meant::Entry(body)
    }

    fn read_site(&self, check: &mut Check) -> Site {
        let (field, typed) = match self.other_site.trim() {
            "" => ("site", self.site.trim()),
            typed => ("other_site", typed),
        };
        if typed.is_empty() {
            return Site::Whole;
        }
        Site::read(typed).unwrap_or_else(|| {
            check.errors.add(field, "Choose a place of the list, such as left fore fetlock, dorsal.");
            Site::Whole
        })
    }

    fn read_certainty(&self, check: &mut Check) -> String {
        let picked = self.certainty.trim();
        if choices().certainty(picked).is_none() {
            check.errors.add("certainty", "Say how certain this is.");
        }
        picked.to_owned()
    }

    fn read_due(&self, today: Day, check: &mut Check) -> Day {
        let typed = !self.due_on.trim().is_empty();
        let day = if typed {
            check.day("due_on", &self.due_on)
        } else {
            let near = choices().near_day(self.due.trim());
            if near.is_none() {
                check.errors.add("due", "Choose a day, or type a date.");
            }
            near.map(|near| today.plus_days(near.days))
        };
        match day.map(|day| today.days_until(day)) {
            Some(ahead) if ahead < 0 => check.errors.add("due_on", "This day is past. Enter today or later."),
            Some(ahead) if ahead > FURTHEST_DAYS => {
                check.errors.add("due_on", "This day is more than three years ahead. Check the year.");
            }
            _ => {}
        }
        day.unwrap_or(today)
    }

    fn read_reason(&self, check: &mut Check) -> String {
        check.needed("reason", &self.reason, LONGEST_LINE, "Say why; both versions stay in the record.")
    }
}
