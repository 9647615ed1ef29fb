//! What was said with whom, what is not wanted, and what is to be told.

use axum::http::StatusCode;
use limbledger::{accounts::Role, visits::State};

use crate::support::{Fixture, TestApp, battery};

const CALL: [(&str, &str); 6] = [
    ("channel", "phone"),
    ("way", "in"),
    ("person", "the groom"),
    ("words", "Lame again since yesterday."),
    ("on", "11 Mar 2026"),
    ("at", "8:15"),
];

#[tokio::test]
async fn a_call_stands_at_the_client_and_at_the_horse_and_closes_nothing() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let list = desk.get("/follow-ups").await;
    let way = format!("/horses/{}/contacts?follow_up={}", f.horse, f.follow_up);
    assert!(list.attrs("a.button", "href").contains(&way));
    let page = desk.get(&way).await;
    assert!(page.texts("h2").contains(&"Note a contact: recheck".to_owned()), "{:?}", page.texts("h2"));
    let action = format!("/horses/{}/contacts", f.horse);
    assert_eq!(desk.fill(&page, &action, &CALL).await.location(), "/follow-ups");
    for log in [action, format!("/clients/{}/contacts", f.client)] {
        let lines = desk.get(&log).await.texts(".lines li");
        let line = &lines[0];
        for words in
            ["11 Mar 2026, 08:15", "the groom", "telephone, they came to us", "Lame again", "Dell Test"]
        {
            assert!(line.contains(words), "{words} is not in {line} of {log}");
        }
    }
    let later = desk
        .submit(&format!("/clients/{}/contacts", f.client), &[&CALL[..5], &[("at", "23:00")]].concat())
        .await;
    assert_eq!(later.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(later.has("#at-error"), "nobody called later today");
    let change = sqlx::query("update contact set words = 'no'")
        .execute(&mut *test.app.db.write().await.unwrap())
        .await;
    assert!(change.is_err(), "what was noted stays");
}

#[tokio::test]
async fn every_field_of_a_contact_takes_bad_input() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let page = format!("/clients/{}/contacts", f.client);
    battery(&mut desk, &page, &page, &CALL).await;
}

#[tokio::test]
async fn a_message_is_ready_for_every_way_that_is_wanted_and_sent_by_nobody() {
    let test = TestApp::new().await;
    let anna = test.client("Anna Marsh", "+49 555 01 42").await;
    let horse = test.horse_of("Briar & Co", anna).await;
    let visit = test.visit(horse, test.vet, "2026-03-11", (10, 0), State::Booked).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let way = format!("/visits/{visit}/message?kind=late&minutes=35");
    let page = desk.get(&way).await;
    let said = page.values_of("words").remove(0);
    assert!(said.contains("about 35 minutes late and comes to Briar & Co at about 10:35"), "{said}");
    let links = page.attrs("#sends a", "href");
    assert_eq!(links[0], "tel:+495550142");
    assert!(
        links[1].starts_with("sms:+495550142?body=Dear%20Anna%20Marsh%2C")
            && links[1].contains("Briar%20%26%20Co")
    );
    let wishes = format!("/clients/{anna}/wishes");
    desk.submit(&wishes, &[("wish_channel", "text"), ("wanted", "no"), ("wish_words", "no texts")]).await;
    let page = desk.get(&way).await;
    assert_eq!(page.attrs("#sends a", "href"), ["tel:+495550142"]);
    assert!(page.texts(".caution").iter().any(|words| words.contains("Not by text message.")));
    desk.submit(&wishes, &[("wish_channel", "text"), ("wanted", "yes")]).await;
    assert_eq!(
        desk.get(&way).await.attrs("#sends a", "href").len(),
        2,
        "wanted again, and both words are kept"
    );
    assert_eq!(test.count("contact_wish").await, 2);
    let action = format!("/visits/{visit}/message");
    let to = anna.to_string();
    let told = desk.submit(&action, &[("to", &to), ("words", &said), ("channel", "phone")]).await;
    assert_eq!(told.location(), format!("/horses/{horse}/contacts"));
    assert!(desk.get(told.location()).await.texts(".lines li")[0].contains("35 minutes late"));

    let mut owner = test.signed_in(Role::Owner).await;
    let own = [("kind", "late"), ("version", "0"), ("words", "{horse}: {time} instead.")];
    let misspelt = [("kind", "late"), ("version", "0"), ("words", "Dear {client},\n{hors} is due.")];
    let wrong = owner.submit("/practice/messages", &misspelt).await;
    assert!(
        wrong.texts(".error").join(" ").contains("Line 2: nothing is called {hors}."),
        "{:?}",
        wrong.texts(".error")
    );
    owner.submit("/practice/messages", &own).await;
    assert_eq!(desk.get(&way).await.values_of("words"), ["Briar & Co: 10:35 instead."]);
    assert_eq!(owner.submit("/practice/messages", &own).await.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn who_waits_is_told_from_twenty_minutes_on() {
    let test = TestApp::new().await;
    let anna = test.client("Anna Marsh", "0555 01 42").await;
    let horse = test.horse_of("Briar", anna).await;
    test.visit(test.horse("First").await, test.vet, "2026-03-11", (8, 0), State::InHand).await;
    let next = test.visit(horse, test.vet, "2026-03-11", (10, 0), State::Booked).await;
    let mut vet = test.signed_in(Role::Vet).await;
    // The one in hand should have ended at 8:45, and it is 9:00.
    let page = vet.get("/late").await;
    assert_eq!(page.values_of("minutes"), ["15"]);
    assert!(page.text.contains("nobody has to be told") && !page.text.contains("Tell Anna"));
    let page = vet.get("/late?minutes=25").await;
    let way = format!("/visits/{next}/message?kind=late&minutes=25&to={anna}");
    assert!(page.attrs("a.button", "href").contains(&way), "{:?}", page.attrs("a.button", "href"));
    assert!(page.texts(".lines .what").iter().any(|words| words.contains("10:25")));
    let odd = vet.get("/late?minutes=soon").await;
    assert_eq!(
        (odd.status, odd.values_of("minutes")),
        (StatusCode::UNPROCESSABLE_ENTITY, vec!["soon".to_owned()])
    );
}

#[tokio::test]
async fn a_horse_that_did_not_come_is_closed_with_what_was_heard() {
    let test = TestApp::new().await;
    let visit = test.visit(test.horse("Briar").await, test.vet, "2026-03-11", (8, 0), State::Booked).await;
    let mut desk = test.signed_in(Role::Desk).await;
    assert!(desk.get("/").await.attrs("a.button", "href").contains(&format!("/visits/{visit}#no-show")));
    let steps = format!("/visits/{visit}/steps");
    let bare = desk.submit(&steps, &[("step", "did_not_come")]).await;
    assert_eq!(bare.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(bare.attrs(".errors a", "href"), ["#no-show-reason"]);
    desk.submit(&steps, &[("step", "did_not_come"), ("reason", "truck broke down")]).await;
    assert_eq!(test.state_of(visit).await, State::DidNotCome);
    assert!(desk.get(&format!("/visits/{visit}")).await.texts("#changes li")[0].contains("truck broke down"));
}

#[tokio::test]
async fn what_the_former_owner_said_is_not_for_the_new_one() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let log = format!("/horses/{}/contacts", f.horse);
    let page = desk.get(&log).await;
    desk.fill(&page, &log, &CALL).await;
    let anna = test.client("Anna Marsh", "0555 01 42").await.to_string();
    let people = format!("/horses/{}/parties", f.horse);
    let new = [("client", "Anna Marsh"), ("client_id", anna.as_str()), ("role", "owner"), ("instead", "yes")];
    assert_eq!(desk.submit(&people, &new).await.location(), people);
    let page = desk.get(&people).await;
    let names = page.texts(".lines li");
    assert!(names[0].contains("Anna Marsh") && names[1].contains("Corra Test"), "{names:?}");
    let page = desk.get(&log).await;
    assert_eq!(page.texts("details.fold summary"), ["With people who do not belong to it any more: 1"]);
    // The report of the visit that the former owner called about does not name them.
    let report = test.signed_in(Role::Vet).await.get(&format!("/visits/{}/report", f.visit)).await;
    assert!(report.text.contains("Anna Marsh") && !report.text.contains("Corra Test"));
}
