//! How soon, while the caller is on the line.

use axum::http::StatusCode;
use limbledger::{accounts::Role, catalogue::catalogue, visits::State};

use crate::support::{Fixture, TestApp};

#[tokio::test]
async fn one_yes_after_the_ring_is_an_emergency_with_a_vet_and_stays_on_the_visit() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;

    // Counted: take a call, yes. Nobody has said yet which horse it is.
    let ring = desk.get("/call").await;
    assert_eq!(ring.texts("#verdict .class"), ["Not known yet."]);
    let asked = ring.texts(".question legend");
    assert_eq!(asked.len(), catalogue().red_flags.len());
    assert!(asked[0].starts_with("Will it not put weight on the leg"));
    let now = desk.get("/call?answer-RF1=yes&answer-RF7=no").await;
    assert_eq!(now.texts("#verdict .class"), ["Emergency: a vet now."]);
    assert!(now.texts(".reasons li")[0].starts_with("no weight on a limb"));
    assert!(now.texts("#verdict").concat().contains("awaits the practice's approval"));
    assert!(!now.text.contains("Keep it still"), "no advice before it is approved");
    let near = now.texts(".near li");
    assert!(near[0].starts_with("Vala Test: with Testhorse until 09:45"), "{near:?}");
    assert!(!now.has(".near button"), "which horse is not known yet");
    let links = now.attrs("#new a", "href");
    assert!(links[0].ends_with("&answer-RF1=yes&answer-RF7=no"), "{links:?}");

    // Later answers hide nothing, and what was not asked is told.
    let page = desk.get(&format!("/call?horse={}&answer-RF1=yes&answer-RF7=no", f.horse)).await;
    let no: Vec<(String, &str)> =
        catalogue().red_flags.iter().skip(2).map(|flag| (format!("answer-{}", flag.code), "no")).collect();
    let mut fields: Vec<(&str, &str)> = no.iter().map(|(name, said)| (name.as_str(), *said)).collect();
    fields.extend([("go", "weigh"), ("words-1", "on three legs")]);
    let weighed = desk.fill(&page, "/call", &fields).await;
    assert_eq!(weighed.status, StatusCode::OK);
    assert_eq!(weighed.texts("#verdict .class"), ["Emergency: a vet now."]);
    assert_eq!(weighed.texts("textarea[name=words-1]"), ["on three legs"]);

    // The owner reads and approves; then the desk is told what to say.
    let mut owner = test.signed_in(Role::Owner).await;
    let advice = owner.get("/practice/advice").await;
    let rf1 = catalogue().red_flag("RF1").unwrap();
    let one = [("code", "RF1"), ("wording", rf1.advice.as_str())];
    let other = owner.submit("/practice/advice", &[("code", "RF1"), ("wording", "Walk it round.")]).await;
    assert_eq!(other.status, StatusCode::UNPROCESSABLE_ENTITY, "words that nobody wrote are not approved");
    assert!(advice.texts(".lines .soft").contains(&"awaits approval".to_owned()));
    owner.submit("/practice/advice", &one).await;
    let approved = owner.get("/practice/advice").await;
    assert!(
        approved
            .texts(".lines .soft")
            .iter()
            .any(|words| words.starts_with("approved by Olwen Test, 11 Mar 2026"))
    );
    let told = desk.fill(&page, "/call", &fields).await;
    assert!(told.texts("#verdict .reasons li").contains(&rf1.advice));
    owner.submit("/practice/advice/withdraw", &one).await;
    assert!(!desk.fill(&page, "/call", &fields).await.texts("#verdict .reasons li").contains(&rf1.advice));

    // Booked: urgent without a tick, with its answers.
    let vet = test.vet.to_string();
    let book = [("words-1", "on three legs"), ("vet", vet.as_str()), ("start", "11:00")];
    let booked = desk.fill(&weighed, "/call", &book).await;
    assert_eq!(booked.status, StatusCode::SEE_OTHER, "{:?}", booked.texts(".errors li"));
    let day = desk.get("/").await;
    assert_eq!(day.texts("#visits .state-urgent"), ["urgent"]);
    let at = day.texts("#visits .at").iter().position(|time| time == "11:00").unwrap();
    let visit = desk.get(&day.attrs("#visits a.line", "href")[at]).await;
    assert!(visit.texts("dd").contains(&rf1.ask));
    assert!(visit.texts(".caution").iter().any(|words| words.starts_with("Emergency: a vet now.")));
    assert_eq!(test.count("triage_answer").await, i64::try_from(catalogue().red_flags.len()).unwrap());
}

#[tokio::test]
async fn weeks_of_a_stiff_horse_are_no_routine_until_the_emergencies_are_asked() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let class = |page: crate::support::Page| page.texts("#verdict .class").concat();
    assert_eq!(class(desk.get("/call?answer-RF21=yes").await), "A vet today.");
    let flags = catalogue().red_flags.iter().take(19);
    let no = flags.map(|flag| format!("&answer-{}=no", flag.code)).collect::<Vec<_>>().concat();
    assert_eq!(class(desk.get(&format!("/call?answer-RF21=yes{no}")).await), "No hurry.");
    let page = desk.get(&format!("/call?answer-RF21=yes{no}")).await;
    assert_eq!(page.texts("#verdict .soft").last().unwrap(), "1 not asked yet.");
}

#[tokio::test]
async fn an_emergency_goes_to_the_nearest_and_says_what_moves() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let (_, visits) = test.zigzag("Zara Test").await;
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update yard set lat = 46.06, lon = -30 where id = ?")
        .bind(f.yard)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get(&format!("/call?horse={}&answer-RF4=yes", f.horse)).await;
    let near = page.texts(".near li");
    // 0.06° of a meridian are 6.67 km, 8.67 km of road, 10 min at 55 km/h.
    assert!(
        near[0].starts_with("Zara Test: free, 10 min from the practice: there by 09:10. Farrow at 10:00"),
        "{near:?}"
    );
    let choices = page.texts(&format!(".near select[name='move-{}'] option", visits[0]));
    assert!(choices[1].starts_with("to today ") && choices[2] == "no time yet: ring back", "{choices:?}");
    assert_eq!(page.texts(".near button"), ["Send Zara Test and move 1", "Send Vala Test"]);
    assert!(
        near[1].starts_with("Vala Test: with Testhorse until 09:45, 0 min from Test Yard: there by 09:45"),
        "{near:?}"
    );
    let take = page.attrs(".near button", "value");
    let sent = desk.fill(&page, "/call", &[("words-1", "a nail in the foot"), ("take", &take[1])]).await;
    assert_eq!(sent.status, StatusCode::SEE_OTHER, "{:?}", sent.texts(".errors li"));
    let day = desk.get("/").await;
    assert!(day.texts("#visits .at").contains(&"09:45".to_owned()));
    assert_eq!(test.state_of(visits[0]).await, State::Booked);
    assert_eq!(test.count("to_tell").await, 0, "what stands in another vet's way stays");
}
