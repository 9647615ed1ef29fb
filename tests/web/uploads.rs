//! Files that come in, whatever they are called: told by their bytes, kept under names that we make, and never given out
//! as something that a browser would run.

use axum::http::StatusCode;
use limbledger::{accounts::Role, ids::SubmissionId};

use crate::support::{
    Browser, Fixture, Page, TestApp,
    parts::{Part, send},
};

/// What no field for pictures and videos takes.
const HARMFUL: [(&str, &[u8]); 9] = [
    ("HTML", b"<!doctype html><script>alert(1)</script>"),
    ("SVG", b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>"),
    ("XML", b"<?xml version='1.0'?><!DOCTYPE x [<!ENTITY y SYSTEM 'file:///etc/passwd'>]><x>&y;</x>"),
    ("a program of Windows", b"MZ\x90\x00\x03\x00\x00\x00"),
    ("a program of Linux", b"\x7fELF\x02\x01\x01\x00"),
    ("a script", b"#!/bin/sh\necho $(id)\n"),
    ("a zip", b"PK\x03\x04\x14\x00\x00\x00"),
    ("a PDF", b"%PDF-1.7\n1 0 obj <</OpenAction <</S /JavaScript>>>>"),
    ("GIF, which is not taken, with HTML behind", b"GIF89a<script>alert(1)</script>"),
];

const NAMES: [&str; 9] = [
    "a.jpg",
    "a.png.html",
    "a.svg",
    "../../../canary.jpg",
    "..\\..\\canary.jpg",
    "/etc/canary.jpg",
    "CON",
    "a\u{202e}gpj.exe",
    "$(id)`id`;|&.jpg",
];

/// A field, where its form leads, and what else that asks.
type Upload<'a> = (&'a str, String, &'a [(&'a str, &'a str)]);

fn files_in(folder: &std::path::Path) -> Vec<String> {
    let Ok(all) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut names = Vec::new();
    for entry in all {
        let path = entry.unwrap().path();
        if path.is_dir() {
            names.extend(files_in(&path));
        } else {
            names.push(path.file_name().unwrap().to_string_lossy().into_owned());
        }
    }
    names
}

#[tokio::test]
async fn what_a_file_is_called_and_said_to_be_opens_no_way_for_what_it_is() {
    let test = TestApp::new().await;
    let rows = Fixture::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let forms: [Upload<'_>; 3] = [
        ("photo", format!("/visits/{}/photos", rows.visit), &[]),
        ("video", format!("/visits/{}/videos", rows.visit), &[("condition", "TRT_SH")]),
        ("files", "/diagnostics/arrivals".to_owned(), &[]),
    ];
    for (field, path, more) in &forms {
        for (number, (what, bytes)) in HARMFUL.iter().enumerate() {
            // Every name with some content and every content with some names: they are read apart.
            for name in NAMES.iter().skip(number % 3).step_by(3) {
                for kind in ["image/jpeg", "text/html"] {
                    let number = SubmissionId::new().to_string();
                    let all = [&[("submission", number.as_str())], *more].concat();
                    let answer = send(&mut vet, path, &all, &Part { field, name, kind, bytes }).await;
                    let told = format!("{what} as {name} of {kind} to {path}");
                    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{told}");
                }
            }
        }
    }
    assert_eq!(files_in(&test.folder().join("attachments")), Vec::<String>::new(), "nothing is left of any");
    assert_eq!(test.count("attachment").await, 0);
}

async fn kept(browser: &mut Browser, path: &str, (field, name, bytes): (&str, &str, &[u8])) -> Page {
    let number = SubmissionId::new().to_string();
    let file = Part { field, name, kind: "text/html", bytes };
    let answer = send(browser, path, &[("submission", &number)], &file).await;
    assert!(answer.status.is_redirection(), "{name}: {:?}", answer.texts(".errors li"));
    let to = answer.location().split('#').next().unwrap().to_owned();
    browser.get(&to).await
}

/// Whatever stands behind the first bytes of a picture or in a text.
#[tokio::test]
async fn what_is_given_out_runs_nothing_and_is_called_as_we_call_it() {
    let test = TestApp::new().await;
    let rows = Fixture::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let script = b"<script>alert(1)</script>";
    let picture = [&[0xFF, 0xD8, 0xFF, 0xE0][..], script].concat();
    let (photos, files) =
        (format!("/visits/{}/photos", rows.visit), format!("/diagnostics/{}/files", rows.order));
    let order = format!("/diagnostics/{}", rows.order);
    for name in NAMES {
        kept(&mut vet, &photos, ("photo", name, &picture)).await;
    }
    for bytes in [&picture[..], b"%PDF-1.7\n<script>alert(1)</script>", &script[..]] {
        kept(&mut vet, &files, ("file", "a\"; filename=evil.html\u{e9}.html", bytes)).await;
    }
    let page = vet.get(&photos).await;
    let mut links = page.attrs("main img", "src");
    let saved_ones = vet.get(&order).await.attrs("#filed a.what", "href");
    assert!(!links.is_empty() && saved_ones.len() == 3, "{links:?} {saved_ones:?}");
    links.extend(saved_ones.clone());
    for link in links {
        let given = vet.get(&link).await;
        let said = |name: &str| given.headers.get(name).map_or("", |v| v.to_str().unwrap()).to_owned();
        assert_eq!(given.status, StatusCode::OK, "{link}");
        assert_eq!(said("x-content-type-options"), "nosniff", "{link}");
        assert!(said("content-security-policy").contains("sandbox"), "{link}");
        assert!(
            !["text/html", "image/svg+xml", ""].contains(&said("content-type").split(';').next().unwrap())
        );
        assert_eq!(
            given.headers.get_all("content-disposition").iter().count(),
            usize::from(saved_ones.contains(&link))
        );
        if saved_ones.contains(&link) {
            let saved = said("content-disposition");
            assert!(
                saved.starts_with("attachment; filename=\"L000001-") && !saved.contains("evil"),
                "{saved}"
            );
        }
    }
    let names = files_in(&test.folder().join("attachments"));
    assert_eq!(names.len(), 3, "the same bytes are kept once");
    for name in names {
        assert!(name.len() == 64 && name.bytes().all(|b| b.is_ascii_hexdigit()), "{name}");
    }
}
