//! No address leads to a file that is not ours to give, and what is looked for on other servers is not here.

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use limbledger::accounts::Role;

use crate::support::{Fixture, TestApp};

const CANARY: &str = "canary-7f3 of the data folder";

/// Ways of writing `../` that some server was taken in by.
const UP: [&str; 15] = [
    "../",
    "..%2f",
    "%2e%2e/",
    "%2e%2e%2f",
    "%252e%252e%252f",
    "..%252f",
    "%c0%ae%c0%ae/",
    "%c0%ae%c0%ae%c0%af",
    "%uff0e%uff0e%u2215",
    "..%5c",
    "%2e%2e%5c",
    "....//",
    "..;/",
    ".%00./",
    "%e3%80%82%e3%80%82/",
];

#[tokio::test]
async fn no_way_of_writing_a_path_leads_out_of_what_is_served() {
    let test = TestApp::new().await;
    let rows = Fixture::new(&test).await;
    std::fs::write(test.folder().join("canary.txt"), CANARY).unwrap();
    std::fs::create_dir_all(test.folder().join("attachments")).unwrap();
    std::fs::write(test.folder().join("attachments/canary.txt"), CANARY).unwrap();
    let folder = test.folder().to_str().unwrap().to_owned();
    let mut vet = test.signed_in(Role::Vet).await;
    let id = limbledger::ids::EntryId::new();
    let starts = [
        "/static/old/".to_owned(),
        "/static/".to_owned(),
        "/calendar/".to_owned(),
        format!("/visits/{}/photos/", rows.visit),
        format!("/visits/{}/videos/{id}/", rows.visit),
        format!("/diagnostics/{}/files/", rows.order),
        format!("/images/{id}/"),
        "/practice/export/".to_owned(),
        "/".to_owned(),
    ];
    let mut tried = 0;
    let absolute = ["%2f", "//", "file:%2f%2f"].map(|start| format!("{start}{folder}/canary.txt"));
    for start in starts {
        let ups = UP.iter().flat_map(|up| [1, 4].map(|times| format!("{}canary.txt", up.repeat(times))));
        for end in ups.chain(absolute.clone()).chain(["canary.txt%00.css".to_owned()]) {
            let path = format!("{start}{end}");
            let request = Request::get(&path).header(header::HOST, "practice.test");
            if request.uri_ref().is_none() {
                continue;
            }
            let answer = vet.send(request, Body::empty()).await;
            assert!(!answer.text.contains(CANARY), "{path}");
            assert!(!answer.status.is_server_error(), "{path}: {}", answer.status);
            assert_ne!(answer.status, StatusCode::OK, "{path}");
            tried += 1;
        }
    }
    assert!(tried > 250, "{tried}");
}

/// What scanners ask a server for, and what lies in our own data folder.
const PROBES: [&str; 40] = [
    ".git",
    ".git/HEAD",
    ".git/config",
    ".svn",
    ".hg",
    ".env",
    ".DS_Store",
    ".htaccess",
    "backup",
    "backup.zip",
    "db.sqlite",
    "practice.sqlite",
    "practice.sqlite-wal",
    "record.mark",
    "tablets.key",
    "second-factor.key",
    "authority",
    "authority/practice-authority.key",
    "attachments",
    "config.json",
    "debug",
    "debug/pprof",
    "metrics",
    "actuator",
    "actuator/health",
    "server-status",
    "phpinfo.php",
    "wp-login.php",
    "admin",
    "console",
    "api",
    "graphql",
    "swagger.json",
    "openapi.json",
    ".well-known/security",
    "cgi-bin",
    "test",
    "Cargo.toml",
    "src/main.rs",
    "static",
];

#[tokio::test]
async fn what_scanners_ask_for_is_not_there() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let mut asked = 0;
    for probe in PROBES {
        for end in ["", "/", "~", ".bak", ".old", "?x=1"] {
            let path = format!("/{probe}{end}");
            assert_eq!(owner.get(&path).await.status, StatusCode::NOT_FOUND, "{path}");
            let (answer, begin) = (test.stranger().get(&path).await, "/sign-in");
            assert!(answer.location().starts_with(begin), "{path} tells a stranger {}", answer.status);
            asked += 1;
        }
    }
    assert!(asked >= 200);
}
