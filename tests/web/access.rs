//! Who may open what: every route of the program stands in `access.txt`, and each row is tried with every role.
//!
//! A row is `METHOD PATH  roles`, the roles being those that are not refused; `public` opens without signing in.
//! Ids in a path are filled with rows that exist. The rows that end a session stand last.

use std::{collections::BTreeSet, fs, path::Path};

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use limbledger::accounts::Role;
use regex_lite::Regex;

use crate::support::{Browser, Fixture, TestApp};

/// A row of the table.
struct Row {
    method: String,
    path: String,
    roles: Vec<String>,
}

fn table() -> Vec<Row> {
    include_str!("access.txt")
        .lines()
        .filter(|line| !line.trim().is_empty() && !line.starts_with('#'))
        .map(|line| {
            let mut words = line.split_whitespace().map(str::to_owned);
            Row { method: words.next().unwrap(), path: words.next().unwrap(), roles: words.collect() }
        })
        .collect()
}

/// Every route that takes a form, and who may send it.
pub fn posts() -> Vec<(String, Vec<String>)> {
    table().into_iter().filter(|row| row.method == "POST").map(|row| (row.path, row.roles)).collect()
}

/// Every route that is read.
pub fn gets() -> Vec<String> {
    table().into_iter().filter(|row| row.method == "GET").map(|row| row.path).collect()
}

/// Every row that does not open to strangers: method and path.
pub fn behind_the_door() -> Vec<(String, String)> {
    let inside = |row: &Row| !row.roles.iter().any(|role| role == "public");
    table().into_iter().filter(inside).map(|row| (row.method, row.path)).collect()
}

/// Whether a path, its ids folded, is one of this route.
pub fn matches(route: &str, path: &str) -> bool {
    let (route, path): (Vec<_>, Vec<_>) = (route.split('/').collect(), path.split('/').collect());
    route.len() == path.len() && route.iter().zip(&path).all(|(r, p)| r == p || r.starts_with('{'))
}

/// Every `.route("path", get(..).post(..))`, and `put` of the source.
fn routes() -> BTreeSet<(String, String)> {
    let verb = Regex::new(r"\b(get|post|put)\s*\(").unwrap();
    let mut found = BTreeSet::new();
    for source in sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src")) {
        for (at, _) in source.match_indices(".route(") {
            let call = call(&source[at + ".route(".len()..]);
            let path = call.split('"').nth(1).unwrap_or_default();
            for v in verb.captures_iter(call) {
                found.insert((v[1].to_uppercase(), path.to_owned()));
            }
        }
    }
    found
}

/// What stands between an opened bracket and the one that closes it.
fn call(after: &str) -> &str {
    let mut depth = 1;
    let end = after.find(|c| {
        depth += match c {
            '(' => 1,
            ')' => -1,
            _ => 0,
        };
        depth == 0
    });
    &after[..end.unwrap_or(after.len())]
}

pub fn sources(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else {
            found.extend(fs::read_to_string(&path));
        }
    }
    found
}

#[test]
fn every_route_stands_in_the_table() {
    let listed: BTreeSet<_> = table().into_iter().map(|r| (r.method, r.path)).collect();
    let routes = routes();
    assert!(routes.len() > 30, "the routes were not found in the source");
    let missing: Vec<_> = routes.difference(&listed).map(|(m, p)| format!("{m} {p}")).collect();
    let gone: Vec<_> = listed.difference(&routes).map(|(m, p)| format!("{m} {p}")).collect();
    assert_eq!((missing, gone), (vec![], vec![]), "(not in the table, in the table but not in the program)");
}

#[tokio::test]
async fn nobody_does_what_the_table_does_not_allow() {
    let test = TestApp::new().await;
    let rows = Fixture::new(&test).await;
    let mut browsers = Vec::new();
    for role in Role::ALL {
        browsers.push((role, test.signed_in(role).await));
    }
    let mut wrong = Vec::new();
    for Row { method, path, roles } in table() {
        let path = rows.fill(&path);
        let public = roles.iter().any(|r| r == "public");
        let (status, location) = ask(&mut test.stranger(), &method, &path).await;
        let turned_away = status == StatusCode::SEE_OTHER && location.starts_with("/sign-in");
        if public == turned_away {
            wrong.push(format!("{method} {path}: a stranger got {status} {location}"));
        }
        for (role, browser) in browsers.iter_mut().filter(|_| !public) {
            let (status, _) = ask(browser, &method, &path).await;
            let allowed = roles.iter().any(|r| r == role.key());
            if (status == StatusCode::FORBIDDEN) == allowed || status.is_server_error() {
                wrong.push(format!("{method} {path}: {} got {status}", role.key()));
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

/// Asks with an empty form: a right is checked before what was typed.
pub async fn ask(browser: &mut Browser, method: &str, path: &str) -> (StatusCode, String) {
    let request = Request::builder()
        .method(method)
        .uri(path)
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    let page = browser.send(request, Body::empty()).await;
    (page.status, page.location().to_owned())
}
