//! The table of what the Application Security Verification Standard asks: every row is whole, every test it names is
//! there, and as much is met as was promised.

use std::{collections::BTreeSet, fs, path::Path};

use regex_lite::Regex;

/// Of the 121 requirements of level 2 that apply, so many are met: nine tenths.
const LEAST_OF_LEVEL_2: usize = 109;

struct Row {
    id: String,
    level: u8,
    applies: bool,
    /// Where it is shown.
    shown: Vec<String>,
    status: String,
}

fn table() -> Vec<Row> {
    let lines = include_str!("asvs.tsv").lines().filter(|line| !line.starts_with('#')).skip(1);
    lines
        .map(|line| {
            let cells: Vec<&str> = line.split('\t').collect();
            let [id, level, words, said, applies, how, shown, status] = cells[..] else {
                panic!("a row of eight cells: {line}")
            };
            assert!(cells.iter().all(|cell| !cell.trim().is_empty() && cell.trim() == *cell), "{line}");
            assert!(["design", "from memory"].contains(&words), "{id}: {words}");
            assert!(applies == "yes" || applies.starts_with("no: "), "{id}: {applies}");
            assert!(said.len() > 10 && (how.len() > 2 || applies != "yes"), "{id}");
            Row {
                id: id.to_owned(),
                level: level.parse().unwrap(),
                applies: applies == "yes",
                shown: shown.split(", ").map(str::to_owned).collect(),
                status: status.to_owned(),
            }
        })
        .collect()
}

fn read(path: &str) -> Option<String> {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).ok()
}

/// Why this is no test and no section with a date; `None` when it is one.
fn missing(shown: &str) -> Option<String> {
    if let Some(document) = shown.strip_prefix("doc:") {
        let (file, heading) = document.split_once(' ')?;
        let text = read(file).unwrap_or_default();
        let dated = Regex::new(r"^#+ (.+) \(\d{4}-\d{2}-\d{2}\)$").unwrap();
        let there = text.lines().filter_map(|line| dated.captures(line)).any(|found| &found[1] == heading);
        return (!there).then(|| format!("{file} has no heading `{heading} (YYYY-MM-DD)`"));
    }
    if let Some(journey) = shown.strip_prefix("journeys/") {
        let there =
            read(&format!("tests/browser/journeys/{journey}")).is_some_and(|text| text.contains("test("));
        return (!there).then(|| format!("there is no journey {journey}"));
    }
    let parts: Vec<&str> = shown.split("::").collect();
    let [binary, file, name] = parts[..] else { return Some(format!("{shown} names no test")) };
    let text = read(&format!("tests/{binary}/{file}.rs")).unwrap_or_default();
    let is_run =
        read(&format!("tests/{binary}/main.rs")).is_some_and(|main| main.contains(&format!("mod {file};")));
    // Of proptest's macro, too.
    let there = text.split(&format!("fn {name}(")).next().is_some_and(|before| {
        before.len() < text.len() && before.trim_end().trim_end_matches("async").trim_end().ends_with(']')
    });
    (!there || !is_run).then(|| format!("tests/{binary}/{file}.rs has no test {name}"))
}

#[test]
fn each_requirement_names_tests_and_sections_that_are_there() {
    let rows = table();
    let ids: BTreeSet<&str> = rows.iter().map(|row| row.id.as_str()).collect();
    assert_eq!(ids.len(), rows.len(), "a requirement stands twice");
    let mut wrong = Vec::new();
    let dated = Regex::new(r"^open \d{4}-\d{2}-\d{2}: .{10,}").unwrap();
    let number = Regex::new(r"^\d{1,2}\.\d{1,2}\.\d{1,2}$").unwrap();
    for row in &rows {
        let Row { id, status, .. } = row;
        if !number.is_match(id) || !(1..=3).contains(&row.level) {
            wrong.push(format!("{id} of level {} is no requirement", row.level));
        }
        let fits = match status.as_str() {
            "-" => !row.applies,
            "met" => row.applies,
            open => row.applies && dated.is_match(open),
        };
        if !fits {
            wrong.push(format!("{id}: {status}"));
        }
        if status == "met" {
            wrong.extend(
                row.shown.iter().filter_map(|shown| missing(shown)).map(|why| format!("{id}: {why}")),
            );
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn all_of_level_1_and_nine_tenths_of_level_2_are_met() {
    let rows = table();
    let of = |level, status: &str| {
        rows.iter().filter(|row| row.applies && row.level == level && row.status.starts_with(status)).count()
    };
    // ASVS 5.0.0 has 70 requirements of level 1; ten do not apply.
    assert_eq!(of(1, ""), 60);
    assert_eq!(rows.iter().filter(|row| !row.applies && row.level == 1).count(), 10);
    assert_eq!(of(1, "met"), 60, "all of level 1");
    assert_eq!(of(2, ""), 121);
    let met = of(2, "met");
    assert!(met >= LEAST_OF_LEVEL_2, "{met} of level 2");
}
