//! What a run will enter: rows that name the same client or horse become one, and nothing that is here is changed.

use std::collections::{HashMap, HashSet};

use super::{
    alike::tail,
    columns::folded,
    draft::{self, Draft},
    store::{Import, Row},
};
use crate::{
    clients,
    clock::Day,
    horses::{self, PartyRole},
    ids::{ClientId, HorseId, YardId},
    practice::Practice,
};

/// Everything that is to be entered, and what is said of each row.
#[derive(Debug, Default)]
pub struct Plan {
    pub clients: Vec<(ClientId, clients::Details)>,
    pub yards: Vec<(YardId, String)>,
    pub horses: Vec<(HorseId, horses::Details)>,
    pub parties: Vec<(HorseId, ClientId, PartyRole)>,
    /// Row, result and words.
    pub results: Vec<(i64, &'static str, String)>,
    /// Rows that are somebody who is here: they have to be here still.
    pub joined_clients: HashSet<ClientId>,
    pub joined_horses: HashSet<HorseId>,
    by_name: HashMap<String, Vec<usize>>,
    by_number: HashMap<String, HorseId>,
    by_owner: HashMap<(ClientId, String), usize>,
    by_yard: HashMap<String, YardId>,
    tied: HashSet<(HorseId, ClientId, &'static str)>,
}

impl Plan {
    /// Plans a whole import; `yards` are those that are here.
    pub fn of(
        import: &Import,
        rows: &[Row],
        yards: Vec<(YardId, String)>,
        practice: &Practice,
        today: Day,
    ) -> Self {
        let mut plan = Plan {
            by_yard: yards.into_iter().map(|(id, name)| (folded(&name), id)).collect(),
            ..Plan::default()
        };
        for row in rows {
            let (result, said) = plan.row(import, row, practice, today);
            plan.results.push((row.number, result, said));
        }
        plan
    }

    fn row(&mut self, import: &Import, row: &Row, practice: &Practice, today: Day) -> (&'static str, String) {
        if row.is_wrong() {
            return ("wrong", row.faults());
        }
        let draft = match draft::read((&import.header, &import.columns, &row.cells), practice, today) {
            Ok(draft) => draft,
            Err(wrong) => return ("wrong", wrong),
        };
        let by_rule = if row.certain { "same" } else { import.likely.as_str() };
        let choice = if row.choice.is_empty() { by_rule } else { row.choice.as_str() };
        match (row.is_like(), choice) {
            (true, "leave" | "ask") | (false, "leave") => ("left", format!("left out: {}", row.why)),
            (true, "same") => self.enter(&draft, row.client, row.horse),
            _ => self.enter(&draft, None, None),
        }
    }

    /// Enters what is new of a row.
    fn enter(
        &mut self,
        draft: &Draft,
        client: Option<ClientId>,
        horse: Option<HorseId>,
    ) -> (&'static str, String) {
        let mut said = Vec::new();
        let client = match (&draft.client, client) {
            (Some(details), Some(id)) => {
                self.joined_clients.insert(id);
                said.push(format!("client {} is here", details.name));
                Some(id)
            }
            (Some(details), None) => {
                let (id, is_new) = self.client(details);
                said.push(format!(
                    "client {} {}",
                    details.name,
                    if is_new { "entered" } else { "of an earlier row" }
                ));
                Some(id)
            }
            (None, _) => None,
        };
        let horse = match (&draft.horse, horse) {
            (Some(details), Some(id)) => {
                self.joined_horses.insert(id);
                said.push(format!("horse {} is here", details.name));
                Some(id)
            }
            (Some(details), None) => {
                let (id, is_new) = self.horse(details, client, &draft.yard);
                said.push(format!(
                    "horse {} {}",
                    details.name,
                    if is_new { "entered" } else { "of an earlier row" }
                ));
                Some(id)
            }
            (None, _) => None,
        };
        if let (Some(horse), Some(client), Some(role)) = (horse, client, draft.role)
            && self.tied.insert((horse, client, role.key()))
        {
            self.parties.push((horse, client, role));
        }
        let result = if said.iter().any(|words| words.ends_with("entered")) { "entered" } else { "there" };
        (result, said.join(", "))
    }

    /// The client of this file that is meant: the same name, and nothing that tells them apart.
    fn client(&mut self, new: &clients::Details) -> (ClientId, bool) {
        let name = folded(&new.name);
        let tails =
            |d: &clients::Details| d.phones.iter().filter_map(|p| tail(&p.digits())).collect::<HashSet<_>>();
        let same = |known: &clients::Details| {
            let (a, b) = (tails(known), tails(new));
            let phones_agree = a.is_empty() || b.is_empty() || !a.is_disjoint(&b);
            let (a, b) = (known.email.to_lowercase(), new.email.to_lowercase());
            phones_agree && (a.is_empty() || b.is_empty() || a == b)
        };
        let with_name = self.by_name.entry(name).or_default();
        if let Some(at) = with_name.iter().copied().find(|at| same(&self.clients[*at].1)) {
            let (id, known) = &mut self.clients[at];
            for phone in &new.phones {
                if known.phones.iter().all(|old| old.digits() != phone.digits()) {
                    known.phones.push(phone.clone());
                }
            }
            if known.email.is_empty() {
                known.email.clone_from(&new.email);
            }
            if known.addresses.is_empty() {
                known.addresses.clone_from(&new.addresses);
            }
            return (*id, false);
        }
        let id = ClientId::new();
        with_name.push(self.clients.len());
        self.clients.push((id, new.clone()));
        (id, true)
    }

    fn horse(&mut self, new: &horses::Details, client: Option<ClientId>, yard: &str) -> (HorseId, bool) {
        let numbers = [&new.microchip, &new.ueln].into_iter().filter(|number| !number.is_empty());
        if let Some(id) = numbers.clone().find_map(|number| self.by_number.get(number)) {
            return (*id, false);
        }
        let key = client.map(|client| (client, folded(&new.name)));
        if let Some(at) = key.as_ref().and_then(|key| self.by_owner.get(key)) {
            let (id, known) = &self.horses[*at];
            if known.microchip.is_empty() || new.microchip.is_empty() {
                return (*id, false);
            }
        }
        let id = HorseId::new();
        for number in numbers {
            self.by_number.insert(number.clone(), id);
        }
        if let Some(key) = key {
            self.by_owner.insert(key, self.horses.len());
        }
        let yard_id = self.yard(yard);
        self.horses.push((id, horses::Details { yard_id, ..new.clone() }));
        (id, true)
    }

    fn yard(&mut self, name: &str) -> Option<YardId> {
        if name.is_empty() {
            return None;
        }
        let (yards, key) = (&mut self.yards, folded(name));
        Some(*self.by_yard.entry(key).or_insert_with(|| {
            let id = YardId::new();
            yards.push((id, name.to_owned()));
            id
        }))
    }
}
