//! Lines with the reading each should have, in the format that the head of `seen.txt` describes.

use limbledger::catalogue::{Place, Section, sweep_from, sweep_places};

/// A place as a corpus writes it: any of some regions, on one side or limb.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Where {
    pub(crate) regions: Vec<String>,
    pub(crate) at: String,
}

impl Where {
    fn read(text: &str) -> Self {
        let (regions, at) = text.rsplit_once('.').expect("a place is a region, a dot and a side");
        Where { regions: regions.split('/').map(str::to_owned).collect(), at: at.to_owned() }
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) place: Where,
    pub(crate) code: String,
    pub(crate) present: bool,
    pub(crate) grade: Option<f64>,
    pub(crate) scale: Option<String>,
    pub(crate) aspect: Option<String>,
    pub(crate) value: Option<String>,
    pub(crate) mm: Option<f64>,
}

/// One line and what it should come to. Gait, flexion, blocks and vitals are kept as their words.
#[derive(Clone, Debug, Default)]
pub(crate) struct Case {
    pub(crate) line: String,
    pub(crate) findings: Vec<Found>,
    pub(crate) examined: Vec<Where>,
    pub(crate) vitals: Vec<String>,
    pub(crate) gait: Vec<String>,
    pub(crate) flexion: Vec<String>,
    pub(crate) blocks: Vec<String>,
    pub(crate) asks: Vec<Vec<String>>,
    pub(crate) unread: String,
    pub(crate) withdrawn: String,
    /// Nothing is expected: all of it stays unread.
    pub(crate) bare: bool,
}

pub(crate) fn read(text: &str) -> Vec<Case> {
    let mut cases: Vec<Case> = Vec::new();
    for row in text.lines() {
        if let Some(line) = row.strip_prefix("> ").or_else(|| row.strip_prefix('>')) {
            cases.push(Case { line: line.to_owned(), bare: true, ..Case::default() });
        } else if !row.starts_with('#') && !row.trim().is_empty() {
            let case = cases.last_mut().expect("a row stands under a line");
            case.bare = false;
            take(case, row.trim());
        }
    }
    cases
}

fn take(case: &mut Case, row: &str) {
    let (kind, rest) = row.split_once(' ').unwrap_or((row, ""));
    let rest = rest.trim();
    match kind {
        "f" | "n" => case.findings.push(found(kind == "f", rest)),
        "e" => case.examined.extend(examined(rest)),
        "v" => case.vitals.push(normal(rest)),
        "g" => case.gait.push(normal(rest)),
        "x" => case.flexion.push(normal(rest)),
        "b" => case.blocks.push(normal(rest)),
        "?" => {
            let choices = rest.rsplit_once('|').map_or("", |(_, choices)| choices);
            case.asks.push(choices.split_whitespace().map(str::to_owned).collect());
        }
        "u" => rest.clone_into(&mut case.unread),
        "w" => rest.clone_into(&mut case.withdrawn),
        _ => unreachable!("`{row}` is no row of the format"),
    }
}

/// Words in one order with one space, numbers in one form.
pub(crate) fn normal(words: &str) -> String {
    let word = |word: &str| match word.split_once('=') {
        Some((key, number)) => format!("{key}={}", plain(number)),
        None => plain(word),
    };
    let mut words: Vec<String> = words.split_whitespace().map(word).collect();
    let fixed = words.iter().take_while(|word| !word.contains('=')).count();
    words[fixed..].sort();
    words.join(" ")
}

fn plain(number: &str) -> String {
    number.parse::<f64>().map_or_else(|_| number.to_owned(), |number| number.to_string())
}

fn found(present: bool, rest: &str) -> Found {
    let mut words = rest.split_whitespace();
    let place = Where::read(words.next().expect("a place"));
    let code = words.next().expect("a code").to_owned();
    let mut found =
        Found { place, code, present, grade: None, scale: None, aspect: None, value: None, mm: None };
    if !present {
        found.grade = Some(0.0);
    }
    for word in words {
        match word.split_once('=') {
            Some(("scale", scale)) => found.scale = Some(scale.to_owned()),
            Some(("aspect", aspect)) => found.aspect = Some(aspect.replace("plantar", "palmar")),
            Some(("value", value)) => found.value = Some(value.to_owned()),
            Some(("mm", mm)) => found.mm = mm.parse().ok(),
            Some((key, _)) => unreachable!("`{key}` is no key of a finding"),
            None => found.grade = word.parse().ok(),
        }
    }
    found
}

fn examined(rest: &str) -> Vec<Where> {
    let place = |place: Place| {
        let (region, at) =
            place.key().split_once('.').map(|(r, a)| (r.to_owned(), a.to_owned())).expect("a key");
        Where { regions: vec![region], at }
    };
    match rest.split_once(' ') {
        Some(("sweep", section)) => {
            let section: Section = section.parse().expect("a section");
            let mut places = sweep_places(section);
            if let Section::Limb(limb) = section {
                places.extend(sweep_places(Section::Foot(limb)));
            }
            places.into_iter().map(place).collect()
        }
        Some(("from", start)) => sweep_from(start.parse().expect("a place")).into_iter().map(place).collect(),
        _ => rest.split_whitespace().map(Where::read).collect(),
    }
}
