//! The forms of a page that change something, as a browser would send them.

use std::{collections::BTreeSet, sync::LazyLock};

use regex_lite::Regex;
use scraper::{ElementRef, Html, Selector};

use super::Page;

/// A POST form as it stands on a page; a button with a way of its own makes a form of its own.
#[derive(Debug, Clone)]
pub struct FoundForm {
    pub action: String,
    pub fields: Vec<FoundField>,
}

#[derive(Debug, Clone)]
pub struct FoundField {
    pub name: String,
    pub kind: Kind,
    /// What is sent if nobody touches it; `None` for a box that is not ticked.
    pub value: Option<String>,
    /// What a box sends when it is ticked, a list its last line.
    pub option: String,
}

/// How a field gets what it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Typed,
    /// Typed, and never shown again.
    Secret,
    /// Picked from a list or ticked.
    Chosen,
    /// Put there by the page, or pressed: nobody can go and put it right.
    Given,
}

impl FoundForm {
    /// The same for two forms that ask the same of different rows.
    pub fn shape(&self) -> (String, BTreeSet<String>) {
        (pattern(&self.action), self.fields.iter().map(|f| pattern(&f.name)).collect())
    }

    /// The names of the fields, once each, without the form's own number.
    pub fn names(&self) -> Vec<(String, Kind)> {
        let mut names: Vec<(String, Kind)> = Vec::new();
        for field in self.fields.iter().filter(|f| f.name != "submission") {
            if !names.iter().any(|(name, _)| *name == field.name) {
                names.push((field.name.clone(), field.kind));
            }
        }
        names
    }

    pub fn has(&self, name: &str) -> bool {
        self.fields.iter().any(|f| f.name == name)
    }

    /// What is sent when these fields are filled in and the rest is left as it stands; `*` takes what there is to
    /// choose.
    pub fn filled<'a>(&'a self, with: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
        let with: Vec<(&str, &str)> = with
            .iter()
            .map(|&(name, value)| match self.fields.iter().find(|f| f.name == name && value == "*") {
                Some(field) => (name, field.option.as_str()),
                None => (name, value),
            })
            .collect();
        let mut all: Vec<(&str, &str)> = self
            .fields
            .iter()
            .filter_map(|f| Some((f.name.as_str(), f.value.as_deref()?)))
            .filter(|(name, _)| !with.iter().any(|(over, _)| over == name))
            .collect();
        all.extend_from_slice(&with);
        all
    }
}

/// Ids and numbers give way to what they stand for.
pub fn pattern(text: &str) -> String {
    static ID: LazyLock<Regex> =
        LazyLock::new(|| Regex::new("[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}").unwrap());
    static NUMBER: LazyLock<Regex> = LazyLock::new(|| Regex::new("-(\\d+|[A-Z][A-Z0-9_]+)$").unwrap());
    let path = text.split('?').next().unwrap_or_default();
    NUMBER.replace(&ID.replace_all(path, "{id}"), "-*").into_owned()
}

impl Page {
    /// Every form of the page that changes something, but for those that send a file.
    pub fn forms(&self) -> Vec<FoundForm> {
        self.read(forms)
    }
}

fn forms(html: &Html) -> Vec<FoundForm> {
    let controls = Selector::parse("input, textarea, select, button").unwrap();
    let mut found = Vec::new();
    for form in html.select(&Selector::parse("form[method=post]:not([enctype])").unwrap()) {
        let (action, id) = (attr(form, "action"), attr(form, "id"));
        let of_form = |e: &ElementRef<'_>| match e.value().attr("form") {
            Some(other) => !id.is_empty() && other == id,
            None => e.ancestors().any(|above| above.id() == form.id()),
        };
        let all: Vec<ElementRef<'_>> = html.select(&controls).filter(of_form).collect();
        let ways: BTreeSet<String> =
            all.iter().map(|e| attr(*e, "formaction")).filter(|way| !way.is_empty()).collect();
        for way in std::iter::once(String::new()).chain(ways) {
            let fields = fields(&all, &way);
            found.push(FoundForm { action: if way.is_empty() { action.clone() } else { way }, fields });
        }
    }
    found
}

/// The fields, with the button pressed that has no name, or else the first of those that go this way.
fn fields(all: &[ElementRef<'_>], way: &str) -> Vec<FoundField> {
    let is_button = |e: &ElementRef<'_>| {
        e.value().name() == "button"
            && e.value().attr("type") != Some("button")
            && attr(*e, "formaction") == way
    };
    let mut pressed = all.iter().any(|e| is_button(e) && e.value().attr("name").is_none());
    let mut fields = Vec::new();
    for e in all {
        let Some(name) = e.value().attr("name").map(str::to_owned) else { continue };
        let option = attr(*e, "value");
        let sent = Some(option.clone());
        let (kind, value, option) = match (e.value().name(), e.value().attr("type")) {
            ("button", _) if !is_button(e) || pressed => continue,
            ("button", _) => {
                pressed = true;
                (Kind::Given, sent, option)
            }
            ("textarea", _) => (Kind::Typed, Some(e.text().collect()), option),
            ("select", _) => {
                let (picked, last) = picked(*e);
                (Kind::Chosen, Some(picked), last)
            }
            (_, Some("radio" | "checkbox")) => {
                (Kind::Chosen, sent.filter(|_| e.value().attr("checked").is_some()), option)
            }
            (_, Some("hidden")) => (Kind::Given, sent, option),
            (_, Some("password")) => (Kind::Secret, sent, option),
            _ => (Kind::Typed, sent, option),
        };
        fields.push(FoundField { name, kind, value, option });
    }
    fields
}

/// What a list holds when nobody touches it, and its last line.
fn picked(select: ElementRef<'_>) -> (String, String) {
    let options = Selector::parse("option").unwrap();
    let value = |e: Option<ElementRef<'_>>| e.map_or_else(String::new, |option| attr(option, "value"));
    let chosen = select.select(&options).find(|option| option.value().attr("selected").is_some());
    (value(chosen.or_else(|| select.select(&options).next())), value(select.select(&options).last()))
}

fn attr(e: ElementRef<'_>, name: &str) -> String {
    e.value().attr(name).unwrap_or_default().to_owned()
}
