//! A mark, and what it says on a day.

use crate::{
    catalogue::{biosecurity::Disease, catalogue},
    clock::{At, Day},
    ids::{HorseId, MarkId, YardId},
};

/// A mark as its row stands, with the names that it is shown with.
#[derive(Debug, Clone)]
pub struct Mark {
    pub id: MarkId,
    pub yard_id: Option<YardId>,
    pub horse_id: Option<HorseId>,
    /// The yard's or the horse's name.
    pub whose: String,
    pub kind: String,
    pub disease: String,
    pub from_on: Day,
    pub until_on: Option<Day>,
    pub reason: String,
    pub by: String,
    pub at: At,
    pub lifted_by: Option<String>,
    pub lifted_at: Option<At>,
    pub lifted_reason: String,
}

impl Mark {
    /// Not lifted, and neither to come nor over.
    pub fn holds_on(&self, day: Day) -> bool {
        self.lifted_at.is_none() && self.from_on <= day && self.until_on.is_none_or(|until| day <= until)
    }

    /// "infection suspected (strangles)"
    pub fn words(&self) -> String {
        named(&self.kind, &self.disease)
    }

    /// "from 1 Mar 2026 until it is lifted"
    pub fn dates(&self) -> String {
        let until = self.until_on.map_or_else(|| "it is lifted".to_owned(), Day::words);
        format!("from {} until {until}", self.from_on.words())
    }

    /// Where it is looked after.
    pub fn href(&self) -> String {
        match (self.horse_id, self.yard_id) {
            (Some(horse), _) => format!("/horses/{horse}/biosecurity"),
            (_, Some(yard)) => format!("/yards/{yard}/biosecurity"),
            _ => "/biosecurity".into(),
        }
    }

    pub fn disease(&self) -> Option<&'static Disease> {
        catalogue().biosecurity.diseases.get(&self.disease)
    }
}

fn named(kind: &str, disease: &str) -> String {
    let lists = &catalogue().biosecurity;
    let kind = lists.marks.get(kind).map_or(kind, |row| row.name.as_str());
    match lists.diseases.get(disease) {
        Some(row) => format!("{kind} ({})", row.name),
        None => kind.to_owned(),
    }
}

/// The marks that are not lifted.
#[derive(Debug, Clone, Default)]
pub struct Marks(pub Vec<Mark>);

impl Marks {
    /// What holds on a day for a horse, at a yard.
    pub fn of(&self, horse: Option<HorseId>, yard: Option<YardId>, day: Day) -> Vec<&Mark> {
        let about = |mark: &Mark| {
            (mark.horse_id.is_some() && mark.horse_id == horse)
                || (mark.yard_id.is_some() && mark.yard_id == yard)
        };
        self.0.iter().filter(|mark| about(mark) && mark.holds_on(day)).collect()
    }

    /// Whether others have to be seen before it.
    pub fn cover(&self, horse: Option<HorseId>, yard: Option<YardId>, day: Day) -> bool {
        !self.of(horse, yard, day).is_empty()
    }
}

/// A mark as the head of a horse carries it: what it is, whose, and when it holds.
#[derive(Debug)]
pub struct Said {
    kind: String,
    disease: String,
    from_on: Day,
    until_on: Option<Day>,
    pub of_yard: bool,
}

impl Said {
    /// Out of `kind|disease|from|until|yard`.
    pub fn read(line: &str) -> Option<Self> {
        let parts: Vec<&str> = line.split('|').collect();
        let [kind, disease, from, until, whose] = parts[..] else { return None };
        Some(Said {
            kind: kind.to_owned(),
            disease: disease.to_owned(),
            from_on: from.parse().ok()?,
            until_on: until.parse().ok(),
            of_yard: whose == "yard",
        })
    }

    pub fn holds_on(&self, day: Day) -> bool {
        self.from_on <= day && self.until_on.is_none_or(|until| day <= until)
    }

    /// "Yard: infection suspected (strangles). Seen last on the round."
    pub fn words(&self) -> String {
        let whose = if self.of_yard { "Yard" } else { "Horse" };
        let row = catalogue().biosecurity.marks.get(&self.kind);
        let follows = row.and_then(|row| row.text.as_deref()).unwrap_or_default();
        format!("{whose}: {}. {follows}", named(&self.kind, &self.disease))
    }
}
