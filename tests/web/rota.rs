//! The rota: set for a week and as a pattern, read everywhere, and who is called first in an emergency.

use axum::http::StatusCode;
use limbledger::{accounts::Role, ids::SubmissionId};

use crate::support::{Fixture, TestApp};

#[tokio::test]
async fn the_rota_is_set_for_a_week_and_as_a_pattern_and_read_at_the_moment() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let orla = test.another_vet("Orla Test").await.to_string();
    let vala = test.vet.to_string();
    let mut owner = test.signed_in(Role::Owner).await;
    let mut desk = test.signed_in(Role::Desk).await;

    // Empty says so, wherever somebody asks.
    let empty = desk.get("/rota").await;
    assert!(empty.texts("#empty")[0].starts_with("The rota is empty"));
    assert!(!empty.has("a[href*='set=']"), "the desk reads it");
    assert!(desk.get("/").await.texts(".on-call")[0].contains("nobody is on the rota"));

    // Telephones stand with the hours of each vet.
    let round = format!("/practice/staff/{}/round", test.vet);
    let page = owner.get(&round).await;
    owner.fill(&page, &round, &[("hours", "Mon-Fri 8-18"), ("phone", "0555 01 42")]).await;

    let page = owner.get("/rota?week=2026-03-11&set=pattern").await;
    assert_eq!(page.texts("fieldset legend").len(), 7);
    let night = [("rota-2-night-first", vala.as_str()), ("rota-2-night-backup", vala.as_str())];
    let wrong = owner.fill(&page, "/rota", &night).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.texts("#rota-2-night-backup-error"), ["Choose somebody else to back up."]);
    let pattern = [
        ("rota-2-day-first", orla.as_str()),
        ("rota-2-night-first", vala.as_str()),
        ("rota-2-night-backup", orla.as_str()),
    ];
    let set = owner.fill(&page, "/rota", &pattern).await;
    assert_eq!(set.location(), "/rota?week=2026-03-09");
    let number = SubmissionId::new().to_string();
    let stale = [&pattern[..], &[("submission", number.as_str())]].concat();
    assert_eq!(owner.fill(&page, "/rota", &stale).await.status, StatusCode::CONFLICT);

    // Wednesday, 11 March, 9:00: the day's watch.
    let now = desk.get("/").await.texts(".on-call")[0].clone();
    assert!(now.starts_with("On call until 18:00: Orla Test (no telephone entered)"), "{now}");
    let call = desk.get(&format!("/call?horse={}", f.horse)).await.texts(".on-call")[0].clone();
    assert!(call.contains("Orla Test"), "{call}");
    let later = desk.get("/?day=2026-03-18").await.texts(".on-call");
    assert!(later[1].contains("at night, from 18:00: Vala Test 0555 01 42"), "{later:?}");

    // One week differs: what is left empty there stays as in the pattern.
    let page = owner.get("/rota?week=2026-03-09&set=week").await;
    owner.fill(&page, "/rota", &[("rota-2-night-first", orla.as_str())]).await;
    let week = desk.get("/rota?week=2026-03-11").await.texts("#rota .next .on-call");
    assert!(week[0].contains("Orla Test") && week[1].contains("Orla Test"), "{week:?}");
    let next = desk.get("/rota?week=2026-03-18").await.texts("#rota .on-call");
    assert!(next[5].contains("Vala Test 0555 01 42 · backup Orla Test"), "{next:?}");

    // At three in the night whoever is on call is offered before a vet who is nearer.
    let zone = jiff::tz::TimeZone::get("Europe/Berlin").unwrap();
    let three = "2026-03-19".parse::<limbledger::clock::Day>().unwrap().at(3, 0, &zone);
    test.set_clock(three);
    let mut desk = test.signed_in(Role::Desk).await;
    let near = desk.get(&format!("/call?horse={}&answer-RF1=yes", f.horse)).await.texts(".near li");
    assert!(near[0].starts_with("Vala Test 0555 01 42: on call; free"), "{near:?}");
    assert!(near[1].starts_with("Orla Test: backup; free"), "{near:?}");

    // The vet's calendar has it too.
    let mut vet = test.signed_in(Role::Vet).await;
    vet.submit("/me/calendar", &[]).await;
    let address = vet.get("/me/calendar").await.attrs("#address", "value").remove(0);
    let feed = vet.get(address.trim_start_matches("http://practice.test")).await.text;
    assert!(
        feed.contains("SUMMARY:On call at night\r\n") && feed.contains("TRANSP:TRANSPARENT\r\n"),
        "{feed}"
    );
    assert!(feed.contains("DTSTART:20260318T170000Z\r\nDTEND:20260319T070000Z"), "{feed}");
    // In summer time, two weeks later.
    assert!(feed.contains("DTSTART:20260401T160000Z\r\nDTEND:20260402T060000Z"), "{feed}");
}
