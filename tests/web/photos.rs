//! Photos: safe as files before the record speaks of them, once however often they are sent, and shown as pictures
//! and nothing else.

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use limbledger::{accounts::Role, ids::SubmissionId, record::entries_of_visit, visits::State};
use sha2::{Digest, Sha256};

use crate::support::{
    Browser, Page, TestApp,
    record::{Story, finding},
};

/// The smallest beginning that says JPEG (ITU-T T.81, annex B: SOI, then a marker).
const JPEG: [u8; 8] = [0xFF, 0xD8, 0xFF, 0xE0, 0, 1, 2, 3];

fn name_of(bytes: &[u8]) -> String {
    limbledger::record::hex(&Sha256::digest(bytes))
}

/// As a browser without our script sends it.
async fn send_file(browser: &mut Browser, path: &str, submission: &str, bytes: &[u8]) -> Page {
    send_about(browser, path, &[("submission", submission), ("words", "left fore, lateral")], bytes).await
}

async fn send_about(browser: &mut Browser, path: &str, fields: &[(&str, &str)], bytes: &[u8]) -> Page {
    let part = |(name, value): &(&str, &str)| {
        format!("--x\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n")
    };
    let mut body = fields.iter().map(part).collect::<String>().into_bytes();
    body.extend(b"--x\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"a.html\"\r\nContent-Type: text/html\r\n\r\n");
    body.extend(bytes);
    body.extend(b"\r\n--x--\r\n");
    let request = Request::post(path)
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=x");
    browser.send(request, Body::from(body)).await
}

#[tokio::test]
async fn a_photo_is_a_file_under_its_own_digest_and_an_entry_of_the_record() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/photos");
    let submission = SubmissionId::new().to_string();
    for _ in 0..2 {
        let page = send_file(&mut vet, &path, &submission, &JPEG).await;
        assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, path.as_str()));
    }
    let name = name_of(&JPEG);
    let file = test.folder().join("attachments").join(&name[..2]).join(&name);
    assert_eq!(std::fs::read(file).unwrap(), JPEG);
    let entries = entries_of_visit(test.app.db.read(), visit).await.unwrap();
    let body = entries[0].body.clone().unwrap();
    assert_eq!(
        (entries.len(), body.value, body.text),
        (1, Some(name), Some("photo: left fore, lateral".into()))
    );
    let shown = vet.get(&format!("/visits/{visit}")).await;
    assert_eq!(shown.attrs("#photos img", "alt"), ["photo: left fore, lateral"]);
    let picture = vet.get(&shown.attrs("#photos img", "src")[0]).await;
    assert_eq!(picture.headers["content-type"], "image/jpeg", "by its content, not by what it was called");
    assert_eq!(picture.headers["x-content-type-options"], "nosniff");
    assert_eq!(picture.headers["content-security-policy"], "default-src 'none'; sandbox");
    assert!(!test.signed_in(Role::Desk).await.get(&format!("/visits/{visit}")).await.has("#photos"));
}

#[tokio::test]
async fn a_tablet_sends_its_photo_in_letters_with_its_own_time() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let visit = test.visit(horse, test.vet, "2026-03-11", (9, 0), State::Booked).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let (photo, sent) = (URL_SAFE_NO_PAD.encode(JPEG), test.now().0.to_string());
    let seen = (test.now().0 - 3_600_000).to_string();
    let fields = [("photo", photo.as_str()), ("seen_at", &seen), ("sent_at", &sent)];
    let page = vet.submit(&format!("/visits/{visit}/photos"), &fields).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);
    let page = vet.get(&format!("/visits/{visit}/photos")).await;
    assert_eq!(page.texts("#photos time"), ["11 Mar 2026, 08:00"]);
    assert!(vet.get(&format!("/visits/{visit}")).await.has(".state-in-hand"), "a photo begins the visit");
}

#[tokio::test]
async fn what_is_no_picture_is_refused_beside_the_field_and_leaves_no_trace() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/photos");
    for bytes in [b"<script>alert(1)</script>".as_slice(), b"", b"GIF89a", b"RIFF....WAVE"] {
        let page = send_file(&mut vet, &path, &SubmissionId::new().to_string(), bytes).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(page.texts("#photo-error"), ["Choose a photo: a JPEG, PNG, WebP or HEIC picture."]);
        assert_eq!(page.values_of("words"), ["left fore, lateral"]);
    }
    let page = vet.submit(&path, &[("photo", "not base64 at all!")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let large = [JPEG.to_vec(), vec![0; 17 * 1024 * 1024]].concat();
    let page = send_file(&mut vet, &path, &SubmissionId::new().to_string(), &large).await;
    assert_eq!(page.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(!test.folder().join("attachments").exists());
    assert!(entries_of_visit(test.app.db.read(), visit).await.unwrap().is_empty());
}

#[tokio::test]
async fn a_photo_that_comes_after_signing_is_kept_as_late() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    story.sign(visit).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/photos");
    let page = send_file(&mut vet, &path, &SubmissionId::new().to_string(), &JPEG).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);
    let entries = entries_of_visit(test.app.db.read(), visit).await.unwrap();
    assert!(entries.last().unwrap().late);
}

#[tokio::test]
async fn a_heic_photo_is_kept_as_it_was_sent_and_said_to_be_one() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/photos");
    // ISO/IEC 23008-12, annex B: the brands of a picture coded with HEVC.
    let heic = [&24u32.to_be_bytes()[..], b"ftypheic\0\0\0\0mif1heic", b"the rest"].concat();
    let page = send_file(&mut vet, &path, &SubmissionId::new().to_string(), &heic).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);
    let page = vet.get(&path).await;
    assert!(!page.has("#photos img"), "not every browser shows it");
    let link = page.attrs("#photos a", "href")[0].clone();
    assert_eq!(vet.get(&link).await.headers["content-type"], "image/heic");
    assert_eq!(vet.raw(&link).await, heic);
    let film = [&20u32.to_be_bytes()[..], b"ftypisom\0\0\0\0mp41"].concat();
    let page = send_file(&mut vet, &path, &SubmissionId::new().to_string(), &film).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "a film is no photo");
}

#[tokio::test]
async fn another_photo_under_the_same_number_is_a_conflict() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/photos");
    let submission = SubmissionId::new().to_string();
    let refused = send_file(&mut vet, &path, &submission, b"no photo").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let taken = send_file(&mut vet, &path, &submission, &JPEG).await;
    assert_eq!(taken.status, StatusCode::SEE_OTHER, "a refused number stays usable");
    let other = [&JPEG[..], b"more"].concat();
    assert_eq!(send_file(&mut vet, &path, &submission, &other).await.status, StatusCode::CONFLICT);
    assert_eq!(test.count("entry").await, 1);
}

#[tokio::test]
async fn a_photo_of_a_place_stands_there_in_the_history_and_the_report_and_keeps_its_file_when_told_otherwise()
 {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    story.say(visit, finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4")).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/photos");

    // Out of the exam: the place is known by its key.
    let page = vet.get(&format!("/visits/{visit}/exam?open=FETL_D.L")).await;
    let page = vet.get(&page.attrs("a[data-photo-of='FETL_D.L']", "href")[0]).await;
    assert_eq!(page.values_of("site"), ["left fore fetlock, dorsal"]);
    let number = SubmissionId::new().to_string();
    let fields = [("submission", number.as_str()), ("site", "left fore elbow grease"), ("words", "swollen")];
    let page = send_about(&mut vet, &path, &fields, &JPEG).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.texts("#site-error"), ["Choose a place of the list, or leave it empty."]);
    assert_eq!(
        (page.values_of("site"), page.values_of("words")),
        (vec!["left fore elbow grease".into()], vec!["swollen".into()])
    );
    let fields =
        [("submission", number.as_str()), ("site", "Left fore fetlock, dorsal"), ("words", "swollen")];
    assert_eq!(send_about(&mut vet, &path, &fields, &JPEG).await.status, StatusCode::SEE_OTHER);
    // Out of a tablet's queue: a way of going.
    let photo = URL_SAFE_NO_PAD.encode([&JPEG[..], b"other"].concat());
    let page = vet.submit(&path, &[("photo", photo.as_str()), ("site", ""), ("condition", "TRT_SH")]).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);

    let page = vet.get(&path).await;
    assert_eq!(
        page.attrs("#photos img", "alt"),
        ["left fore fetlock, dorsal: photo: swollen", "photo, trot, straight, hard"]
    );
    let report = vet.get(&format!("/visits/{visit}/report")).await;
    assert!(report.text.contains("left fore fetlock, dorsal: photo: swollen"));
    let history = vet.get(&story.history()).await;
    assert_eq!(history.texts("tr[id='FETL_D.L'] details a"), ["photo: swollen"]);
    assert_eq!(history.texts("#photos .where"), ["left fore fetlock, dorsal", "trot, straight, hard"]);

    let change = page.attrs("#photos a.button", "href")[0].clone();
    let form = vet.get(&change).await;
    let fields =
        [("other_site", "left fore fetlock, palmar"), ("words", "photo: swollen"), ("reason", "other side")];
    let done = vet.submit(&form.attrs("#image form", "action")[0], &fields).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    let page = vet.get(&path).await;
    assert!(
        page.attrs("#photos img", "alt").contains(&"left fore fetlock, palmar: photo: swollen".to_owned())
    );
    assert_eq!(page.attrs("#photos img", "src").len(), 2, "the file is still shown");
    assert_eq!(vet.get(&story.history()).await.texts("tr[id='FETL_D.L'] details a").len(), 0);
}
