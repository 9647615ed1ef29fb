//! Work-ups by hand (`worked.toml`): what still stands after each, and what comes next.

use std::sync::Arc;

use serde::Deserialize;
use serde_json::{Value, json};

use super::{has_caveat, next_codes, reason, standing, work_up};
use limbledger::{
    catalogue::{Catalogue, Files, Limb, localise::Localising},
    reasoning::localise::{Localised, localise},
};

#[derive(Deserialize)]
struct Worked {
    case: Vec<Case>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    name: String,
    derived: String,
    limb: Limb,
    lameness: Option<f64>,
    #[serde(default)]
    flags: Vec<String>,
    /// Block, minutes, per cent better.
    #[serde(default)]
    blocks: Vec<(String, u32, i32)>,
    skin: Option<bool>,
    clean: Option<bool>,
    #[serde(default)]
    stands: Vec<String>,
    #[serde(default)]
    falls: Vec<String>,
    /// One of these comes first; an empty list: nothing may.
    next: Option<Vec<String>>,
    #[serde(default)]
    caveats: Vec<String>,
    #[serde(default)]
    stops: Vec<String>,
}

impl Case {
    fn json(&self) -> Value {
        let block = |(code, minutes, pct): &(String, u32, i32)| {
            json!({"block": code, "read": [{"minutes": minutes, "improvement_pct": pct}],
                   "skin_numb": self.skin.unwrap_or(true), "clean_baseline": self.clean.unwrap_or(true)})
        };
        let lameness = self.lameness.map(|grade| json!({"scale": "aaep_0_5", "grade": grade}));
        json!({"limb": self.limb, "lameness": lameness, "flags": self.flags,
               "blocks": self.blocks.iter().map(block).collect::<Vec<_>>()})
    }
}

fn cases() -> Vec<Case> {
    let worked: Worked = toml::from_str(include_str!("worked.toml")).expect("work-ups by hand");
    worked.case
}

fn is_in(found: &Localised, structure: &str) -> bool {
    ["candidate", "possible"].contains(&standing(found, structure).as_str())
}

#[test]
fn every_work_up_by_hand_comes_out_as_it_was_derived() {
    let cases = cases();
    assert!(cases.len() >= 50, "{} work-ups", cases.len());
    let mut wrong = Vec::new();
    for case in &cases {
        assert!(!case.derived.is_empty(), "{}", case.name);
        let found = reason(case.json());
        let mut check = |right: bool, what: String| {
            if !right {
                wrong.push(format!("{}: {what}", case.name));
            }
        };
        for structure in &case.stands {
            check(is_in(&found, structure), format!("{structure} is {}", standing(&found, structure)));
        }
        for structure in &case.falls {
            check(!is_in(&found, structure), format!("{structure} is {}", standing(&found, structure)));
        }
        for code in &case.caveats {
            check(has_caveat(&found, code), format!("no caveat {code}: {:?}", found.caveats));
        }
        for code in &case.stops {
            check(found.stops.iter().any(|stop| stop.code == *code), format!("no stop {code}"));
        }
        let next = next_codes(&found);
        match case.next.as_deref() {
            Some([]) => check(next.is_empty(), format!("comes next: {next:?}")),
            Some(any) => {
                let first = next.first().is_some_and(|first| any.iter().any(|one| one == first));
                check(first, format!("comes next: {next:?}"));
            }
            None => {}
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The rows of the localising with nothing in one structure's row of the matrix; a row that is missing is refused.
fn without(file: &str, structure: &str) -> Arc<Localising> {
    let mut files = Files::shipped();
    let (_, text) = files.localise.iter_mut().find(|(name, _)| *name == file).expect("a matrix");
    let emptied = |row: &str| {
        let letters = |cell| if ["A", "U", "P", "L"].contains(&cell) { "." } else { cell };
        row.split('\t').map(letters).collect::<Vec<_>>().join("\t")
    };
    let own = format!("{structure}\t");
    let rows = text.lines().map(|row| if row.starts_with(&own) { emptied(row) } else { row.to_owned() });
    *text = rows.collect::<Vec<_>>().join("\n").into();
    Catalogue::read(&files).expect("a catalogue").localise
}

#[test]
fn a_case_changes_when_the_row_of_the_matrix_that_it_rests_on_is_taken_away() {
    let cases = cases();
    for (file, fore, structures) in [
        ("matrix_fore.tsv", true, ["NAV", "PIP", "FET", "DFS", "SOR", "MCJ", "ELB"]),
        ("matrix_hind.tsv", false, ["NAV", "FET", "SOR", "TMT", "TCJ", "MFT", "LFT"]),
    ] {
        for structure in structures {
            let rows = without(file, structure);
            let here = |case: &&Case| {
                let named = case.stands.iter().chain(&case.falls).any(|code| code == structure);
                case.limb.is_fore() == fore && named && !case.blocks.is_empty() && case.skin.is_none()
            };
            let mut changed = 0;
            for case in cases.iter().filter(here) {
                let before = reason(case.json());
                let after = localise(&work_up(case.json()), &rows).expect("a work-up that can be meant");
                let of = |found: &Localised| {
                    found.candidates.iter().find(|row| row.structure == structure).map(|row| row.score)
                };
                changed += usize::from(of(&before) != of(&after));
            }
            assert!(changed > 0, "no case rests on the row of {structure} in {file}");
        }
    }
}
