//! A client as a vCard (RFC 6350, version 4.0). Phones know it, and no horse and no note of the practice is on it.

use super::lines::{escaped, folded};
use crate::{
    clients::{Details, Kind, Phone},
    ids::ClientId,
};

/// The media type (RFC 6350, 10.1).
pub const MEDIA_TYPE: &str = "text/vcard; charset=utf-8";

/// The card of one client.
pub fn card(id: ClientId, client: &Details) -> String {
    let mut lines = vec!["BEGIN:VCARD".to_owned(), "VERSION:4.0".to_owned()];
    lines.push(format!("UID:urn:uuid:{id}"));
    lines.push(format!("FN:{}", escaped(&client.name)));
    match client.kind {
        Kind::Person => {
            lines.push("KIND:individual".to_owned());
            lines.push(format!("N:{};;;", name(&client.name)));
        }
        Kind::Organisation => {
            lines.push("KIND:org".to_owned());
            lines.push(format!("ORG:{}", escaped(&client.name)));
        }
    }
    lines.extend(client.phones.iter().map(phone));
    if !client.email.is_empty() {
        lines.push(format!("EMAIL:{}", escaped(&client.email)));
    }
    for address in &client.addresses {
        // A whole address stands where the street does: nobody has said which of its lines is the town.
        lines.push(format!("ADR{}:;;{};;;;", kind_of(&address.label), escaped(&address.lines)));
    }
    lines.push("END:VCARD".to_owned());
    lines.iter().map(|line| folded(line)).collect()
}

/// Family and given name: the last word and what stands before it.
fn name(name: &str) -> String {
    let (given, family) = name.rsplit_once(' ').unwrap_or(("", name));
    format!("{};{}", escaped(family), escaped(given))
}

/// A number that says its country is an address to dial (RFC 3966); any other one is words.
fn phone(phone: &Phone) -> String {
    let kind = kind_of(&phone.label);
    if phone.number.trim_start().starts_with('+') {
        format!("TEL;VALUE=uri{kind}:tel:{}", phone.digits_to_dial())
    } else {
        format!("TEL;VALUE=text{kind}:{}", escaped(&phone.number))
    }
}

fn kind_of(label: &str) -> &'static str {
    let label = label.to_lowercase();
    match label.as_str() {
        _ if label.contains("mobile") || label.contains("cell") => ";TYPE=cell",
        _ if label.contains("home") => ";TYPE=home",
        _ if label.contains("work") || label.contains("office") || label.contains("yard") => ";TYPE=work",
        _ => "",
    }
}
