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

/// A vet with a feed, and a visit on either side of the change of clocks of 29 March 2026.
struct Feed {
    test: TestApp,
    now: VisitId,
    winter: VisitId,
    summer: VisitId,
    vet: Browser,
    phone: Browser,
    address: String,
}

impl Feed {
    async fn new() -> Self {
        let test = TestApp::new().await;
        let f = Fixture::new(&test).await;
        let mut vet = test.signed_in(Role::Vet).await;
        vet.submit("/me/calendar", &[]).await;
        let address = address(&mut vet).await;
        let winter = test.visit(f.horse, test.vet, "2026-03-28", (9, 0), State::Booked).await;
        let summer = test.visit(f.horse, test.vet, "2026-03-29", (9, 0), State::Booked).await;
        Feed { now: f.visit, winter, summer, vet, phone: test.stranger(), address, test }
    }

    async fn lines(&mut self) -> Vec<String> {
        lines(&self.phone.get(&self.address).await.text)
    }
}

#[tokio::test]
async fn a_feed_keeps_to_the_standard_over_a_change_of_clocks() {
    let Feed { test, now, winter, summer, mut phone, address, .. } = Feed::new().await;
    let first = phone.get(&address).await;
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
    assert_eq!((of(&all, now, "SUMMARY"), of(&all, now, "LOCATION")), ("Visit".into(), "Test Yard".into()));
    assert!(!first.text.contains("Corra") && !first.text.contains("Testhorse"), "no name but what is chosen");

    // The same to the octet until something changes.
    let tag = first.headers[header::ETAG].clone();
    let ask = Request::get(&address).header(header::HOST, "practice.test").header(header::IF_NONE_MATCH, tag);
    assert_eq!(phone.send(ask, Body::empty()).await.status, StatusCode::NOT_MODIFIED);

    // Odd letters are written out and folded; the practice chooses that names are said.
    let odd = format!("Mill; Lane, \\ {}\u{1f40e}", "ä".repeat(70));
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update client set name = ?").bind(&odd).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    test.signed_in(Role::Owner).await.submit("/practice/calendars", &[("shows", "client")]).await;
    let all = lines(&phone.get(&address).await.text);
    let escaped = odd.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,");
    assert_eq!(of(&all, summer, "SUMMARY"), format!("Visit: Testhorse ({escaped})"));
}

#[tokio::test]
async fn what_is_moved_given_away_or_cancelled_has_a_higher_number_and_is_never_missing() {
    let mut feed = Feed::new().await;
    let (winter, summer) = (feed.winter, feed.summer);
    let before = of(&feed.lines().await, winter, "SEQUENCE").parse::<i64>().unwrap();
    let orla = feed.test.another_vet("Orla Test").await;
    for (visit, sql) in [
        (summer, "update visit set starts_at = starts_at + 3600000, version = version + 1 where id = ?1"),
        (winter, "update visit set vet_id = ?2, version = version + 1 where id = ?1"),
    ] {
        let mut tx = feed.test.app.db.write().await.unwrap();
        sqlx::query(sql).bind(visit).bind(orla).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
    }
    let all = feed.lines().await;
    assert_eq!(
        (of(&all, summer, "DTSTART"), of(&all, summer, "SEQUENCE")),
        ("20260329T080000Z".into(), "1".into())
    );
    assert_eq!(of(&all, winter, "STATUS"), "CANCELLED");
    assert!(of(&all, winter, "SEQUENCE").parse::<i64>().unwrap() > before);
    feed.vet.submit(&format!("/visits/{summer}/steps"), &[("step", "cancel"), ("reason", "sold")]).await;
    let all = feed.lines().await;
    assert_eq!((of(&all, summer, "STATUS"), of(&all, summer, "SEQUENCE")), ("CANCELLED".into(), "2".into()));
}

#[tokio::test]
async fn a_withdrawn_address_is_a_page_that_is_not_there_and_another_one_is_good() {
    let Feed { test: _kept, mut vet, mut phone, address: first, .. } = Feed::new().await;
    let page = vet.get("/me/calendar").await;
    vet.fill(&page, "/me/calendar/withdraw", &[]).await;
    assert_eq!(phone.get(&first).await.status, StatusCode::NOT_FOUND);
    vet.submit("/me/calendar", &[]).await;
    let second = address(&mut vet).await;
    assert_ne!(first, second);
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
