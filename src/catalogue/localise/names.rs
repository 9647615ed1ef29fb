//! What a number of these files is called, for people.

use super::{Address, Figure, Localising};
use crate::catalogue::catalogue;

impl Localising {
    /// "palmar digital block: late after"
    pub fn name_of(&self, figure: &Figure<'_>) -> String {
        let code = figure.row.code();
        let name = &figure.bound.name;
        match figure.list {
            "fore" | "hind" => {
                let structure = self.structures.get(code).map_or(code, |row| &row.name);
                format!("{}, {structure}, {} limb: {name}", figure.field, figure.list)
            }
            "letter" => {
                let says = self.weights.get(code).map_or("", |row| row.says.as_str());
                format!("letter {code}, {says}: {name}")
            }
            "number" => name.clone(),
            "severe" => {
                let scale = catalogue().scale(code).map_or(code, |scale| scale.title.as_str());
                format!("{scale}: {name}")
            }
            "agent" => format!("{}: {name}", self.agents.get(code).map_or(code, |row| &row.name)),
            "support" => format!("{}: {name}", self.seen_words(code)),
            _ => format!("{code}: {name}"),
        }
    }

    /// "PDN: late after 20 min (shipped: 15)", for a value of the practice's own.
    pub fn own_words(&self, at: &Address) -> Option<String> {
        let shipped = self.shipped(at)?;
        let figure = self.figure(at)?;
        let value = format!("{} {}", figure.is, figure.bound.unit);
        Some(format!("{} {} (shipped: {shipped})", self.name_of(&figure), value.trim_end()))
    }

    /// What the row of a number says beside it; empty where the name says it all.
    pub fn text_of(&self, figure: &Figure<'_>) -> String {
        let code = figure.row.code();
        let text = match figure.list {
            "override" => self.overrides.get(code).map(|row| row.text.as_str()),
            "support" => self.support.get(code).map(|row| row.text.as_str()),
            "together" => self.together.get(code).map(|row| row.text.as_str()),
            "agent" => self.agents.get(code).and_then(|row| row.text.as_deref()),
            _ => None,
        };
        text.unwrap_or_default().to_owned()
    }

    /// "effusion at fetlock joint", of a rule of the examination.
    fn seen_words(&self, code: &str) -> String {
        let Some(row) = self.support.get(code) else { return code.to_owned() };
        let lists = catalogue();
        let findings = row.findings.iter().filter_map(|code| Some(lists.finding(code)?.name.clone()));
        let flexions =
            row.flexions.iter().filter_map(|code| Some(format!("flexion of {}", lists.flexion(code)?.name)));
        let what: Vec<String> = findings.chain(flexions).collect();
        let sites = row.values.iter().filter_map(|code| Some(lists.tester_site(code)?.name.as_str()));
        let places = row.regions.iter().filter_map(|code| Some(lists.region(code)?.name.as_str()));
        let at: Vec<&str> = if row.values.is_empty() { places.collect() } else { sites.collect() };
        match (what.join(" or "), at.join(" or ")) {
            (what, at) if at.is_empty() => what,
            (what, at) => format!("{what}, {at}"),
        }
    }
}
