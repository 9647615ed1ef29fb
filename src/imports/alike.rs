//! Who a row may be: by chip and by phone without much doubt, by a name that is nearly the same with some.

use std::collections::HashMap;

use super::{columns::folded, draft::Draft};
use crate::{
    clients, horses,
    ids::{ClientId, HorseId},
};

/// The end of a phone number, without what a country code or a leading zero changes.
const TAIL: usize = 8;
/// How alike two names are (Jaro-Winkler, 0 to 1) when a phone says the same, and when nothing else does. Tried on
/// misspellings of invented names; common practice, no single source.
const ALIKE_WITH_PHONE: f64 = 0.80;
const ALIKE_ALONE: f64 = 0.94;
/// Names that begin alike are compared; more of them than this are told apart by phone only.
const MOST_COMPARED: usize = 200;

/// A client as far as it is compared.
#[derive(Debug, Clone)]
pub struct KnownClient {
    pub id: ClientId,
    pub name: String,
    pub email: String,
    /// The digits of each phone.
    pub phones: Vec<String>,
}

#[derive(Debug, Clone)]
pub struct KnownHorse {
    pub id: HorseId,
    pub name: String,
    pub microchip: String,
    pub ueln: String,
    pub clients: Vec<ClientId>,
}

/// Who a row may be.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Alike {
    pub client: Option<ClientId>,
    pub horse: Option<HorseId>,
    pub certain: bool,
    /// In words, with the names that are here.
    pub why: String,
}

/// Everybody who is here already, ready to be asked.
pub struct Index {
    clients: Vec<KnownClient>,
    names: Vec<String>,
    horses: Vec<KnownHorse>,
    by_phone: HashMap<String, Vec<usize>>,
    by_email: HashMap<String, Vec<usize>>,
    by_start: HashMap<String, Vec<usize>>,
    by_chip: HashMap<String, usize>,
    by_client: HashMap<ClientId, Vec<usize>>,
}

impl Index {
    pub fn new(clients: Vec<KnownClient>, horses: Vec<KnownHorse>) -> Self {
        let names: Vec<String> = clients.iter().map(|client| sorted(&client.name)).collect();
        let mut index = Index {
            by_phone: HashMap::new(),
            by_email: HashMap::new(),
            by_start: HashMap::new(),
            by_chip: HashMap::new(),
            by_client: HashMap::new(),
            clients,
            names,
            horses,
        };
        for (at, client) in index.clients.iter().enumerate() {
            for phone in client.phones.iter().filter_map(|digits| tail(digits)) {
                index.by_phone.entry(phone).or_default().push(at);
            }
            if !client.email.is_empty() {
                index.by_email.entry(client.email.to_lowercase()).or_default().push(at);
            }
            index.by_start.entry(start(&index.names[at])).or_default().push(at);
        }
        for (at, horse) in index.horses.iter().enumerate() {
            for number in [&horse.microchip, &horse.ueln].into_iter().filter(|number| !number.is_empty()) {
                index.by_chip.insert(number.clone(), at);
            }
            for client in &horse.clients {
                index.by_client.entry(*client).or_default().push(at);
            }
        }
        index
    }

    /// Who this row may be, and why.
    pub fn ask(&self, draft: &Draft) -> Alike {
        let client = draft.client.as_ref().and_then(|client| self.client(client));
        let horse = draft.horse.as_ref().and_then(|horse| self.horse(horse, client.as_ref().map(|c| c.0)));
        let why: Vec<&str> = [client.as_ref().map(|c| c.2.as_str()), horse.as_ref().map(|h| h.2.as_str())]
            .into_iter()
            .flatten()
            .collect();
        Alike {
            certain: client.as_ref().is_none_or(|c| c.1) && horse.as_ref().is_none_or(|h| h.1),
            why: why.join("; "),
            client: client.map(|c| self.clients[c.0].id),
            horse: horse.map(|h| self.horses[h.0].id),
        }
    }

    fn client(&self, new: &clients::Details) -> Option<(usize, bool, String)> {
        let name = sorted(&new.name);
        let by_phone = new.phones.iter().filter_map(|phone| tail(&phone.digits()));
        let by_phone = by_phone.filter_map(|phone| self.by_phone.get(&phone)).flatten();
        if let Some(at) = self.nearest(&name, by_phone.copied()) {
            let certain = self.likeness(&name, at) >= ALIKE_WITH_PHONE;
            return Some((at, certain, format!("same phone as {}", self.clients[at].name)));
        }
        let by_email = self.by_email.get(&new.email.to_lowercase()).into_iter().flatten();
        if let Some(at) = self.nearest(&name, by_email.copied()) {
            let certain = self.likeness(&name, at) >= ALIKE_WITH_PHONE;
            return Some((at, certain, format!("same email as {}", self.clients[at].name)));
        }
        let by_start = self.by_start.get(&start(&name)).into_iter().flatten().take(MOST_COMPARED);
        let at =
            self.nearest(&name, by_start.copied()).filter(|at| self.likeness(&name, *at) >= ALIKE_ALONE)?;
        let words = if self.names[at] == name { "called the same as" } else { "called nearly the same as" };
        Some((at, false, format!("{words} {}", self.clients[at].name)))
    }

    fn horse(&self, new: &horses::Details, client: Option<usize>) -> Option<(usize, bool, String)> {
        let numbers = [(&new.microchip, "microchip"), (&new.ueln, "UELN")];
        for (number, what) in numbers.into_iter().filter(|(number, _)| !number.is_empty()) {
            if let Some(at) = self.by_chip.get(number) {
                return Some((*at, true, format!("same {what} as {}", self.horses[*at].name)));
            }
        }
        let beside = self.by_client.get(&self.clients[client?].id)?;
        let name = folded(&new.name);
        let likeness = |at: &usize| strsim::jaro_winkler(&name, &folded(&self.horses[*at].name));
        let at = *beside.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b)))?;
        let alike = likeness(&at);
        // Two horses that both have a chip, and not the same one, are two.
        let apart = |a: &str, b: &str| !a.is_empty() && !b.is_empty() && a != b;
        if alike < ALIKE_ALONE || apart(&new.microchip, &self.horses[at].microchip) {
            return None;
        }
        Some((at, alike >= 1.0, format!("{} of the same client", self.horses[at].name)))
    }

    fn nearest(&self, name: &str, among: impl Iterator<Item = usize>) -> Option<usize> {
        among.max_by(|a, b| self.likeness(name, *a).total_cmp(&self.likeness(name, *b)))
    }

    fn likeness(&self, name: &str, at: usize) -> f64 {
        strsim::jaro_winkler(name, &self.names[at])
    }
}

/// A name with its words in order, so that it does not matter which of them stands first.
fn sorted(name: &str) -> String {
    let folded = folded(name);
    let mut words: Vec<&str> = folded.split(' ').collect();
    words.sort_unstable();
    words.join(" ")
}

fn start(sorted: &str) -> String {
    sorted.chars().take(2).collect()
}

/// The end of a number that is long enough to say something.
pub fn tail(digits: &str) -> Option<String> {
    let skip = digits.len().saturating_sub(TAIL);
    (digits.len() >= 6).then(|| digits[skip..].to_owned())
}
