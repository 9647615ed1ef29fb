//! The form of a week: two names by day and two by night, seven times. It sets the pattern, or this week alone.

use super::{Cell, Rota, store};
use crate::{
    clock::Day,
    db::Tx,
    ids::StaffId,
    reasoning::watch::{Part, monday, week_of_pattern},
    web::Errors,
};

const ROLES: [&str; 2] = ["first", "backup"];

/// Which of the two is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Sets {
    Pattern,
    #[default]
    Week,
}

impl Sets {
    pub(super) fn read(key: &str) -> Option<Self> {
        match key {
            "pattern" => Some(Sets::Pattern),
            "week" => Some(Sets::Week),
            _ => None,
        }
    }

    pub(super) fn key(self) -> &'static str {
        match self {
            Sets::Pattern => "pattern",
            Sets::Week => "week",
        }
    }
}

/// As chosen: a day of the week counted from Monday, a part, a role, and who.
#[derive(Debug, Clone, Default)]
pub(super) struct WeekForm {
    pub submission: String,
    pub version: String,
    pub sets: Sets,
    cells: Vec<(String, String)>,
}

/// The name of a cell's field.
pub(super) fn field(weekday: i64, part: Part, role: &str) -> String {
    format!("rota-{weekday}-{}-{role}", part.key())
}

impl WeekForm {
    pub(super) fn read(fields: Vec<(String, String)>) -> Self {
        let get =
            |name: &str| fields.iter().find(|(n, _)| n == name).map(|(_, v)| v.clone()).unwrap_or_default();
        WeekForm {
            submission: get("submission"),
            version: get("version"),
            sets: Sets::read(&get("sets")).unwrap_or_default(),
            cells: fields.into_iter().filter(|(name, _)| name.starts_with("rota-")).collect(),
        }
    }

    /// As it stands.
    pub(super) fn of(rota: &Rota, from: Day, sets: Sets, version: i64) -> Self {
        let mut cells = Vec::new();
        for weekday in 0..7 {
            for part in Part::BOTH {
                let day = from.plus_days(weekday);
                let cell = match sets {
                    Sets::Pattern => rota.of_pattern(day, part),
                    Sets::Week => rota.of_day(day, part),
                };
                for (role, who) in ROLES.into_iter().zip([cell.first, cell.backup]) {
                    let who = who.map_or_else(String::new, |id| id.to_string());
                    cells.push((field(weekday, part, role), who));
                }
            }
        }
        WeekForm { submission: String::new(), version: version.to_string(), sets, cells }
    }

    pub(super) fn chosen(&self, field: &str) -> &str {
        self.cells.iter().find(|(name, _)| name == field).map_or("", |(_, who)| who.as_str())
    }

    /// What an empty choice means.
    pub(super) fn none_words(&self) -> &'static str {
        match self.sets {
            Sets::Pattern => "nobody",
            Sets::Week => "as in the pattern",
        }
    }

    /// The cells as meant; nobody backs up themselves.
    pub(super) fn check(&self, people: &[StaffId]) -> Result<Vec<(i64, Part, Cell)>, Errors> {
        let mut errors = Errors::default();
        let mut cells = Vec::new();
        for weekday in 0..7 {
            for part in Part::BOTH {
                let [first, backup] = ROLES.map(|role| {
                    let name = field(weekday, part, role);
                    let chosen = self.chosen(&name);
                    let who = chosen.parse().ok().filter(|id| people.contains(id));
                    if who.is_none() && !chosen.is_empty() {
                        errors.add(&name, "Choose a vet who works here.");
                    }
                    who
                });
                if first.is_some() && first == backup {
                    errors.add(&field(weekday, part, "backup"), "Choose somebody else to back up.");
                }
                cells.push((weekday, part, Cell { first, backup }));
            }
        }
        if errors.is_empty() { Ok(cells) } else { Err(errors) }
    }

    pub(super) async fn keep(
        &self,
        tx: &mut Tx,
        (from, weeks): (Day, i64),
        cells: Vec<(i64, Part, Cell)>,
    ) -> sqlx::Result<()> {
        let week = week_of_pattern(monday(from), weeks);
        for (weekday, part, cell) in cells {
            match self.sets {
                Sets::Pattern => store::set_pattern(tx, (week, weekday, part), cell).await?,
                Sets::Week => store::set_single(tx, (from.plus_days(weekday), part), cell).await?,
            }
        }
        Ok(())
    }
}
