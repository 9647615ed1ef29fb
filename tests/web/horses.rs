//! Horses: entered, changed, weighed, and what happens when one is sold or dies.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    clock::{At, Day},
    followups::{self, store::NewFollowUp},
    horses::{self, Details},
    ids::{HorseId, VisitId},
};

use crate::support::{TestApp, battery, twice};

/// A made-up animal of Germany (276, ISO 3166-1), in the form of ISO 11784.
const CHIP: &str = "276098106543210";

async fn briar(test: &TestApp) -> HorseId {
    let owner = test.client("Anna Marsh", "0555 01 42").await;
    let details = Details { born: "2017".into(), microchip: CHIP.into(), ..Details::named("Briar") };
    test.horse_with(owner, details).await
}

#[tokio::test]
async fn a_horse_is_entered_and_its_page_says_who_it_is() {
    let test = TestApp::new().await;
    let owner = test.client("Anna Marsh", "0555 01 42").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let form = desk.get(&format!("/horses/new?client={owner}")).await;
    let fields = [
        ("name", "Briar"),
        ("stable_name", "Bo"),
        ("sex", "male"),
        ("neutered", "yes"),
        ("born", "9 y"),
        ("breed", "akhal-teke"),
        ("colour", "bay"),
        ("height", "165"),
        ("microchip", "276 0981 0654 3210"),
        ("temperament", "KICKS_LIFT"),
        ("temperament_note", "Trusts Tarn."),
        ("food_chain", "excluded"),
    ];
    let answer = desk.fill(&form, "/horses", &fields).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
    let page = desk.get(answer.location()).await;
    assert_eq!(page.texts("h1"), ["Briar"]);
    let line = page.texts(".head .horse-line").join(" ");
    for part in ["“Bo”", "bay gelding, 9 y", "akhal-teke", "Anna Marsh"] {
        assert!(line.contains(part), "{part} is missing in {line}");
    }
    let caution = page.texts(".caution").join(" ");
    assert!(caution.contains("agree on the holder first") && caution.contains("Trusts Tarn."), "{caution}");
    assert!(page.texts("dd").contains(&CHIP.to_owned()));
    assert!(page.text.contains("excluded for life"));
    let code: Option<String> =
        sqlx::query_scalar("select breed_code from horse").fetch_one(test.app.db.read()).await.unwrap();
    assert_eq!(code.as_deref(), Some("133121003"), "SNOMED CT, DICOM PS3.16 CID 7480");
}

#[tokio::test]
async fn the_desk_gets_no_way_into_the_record() {
    let test = TestApp::new().await;
    let id = briar(&test).await;
    let history = format!("a[href='/horses/{id}/history']");
    let page = format!("/horses/{id}");
    assert!(!test.signed_in(Role::Desk).await.get(&page).await.has(&history));
    assert!(test.signed_in(Role::Vet).await.get(&page).await.has(&history));
}

#[tokio::test]
async fn odd_numbers_are_kept_with_a_warning_and_wrong_ones_refused() {
    let test = TestApp::new().await;
    let id = briar(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let (edit, action) = (format!("/horses/{id}/edit"), format!("/horses/{id}"));
    for (field, wrong) in [("microchip", "12345"), ("microchip", "999000000000001"), ("ueln", "DE123")] {
        let form = desk.get(&edit).await;
        let answer = desk.fill(&form, &action, &[(field, wrong)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong}");
        assert!(answer.has(&format!("#{field}-error")), "{wrong}");
        assert_eq!(answer.values_of(field), [wrong]);
    }
    let form = desk.get(&edit).await;
    let answer = desk.fill(&form, &action, &[("microchip", "001098106543210")]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert!(desk.get(&action).await.texts(".caution").join(" ").contains("001 is no country"));
}

#[tokio::test]
async fn a_microchip_of_another_living_horse_is_a_warning() {
    let test = TestApp::new().await;
    let first = briar(&test).await;
    let second = briar(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get(&format!("/horses/{second}")).await;
    assert!(page.has(&format!(".caution a[href='/horses/{first}']")));
    end(&mut desk, first, "dead", "10 Mar 2026").await;
    assert!(!desk.get(&format!("/horses/{second}")).await.has(".caution"));
}

#[tokio::test]
async fn heights_and_weights_come_in_the_unit_of_the_practice_and_are_kept_in_one() {
    let test = TestApp::new().await;
    let id = briar(&test).await;
    sqlx_write(&test, "update practice set height_unit = 'hands', weight_unit = 'lb'").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let (edit, action) = (format!("/horses/{id}/edit"), format!("/horses/{id}"));
    let form = desk.get(&edit).await;
    assert!(
        desk.fill(&form, &action, &[("height", "16.5")]).await.has("#height-error"),
        "a hand has four inches"
    );
    let form = desk.get(&edit).await;
    assert_eq!(desk.fill(&form, &action, &[("sex", "male"), ("height", "16.1")]).await.location(), action);
    // 16 hands of 4 inches and 1 inch, an inch being 2.54 cm.
    assert_eq!(number(&test, "select height_cm from horse").await, 165.1);
    sqlx_write(&test, "update horse set height_cm = 166").await;
    let form = desk.get(&edit).await;
    desk.fill(&form, &action, &[("colour", "bay")]).await;
    assert_eq!(number(&test, "select height_cm from horse").await, 166.0, "saving rounds nothing");
    let weights = format!("/horses/{id}/weights");
    let form = desk.get(&weights).await;
    let answer = desk.fill(&form, &weights, &[("weight", "1100"), ("method", "scale")]).await;
    assert_eq!(answer.location(), action);
    // A pound is 0.45359237 kg.
    assert!((number(&test, "select kg from horse_weight").await - 498.951_607).abs() < 1e-6);
    assert!(desk.get(&action).await.text.contains("1100 lb"));
}

#[tokio::test]
async fn weights_that_no_horse_has_and_days_that_cannot_be_are_refused() {
    let test = TestApp::new().await;
    let id = briar(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let weights = format!("/horses/{id}/weights");
    for (weight, day, field) in [
        ("5200", "1 Mar 2026", "weight"),
        ("0.5", "1 Mar 2026", "weight"),
        ("520", "12 Mar 2026", "weighed_on"),
        ("520", "31 Dec 2016", "weighed_on"),
        ("520", "31 Feb 2026", "weighed_on"),
        ("520", "", "weighed_on"),
    ] {
        let form = desk.get(&weights).await;
        let fields = [("weight", weight), ("method", "tape"), ("weighed_on", day)];
        let answer = desk.fill(&form, &weights, &fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{weight} on {day}");
        assert!(answer.has(&format!("#{field}-error")), "{weight} on {day}");
    }
    for (weight, day) in [("500", "1 Mar 2025"), ("540", "1 Sep 2025"), ("520", "1 Mar 2026")] {
        let form = desk.get(&weights).await;
        desk.fill(&form, &weights, &[("weight", weight), ("method", "tape"), ("weighed_on", day)]).await;
    }
    let page = desk.get(&format!("/horses/{id}")).await;
    let says = page.attrs("svg.weights", "aria-label");
    assert_eq!(
        says,
        ["Weight from 500 kg on 1 Mar 2025 to 520 kg on 1 Mar 2026, between 500 kg and 540 kg."]
    );
    assert!(page.text.contains("520 kg"));
}

#[tokio::test]
async fn people_are_added_by_part_of_a_name_and_several_are_offered() {
    let test = TestApp::new().await;
    let id = briar(&test).await;
    let reed = test.client("Tom Reed", "0555 20 20").await;
    test.client("Tom Reedham", "0555 30 30").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let parties = format!("/horses/{id}/parties");
    let form = desk.get(&parties).await;
    let fields = [("client", "reed"), ("role", "trainer"), ("may", "authorise")];
    let offer = desk.fill(&form, &parties, &fields).await;
    assert_eq!(offer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(offer.attrs("input[name=client_id]", "value").len(), 2);
    let answer = desk.fill(&offer, &parties, &[("client_id", &reed.to_string())]).await;
    assert_eq!(answer.location(), parties, "{:?}", answer.texts(".errors li"));
    let page = desk.get(&format!("/horses/{id}")).await;
    assert!(
        page.texts(".lines li").iter().any(|l| l == "Tom Reed trainer 0555 20 20 may authorise"),
        "{:?}",
        page.texts(".lines li")
    );
    let again = desk.get(&parties).await;
    let twice = desk.fill(&again, &parties, &[("client", "0555-2020"), ("role", "trainer")]).await;
    assert!(twice.has("#role-error"), "the same role a second time");
    let remove = desk.get(&parties).await.attrs("form.row-actions", "action");
    let page = desk.get(&parties).await;
    desk.fill(&page, remove.last().unwrap(), &[]).await;
    assert_eq!(test.count("party").await, 1);
}

#[tokio::test]
async fn a_sold_or_dead_horse_stops_bookings_at_once_and_keeps_its_promises_open() {
    for (status, word) in [("sold", "Sold since 10 Mar 2026."), ("dead", "Dead since 10 Mar 2026.")] {
        let test = TestApp::new().await;
        let id = briar(&test).await;
        let visit = book(&test, id).await;
        promise(&test, id).await;
        let mut desk = test.signed_in(Role::Desk).await;
        let before = desk.get(&format!("/horses/{id}")).await;
        assert!(
            before.has(&format!("a[href='/call?horse={id}']"))
                && before.has(&format!("a[href='/visits/{visit}']"))
        );
        end(&mut desk, id, status, "10 Mar 2026").await;
        let state: String =
            sqlx::query_scalar("select state from visit").fetch_one(test.app.db.read()).await.unwrap();
        assert_eq!(state, "cancelled");
        let reason: String =
            sqlx::query_scalar("select reason from visit_change order by at desc, id desc limit 1")
                .fetch_one(test.app.db.read())
                .await
                .unwrap();
        assert_eq!(reason, format!("Briar: {status} since 10 Mar 2026."));
        let open: String =
            sqlx::query_scalar("select state from follow_up").fetch_one(test.app.db.read()).await.unwrap();
        assert_eq!(open, "open");
        assert!(!horses::store::is_seen(test.app.db.read(), id).await.unwrap());
        let page = desk.get(&format!("/horses/{id}")).await;
        assert!(page.texts(".stop-strip").join(" ").contains(word), "{:?}", page.texts(".stop-strip"));
        assert!(!page.has(&format!("a[href='/call?horse={id}']")), "nothing more is booked");
        assert!(page.texts("#to-close li").join(" ").contains("look at it again"));
        let drop = page.attrs("#to-close .drop form", "action").remove(0);
        assert_eq!(desk.fill(&page, &drop, &[("reason", "it was sold")]).await.status, StatusCode::SEE_OTHER);
        assert!(!desk.get(&format!("/horses/{id}")).await.has("#to-close"), "nothing is left to close");
        assert!(!desk.get("/horses").await.texts(".lines a").contains(&"Briar".to_owned()));
        assert!(desk.get("/horses?gone=yes").await.texts(".lines a").contains(&"Briar".to_owned()));
    }
}

#[tokio::test]
async fn a_retired_horse_is_still_seen_and_a_mistake_is_put_right() {
    let test = TestApp::new().await;
    let id = briar(&test).await;
    book(&test, id).await;
    let mut desk = test.signed_in(Role::Desk).await;
    end(&mut desk, id, "retired", "1 Feb 2026").await;
    assert!(horses::store::is_seen(test.app.db.read(), id).await.unwrap());
    assert_eq!(test.count("visit where state = 'booked'").await, 1);
    end(&mut desk, id, "sold", "10 Mar 2026").await;
    end(&mut desk, id, "here", "11 Mar 2026").await;
    assert!(horses::store::is_seen(test.app.db.read(), id).await.unwrap());
    assert!(!desk.get(&format!("/horses/{id}")).await.has(".stop-strip"));
}

#[tokio::test]
async fn a_horse_ends_neither_before_its_birth_nor_tomorrow() {
    let test = TestApp::new().await;
    let id = briar(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let status = format!("/horses/{id}/status");
    for day in ["12 Mar 2026", "31 Dec 2016", "30 Feb 2026", ""] {
        let form = desk.get(&status).await;
        let answer = desk.fill(&form, &status, &[("status", "dead"), ("since", day)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{day}");
        assert!(answer.has("#since-error"), "{day}");
        assert_eq!(answer.values_of("since"), [day]);
    }
    end(&mut desk, id, "dead", "1 Jan 2020").await;
    let form = desk.get(&format!("/horses/{id}/edit")).await;
    let answer = desk.fill(&form, &format!("/horses/{id}"), &[("born", "2021")]).await;
    assert!(answer.has("#born-error"), "not born after its death");
}

#[tokio::test]
async fn birthdays_come_as_dates_years_and_ages() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    for (typed, kept) in [
        ("2017", "2017"),
        ("9", "2017"),
        ("9 years", "2017"),
        ("3.5.2017", "2017-05-03"),
        ("3 May 2017", "2017-05-03"),
        ("", ""),
    ] {
        desk.submit("/horses", &[("name", "Briar"), ("sex", "male"), ("born", typed)]).await;
        let born: String = sqlx::query_scalar("select born from horse order by id desc limit 1")
            .fetch_one(test.app.db.read())
            .await
            .unwrap();
        assert_eq!(born, kept, "{typed}");
    }
    for typed in ["2027", "1900", "31 Feb 2017", "12 Mar 2026", "-3", "99 y"] {
        let answer = desk.submit("/horses", &[("name", "Briar"), ("sex", "male"), ("born", typed)]).await;
        assert!(answer.has("#born-error"), "{typed}: {}", answer.status);
    }
}

#[tokio::test]
async fn every_field_of_a_horse_takes_bad_input() {
    let test = TestApp::new().await;
    let id = briar(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let good =
        [("name", "Briar"), ("sex", "female"), ("born", "2017"), ("height", "165"), ("microchip", CHIP)];
    battery(&mut desk, "/horses/new", "/horses", &good).await;
    battery(&mut desk, &format!("/horses/{id}/edit"), &format!("/horses/{id}"), &good).await;
    let weights = format!("/horses/{id}/weights");
    let weight = [("weight", "520"), ("method", "scale"), ("weighed_on", "11 Mar 2026")];
    battery(&mut desk, &weights, &weights, &weight).await;
    let parties = format!("/horses/{id}/parties");
    battery(&mut desk, &parties, &parties, &[("client", "nobody of that name"), ("role", "rider")]).await;
    let status = format!("/horses/{id}/status");
    battery(&mut desk, &status, &status, &[("status", "here"), ("since", "11 Mar 2026")]).await;
}

#[tokio::test]
async fn what_no_form_of_ours_sends_is_refused_with_words() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let nowhere = HorseId::new().to_string();
    for (field, odd) in [
        ("sex", "dragon"),
        ("neutered", "perhaps"),
        ("yard", nowhere.as_str()),
        ("yard", "x"),
        ("food_chain", "x"),
        ("work_level", "x"),
        ("temperament", "BREATHES_FIRE"),
    ] {
        let mut fields = vec![("name", "Briar"), ("sex", "male")];
        fields.retain(|(name, _)| *name != field);
        fields.push((field, odd));
        let answer = desk.submit("/horses", &fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}={odd}");
        assert!(answer.has(&format!("#{field}-error")), "{field}={odd}");
    }
    assert_eq!(desk.get(&format!("/horses/{nowhere}")).await.status, StatusCode::NOT_FOUND);
    assert_eq!(desk.get("/horses/x").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn double_taps_and_stale_forms_of_a_horse() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    twice(&mut desk, "/horses/new", "/horses", &[("name", "Briar"), ("sex", "male")]).await;
    assert_eq!(test.count("horse").await, 1);
    let id = briar(&test).await;
    let weights = format!("/horses/{id}/weights");
    twice(&mut desk, &weights, &weights, &[("weight", "520"), ("method", "scale")]).await;
    assert_eq!(test.count("horse_weight").await, 1);
    let (edit, action, status) =
        (format!("/horses/{id}/edit"), format!("/horses/{id}"), format!("/horses/{id}/status"));
    let (stale, stale_status) = (desk.get(&edit).await, desk.get(&status).await);
    let fresh = desk.get(&edit).await;
    desk.fill(&fresh, &action, &[("colour", "bay"), ("sex", "male")]).await;
    let clash = desk.fill(&stale, &action, &[("colour", "grey"), ("sex", "male")]).await;
    assert_eq!(clash.status, StatusCode::CONFLICT);
    let cells = clash.texts("td");
    assert!(cells.contains(&"grey".into()) && cells.contains(&"bay".into()), "{cells:?}");
    assert!(clash.has(&format!("a[href='{edit}']")));
    let clash = desk.fill(&stale_status, &status, &[("status", "dead")]).await;
    assert_eq!(clash.status, StatusCode::CONFLICT);
    assert_eq!(test.count("horse where status = 'dead'").await, 0);
}

async fn end(browser: &mut crate::support::Browser, id: HorseId, status: &str, day: &str) {
    let path = format!("/horses/{id}/status");
    let form = browser.get(&path).await;
    let answer = browser.fill(&form, &path, &[("status", status), ("since", day)]).await;
    assert_eq!(answer.location(), format!("/horses/{id}"), "{:?}", answer.texts(".errors li"));
}

async fn book(test: &TestApp, horse: HorseId) -> VisitId {
    let (id, at) = (VisitId::new(), test.now().plus_minutes(24 * 60));
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query(
        "insert into visit (id, horse_id, vet_id, place, starts_at, minutes, created_by, created_at)
         values (?, ?, ?, 'yard', ?, 30, ?, ?)",
    )
    .bind(id)
    .bind(horse)
    .bind(test.vet)
    .bind(at)
    .bind(test.desk)
    .bind(At(0))
    .execute(&mut *tx)
    .await
    .unwrap();
    tx.commit().await.unwrap();
    id
}

async fn promise(test: &TestApp, horse: HorseId) {
    let due_on = "2026-04-01".parse::<Day>().unwrap();
    let new = NewFollowUp { horse, visit: None, due_on, what: "look at it again".into() };
    let mut tx = test.app.db.write().await.unwrap();
    followups::store::insert(&mut tx, &new, test.vet, test.now()).await.unwrap();
    tx.commit().await.unwrap();
}

async fn sqlx_write(test: &TestApp, sql: &'static str) {
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query(sql).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

async fn number(test: &TestApp, sql: &'static str) -> f64 {
    sqlx::query_scalar(sql).fetch_one(test.app.db.read()).await.unwrap()
}
