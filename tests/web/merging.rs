//! Two rows that are one: everything hangs on the one that stays, the record is untouched, old addresses lead on.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    horses::{self, NewParty, PartyRole},
    ids::ClientId,
    record::{self, Body, Kind},
    visits::State,
};

use crate::support::{
    TestApp,
    record::{Story, finding, on},
};

/// Two rows of one horse, each with people and a visit in the record; the visit of the second is signed.
async fn both(test: &TestApp) -> (Story<'_>, Story<'_>, limbledger::ids::VisitId) {
    let story = Story::new(test).await;
    let other = Story { test, horse: test.horse("Briar Rose").await };
    let (anna, ben) = (test.client("Anna Marsh", "0555 1").await, test.client("Ben Ode", "0555 2").await);
    let mut tx = test.app.db.write().await.unwrap();
    let trainer = |client: ClientId| NewParty { role: PartyRole::Trainer, ..NewParty::owner(client) };
    for (horse, party) in [
        (story.horse, NewParty { pays: false, ..NewParty::owner(anna) }),
        (other.horse, NewParty::owner(anna)),
        (other.horse, trainer(ben)),
    ] {
        horses::store::add_party(&mut tx, horse, &party, test.now()).await.unwrap();
    }
    tx.commit().await.unwrap();
    let kept_visit = story.visit("2026-03-02").await;
    story.say(kept_visit, on(finding("FETL_D", "R", "EFF", 1.0, "effusion_0_4"), Some("RF"))).await;
    let visit = other.visit("2026-03-03").await;
    other.say(visit, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    other.sign(visit).await;
    let moved = Body { from_horse: Some(other.horse), to_horse: Some(story.horse), ..Body::new(Kind::Moved) };
    story.say(kept_visit, moved).await;
    (story, other, visit)
}

#[tokio::test]
async fn two_horses_become_one_and_nothing_is_lost() {
    let test = TestApp::new().await;
    let (story, other, visit) = both(&test).await;
    let before: Vec<(i64, Vec<u8>)> = sqlx::query_as("select seq, chain from entry order by seq")
        .fetch_all(test.app.db.read())
        .await
        .unwrap();

    let mut desk = test.signed_in(Role::Desk).await;
    let action = format!("/horses/{}/merge", story.horse);
    let page = desk.get(&format!("{action}?with={}", other.horse)).await;
    assert!(
        page.texts("td").iter().any(|words| words.contains("Ben Ode (trainer)")),
        "{:?}",
        page.texts("td")
    );
    let answer = desk.fill(&page, &action, &[("reason", "one passport"), ("take-name", "there")]).await;
    assert_eq!(answer.location(), format!("/horses/{}", story.horse), "{:?}", answer.texts(".errors li"));

    let horse = desk.get(answer.location()).await;
    assert_eq!(horse.texts("h1"), ["Briar Rose"], "the name of the other was chosen");
    assert!(horse.text.contains("Put together with “Briar Rose” by Dell Test"), "the trace is shown");
    let parties = horses::store::parties(test.app.db.read(), story.horse).await.unwrap();
    let people: Vec<(&str, &str, bool)> =
        parties.iter().map(|p| (p.name.as_str(), p.role.key(), p.pays)).collect();
    assert_eq!(people, [("Anna Marsh", "owner", true), ("Ben Ode", "trainer", true)]);
    let visits = limbledger::visits::store::of_horse(test.app.db.read(), story.horse).await.unwrap();
    assert_eq!(visits.len(), 2);

    // The record is what it was, link by link, and is shown as one story.
    let after: Vec<(i64, Vec<u8>)> = sqlx::query_as("select seq, chain from entry order by seq")
        .fetch_all(test.app.db.read())
        .await
        .unwrap();
    assert_eq!(after, before);
    assert!(record::verify(test.app.db.read(), 0).await.unwrap().is_ok());
    let mut vet = test.signed_in(Role::Vet).await;
    let history = vet.get(&format!("/horses/{}/history", story.horse)).await;
    assert!(history.text.contains("2 Mar") && history.text.contains("3 Mar"), "both visits are one history");
    assert_eq!(vet.get(&format!("/visits/{visit}/report")).await.status, StatusCode::OK);

    // Old addresses lead on, with what they asked for.
    for page in ["", "/parties", "/history", "/contacts"] {
        let old = vet.get(&format!("/horses/{}{page}", other.horse)).await;
        assert_eq!(old.location(), format!("/horses/{}{page}", story.horse), "{page}");
    }
    let call = vet.get(&format!("/call?horse={}", other.horse)).await;
    assert_eq!(call.location(), format!("/call?horse={}", story.horse));
    let hits = vet.get("/search?q=briar").await.texts("#results a");
    assert_eq!(hits.len(), 1, "{hits:?}");
    let kept = limbledger::merging::store::kept_horse(test.app.db.read(), other.horse).await.unwrap();
    assert_eq!(kept, story.horse, "a tablet and a picture that know the old number find the horse");
    assert!(test.signed_in(Role::Owner).await.get("/practice/audit").await.text.contains("put together"));
}

#[tokio::test]
async fn two_chips_are_most_likely_two_horses() {
    let test = TestApp::new().await;
    let anna = test.client("Anna Marsh", "0555 1").await;
    let chipped =
        |name: &str, chip: &str| horses::Details { microchip: chip.into(), ..horses::Details::named(name) };
    let one = test.horse_with(anna, chipped("Briar", "276098100000012")).await;
    let two = test.horse_with(anna, chipped("Briar", "276098100000020")).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let action = format!("/horses/{one}/merge");
    let page = desk.get(&format!("{action}?with={two}")).await;
    let refused = desk.fill(&page, &action, &[("reason", "same name")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.has("#sure-error"));
    assert_eq!(refused.values_of("reason"), ["same name"]);
    assert_eq!(test.count("horse").await, 2);
}

#[tokio::test]
async fn two_clients_become_one_with_the_phones_of_both() {
    let test = TestApp::new().await;
    let (one, two) =
        (test.client("Anna Marsh", "0555 1000").await, test.client("A. Marsh", "0666 2000").await);
    let three = test.client("Anna Marsh sen.", "0555 1000").await;
    let horse = test.horse_of("Briar", two).await;
    test.visit(horse, test.vet, "2026-03-12", (9, 0), State::Booked).await;
    let mut desk = test.signed_in(Role::Desk).await;
    for old in [two, three] {
        let action = format!("/clients/{one}/merge");
        let page = desk.get(&format!("{action}?with={old}")).await;
        let answer = desk.fill(&page, &action, &[("reason", "she said so")]).await;
        assert_eq!(answer.location(), format!("/clients/{one}"), "{:?}", answer.texts(".errors li"));
        let again = desk.fill(&page, &action, &[("reason", "she said so"), ("submission", "")]).await;
        assert_eq!(again.status, StatusCode::CONFLICT, "it was done meanwhile");
    }
    let page = desk.get(&format!("/clients/{two}")).await;
    let page = desk.get(page.location()).await;
    assert_eq!(page.texts("a[href^='tel:']"), ["0555 1000", "0666 2000"]);
    assert!(page.texts(".lines a").contains(&"Briar".to_owned()));
    assert_eq!(page.texts("h1"), ["Anna Marsh"]);
}
