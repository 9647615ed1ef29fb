//! What comes from strangers, bent by chance: forms, files in forms, objects of equipment, archives. Each gets an answer
//! in words, and none of them a fault of ours. `CASES` says how many of each; a few hundred without it.

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use limbledger::{accounts::Role, archive::Found, ids::SubmissionId};
use proptest::{
    prelude::*,
    sample::Index,
    test_runner::{Config, TestRng, TestRunner},
};
use tokio::runtime::Runtime;

use crate::support::{
    Browser, Fixture, PASSWORD, Page, TestApp,
    parts::{self, Part},
    pictures::{Object, TRAY},
};

/// A runner of so many cases, the same ones in every run.
fn runner(few: u32) -> TestRunner {
    let cases = std::env::var("CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(few);
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let algorithm = config.rng_algorithm;
    TestRunner::new_with_rng(config, TestRng::deterministic_rng(algorithm))
}

/// What happens to bytes on their way: some are others, a piece comes twice or not at all.
#[derive(Debug, Clone)]
struct Harm {
    flips: Vec<(Index, u8)>,
    cut: Option<Index>,
    again: Option<(Index, Index)>,
}

fn harm() -> impl Strategy<Value = Harm> {
    let flips = prop::collection::vec((any::<Index>(), any::<u8>()), 0..8);
    let cut = prop::option::weighted(0.3, any::<Index>());
    let again = prop::option::weighted(0.3, (any::<Index>(), any::<Index>()));
    (flips, cut, again).prop_map(|(flips, cut, again)| Harm { flips, cut, again })
}

impl Harm {
    /// Harms what stands behind the first `spared` bytes.
    fn done_to(&self, whole: &[u8], spared: usize) -> Vec<u8> {
        let mut bytes = whole.to_vec();
        for (place, value) in &self.flips {
            let at = spared + place.index(bytes.len() - spared);
            bytes[at] = *value;
        }
        if let Some((from, to)) = self.again {
            let (a, b) = (spared + from.index(bytes.len() - spared), spared + to.index(bytes.len() - spared));
            let piece = bytes[a.min(b)..a.max(b)].to_vec();
            bytes.splice(a..a, piece);
        }
        if let Some(cut) = self.cut {
            bytes.truncate(spared + cut.index(bytes.len() - spared));
        }
        bytes
    }
}

struct Practice {
    runtime: Runtime,
    test: TestApp,
    rows: Fixture,
    vet: Browser,
}

impl Practice {
    fn new() -> Self {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        let (test, rows, vet) = runtime.block_on(async {
            let test = TestApp::new().await;
            let rows = Fixture::new(&test).await;
            let vet = test.signed_in(Role::Vet).await;
            (test, rows, vet)
        });
        Practice { runtime, test, rows, vet }
    }

    fn is_fine(&self) -> bool {
        self.runtime.block_on(self.vet.clone().get("/horses")).status == StatusCode::OK
    }
}

/// Taken or refused in words.
fn answered(page: &Page) -> Result<(), TestCaseError> {
    prop_assert!(!page.status.is_server_error(), "{}", page.status);
    prop_assert!(page.status.is_redirection() || page.text.contains("<h1"), "{} without words", page.status);
    Ok(())
}

#[test]
fn a_form_of_any_bytes_is_taken_or_refused_in_words() {
    let practice = Practice::new();
    let piece = prop_oneof![
        "submission=|name=|kind=person|&|=|%|%0|%00|%ff|%f0%9f|\\+|;|\\[\\]=|person|version=1|[ -~]{0,12}"
            .prop_map(String::into_bytes),
        prop::collection::vec(any::<u8>(), 0..6),
    ];
    let form = prop::collection::vec(piece, 0..24).prop_map(|pieces| pieces.concat());
    runner(250)
        .run(&form, |form| {
            let number = SubmissionId::new();
            for form in
                [form.clone(), [format!("submission={number}&name=A&").as_bytes(), &form[..]].concat()]
            {
                let request = Request::post("/clients")
                    .header(header::HOST, "practice.test")
                    .header(header::ORIGIN, "http://practice.test")
                    .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
                answered(&practice.runtime.block_on(practice.vet.clone().send(request, Body::from(form))))?;
            }
            Ok(())
        })
        .unwrap();
    assert!(practice.is_fine());
}

#[test]
fn files_in_forms_that_were_bent_are_taken_or_refused_in_words() {
    let practice = Practice::new();
    let number = SubmissionId::new().to_string();
    let file =
        Part { field: "photo", name: "a.jpg", kind: "image/jpeg", bytes: &[0xFF, 0xD8, 0xFF, 0xE0, 1, 2] };
    let whole = parts::body(&[("submission", &number), ("words", "left fore")], &file);
    let path = format!("/visits/{}/photos", practice.rows.visit);
    runner(200)
        .run(&harm(), |harm| {
            let mut vet = practice.vet.clone();
            let sent = parts::send_body(&mut vet, &path, harm.done_to(&whole, 0));
            answered(&practice.runtime.block_on(sent))
        })
        .unwrap();
    assert!(practice.is_fine());
}

#[test]
fn objects_of_equipment_that_were_bent_are_taken_or_refused_in_words() {
    let practice = Practice::new();
    let object = Object { view: "LM".into(), pixels: Some(vec![1, 2, 3, 4]), ..Object::new("77") }.file();
    runner(100)
        .run(&harm(), |harm| {
            let number = SubmissionId::new().to_string();
            // The preamble in front of the head means nothing.
            let bytes = harm.done_to(&object, 128);
            let file = Part { field: "files", name: "a.dcm", kind: "application/dicom", bytes: &bytes };
            let sent = async {
                parts::send(&mut practice.vet.clone(), TRAY, &[("submission", &number)], &file).await
            };
            answered(&practice.runtime.block_on(sent))
        })
        .unwrap();
    assert!(practice.is_fine());
    let waiting = std::fs::read_dir(practice.test.folder().join("attachments/incoming"));
    assert!(waiting.is_ok_and(|mut left| left.next().is_none()), "nothing half written is left");
}

#[test]
fn an_archive_that_was_bent_is_refused_in_words_or_says_the_same() {
    let practice = Practice::new();
    let whole = practice.runtime.block_on(async {
        let mut owner = practice.test.signed_in(Role::Owner).await;
        let form = owner.get("/practice/export").await;
        let asked = [("what", "archive"), ("password", PASSWORD)];
        let file = owner.fill(&form, "/practice/export", &asked).await.location().to_owned();
        owner.raw(&file).await
    });
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("archive.zip");
    let opened = |bytes: &[u8]| {
        std::fs::write(&file, bytes).unwrap();
        Found::open(&file).map(|found| found.manifest.files.clone())
    };
    let files = opened(&whole).unwrap();
    runner(150)
        .run(&harm(), |harm| {
            let bytes = harm.done_to(&whole, 0);
            match opened(&bytes) {
                // Bytes that say nothing, such as the day of a file in the zip.
                Ok(found) => prop_assert_eq!(&found, &files),
                Err(error) => prop_assert!(!error.to_string().is_empty()),
            }
            Ok(())
        })
        .unwrap();
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing else was written");
}
