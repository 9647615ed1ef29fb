//! The form of a client: as typed, as meant, and as it stands.

use serde::Deserialize;

use super::{Address, Details, Kind, Phone};
use crate::web::{Check, Conflict, Errors};

/// Everything as it was typed. Phones and addresses are rows of fields with one name.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct ClientForm {
    pub(super) submission: String,
    pub(super) version: String,
    /// The horse that a new client owns.
    pub(super) horse: String,
    pub(super) kind: String,
    pub(super) name: String,
    pub(super) email: String,
    pub(super) note: String,
    pub(super) phone_number: Vec<String>,
    pub(super) phone_label: Vec<String>,
    pub(super) address_lines: Vec<String>,
    pub(super) address_label: Vec<String>,
}

/// Nobody has more; a form that sends more was not made here.
const MOST_ROWS: usize = 20;

impl ClientForm {
    pub(super) fn of(d: &Details, version: i64) -> Self {
        ClientForm {
            version: version.to_string(),
            kind: d.kind.key().into(),
            name: d.name.clone(),
            email: d.email.clone(),
            note: d.note.clone(),
            phone_number: d.phones.iter().map(|p| p.number.clone()).collect(),
            phone_label: d.phones.iter().map(|p| p.label.clone()).collect(),
            address_lines: d.addresses.iter().map(|a| a.lines.clone()).collect(),
            address_label: d.addresses.iter().map(|a| a.label.clone()).collect(),
            ..ClientForm::default()
        }
    }

    /// The rows to show: all that were typed and an empty one.
    pub(super) fn phones(&self) -> Vec<Row> {
        rows(&self.phone_number, &self.phone_label)
    }

    pub(super) fn addresses(&self) -> Vec<Row> {
        rows(&self.address_lines, &self.address_label)
    }

    pub(super) fn check(&self) -> Result<Details, Errors> {
        let mut c = Check::new();
        let kind = c.choice("kind", &self.kind, "Choose whether this is a person or an organisation.");
        let name = c.needed("name", &self.name, 200, "Enter the client's name.");
        let mut phones = Vec::new();
        for row in self.phones() {
            phones.extend(phone(&mut c, &row));
        }
        let email = c.line("email", &self.email, 200);
        let odd = !email.is_empty() && (!email.contains('@') || email.contains(char::is_whitespace));
        if odd {
            c.errors.add("email", "An email address has an @ and no blanks.");
        }
        let mut addresses = Vec::new();
        for row in self.addresses() {
            addresses.extend(address(&mut c, &row));
        }
        let note = c.words("note", &self.note, 2000);
        if phones.len() > MOST_ROWS || addresses.len() > MOST_ROWS {
            c.errors.add("", format!("At most {MOST_ROWS} phones and {MOST_ROWS} addresses are kept."));
        }
        c.done(Details { kind: kind.unwrap_or(Kind::Person), name, email, note, phones, addresses })
    }

    /// Both sides of a clash, field by field.
    pub(super) fn clash(&self, now: &ClientForm, back: String) -> Conflict {
        let said = |rows: Vec<Row>| {
            let filled = rows.iter().filter(|row| !row.is_empty());
            filled
                .map(|row| format!("{} {}", row.first, row.second).trim().to_owned())
                .collect::<Vec<_>>()
                .join("; ")
        };
        Conflict { what: format!("{}: details of the client", now.name), back, ..Conflict::default() }
            .field("Kind", &self.kind, &now.kind)
            .field("Name", &self.name, &now.name)
            .field("Phones", &said(self.phones()), &said(now.phones()))
            .field("Email", &self.email, &now.email)
            .field("Addresses", &said(self.addresses()), &said(now.addresses()))
            .field("Note", &self.note, &now.note)
    }
}

/// A phone or an address on the form: what it is, and what it is for.
#[derive(Debug, Clone)]
pub(super) struct Row {
    n: usize,
    pub(super) first: String,
    pub(super) second: String,
}

impl Row {
    pub(super) fn id(&self, name: &str) -> String {
        format!("{name}-{}", self.n)
    }

    pub(super) fn label(&self, words: &str) -> String {
        format!("{words} {}", self.n + 1)
    }

    fn is_empty(&self) -> bool {
        self.first.trim().is_empty() && self.second.trim().is_empty()
    }
}

/// Pairs fields of one row by their place, drops empty rows and adds one to write in.
fn rows(first: &[String], second: &[String]) -> Vec<Row> {
    let at = |list: &[String], n: usize| list.get(n).cloned().unwrap_or_default();
    let count = first.len().max(second.len());
    let mut rows: Vec<_> =
        (0..count).map(|n| Row { n, first: at(first, n), second: at(second, n) }).collect();
    rows.retain(|row| !row.is_empty());
    rows.push(Row { n: 0, first: String::new(), second: String::new() });
    for (n, row) in rows.iter_mut().enumerate() {
        row.n = n;
    }
    rows
}

fn phone(c: &mut Check, row: &Row) -> Option<Phone> {
    let field = row.id("phone_number");
    let phone = Phone {
        label: c.line(&row.id("phone_label"), &row.second, 60),
        number: c.line(&field, &row.first, 60),
    };
    if row.is_empty() {
        return None;
    }
    if row.first.trim().is_empty() {
        c.errors.add(&field, "Enter the number, or clear what it is for.");
    } else if !phone.number.is_empty() && phone.digits().len() < 3 {
        c.errors.add(&field, "A phone number has at least three digits.");
    }
    Some(phone)
}

fn address(c: &mut Check, row: &Row) -> Option<Address> {
    let field = row.id("address_lines");
    let address = Address {
        label: c.line(&row.id("address_label"), &row.second, 60),
        lines: c.words(&field, &row.first, 500),
    };
    if row.is_empty() {
        return None;
    }
    if row.first.trim().is_empty() {
        c.errors.add(&field, "Enter the address, or clear what it is for.");
    }
    Some(address)
}
