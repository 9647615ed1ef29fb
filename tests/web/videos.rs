//! Videos of gait: whole or in pieces, kept as they were sent, once, and played in ranges.

use axum::{
    body::Body,
    http::{HeaderMap, Request, StatusCode, header},
};
use http_body_util::BodyExt;
use limbledger::{
    accounts::Role,
    ids::{SubmissionId, VisitId},
    record::{entries_of_visit, hex},
};
use sha2::{Digest, Sha256};
use tower::ServiceExt;

use crate::support::{Browser, Page, TestApp, record::Story};

const MIB: usize = 1024 * 1024;
/// As the page says it in `data-piece`.
const PIECE: usize = 4 * MIB;

/// The first box of a file (ISO/IEC 14496-12, 4.3): size, `ftyp`, major brand, minor version, other brands.
fn ftyp(major: &str, others: &[&str]) -> Vec<u8> {
    let length = u32::try_from(16 + 4 * others.len()).unwrap();
    [&length.to_be_bytes()[..], b"ftyp", major.as_bytes(), &[0; 4], others.concat().as_bytes()].concat()
}

/// A film of so many bytes that begins as one; no two bytes beside each other are alike.
fn film(bytes: usize) -> Vec<u8> {
    let mut film = ftyp("isom", &["iso2", "mp41"]);
    let byte = |at: usize| u8::try_from((at + at / 4096) % 251).unwrap();
    film.extend((film.len()..bytes).map(byte));
    film
}

fn sha(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// The SHA-256 over the SHA-256 of each piece.
fn over_pieces(film: &[u8]) -> String {
    let digests: Vec<u8> = film.chunks(PIECE).flat_map(|piece| Sha256::digest(piece).to_vec()).collect();
    sha(&digests)
}

/// As a browser without our script sends it.
async fn send_form(browser: &mut Browser, path: &str, fields: &[(&str, &str)], video: &[u8]) -> Page {
    let mut body = Vec::new();
    for (name, value) in fields {
        body.extend(
            format!("--x\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").bytes(),
        );
    }
    body.extend(b"--x\r\nContent-Disposition: form-data; name=\"video\"; filename=\"a.txt\"\r\nContent-Type: text/plain\r\n\r\n");
    body.extend(video);
    body.extend(b"\r\n--x--\r\n");
    let request =
        from_here(Request::post(path)).header(header::CONTENT_TYPE, "multipart/form-data; boundary=x");
    browser.send(request, Body::from(body)).await
}

fn from_here(request: axum::http::request::Builder) -> axum::http::request::Builder {
    request.header(header::HOST, "practice.test").header(header::ORIGIN, "http://practice.test")
}

/// A video on its way in pieces.
struct Sending<'a> {
    browser: &'a mut Browser,
    id: String,
    visit: VisitId,
    film: Vec<u8>,
}

impl<'a> Sending<'a> {
    fn new(browser: &'a mut Browser, visit: VisitId, film: Vec<u8>) -> Self {
        Sending { browser, id: SubmissionId::new().to_string(), visit, film }
    }

    async fn begin(&mut self) -> Page {
        let (visit, bytes, digest) =
            (self.visit.to_string(), self.film.len().to_string(), over_pieces(&self.film));
        self.begin_with(&[("visit", &visit), ("bytes", &bytes), ("digest", &digest)]).await
    }

    async fn begin_with(&mut self, over: &[(&str, &str)]) -> Page {
        let mut all = vec![("submission", self.id.as_str()), ("name", "trot.mov"), ("condition", "TRT_SH")];
        all.extend_from_slice(over);
        self.browser.post("/videos/uploads", &all).await
    }

    fn piece(&self, number: usize) -> Vec<u8> {
        self.film.chunks(PIECE).nth(number).unwrap().to_vec()
    }

    async fn put(&mut self, number: usize, bytes: Vec<u8>, digest: &str) -> Page {
        let path = format!("/videos/uploads/{}/pieces/{number}?digest={digest}", self.id);
        self.browser.send(from_here(Request::put(path)), Body::from(bytes)).await
    }

    async fn put_right(&mut self, number: usize) -> Page {
        let piece = self.piece(number);
        let digest = sha(&piece);
        self.put(number, piece, &digest).await
    }

    async fn finish(&mut self) -> Page {
        self.finish_after(0).await
    }

    /// So many minutes after it was chosen, by the tablet's clock.
    async fn finish_after(&mut self, minutes: i64) -> Page {
        let sent = 1_700_000_000_000_i64;
        let (seen, sent) = ((sent - minutes * 60_000).to_string(), sent.to_string());
        let path = format!("/videos/uploads/{}/finish", self.id);
        self.browser.post(&path, &[("seen_at", &seen), ("sent_at", &sent)]).await
    }
}

fn missing(page: &Page) -> Vec<i64> {
    let told: serde_json::Value = serde_json::from_str(&page.text).unwrap();
    told["missing"].as_array().unwrap().iter().map(|n| n.as_i64().unwrap()).collect()
}

/// What is wrong with a field of an upload.
fn told(page: &Page, field: &str) -> String {
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", page.text);
    let told: serde_json::Value = serde_json::from_str(&page.text).unwrap();
    told["errors"][field].as_str().unwrap_or_default().to_owned()
}

async fn ranged(browser: &Browser, path: &str, range: Option<&str>) -> (StatusCode, HeaderMap, Vec<u8>) {
    let mut request = Request::get(path)
        .header(header::HOST, "practice.test")
        .header(header::COOKIE, browser.cookie.clone().unwrap())
        .header(header::ACCEPT_ENCODING, "gzip, br, zstd");
    if let Some(range) = range {
        request = request.header(header::RANGE, range);
    }
    let response = browser.router.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
    let (parts, body) = response.into_parts();
    (parts.status, parts.headers, body.collect().await.unwrap().to_bytes().to_vec())
}

#[tokio::test]
async fn a_video_of_a_plain_form_is_kept_as_it_was_sent_and_is_an_entry_of_the_record() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/videos");
    let (film, submission) = (film(300_000), SubmissionId::new().to_string());
    let fields = [("submission", submission.as_str()), ("condition", "TRT_SH"), ("words", "on the way back")];
    let first = send_form(&mut vet, &path, &fields, &film).await;
    assert_eq!(first.status, StatusCode::SEE_OTHER, "{:?}", first.texts(".error"));
    let again = send_form(&mut vet, &path, &fields, &film).await;
    assert_eq!((again.status, again.location()), (StatusCode::SEE_OTHER, first.location()));
    let entries = entries_of_visit(test.app.db.read(), visit).await.unwrap();
    let body = entries[0].body.clone().unwrap();
    let said = (entries.len(), body.value.as_deref(), body.code.as_deref(), body.text.as_deref());
    let words = "video, trot, straight, hard: on the way back";
    assert_eq!(said, (1, Some(sha(&film).as_str()), Some("TRT_SH"), Some(words)));
    assert_eq!(vet.get(&path).await.texts("#videos .what"), [words]);
    let page = vet.get(first.location()).await;
    assert_eq!(vet.raw(&page.attrs("video", "src")[0]).await, film);
    assert!(!vet.get(&format!("/visits/{visit}/photos")).await.has("#photos"), "it is no photo");
    assert!(vet.get(&story.history()).await.has(&format!("a[href='{}']", first.location())));
    let desk = test.signed_in(Role::Desk).await.get(first.location()).await;
    assert_eq!(desk.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn videos_are_told_by_their_first_box_and_not_by_their_name() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/videos");
    for (video, kind) in [
        (ftyp("qt  ", &["qt  "]), "video/quicktime"),
        (ftyp("mp42", &["isom"]), "video/mp4"),
        (ftyp("XAVC", &["XAVC", "mp42"]), "video/mp4"),
    ] {
        let submission = SubmissionId::new().to_string();
        let fields = [("submission", submission.as_str()), ("site", "FETL_D.L")];
        let page = send_form(&mut vet, &path, &fields, &video).await;
        assert_eq!(page.status, StatusCode::SEE_OTHER);
        let (_, headers, _) = ranged(&vet, &format!("{}/file", page.location()), None).await;
        assert_eq!(headers["content-type"], kind);
    }
}

#[tokio::test]
async fn what_is_no_video_is_refused_beside_the_field_and_the_words_stay() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/videos");
    let submission = SubmissionId::new().to_string();
    let fields = [("submission", submission.as_str()), ("condition", "TRT_SH"), ("words", "stiff")];
    let short = [&8u32.to_be_bytes()[..], b"ftypisom", &[0; 8]].concat();
    let cut = [&64u32.to_be_bytes()[..], b"ftypisom", &[0; 8]].concat();
    for bytes in
        [b"".to_vec(), b"<html>".to_vec(), b"RIFF....AVI ".to_vec(), ftyp("heic", &["mif1"]), short, cut]
    {
        let page = send_form(&mut vet, &path, &fields, &bytes).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(page.texts("#video-error"), ["Choose a video: an MP4 or MOV file."]);
        assert_eq!(page.values_of("words"), ["stiff"]);
        assert_eq!(page.attrs("#condition option[selected]", "value"), ["TRT_SH"]);
    }
    let unsaid = [("submission", submission.as_str()), ("site", "the moon"), ("words", "stiff")];
    let page = send_form(&mut vet, &path, &unsaid, &film(100)).await;
    assert_eq!(page.texts("#site-error"), ["Choose a place of the list, or leave it empty."]);
    assert_eq!(page.values_of("site"), ["the moon"]);
    let page = send_form(&mut vet, &path, &unsaid[..1], &film(100)).await;
    assert_eq!(page.texts("#condition-error").len(), 1, "neither a condition nor a place");
    assert!(entries_of_visit(test.app.db.read(), visit).await.unwrap().is_empty());
    let left = std::fs::read_dir(test.folder().join("attachments/incoming")).unwrap().count();
    assert_eq!(left, 0, "half written files are left");
    let page = send_form(&mut vet, &path, &fields, &film(100)).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER, "a number that was refused stays usable");
}

#[tokio::test]
async fn the_number_of_an_upload_belongs_to_its_account_its_route_and_its_content() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/videos");
    let submission = SubmissionId::new().to_string();
    let fields = [("submission", submission.as_str()), ("condition", "TRT_SH")];
    assert_eq!(send_form(&mut vet, &path, &fields, &film(100)).await.status, StatusCode::SEE_OTHER);
    let other = send_form(&mut vet, &path, &fields, &film(101)).await;
    assert_eq!(other.status, StatusCode::CONFLICT, "another file");
    assert!(other.has("h1"));
    let mut technician = test.signed_in(Role::Technician).await;
    let other = send_form(&mut technician, &path, &fields, &film(100)).await;
    assert_eq!(other.status, StatusCode::CONFLICT, "another account");
    let elsewhere = format!("/visits/{}/videos", story.visit("2026-03-10").await);
    let other = send_form(&mut vet, &elsewhere, &fields, &film(100)).await;
    assert_eq!(other.status, StatusCode::CONFLICT, "another route");
    let mut sending = Sending::new(&mut vet, visit, film(100));
    sending.id.clone_from(&submission);
    assert_eq!(sending.begin().await.status, StatusCode::CONFLICT, "in pieces");
    assert_eq!(test.count("entry").await, 1);
}

#[tokio::test]
async fn pieces_come_in_any_order_and_again_and_the_whole_is_byte_for_byte_the_file() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let film = film(2 * PIECE + 12_345);
    let mut sending = Sending::new(&mut vet, visit, film.clone());
    assert_eq!(missing(&sending.begin().await), [0, 1, 2]);
    assert_eq!(missing(&sending.put_right(2).await), [0, 1]);
    assert_eq!(missing(&sending.put_right(0).await), [1]);
    assert_eq!(missing(&sending.put_right(0).await), [1], "the same piece again");
    let early = sending.finish().await;
    assert_eq!((early.status, missing(&early)), (StatusCode::UNPROCESSABLE_ENTITY, vec![1]));
    let piece = sending.piece(1);
    let changed = sending.put(1, piece.clone(), &sha(b"something else")).await;
    assert_eq!(told(&changed, "piece"), "The piece changed on its way. Send it again.");
    assert!(told(&sending.put(1, piece[1..].to_vec(), &sha(&piece[1..])).await, "piece").contains("4194304"));
    let larger = vec![0; PIECE + 1];
    assert_eq!(sending.put(1, larger.clone(), &sha(&larger)).await.status, StatusCode::BAD_REQUEST);
    assert_eq!(sending.put(3, piece.clone(), &sha(&piece)).await.status, StatusCode::NOT_FOUND);
    assert_eq!(missing(&sending.begin().await), [1], "found again by its number");
    let listed = sending.browser.get(&format!("/visits/{visit}/videos")).await;
    assert_eq!(listed.attrs("#halves [data-half]", "data-digest"), [over_pieces(&film)]);
    assert_eq!(missing(&sending.put_right(1).await), Vec::<i64>::new());
    let done = sending.finish_after(40).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{}", done.text);
    let waited = "select (received_at - (seen_at - offset_ms)) / 60000 from entry";
    let waited: i64 = sqlx::query_scalar(waited).fetch_one(test.app.db.read()).await.unwrap();
    assert_eq!(waited, 40, "it is of when it was chosen, not of when the last piece came");
    for late in [sending.finish().await, sending.begin().await, sending.put_right(0).await] {
        assert_eq!((late.status, late.location()), (StatusCode::SEE_OTHER, done.location()));
    }
    assert_eq!(vet.raw(&format!("{}/file", done.location())).await, film);
    assert_eq!(test.count("entry").await, 1);
    assert_eq!(test.count("video_piece").await, 0);
    let left = std::fs::read_dir(test.folder().join("attachments/pieces")).unwrap().count();
    assert_eq!(left, 0, "pieces are left");
    assert!(!vet.get(&format!("/visits/{visit}/videos")).await.has("#halves"));
}

#[tokio::test]
async fn another_file_under_the_number_of_an_upload_is_a_conflict_and_a_refused_number_stays_usable() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let mut sending = Sending::new(&mut vet, visit, b"no film at all".to_vec());
    assert_eq!(missing(&sending.begin().await), [0]);
    let no_film = std::mem::replace(&mut sending.film, film(100));
    assert_eq!(sending.begin().await.status, StatusCode::CONFLICT, "while the first is on its way");
    let mut technician = test.signed_in(Role::Technician).await;
    let mut theirs =
        Sending { browser: &mut technician, id: sending.id.clone(), visit, film: no_film.clone() };
    assert_eq!(theirs.begin().await.status, StatusCode::CONFLICT, "another account");
    assert_eq!(theirs.put_right(0).await.status, StatusCode::NOT_FOUND);
    let right = std::mem::replace(&mut sending.film, no_film);
    sending.put_right(0).await;
    assert_eq!(told(&sending.finish().await, "video"), "Choose a video: an MP4 or MOV file.");
    assert_eq!(test.count("submission").await, 0);
    sending.film = right;
    assert_eq!(missing(&sending.begin().await), [0], "the number is free");
    // What arrives is another film than was announced.
    let announced = std::mem::replace(&mut sending.film, [&film(99)[..], b"!"].concat());
    sending.put_right(0).await;
    let refused = told(&sending.finish().await, "video");
    assert_eq!(refused, "The video did not arrive as it was announced. Send it again.");
    sending.film = announced;
    sending.begin().await;
    sending.put_right(0).await;
    assert_eq!(sending.finish().await.status, StatusCode::SEE_OTHER);
    sending.film = film(200);
    assert_eq!(sending.begin().await.status, StatusCode::CONFLICT, "after it was kept");
    assert_eq!(test.count("entry").await, 1);
}

#[tokio::test]
async fn an_upload_says_field_by_field_what_is_wrong_and_is_bounded() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await.to_string();
    let mut vet = test.signed_in(Role::Vet).await;
    let mut sending = Sending::new(&mut vet, visit.parse().unwrap(), film(100));
    let digest = over_pieces(&sending.film);
    let gib = (1024 * MIB + 1).to_string();
    let begun = [("visit", visit.as_str()), ("digest", &digest)];
    let page = sending.begin_with(&[&begun[..], &[("bytes", &gib)]].concat()).await;
    assert_eq!(told(&page, "video"), "This video is larger than 1 GB. Cut it, and send the parts.");
    for none in ["", "0", "-4", "many"] {
        let page = sending.begin_with(&[&begun[..], &[("bytes", none)]].concat()).await;
        assert!(!told(&page, "video").is_empty(), "{none}");
    }
    let page = sending.begin_with(&[("visit", &visit), ("bytes", "100"), ("digest", "abc")]).await;
    assert!(!told(&page, "digest").is_empty());
    let page = sending.begin_with(&[("bytes", "100"), ("digest", &digest)]).await;
    assert!(!told(&page, "visit").is_empty());
    let largest = (1024 * MIB).to_string();
    let page = sending.begin_with(&[&begun[..], &[("bytes", &largest)]].concat()).await;
    assert_eq!(missing(&page).len(), 256, "1 GiB is taken");
}

#[tokio::test]
async fn a_video_answers_ranges_byte_for_byte() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let (film, submission) = (film(300_000), SubmissionId::new().to_string());
    let fields = [("submission", submission.as_str()), ("condition", "TRT_SH")];
    let page = send_form(&mut vet, &format!("/visits/{visit}/videos"), &fields, &film).await;
    let address = format!("{}/file", page.location());
    let (status, headers, bytes) = ranged(&vet, &address, None).await;
    assert_eq!((status, bytes.len()), (StatusCode::OK, film.len()), "whole, and not compressed");
    assert_eq!(headers["accept-ranges"], "bytes");
    for (range, from, to) in [
        ("bytes=0-0", 0, 0),
        ("bytes=100-1999", 100, 1999),
        ("bytes=299990-", 299_990, 299_999),
        ("bytes=-5", 299_995, 299_999),
        ("bytes=299000-999999", 299_000, 299_999),
    ] {
        let (status, headers, bytes) = ranged(&vet, &address, Some(range)).await;
        assert_eq!(status, StatusCode::PARTIAL_CONTENT, "{range}");
        assert_eq!(headers["content-range"], format!("bytes {from}-{to}/300000"), "{range}");
        assert_eq!(headers["content-length"], (to - from + 1).to_string(), "{range}");
        assert_eq!(bytes, film[from..=to], "{range}");
        assert_eq!(headers["content-type"], "video/mp4");
        assert_eq!(headers["x-content-type-options"], "nosniff");
        assert_eq!(headers["content-security-policy"], "default-src 'none'; media-src 'self'; sandbox");
        assert_eq!(headers["cache-control"], "no-store");
    }
    for range in ["bytes=300000-", "bytes=500000-600000"] {
        let (status, headers, _) = ranged(&vet, &address, Some(range)).await;
        assert_eq!(status, StatusCode::RANGE_NOT_SATISFIABLE, "{range}");
        assert_eq!(headers["content-range"], "bytes */300000");
    }
}

#[tokio::test]
async fn an_earlier_video_of_the_same_condition_plays_beside() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let mut pages = Vec::new();
    for (day, condition) in [("2026-02-02", "TRT_SH"), ("2026-02-02", "WLK_S"), ("2026-03-11", "TRT_SH")] {
        let submission = SubmissionId::new().to_string();
        let fields = [("submission", submission.as_str()), ("condition", condition)];
        let path = format!("/visits/{}/videos", story.visit(day).await);
        pages.push(send_form(&mut vet, &path, &fields, &film(100 + pages.len())).await.location().to_owned());
    }
    let [earlier, walk, newest] = &pages[..] else { panic!("{pages:?}") };
    let alone = vet.get(newest).await;
    assert_eq!(alone.attrs("video", "src"), [format!("{newest}/file")]);
    let beside = format!("{newest}?beside={}", earlier.rsplit('/').next().unwrap());
    assert_eq!(
        alone.attrs("a[href*='beside']", "href"),
        std::slice::from_ref(&beside),
        "the same condition only"
    );
    let two = vet.get(&beside).await;
    assert_eq!(two.attrs("video", "src"), [format!("{newest}/file"), format!("{earlier}/file")]);
    assert_eq!(two.attrs("video", "preload"), ["metadata", "metadata"]);
    assert!(!vet.get(walk).await.has("a[href*='beside']"));
}

#[tokio::test]
async fn a_start_clears_pieces_that_nobody_went_on_with_for_a_week() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let mut sending = Sending::new(&mut vet, visit, film(PIECE + 1));
    sending.begin().await;
    sending.put_right(1).await;
    let folder = test.folder().join("attachments/pieces").join(&sending.id);
    let orphan = test.folder().join("attachments/pieces").join(SubmissionId::new().to_string());
    std::fs::create_dir(&orphan).unwrap();
    let days = |days: i64| test.now().plus_minutes(days * 24 * 60);
    limbledger::videos::clear_half(&test.app.db, days(6)).await.unwrap();
    assert_eq!((folder.join("1").exists(), orphan.exists()), (true, false));
    assert_eq!(missing(&sending.begin().await), [0], "it goes on");
    limbledger::videos::clear_half(&test.app.db, days(8)).await.unwrap();
    assert!(!folder.exists());
    assert_eq!(sending.put_right(0).await.status, StatusCode::NOT_FOUND);
}
