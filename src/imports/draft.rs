//! What a row means: a client, a horse, and what the one is to the other.

use super::columns;
use crate::{
    clients::{self, Address, Phone},
    clock::Day,
    horses::{self, PartyRole},
    practice::Practice,
    reasoning::identity,
    web::Check,
};

/// What a row would enter.
#[derive(Debug, Clone, Default)]
pub struct Draft {
    pub client: Option<clients::Details>,
    pub horse: Option<horses::Details>,
    pub yard: String,
    pub role: Option<PartyRole>,
}

/// The cells of a row by the fields of their columns.
struct Cells<'a> {
    columns: &'a [String],
    texts: &'a [String],
    header: &'a [String],
}

impl<'a> Cells<'a> {
    fn all(&self, field: &'a str) -> impl Iterator<Item = (usize, &'a str)> + use<'_, 'a> {
        let at = self.columns.iter().enumerate().filter(move |(_, one)| one.as_str() == field);
        at.filter_map(|(at, _)| Some((at, self.texts.get(at)?.as_str()))).filter(|(_, cell)| !cell.is_empty())
    }

    fn one(&self, field: &'a str) -> &'a str {
        self.all(field).next().map_or("", |(_, cell)| cell)
    }

    /// `Column 3 (Phone)`, for what is wrong with a field.
    fn column(&self, field: &str) -> String {
        let field = field.split('-').next().unwrap_or_default();
        match self.columns.iter().position(|one| one == field) {
            Some(at) => {
                format!("Column {} ({})", at + 1, self.header.get(at).map_or("", String::as_str))
            }
            None => "The row".to_owned(),
        }
    }
}

/// Reads a row. What is wrong names its column.
///
/// # Errors
/// One sentence or several about cells that cannot be taken.
pub fn read(
    (header, columns, cells): (&[String], &[String], &[String]),
    practice: &Practice,
    today: Day,
) -> Result<Draft, String> {
    let row = Cells { columns, texts: cells, header };
    let mut check = Check::new();
    let client = client(&row, &mut check);
    let horse = horse(&row, &mut check, practice, today);
    let yard = check.line("yard", row.one("yard"), 200);
    let role = role(&row, &mut check);
    if client.is_none() && horse.is_none() && check.errors.is_empty() {
        check.errors.add("client_name", "it names neither a client nor a horse.");
    }
    if check.errors.is_empty() {
        return Ok(Draft { client, horse, yard, role });
    }
    let say = |(field, sentence): &(String, String)| format!("{}: {sentence}", row.column(field));
    Err(check.errors.all().iter().map(say).collect::<Vec<_>>().join(" "))
}

fn client(row: &Cells<'_>, check: &mut Check) -> Option<clients::Details> {
    let parts = [row.one("client_first"), row.one("client_last")].join(" ");
    let name = match row.one("client_name") {
        "" => check.line("client_last", &parts, 200),
        whole => check.line("client_name", whole, 200),
    };
    let mut phones: Vec<Phone> = Vec::new();
    for (at, cell) in row.all("phone") {
        let label = label_of(row.header.get(at).map_or("", String::as_str));
        let phone = Phone { label, number: check.line("phone", cell, 60) };
        let is_new = phones.iter().all(|known| known.digits() != phone.digits());
        if !phone.number.is_empty() && phone.digits().len() < 3 {
            check.errors.add("phone", "a phone number has at least three digits.");
        } else if is_new {
            phones.push(phone);
        }
    }
    let email = check.line("email", row.one("email"), 200);
    if !email.is_empty() && (!email.contains('@') || email.contains(char::is_whitespace)) {
        check.errors.add("email", "an email address has an @ and no blanks.");
    }
    let lines: Vec<&str> = row.all("address").map(|(_, cell)| cell).collect();
    let lines = check.words("address", &lines.join("\n"), 500);
    let note = check.words("client_note", row.one("client_note"), 2000);
    if name.is_empty() {
        let known = !phones.is_empty() || !email.is_empty() || !lines.is_empty() || !note.is_empty();
        if known && check.errors.is_empty() {
            check.errors.add("client_name", "the client has no name.");
        }
        return None;
    }
    let kind = match columns::folded(row.one("client_kind")).as_str() {
        "organisation" | "organization" | "company" | "business" | "o" => clients::Kind::Organisation,
        _ => clients::Kind::Person,
    };
    let addresses = if lines.is_empty() { vec![] } else { vec![Address { label: String::new(), lines }] };
    Some(clients::Details { kind, name, email, note, phones, addresses })
}

/// What a phone is for, when its heading says more than that it is one.
fn label_of(heading: &str) -> String {
    let heading = columns::folded(heading);
    let word =
        ["mobile", "cell", "home", "work", "yard", "office"].into_iter().find(|word| heading.contains(word));
    word.map_or_else(String::new, |word| if word == "cell" { "mobile".into() } else { word.into() })
}

fn horse(row: &Cells<'_>, check: &mut Check, practice: &Practice, today: Day) -> Option<horses::Details> {
    let stable_name = check.line("stable_name", row.one("stable_name"), 200);
    let name = match row.one("horse_name") {
        "" => stable_name.clone(),
        name => check.line("horse_name", name, 200),
    };
    let chip = chip(check, row.one("microchip"));
    let ueln = number(check, "ueln", row.one("ueln"), identity::ueln);
    let Some((sex, neutered)) = columns::sex(row.one("sex")) else {
        check.errors.add("sex", format!("“{}” is no sex that is known here.", row.one("sex")));
        return None;
    };
    let breed = check.line("breed", row.one("breed"), 200);
    let details = horses::Details {
        sex,
        neutered,
        stable_name: if stable_name == name { String::new() } else { stable_name },
        born: horses::born(check, "born", row.one("born"), today),
        breed_code: horses::breed_code(&breed),
        breed,
        colour: check.line("colour", row.one("colour"), 100),
        markings: check.words("markings", row.one("markings"), 1000),
        height_cm: horses::height(check, "height", row.one("height"), &practice.height_unit),
        passport: check.line("passport", row.one("passport"), 200),
        insurance: check.words("insurance", row.one("insurance"), 1000),
        ueln,
        microchip_other: chip.as_ref().err().cloned().unwrap_or_default(),
        microchip: chip.unwrap_or_default(),
        ..horses::Details::named(&name)
    };
    if !name.is_empty() {
        return Some(details);
    }
    if !details.microchip.is_empty() || !details.ueln.is_empty() || !details.passport.is_empty() {
        check.errors.add("horse_name", "the horse has no name.");
    }
    None
}

/// A microchip, or a transponder of another kind as the `Err`.
fn chip(check: &mut Check, cell: &str) -> Result<String, String> {
    let digits = cell.chars().filter(char::is_ascii_digit).count();
    // Fifteen digits are meant to be a microchip, and a mistake in it is told. A shorter number is of an older system.
    if (5..15).contains(&digits) && cell.chars().filter(char::is_ascii_alphanumeric).count() <= 14 {
        return Err(check.line("microchip", cell, 100));
    }
    Ok(number(check, "microchip", cell, identity::microchip))
}

fn number(
    check: &mut Check,
    field: &str,
    cell: &str,
    read: fn(&str) -> Result<identity::Accepted, identity::IdentityError>,
) -> String {
    if cell.is_empty() {
        return String::new();
    }
    match read(cell) {
        Ok(accepted) => accepted.value,
        Err(error) => {
            check.errors.add(field, error.to_string());
            String::new()
        }
    }
}

fn role(row: &Cells<'_>, check: &mut Check) -> Option<PartyRole> {
    let word = columns::folded(row.one("role"));
    if word.is_empty() {
        return Some(PartyRole::Owner);
    }
    let role = word.parse().ok();
    if role.is_none() {
        let known: Vec<&str> = PartyRole::CHOICES.iter().map(|(key, _)| *key).collect();
        check.errors.add("role", format!("“{word}” is none of {}.", known.join(", ")));
    }
    role
}
