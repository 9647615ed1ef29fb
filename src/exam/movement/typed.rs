//! A form of these sections as it was typed: names and words, so that it can always be shown again.

use crate::exam::stamp::Stamped;

/// What was typed and tapped. Many names are made out of the catalogue, so the form is a list and no struct.
#[derive(Debug, Clone, Default)]
pub struct Typed(pub Vec<(String, String)>);

impl Typed {
    /// What stands in a field; empty when it was not sent.
    pub fn get(&self, name: &str) -> &str {
        self.0.iter().find(|(field, _)| field == name).map_or("", |(_, words)| words.as_str())
    }

    /// Everything sent under one name.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.0.iter().filter(move |(field, _)| field == name).map(|(_, words)| words.as_str())
    }

    /// The button that was tapped: what it is about, and what it says of it.
    pub fn tap(&self) -> (&str, &str) {
        let tap = self.get("tap");
        tap.split_once(':').unwrap_or((tap, ""))
    }

    pub fn stamped(&self) -> Stamped {
        Stamped {
            submission: self.get("submission").to_owned(),
            seen_by: self.get("seen_by").to_owned(),
            seen_at: self.get("seen_at").to_owned(),
            sent_at: self.get("sent_at").to_owned(),
            entry: self.all("entry").map(str::to_owned).collect(),
        }
    }
}
