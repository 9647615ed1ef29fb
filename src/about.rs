//! What a photo or a video shows: a way of going, a place, or both, and words.

use serde::Deserialize;

use crate::{
    catalogue::{Condition, catalogue},
    plan::Site,
    record::{Body, Kind},
    web::Check,
};

/// The words that say what an image is of, at most.
const LONGEST: usize = 200;

/// As it was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub condition: String,
    pub site: String,
    pub words: String,
}

/// As it is meant.
#[derive(Debug, Clone)]
pub struct About {
    condition: Option<&'static Condition>,
    site: Option<Site>,
    words: String,
}

impl Typed {
    /// Neither has to be said: a photo may be of the whole horse.
    pub fn check(&self, check: &mut Check) -> About {
        let condition = catalogue().condition(self.condition.trim());
        let site = Site::read(&self.site).filter(|site| *site != Site::Whole);
        if condition.is_none() && !self.condition.trim().is_empty() {
            check.errors.add("condition", "Choose one of the list.");
        }
        if site.is_none() && !self.site.trim().is_empty() {
            check.errors.add("site", "Choose a place of the list, or leave it empty.");
        }
        About { condition, site, words: check.line("words", &self.words, LONGEST) }
    }

    /// One of both has to be said, so that it can be found beside others of the same.
    pub fn check_placed(&self, check: &mut Check) -> About {
        if self.condition.trim().is_empty() && self.site.trim().is_empty() {
            check.errors.add("condition", "Choose how the horse goes, or name the place that it shows.");
        }
        self.check(check)
    }
}

impl About {
    /// The code of the condition, empty for none.
    pub fn condition(&self) -> &str {
        self.condition.map_or("", |row| &row.code)
    }

    /// The key of the place, empty for none.
    pub fn site(&self) -> String {
        self.site.map(Site::key).unwrap_or_default()
    }

    pub fn words(&self) -> &str {
        &self.words
    }

    /// The entry that speaks of this file, a `photo` or a `video`. Its text says the condition too: reports show an image
    /// by its text.
    pub fn body(&self, what: &str, file: String) -> Body {
        let mut text = what.to_owned();
        if let Some(row) = self.condition {
            text = format!("{text}, {}", row.name);
        }
        if !self.words.is_empty() {
            text = format!("{text}: {}", self.words);
        }
        let code = self.condition.map(|row| row.code.clone());
        let mut body = Body { code, value: Some(file), text: Some(text), ..Body::new(Kind::Image) };
        if let Some(site) = self.site {
            site.put(&mut body);
        }
        body
    }
}

/// The conditions to choose from.
pub fn conditions() -> Vec<(&'static str, &'static str)> {
    catalogue().conditions.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
}

/// The places to choose from, in words.
pub fn sites() -> Vec<String> {
    Site::all().map(|site| site.to_string()).collect()
}
