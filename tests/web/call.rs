//! From a ringing phone to a booked visit.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    visits::{State, store},
};

use crate::support::{Browser, Fixture, Page, TestApp, battery, twice};

/// Books the fixture's horse on a day with a tapped time.
async fn book(browser: &mut Browser, f: &Fixture, slot: &str, more: &[(&str, &str)]) -> Page {
    let page = browser.get(&format!("/call?horse={}", f.horse)).await;
    let mut fields = vec![("words-1", "lame since the trot-up"), ("slot", slot)];
    fields.extend_from_slice(more);
    browser.fill(&page, "/call", &fields).await
}

#[tokio::test]
async fn a_known_horse_is_booked_with_what_stands_there_already() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    // Counted: take a call, type a name, tap the horse, type the words, tap a time, book. Six of eight.
    let page = book(&mut desk, &f, &format!("{}@10:30", test.vet), &[]).await;
    assert_eq!(
        (page.status, page.location()),
        (StatusCode::SEE_OTHER, "/"),
        "{:?}",
        page.texts(".errors li")
    );
    let day = desk.get("/").await;
    assert!(day.texts("#visits .at").contains(&"10:30".to_owned()));
    assert!(day.texts("#visits .where").contains(&"Test Yard".to_owned()), "the horse's yard was chosen");
    assert!(day.texts("#visits .what").contains(&"lame since the trot-up".to_owned()));
    assert!(day.texts("#status")[0].contains("Booked: Testhorse"));
}

#[tokio::test]
async fn the_search_offers_horses_and_clients() {
    let test = TestApp::new().await;
    test.horse("Marsh Marigold").await;
    let page = test.signed_in(Role::Desk).await.get("/call?q=marig").await;
    assert_eq!(page.texts("#hits b"), ["Marsh Marigold"]);
    assert!(page.attrs("#hits a", "href")[0].starts_with("/call?horse="));
    assert!(page.has("a[href^='/call?new=yes']"));
}

#[tokio::test]
async fn an_overlap_says_who_which_horse_and_from_when_to_when() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    test.visit(test.horse("Briar").await, test.vet, "2026-03-12", (10, 0), State::Booked).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let typed = [("day", "2026-03-12"), ("medicines-1", "two sachets on Monday")];
    let page = book(&mut desk, &f, &format!("{}@10:30", test.vet), &typed).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(
        page.texts("#slot-error"),
        ["Vala Test is with Briar from 10:00 to 10:45 then (clinic). Choose a free time."]
    );
    assert_eq!(page.attrs("input[name=medicines-1]", "value"), ["two sachets on Monday"], "nothing is lost");
    let free = page.attrs("input[name=slot]", "value");
    assert!(!free.iter().any(|slot| slot.ends_with("@10:00") || slot.ends_with("@10:30")), "{free:?}");
    assert!(free.iter().any(|slot| slot.ends_with("@11:00")));
    let page = book(&mut desk, &f, &format!("{}@11:00", test.vet), &typed).await;
    assert_eq!(page.location(), "/?day=2026-03-12");
}

#[tokio::test]
async fn twenty_who_book_one_time_at_once_get_one_visit() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get(&format!("/call?horse={}", f.horse)).await;
    let preset = page.form_fields("/call");
    let slot = format!("{}@14:00", test.vet);
    let before = test.count("visit").await;
    let sends = (0..20).map(|_| {
        let (mut browser, preset, slot) = (desk.clone(), preset.clone(), slot.clone());
        tokio::spawn(async move {
            let mut fields: Vec<(&str, &str)> = preset
                .iter()
                .map(|(name, value)| (name.as_str(), value.as_str()))
                .filter(|(name, _)| !["submission", "slot", "words-1"].contains(name))
                .collect();
            fields.extend([("slot", slot.as_str()), ("words-1", "lame")]);
            browser.submit("/call", &fields).await.status
        })
    });
    let mut booked = 0;
    for send in sends.collect::<Vec<_>>() {
        match send.await.unwrap() {
            StatusCode::SEE_OTHER => booked += 1,
            status => assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY),
        }
    }
    assert_eq!((booked, test.count("visit").await), (1, before + 1));
}

#[tokio::test]
async fn several_complaints_and_their_red_flags_stand_on_the_visit() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get(&format!("/call?horse={}", f.horse)).await;
    let more = desk.fill(&page, "/call", &[("words-1", "hops on three legs"), ("go", "more")]).await;
    assert_eq!(more.status, StatusCode::OK);
    assert_eq!(more.texts("textarea[name=words-1]"), ["hops on three legs"]);
    let fields = [
        ("weight_bearing-1", "none"),
        ("site-1", "LF"),
        ("words-2", "stiff in the back"),
        ("site-2", "BACK"),
        ("urgent", "yes"),
        ("start", "9:50"),
        ("vet", &test.vet.to_string()),
    ];
    let booked = desk.fill(&more, "/call", &fields).await;
    assert_eq!(booked.status, StatusCode::SEE_OTHER, "{:?}", booked.texts(".errors li"));
    let day = desk.get("/").await;
    assert!(day.texts("#visits .what").contains(&"hops on three legs · stiff in the back".to_owned()));
    assert_eq!(day.texts("#visits .state-urgent"), ["urgent"]);
    let at = day.texts("#visits .at").iter().position(|time| time == "09:50").unwrap();
    let visit = desk.get(&day.attrs("#visits a.line", "href")[at]).await;
    let caution = visit.texts(".caution");
    assert!(
        caution.iter().any(|words| words.starts_with("Emergency: a vet now. no weight on a limb")),
        "{caution:?}"
    );
    assert!(visit.texts("dd").contains(&"left fore".to_owned()));
}

#[tokio::test]
async fn an_answer_that_is_a_red_flag_says_so_beside_it() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let page = test.signed_in(Role::Desk).await.get(&format!("/call?horse={}", f.horse)).await;
    let advice = page.texts("label:has(input[value=none]) + .advice");
    assert!(advice[0].starts_with("Emergency: a vet now."), "{advice:?}");
}

#[tokio::test]
async fn a_new_client_and_horse_are_made_with_the_visit_or_not_at_all() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let page = desk.get("/call?new=yes").await;
    let slot = format!("{}@15:00", test.vet);
    let half =
        [("client_name", "Nessa Fell"), ("horse_name", ""), ("client_phone", "0555 0101"), ("slot", &slot)];
    let wrong = desk.fill(&page, "/call", &half).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.texts("#horse_name-error"), ["Enter the horse's name."]);
    assert_eq!(wrong.texts("#words-1-error"), ["Write down what the caller says is wrong."]);
    assert_eq!((test.count("client").await, test.count("horse").await), (0, 0));
    let rest = [("horse_name", "Sorrel"), ("words-1", "will not canter"), ("new_yard", "Fell Farm")];
    let booked = desk.fill(&wrong, "/call", &rest).await;
    assert_eq!(booked.status, StatusCode::SEE_OTHER, "{:?}", booked.texts(".errors li"));
    assert_eq!((test.count("client").await, test.count("party").await, test.count("yard").await), (1, 1, 1));
    let day = desk.get("/").await;
    assert_eq!(
        (day.texts("#visits .line"), day.texts("#visits .where")),
        (vec!["Sorrel".into()], vec!["Fell Farm".into()])
    );
    let found = desk.get("/call?q=0555+0101").await;
    assert!(found.texts("#hits b").contains(&"Sorrel".to_owned()), "found by the new number");
}

#[tokio::test]
async fn a_time_that_the_clocks_skip_is_explained() {
    // Central European summer time begins on the last Sunday of March at 2:00 (Directive 2000/84/EC): 02:30 is
    // not on any clock of Berlin on 29 March 2026.
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let vet = test.vet.to_string();
    let typed = |time| [("day", "29 Mar 2026"), ("vet", vet.as_str()), ("start", time)];
    let page = book(&mut desk, &f, "", &typed("2:30")).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.texts("#start-error")[0].contains("no 02:30 on 29 Mar 2026"));
    assert_eq!(book(&mut desk, &f, "", &typed("3:30")).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn neither_the_past_nor_a_horse_that_is_gone_can_be_booked() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let slot = format!("{}@12:00", test.vet);
    let page = book(&mut desk, &f, &slot, &[("day", "2026-03-10")]).await;
    assert!(page.texts("#day-error")[0].contains("is over"));
    let page = book(&mut desk, &f, &format!("{}@08:00", test.vet), &[]).await;
    assert!(page.texts("#slot-error")[0].contains("past"));
    let open = desk.get(&format!("/call?horse={}", f.horse)).await;
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update horse set status = 'dead', status_on = '2026-03-11' where id = ?")
        .bind(f.horse)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let page = desk.fill(&open, "/call", &[("words-1", "lame"), ("slot", &slot)]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.texts(".errors li")[0].contains("cannot be booked"));
    assert!(!desk.get(&format!("/call?horse={}", f.horse)).await.has("form#call"));
}

#[tokio::test]
async fn a_double_tap_books_once_and_every_field_takes_bad_input() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let path = format!("/call?horse={}", f.horse);
    let before = test.count("visit").await;
    let slot = format!("{}@16:00", test.vet);
    twice(&mut desk, &path, "/call", &[("words-1", "lame"), ("slot", &slot)]).await;
    assert_eq!(test.count("visit").await, before + 1);
    // The time is taken by now, so that the form can be sent again and again without filling the day.
    battery(&mut desk, &path, "/call", &[("words-1", "lame"), ("slot", &slot)]).await;
}

#[tokio::test]
async fn another_day_is_shown_with_its_free_times_and_books_nothing() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let before = test.count("visit").await;
    let page = desk.get(&format!("/call?horse={}", f.horse)).await;
    let next = desk.fill(&page, "/call", &[("words-1", "lame"), ("near", "2026-03-12")]).await;
    assert_eq!(next.status, StatusCode::OK);
    assert_eq!(next.attrs("input[name=day]", "value"), ["2026-03-12"]);
    assert_eq!(next.texts("textarea[name=words-1]"), ["lame"]);
    assert!(next.attrs("input[name=slot]", "value")[0].ends_with("@08:00"));
    assert_eq!(test.count("visit").await, before);
}

#[tokio::test]
async fn a_booking_keeps_who_made_it() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    book(&mut desk, &f, &format!("{}@10:30", test.vet), &[("answer-RF4", "yes")]).await;
    let visits = store::of_horse(test.app.db.read(), f.horse).await.unwrap();
    let page = desk.get(&format!("/visits/{}", visits[0].id)).await;
    let change = &page.texts("#changes li")[0];
    assert!(change.contains("booked 11 Mar 2026, 10:30, 45 min, Vala Test, Test Yard"), "{change}");
    assert!(change.contains("Dell Test"), "{change}");
    assert!(page.texts("dd").concat().contains("nail or other object"), "the answer stays");
}
