//! The vets on the road: what the call offers, the day's route, hours and numbers of the practice, drives.

use axum::http::StatusCode;
use limbledger::{accounts::Role, ids::YardId, visits::State};

use crate::support::{Fixture, TestApp};

/// The yard of a visit.
async fn yard_of(test: &TestApp, visit: limbledger::ids::VisitId) -> YardId {
    limbledger::visits::store::get(test.app.db.read(), visit).await.unwrap().yard_id.unwrap()
}

#[tokio::test]
async fn the_call_offers_five_starts_with_their_reason_and_one_press_books() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let (vet, visits) = test.zigzag("Zara Test").await;
    let near = yard_of(&test, visits[1]).await.to_string();
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get(&format!("/call?horse={}", f.horse)).await;
    assert_eq!(page.texts(".offers button").len(), 5);
    let vets = vet.to_string();
    let there = [
        ("words-1", "lame"),
        ("other_yard", near.as_str()),
        ("vet", vets.as_str()),
        ("minutes", "20"),
        ("go", "times"),
    ];
    let page = desk.fill(&page, "/call", &there).await;
    let (offers, why) = (page.texts(".offers button"), page.texts(".offers .soft"));
    assert_eq!(offers[0], "Book today 11:40, Zara Test", "right before the horse that is booked there");
    assert_eq!(why[0], "same yard as Nettle: no driving more");
    assert!(page.texts(".free b").contains(&"Zara Test".to_owned()), "the free times stay");

    // Two desks, one start: one gets it, the other keeps the form.
    let take = page.attrs(".offers button", "value")[0].clone();
    let sends = ["lame in front", "lame behind"].map(|words| {
        let (mut browser, page, take) = (desk.clone(), desk_page(&page), take.clone());
        tokio::spawn(async move {
            let mut fields: Vec<(&str, &str)> =
                page.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
            fields.retain(|(name, _)| !["submission", "words-1", "take"].contains(name));
            fields.extend([("words-1", words), ("take", take.as_str())]);
            browser.submit("/call", &fields).await
        })
    });
    let mut lost = Vec::new();
    for send in sends {
        let answer = send.await.unwrap();
        if answer.status == StatusCode::UNPROCESSABLE_ENTITY {
            lost.push(answer);
        } else {
            assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
        }
    }
    assert_eq!(lost.len(), 1);
    assert!(lost[0].texts("#slot-error")[0].contains("Zara Test is with Testhorse from 11:40 to 12:00"));
    assert!(lost[0].texts("textarea[name=words-1]")[0].starts_with("lame "));
    assert_ne!(lost[0].attrs(".offers button", "value")[0], take, "what is offered instead");

    // What a visit is for takes its own time and its own vehicle.
    let round =
        [("version", "0"), ("hours", "daily 8-18"), ("starts", "practice"), ("equipment", "ultrasound")];
    let owner = &mut test.signed_in(Role::Owner).await;
    assert_eq!(
        owner.submit(&format!("/practice/staff/{vet}/round"), &round).await.status,
        StatusCode::SEE_OTHER
    );
    let imaging = desk.fill(&page, "/call", &[("kind", "radiographs"), ("go", "times")]).await;
    assert_eq!(imaging.attrs("input[name=minutes][checked]", "value"), ["60"]);
    assert!(!imaging.has(".offers"), "no X-ray in that vehicle");
    let clinic = desk.fill(&page, "/call", &[("kind", "bone_scan"), ("go", "times")]).await;
    assert!(clinic.has(".offers"), "in the clinic it needs none");
}

/// The fields of the call's form as they stand on a page.
fn desk_page(page: &crate::support::Page) -> Vec<(String, String)> {
    page.form_fields("/call")
}

#[tokio::test]
async fn a_better_order_of_the_day_is_taken_with_one_press_and_keeps_what_was_promised() {
    let test = TestApp::new().await;
    let (vet, visits) = test.zigzag("Zara Test").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let day = desk.get("/").await;
    // 0.3° there and back would be 86.7 km of road; in the order that is booked it is 144.6.
    assert_eq!(
        day.texts("#routes summary"),
        ["Zara Test: 145 km, 160 min of driving, a better order is known"]
    );
    let better = day.texts("#routes .better p").concat();
    assert!(better.starts_with("Better order: 87 km instead of 145, 96 min instead of 160."), "{better}");
    promise(&test, 1).await;
    assert!(!desk.get("/").await.has("#routes .better"), "what was promised stays");
    promise(&test, 0).await;
    let moved = desk.fill(&day, "/routes", &[]).await;
    assert_eq!((moved.status, moved.location()), (StatusCode::SEE_OTHER, "/"));
    let after = desk.get("/").await;
    let told = after.texts("#status").concat();
    assert!(told.contains("Tell the callers:") && told.contains("Nettle 12:00 → "), "{told}");
    assert!(after.texts("#routes summary")[0].starts_with("Zara Test: 87 km"));
    assert!(!after.has("#routes .better"), "there is no better one left");
    let late = desk
        .fill(&day, "/routes", &[("submission", &limbledger::ids::SubmissionId::new().to_string())])
        .await;
    assert_eq!(late.status, StatusCode::CONFLICT, "the day has changed since");

    let other = desk.submit("/routes", &[("vet", &vet.to_string()), ("move", "nonsense")]).await;
    assert_eq!(other.status, StatusCode::BAD_REQUEST);
    assert_eq!(test.state_of(visits[0]).await, State::Booked);
}

async fn promise(test: &TestApp, promised: i64) {
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update visit set promised = ?").bind(promised).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

#[tokio::test]
async fn a_drive_is_logged_from_driving_off_to_arriving() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let (_, visits) = test.zigzag("Zara Test").await;
    let next = visits[0];
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update visit set vet_id = ? where id = ?")
        .bind(test.vet)
        .bind(next)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get(&format!("/visits/{}", f.visit)).await;
    assert_eq!(vet.fill(&page, "/departures", &[]).await.status, StatusCode::SEE_OTHER);
    assert!(
        !vet.get(&format!("/visits/{}", f.visit)).await.has("form[action='/departures']"),
        "once is enough"
    );
    test.set_clock(test.now().plus_minutes(25));
    vet.submit(&format!("/visits/{next}/steps"), &[("step", "arrived")]).await;
    let minutes: i64 =
        sqlx::query_scalar("select minutes from drive").fetch_one(test.app.db.read()).await.unwrap();
    assert_eq!(minutes, 25);
    vet.submit(&format!("/visits/{next}/steps"), &[("step", "begin")]).await;
    assert_eq!(test.count("drive").await, 1, "one arrival a visit");
}

#[tokio::test]
async fn the_owner_sets_where_the_practice_stands_its_numbers_and_a_vets_hours() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut owner = test.signed_in(Role::Owner).await;
    let page = owner.get("/practice/road?figure=speed_kmh").await;
    let wrong = owner.fill(&page, "/practice/road", &[("value", "500"), ("reason", "")]).await;
    assert_eq!(wrong.texts("#value-error"), ["Enter a number from 10 to 130 km/h."]);
    assert_eq!(wrong.attrs("#value", "value"), ["500"]);
    owner.fill(&page, "/practice/road", &[("value", "40"), ("reason", "single tracks")]).await;
    let set = owner.get("/practice/road").await.texts("#figure-speed_kmh").concat();
    assert!(
        set.contains("40 km/h") && set.contains("shipped 55 km/h") && set.contains("single tracks"),
        "{set}"
    );
    owner.fill(&page, "/practice/road/place", &[("lat", "51° 30.6' N"), ("lon", "0° 7' 40.8\" W")]).await;
    let page = owner.get("/practice/road").await;
    assert_eq!(
        (page.attrs("#lat", "value"), page.attrs("#lon", "value")),
        (vec!["51.51".into()], vec!["-0.128".into()])
    );

    let round = format!("/practice/staff/{}/round", test.vet);
    let page = owner.get(&round).await;
    assert_eq!(page.attrs("#hours", "value"), ["Mon-Fri 8:00-18:00"], "the usual day");
    for (typed, sentence) in
        [("Mon-Fri", "cannot be read"), ("Mon 18-8", "must end after"), ("Xyz 8-9", "cannot be read")]
    {
        let wrong = owner.fill(&page, &round, &[("hours", typed)]).await;
        assert!(wrong.texts("#hours-error")[0].contains(sentence), "{typed}");
        assert_eq!(wrong.attrs("#hours", "value"), [typed]);
    }
    let typed = [("hours", "mon to wed 7:30-16:00; Sat 8 - 12"), ("starts", "home"), ("clinic", "mon")];
    assert_eq!(owner.fill(&page, &round, &typed).await.status, StatusCode::SEE_OTHER);
    let kept = owner.get(&round).await;
    assert_eq!(kept.attrs("#hours", "value"), ["Mon-Wed 7:30-16:00, Sat 8:00-12:00"]);
    let number = limbledger::ids::SubmissionId::new().to_string();
    let late = [&typed[..], &[("submission", number.as_str())]].concat();
    assert_eq!(owner.fill(&page, &round, &late).await.status, StatusCode::CONFLICT);

    // Thursday and Friday are free: Wednesday, Saturday, and Monday is in the clinic.
    let call = test.signed_in(Role::Desk).await.get(&format!("/call?horse={}", f.horse)).await;
    let offers = call.texts(".offers button").concat();
    assert!(offers.contains("today") && offers.contains("Sat 14 Mar") && !offers.contains("Thu"), "{offers}");
    assert!(!offers.contains("Mon"), "{offers}");
    let lost = call.texts(".offers .soft");
    assert!(lost.iter().any(|why| why.contains("no position is known")), "{lost:?}");

    // A yard takes degrees with minutes too, and how to find it.
    let mut desk = test.signed_in(Role::Desk).await;
    let edit = desk.get(&format!("/yards/{}/edit", f.yard)).await;
    let wrong = desk.fill(&edit, &format!("/yards/{}", f.yard), &[("lat", "0° 7' W"), ("lon", "12")]).await;
    assert!(wrong.texts("#lat-error")[0].contains("52° 30.5' N"));
    let typed = [("lat", "52 30,5 N"), ("lon", "13.4"), ("directions", "left at the chapel"), ("client", "")];
    let saved = desk.fill(&edit, &format!("/yards/{}", f.yard), &typed).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{:?}", saved.texts(".errors li, h1, main p"));
    let yard = desk.get(&format!("/yards/{}", f.yard)).await.texts("dd").concat();
    assert!(yard.contains("52.50833333, 13.4") && yard.contains("left at the chapel"), "{yard}");
}
