//! How the list of follow-ups is divided.

use super::store::Due;
use crate::{clock::Day, visits::State};

/// Follow-ups that want the same of the desk.
#[derive(Debug)]
pub(super) struct Group {
    pub(super) key: &'static str,
    pub(super) title: &'static str,
    pub(super) dues: Vec<Due>,
}

/// In the order they are worked off; empty groups are left out.
const GROUPS: [(&str, &str); 6] = [
    ("seen", "Seen meanwhile: is it done?"),
    ("overdue", "Overdue"),
    ("week", "This week"),
    ("later", "Later"),
    ("booked", "Booked"),
    ("gone", "To be closed: the horse was sold or is dead"),
];

pub(super) fn grouped(dues: Vec<Due>, today: Day) -> Vec<Group> {
    let mut groups: Vec<Group> =
        GROUPS.into_iter().map(|(key, title)| Group { key, title, dues: vec![] }).collect();
    for due in dues {
        let key = key_of(&due, today);
        if let Some(group) = groups.iter_mut().find(|g| g.key == key) {
            group.dues.push(due);
        }
    }
    groups.retain(|g| !g.dues.is_empty());
    groups
}

fn key_of(due: &Due, today: Day) -> &'static str {
    if !due.status.is_seen() {
        return "gone";
    }
    match due.visit_state {
        Some(State::Signed) => "seen",
        Some(_) => "booked",
        None if due.due_on < today => "overdue",
        None if today.days_until(due.due_on) <= 7 => "week",
        None => "later",
    }
}
