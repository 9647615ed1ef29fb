//! What the sources themselves must not hold: ways out of what is checked at the edge.

use std::{fs, path::Path};

use crate::access::sources;

/// Where SQL is made of names of our own tables and columns, never of what came in.
const SQL_OF_NAMES: [&str; 8] = [
    "merging/",
    "exports/tables.rs",
    "search/index.rs",
    "imports/undo.rs",
    "db.rs",
    "db/sums.rs",
    "archive/",
    "migrations",
];

/// Drawings and styles of our own, and pages that templates have made already.
const TAKEN_AS_MARKUP: [&str; 12] = [
    "moving.strip",
    "moving.vitals",
    "moving.standing",
    "moving.gait",
    "moving.flexion",
    "moving.neuro",
    "style",
    "code",
    "body",
    "one.body",
    "drawing",
    "proposed.drawn",
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file below a folder, with its path from there.
fn files(folder: &str) -> Vec<(String, String)> {
    fn walk(folder: &Path, base: &Path, found: &mut Vec<(String, String)>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, base, found);
            } else if let Ok(text) = fs::read_to_string(&path) {
                found.push((path.strip_prefix(base).unwrap().to_string_lossy().into_owned(), text));
            }
        }
    }
    let (base, mut found) = (root().join(folder), Vec::new());
    walk(&base, &base, &mut found);
    assert!(found.len() > 5, "{folder}");
    found
}

#[test]
fn sql_is_never_made_of_what_came_in() {
    for (path, text) in files("src") {
        if text.contains("AssertSqlSafe(") || text.contains("raw_sql(") {
            assert!(SQL_OF_NAMES.iter().any(|known| path.starts_with(known)), "{path} makes SQL");
        }
        assert!(!text.contains("QueryBuilder"), "{path}");
    }
}

#[test]
fn the_program_starts_no_other_calls_nobody_and_reads_no_xml_of_strangers() {
    for (path, text) in files("src") {
        for way in [
            "process::Command",
            "libc::system",
            "TcpStream::connect",
            "UdpSocket",
            "reqwest",
            "WebSocketUpgrade",
        ] {
            assert!(!text.contains(way), "{path} has {way}");
        }
        for word in ["md5", "Md5", "rc4", "unsafe {", "thread_rng", "quick_xml", "roxmltree"] {
            assert!(!text.contains(word), "{path} has {word}");
        }
        // Drawings of our own are the only ones that are read.
        assert!(!text.contains("usvg::") || path.starts_with("pdf/"), "{path}");
    }
    let cargo = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    assert!(cargo.contains("unsafe_code = \"forbid\""));
    assert_eq!(sources(&root().join("src")).concat().matches("#![allow").count(), 0);
}

#[test]
fn scripts_make_no_markup_of_words_and_run_no_words() {
    for (path, text) in files("static")
        .into_iter()
        .filter(|(path, _)| Path::new(path).extension().is_some_and(|ending| ending == "js"))
    {
        let code: String = text.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
        // The name of a language, not an address.
        let code = code.replace("http://www.w3.org/2000/svg", "");
        for way in [
            "innerHTML",
            "outerHTML =",
            "outerHTML=",
            "insertAdjacentHTML",
            "document.write",
            "eval(",
            "new Function",
            "srcdoc",
            "setTimeout(\"",
            "setTimeout(`",
            "new WebSocket",
            "window.opener",
            "importScripts",
            "http://",
        ] {
            assert!(!code.contains(way), "{path} has {way}");
        }
        for key in code.split("localStorage.setItem(").skip(1) {
            let key = key.split(',').next().unwrap();
            assert!(["\"theme\"", "STORE"].contains(&key), "{path} keeps {key} in the open");
        }
    }
}

#[test]
fn templates_take_nothing_as_markup_but_our_own() {
    for (path, text) in files("templates") {
        for before in text.split("|safe").collect::<Vec<_>>().split_last().unwrap().1 {
            let name = before.rsplit("{{").next().unwrap().trim();
            assert!(TAKEN_AS_MARKUP.contains(&name), "{path} takes {name} as markup");
        }
        for way in ["<script>", "javascript:", "onclick=", "onerror=", "http://"] {
            assert!(
                !text.contains(way) || way == "http://" && path.starts_with("serve/"),
                "{path} has {way}"
            );
        }
    }
}
