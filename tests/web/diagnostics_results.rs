//! What comes with the result of an order, and what is made ready before: files told by their bytes, and ticks.

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use limbledger::{
    accounts::Role,
    ids::{OrderId, SubmissionId},
    record::{Kind, hex, results_of_order},
};
use sha2::{Digest, Sha256};

use crate::support::{
    Browser, Page, TestApp,
    record::{Story, finding},
};

const PDF: &[u8] = b"%PDF-1.7\n1 0 obj <</Type /Catalog>> endobj";
/// Bytes of the largest file, as its field says.
const LARGEST: usize = 32 * 1024 * 1024;

/// A visit with an order of the usual set; gives the order's page.
async fn ordered(vet: &mut Browser, story: &Story<'_>) -> String {
    let visit = story.visit("2026-03-11").await;
    story.say(visit, finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4")).await;
    let way = format!("/visits/{visit}/diagnostics/usual");
    let answer = vet.submit(&way, &[("study", "fetlock"), ("limb", "LF")]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    answer.location().to_owned()
}

async fn send(browser: &mut Browser, order: &str, number: &str, (name, bytes): (&str, &[u8])) -> Page {
    let part = |(name, value): (&str, &str)| {
        format!("--x\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n")
    };
    let mut body =
        [("submission", number), ("file_words", "from the laboratory")].map(part).concat().into_bytes();
    let head = format!("--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\r\n");
    body.extend(head.into_bytes());
    body.extend(bytes);
    body.extend(b"\r\n--x--\r\n");
    let request = Request::post(format!("{order}/files"))
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=x");
    browser.send(request, Body::from(body)).await
}

fn fresh() -> String {
    SubmissionId::new().to_string()
}

#[tokio::test]
async fn a_file_is_told_by_its_bytes_kept_once_given_out_as_a_download_and_listed_wherever_the_result_is() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let order = ordered(&mut vet, &story).await;
    let (number, name) = (fresh(), "../R\u{202E}x<b>.exe");
    for _ in 0..2 {
        assert_eq!(send(&mut vet, &order, &number, (name, PDF)).await.status, StatusCode::SEE_OTHER);
    }
    let digest = hex(&Sha256::digest(PDF));
    let kept = test.folder().join("attachments").join(&digest[..2]).join(&digest);
    assert_eq!(std::fs::read(kept).unwrap(), PDF);
    let page = vet.get(&order).await;
    assert_eq!(
        page.texts("#filed a.what"),
        ["from the laboratory (Rx<b>.exe)"],
        "no folder, nothing that turns"
    );
    let link = page.attrs("#filed a.what", "href")[0].clone();
    let file = vet.get(&link).await;
    assert_eq!(file.headers["content-type"], "application/pdf");
    assert_eq!(file.headers["x-content-type-options"], "nosniff");
    assert_eq!(file.headers["content-security-policy"], "default-src 'none'; sandbox");
    let saved = file.headers["content-disposition"].to_str().unwrap().to_owned();
    assert_eq!(saved, format!("attachment; filename=\"L000001-{}.pdf\"", &digest[..8]));
    assert_eq!(vet.raw(&link).await, PDF);
    assert_eq!(test.signed_in(Role::Desk).await.get(&link).await.status, StatusCode::FORBIDDEN);

    // A report rests on it; paper and history name it.
    let report = [("report", "No change."), ("version", "1")];
    vet.fill(&page, &format!("{order}/report"), &report).await;
    let id: OrderId = order.rsplit('/').next().unwrap().parse().unwrap();
    let (results, _) = results_of_order(test.app.db.read(), id).await.unwrap();
    let report = results.iter().filter_map(|e| e.body.as_ref()).find(|b| b.kind == Kind::Report).unwrap();
    assert_eq!(report.images, [digest]);
    let visit = results[0].visit_id;
    let said = "from the laboratory (Rx&#60;b&#62;.exe)";
    for path in [format!("/visits/{visit}/report"), story.history()] {
        assert!(vet.get(&path).await.text.contains(said), "{path}");
    }

    // Taken back with a reason, it leaves the list and stays in the record.
    let back = page.attrs("#filed a.button", "href")[0].split('#').next().unwrap().to_owned();
    let form = vet.get(&back).await;
    let entry = back.rsplit('=').next().unwrap();
    let action = format!("{order}/results/{entry}/withdraw");
    let done = vet.fill(&form, &action, &[("why_back", "the wrong horse")]).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    let page = vet.get(&order).await;
    assert!(page.texts("#filed li").is_empty() && page.text.contains("1 earlier version"));
}

#[tokio::test]
async fn each_kind_is_known_and_what_is_none_is_refused_beside_its_field_with_everything_typed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let order = ordered(&mut vet, &story).await;
    // RFC 4180 for tables: the same number of columns in each line, quoted ones included.
    let known: [(&[u8], &str); 6] = [
        (&[0xFF, 0xD8, 0xFF, 0xE0, 1], "JPEG"),
        (b"\x89PNG\r\n\x1a\n....", "PNG"),
        (b"CK;220;U/L\r\nAST;310;U/L\r\n", "table"),
        (b"name,words\nCK,\"high, rising\"\n", "table"),
        (b"CK 220 U/L, AST 310 U/L\nsent by post", "text"),
        (b"Ma\xDFe in \xB5mol, in an old coding", "text"),
    ];
    for (bytes, kind) in known {
        let sent = send(&mut vet, &order, &fresh(), ("any.bin", bytes)).await;
        assert_eq!(sent.status, StatusCode::SEE_OTHER, "{kind}");
        let page = vet.get(&order).await;
        let about = page.texts("#filed li .small").pop().unwrap();
        assert!(about.starts_with(&format!("{kind}, 1 KB")), "{about}");
    }
    let before = test.count("attachment").await;
    let large = [PDF.to_vec(), vec![b' '; LARGEST]].concat();
    let refused: [(&[u8], &str); 4] = [
        (b"", "Choose a file"),
        (b"PK\x03\x04 a zip", "Choose a file"),
        (b"text with a \0 in it", "Choose a file"),
        (&large, "This file is larger than 32 MB"),
    ];
    for (bytes, why) in refused {
        let number = fresh();
        let page = send(&mut vet, &order, &number, ("result.pdf", bytes)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(page.texts("#file-error")[0].starts_with(why), "{:?}", page.texts("#file-error"));
        assert_eq!(page.values_of("file_words"), ["from the laboratory"]);
        let taken = send(&mut vet, &order, &number, ("result.pdf", PDF)).await;
        assert_eq!(taken.status, StatusCode::SEE_OTHER, "a refused number stays usable");
    }
    assert_eq!(test.count("attachment").await, before + 1);
    let left = std::fs::read_dir(test.folder().join("attachments/incoming")).unwrap().count();
    assert_eq!(left, 0, "nothing half written stays");
    let page = vet.get(&order).await;
    vet.fill(&page, &format!("{order}/close"), &[("closed", "sold")]).await;
    assert_eq!(send(&mut vet, &order, &fresh(), ("a.pdf", PDF)).await.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn what_is_made_ready_is_ticked_by_somebody_and_counted_on_the_worklist_and_never_required() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let order = ordered(&mut vet, &story).await;
    let ready = format!("{order}/ready");
    let page = vet.get(&order).await;
    assert_eq!(page.texts("#ready > summary"), ["Made ready: 0 of 5"]);
    let mut technician = test.signed_in(Role::Technician).await;
    for code in ["side_marker", "protection", "side_marker"] {
        assert_eq!(technician.submit(&ready, &[("ready", code)]).await.status, StatusCode::SEE_OTHER);
    }
    assert_eq!(technician.submit(&ready, &[("ready", "wall_marker")]).await.status, StatusCode::NOT_FOUND);
    let page = vet.get(&order).await;
    assert_eq!(page.texts("#ready > summary"), ["Made ready: 2 of 5"]);
    assert_eq!(page.texts("#ready .state-wanted").len(), 3, "what is missing is open");
    let by: Vec<String> = page.texts("#ready .item .small");
    assert!(by.len() == 2 && by[0].contains("11 Mar 2026"), "{by:?}");
    assert!(vet.get("/diagnostics").await.text.contains("made ready 2 of 5"));
    technician.submit(&ready, &[("unready", "protection")]).await;
    let page = vet.get(&order).await;
    assert_eq!(page.texts("#ready > summary"), ["Made ready: 1 of 5"]);
    let steps = page.texts("li > time.where + .what");
    let told = |what: &str| steps.iter().filter(|step| step.starts_with(what)).count();
    assert_eq!((told("made ready:"), told("not ready after all:")), (2, 1), "{steps:?}");
    // Nothing of it is required.
    assert_eq!(vet.submit(&format!("{order}/taken"), &[]).await.status, StatusCode::SEE_OTHER);
    assert!(!vet.get("/diagnostics").await.text.contains("made ready"), "nothing is to be taken any more");
}
