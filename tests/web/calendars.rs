//! A vet's feed, octet by octet against RFC 5545, and what happens to it when visits move.

use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use limbledger::{accounts::Role, ids::VisitId, visits::State};

use crate::support::{Browser, Fixture, TestApp};

/// A calendar as it was sent: every line as RFC 5545 has it, unfolded.
fn lines(text: &str) -> Vec<String> {
    assert!(text.ends_with("END:VCALENDAR\r\n"));
    for line in text.trim_end_matches("\r\n").split("\r\n") {
        assert!(line.len() <= 75, "{} octets: {line}", line.len());
        assert!(
            !line.is_empty() && !line.contains(['\r', '\n']),
            "a line ends in CRLF and nowhere else: {line:?}"
        );
        assert!(line.chars().all(|c| c == '\t' || !c.is_control()));
    }
    text.replace("\r\n ", "").trim_end().split("\r\n").map(str::to_owned).collect()
}

/// The value of a property of the event of a visit.
fn of(lines: &[String], visit: VisitId, name: &str) -> String {
    let at = lines.iter().position(|line| *line == format!("UID:{visit}")).unwrap();
    let begin = lines[..at].iter().rposition(|line| line == "BEGIN:VEVENT").unwrap();
    let end = begin + lines[begin..].iter().position(|line| line == "END:VEVENT").unwrap();
    let found: Vec<&str> = lines[begin..end]
        .iter()
        .filter_map(|line| line.split_once(':').filter(|(known, _)| *known == name))
        .map(|(_, value)| value)
        .collect();
    assert_eq!(found.len(), 1, "{name} stands once");
    found[0].to_owned()
}

async fn address(vet: &mut Browser) -> String {
    let page = vet.get("/me/calendar").await;
    let full = page.attrs("#address", "value").remove(0);
    full.trim_start_matches("http://practice.test").to_owned()
}

#[tokio::test]
async fn a_feed_keeps_to_the_standard_and_follows_its_visits() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let mut owner = test.signed_in(Role::Owner).await;
    vet.submit("/me/calendar", &[]).await;
    let feed = address(&mut vet).await;
    // Before and after the clocks change, 29 March 2026: nine o'clock is eight, then seven in UTC.
    let winter = test.visit(f.horse, test.vet, "2026-03-28", (9, 0), State::Booked).await;
    let summer = test.visit(f.horse, test.vet, "2026-03-29", (9, 0), State::Booked).await;
    let mut phone = test.stranger();
    let first = phone.get(&feed).await;
    assert_eq!(first.headers[header::CONTENT_TYPE], "text/calendar; charset=utf-8");
    let all = lines(&first.text);
    assert_eq!(
        &all[..4],
        ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Limbledger//Visits//EN", "CALSCALE:GREGORIAN"]
    );
    assert!(!all.iter().any(|line| line.starts_with("METHOD")), "nobody is invited");
    assert_eq!(of(&all, winter, "DTSTART"), "20260328T080000Z");
    assert_eq!(of(&all, summer, "DTSTART"), "20260329T070000Z");
    assert_eq!(of(&all, summer, "DTEND"), "20260329T074500Z");
    assert_eq!(
        of(&all, summer, "DTSTAMP"),
        "20260311T080000Z",
        "when it was changed, not when it was asked for"
    );
    assert_eq!((of(&all, summer, "SEQUENCE"), of(&all, summer, "STATUS")), ("0".into(), "CONFIRMED".into()));
    assert_eq!(
        (of(&all, f.visit, "SUMMARY"), of(&all, f.visit, "LOCATION")),
        ("Visit".into(), "Test Yard".into())
    );
    assert!(!first.text.contains("Corra") && !first.text.contains("Testhorse"), "no name but what is chosen");

    // The same to the octet until something changes.
    let tag = first.headers[header::ETAG].clone();
    let ask = Request::get(&feed).header(header::HOST, "practice.test").header(header::IF_NONE_MATCH, tag);
    assert_eq!(phone.send(ask, Body::empty()).await.status, StatusCode::NOT_MODIFIED);

    // Odd letters are written out and folded; the practice chooses that names are said.
    let odd = format!("Mill; Lane, \\ {}\u{1f40e}", "ä".repeat(70));
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update client set name = ?").bind(&odd).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    owner.submit("/practice/calendars", &[("shows", "client")]).await;
    let all = lines(&phone.get(&feed).await.text);
    let escaped = odd.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,");
    assert_eq!(of(&all, summer, "SUMMARY"), format!("Visit: Testhorse ({escaped})"));

    // Moved, given away, cancelled: the number rises, and what is gone is cancelled and not missing.
    let before = of(&all, winter, "SEQUENCE").parse::<i64>().unwrap();
    let orla = test.another_vet("Orla Test").await;
    for (visit, sql) in [
        (summer, "update visit set starts_at = starts_at + 3600000, version = version + 1 where id = ?1"),
        (winter, "update visit set vet_id = ?2, version = version + 1 where id = ?1"),
    ] {
        let mut tx = test.app.db.write().await.unwrap();
        sqlx::query(sql).bind(visit).bind(orla).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
    }
    let all = lines(&phone.get(&feed).await.text);
    assert_eq!(
        (of(&all, summer, "DTSTART"), of(&all, summer, "SEQUENCE")),
        ("20260329T080000Z".into(), "1".into())
    );
    assert_eq!(of(&all, winter, "STATUS"), "CANCELLED");
    assert!(of(&all, winter, "SEQUENCE").parse::<i64>().unwrap() > before);
    vet.submit(&format!("/visits/{summer}/steps"), &[("step", "cancel"), ("reason", "sold")]).await;
    let all = lines(&phone.get(&feed).await.text);
    assert_eq!((of(&all, summer, "STATUS"), of(&all, summer, "SEQUENCE")), ("CANCELLED".into(), "2".into()));

    // Withdrawn, it is a page that is not there; another one is good.
    let page = vet.get("/me/calendar").await;
    vet.fill(&page, "/me/calendar/withdraw", &[]).await;
    assert_eq!(phone.get(&feed).await.status, StatusCode::NOT_FOUND);
    vet.submit("/me/calendar", &[]).await;
    let second = address(&mut vet).await;
    assert_ne!(feed, second);
    assert_eq!(phone.get(&second).await.status, StatusCode::OK);
}

#[tokio::test]
async fn the_day_on_paper_says_where_what_and_what_to_watch() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut tx = test.app.db.write().await.unwrap();
    for sql in [
        "update yard set address = 'Mill Lane 3', note = 'Second gate, code 1234'",
        "update horse set temperament_note = 'kicks behind'",
        "update diagnostic_order set planned_on = '2026-03-11'",
    ] {
        sqlx::query(sql).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    test.visit(f.horse, test.vet, "2026-03-12", (9, 0), State::Booked).await;
    let sheet = test.signed_in(Role::Vet).await.get("/day-sheet").await;
    let facts = sheet.texts("section dd").join(" | ");
    for words in
        ["Test Yard, Mill Lane 3", "code 1234", "Corra Test (owner)", "recheck, due 20 Mar 2026", "plates"]
    {
        assert!(facts.contains(words), "{words} is not in {facts}");
    }
    assert_eq!(sheet.texts(".caution"), ["Take care. kicks behind"]);
    assert_eq!(sheet.texts("section h2").len(), 1, "tomorrow stands on another sheet");
    let desk = test.signed_in(Role::Desk).await.get("/day-sheet").await;
    assert!(!desk.text.contains("plates"), "the desk does not see what was ordered");
}
