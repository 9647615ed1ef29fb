//! Taking everything along: by the owner, with the password, kept in the audit.

use std::io::{Cursor, Read};

use axum::http::{StatusCode, header};
use limbledger::{accounts::Role, exports::safe};

use crate::support::{Fixture, PASSWORD, TestApp};

#[tokio::test]
async fn everything_comes_as_tables_without_what_opens_doors() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    test.client("=HYPERLINK(\"http://x.test\")", "+49 171 555").await;
    let mut owner = test.signed_in(Role::Owner).await;
    let form = owner.get("/practice/export").await;
    let wrong = owner.fill(&form, "/practice/export", &[("what", "everything"), ("password", "no")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.has("#password-error"));
    let asked = [("what", "everything"), ("password", PASSWORD)];
    let file = owner.fill(&form, "/practice/export", &asked).await.location().to_owned();
    let bytes = owner.raw(&file).await;
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let names: Vec<String> = zip.file_names().map(|name| name.unwrap().into_owned()).collect();
    for name in [
        "readme.txt",
        "client.csv",
        "horse.csv",
        "visit.csv",
        "entry.csv",
        "staff.csv",
        "audit.csv",
        "price.csv",
        "charge.csv",
    ] {
        assert!(names.iter().any(|known| known == name), "{name} is not in {names:?}");
    }
    for name in ["session.csv", "tablet_key.csv", "calendar_feed.csv", "submission.csv"] {
        assert!(!names.iter().any(|known| known == name), "{name} is in it");
    }
    let mut read = |name: &str| {
        let mut table = String::new();
        zip.by_name(name).unwrap().read_to_string(&mut table).unwrap();
        table
    };
    assert!(!read("staff.csv").contains("password"), "no password leaves the house");
    let clients = read("client.csv");
    let mut rows = csv::Reader::from_reader(clients.as_bytes());
    let names: Vec<String> = rows.records().map(|row| row.unwrap()[2].to_owned()).collect();
    assert_eq!(names, ["Corra Test", "'=HYPERLINK(\"http://x.test\")"]);
    assert!(read("client_phone.csv").contains("'+49 171 555"));
    let visits = read("visit.csv");
    assert!(visits.contains(&f.visit.to_string()) && visits.contains("2026-03-11T08:00:00Z"), "{visits}");

    // Nobody else fetches it, and nobody does later.
    let second = test.signed_in(Role::Vet).await.get(&file).await;
    assert_eq!(second.status, StatusCode::FORBIDDEN);
    test.set_clock(test.now().plus_minutes(10));
    assert_eq!(owner.get(&file).await.status, StatusCode::NOT_FOUND);
    assert_eq!(owner.get("/practice/audit").await.texts(".lines b"), ["exported everything"]);
}

#[test]
fn a_cell_that_a_spreadsheet_would_reckon_with_is_words() {
    for (cell, safe_cell) in [
        ("=1+1", "'=1+1"),
        ("+49", "'+49"),
        ("-3", "'-3"),
        ("@a", "'@a"),
        ("\ta", "'\ta"),
        ("\ra", "'\ra"),
        ("a=1", "a=1"),
        ("", ""),
    ] {
        assert_eq!(safe::cell(cell), safe_cell);
    }
}

#[tokio::test]
async fn a_contact_is_a_card_whose_lines_keep_to_the_standard() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let long = "Ö".repeat(60);
    let fields = [
        ("name", "Sørensen, Anna; of \\ the Hill"),
        ("kind", "person"),
        ("email", "anna@hill.test"),
        ("phone_number", "+45 20 55 01"),
        ("phone_label", "mobile"),
        ("address_lines", &*format!("Mill Lane 3\n{long}")),
    ];
    let client = desk.submit("/clients", &fields).await.location().to_owned();
    let card = desk.get(&format!("{client}.vcf")).await;
    assert_eq!(card.headers[header::CONTENT_TYPE], "text/vcard; charset=utf-8");
    assert!(card.text.starts_with("BEGIN:VCARD\r\nVERSION:4.0\r\n") && card.text.ends_with("END:VCARD\r\n"));
    assert!(card.text.split("\r\n").all(|line| line.len() <= 75 && !line.contains('\n')), "{}", card.text);
    let lines: Vec<String> = card.text.replace("\r\n ", "").split("\r\n").map(str::to_owned).collect();
    for line in [
        "FN:Sørensen\\, Anna\\; of \\\\ the Hill".to_owned(),
        "TEL;VALUE=uri;TYPE=cell:tel:+45205501".into(),
        "EMAIL:anna@hill.test".into(),
        format!("ADR:;;Mill Lane 3\\n{long};;;;"),
        format!("UID:urn:uuid:{}", client.rsplit('/').next().unwrap()),
    ] {
        assert!(lines.contains(&line), "{line} is not in {lines:?}");
    }
    assert_eq!(desk.get("/clients/none.vcf").await.status, StatusCode::NOT_FOUND);
}
