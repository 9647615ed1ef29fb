//! Several horses of one yard on one stop: booked with one press, shown together, moved together, taken apart.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::{HorseId, StopId, SubmissionId, VisitId},
    visits::{Visit, store},
};

use crate::support::{Browser, Fixture, TestApp};

/// Two more horses at the fixture's yard, each with an owner of its own.
async fn neighbours(test: &TestApp, f: &Fixture) -> Vec<HorseId> {
    let mut horses = Vec::new();
    for (name, owner) in [("Marram", "Abel Test"), ("Sedge", "Bryn Test")] {
        let horse = test.horse(name).await;
        let client = test.client(owner, "0555 11 22").await;
        let mut tx = test.app.db.write().await.unwrap();
        limbledger::horses::store::stands_at(&mut tx, horse, f.yard).await.unwrap();
        let party = limbledger::horses::NewParty::owner(client);
        limbledger::horses::store::add_party(&mut tx, horse, &party, test.now()).await.unwrap();
        tx.commit().await.unwrap();
        horses.push(horse);
    }
    horses
}

/// The visits of the stop, by time.
async fn visits(test: &TestApp) -> Vec<Visit> {
    let ids: Vec<VisitId> =
        sqlx::query_scalar("select id from visit where stop_id is not null order by starts_at")
            .fetch_all(test.app.db.read())
            .await
            .unwrap();
    let mut visits = Vec::new();
    for id in ids {
        visits.push(store::get(test.app.db.read(), id).await.unwrap());
    }
    visits
}

fn times(visits: &[Visit]) -> Vec<String> {
    let zone = jiff::tz::TimeZone::get("Europe/Berlin").unwrap();
    visits.iter().map(|visit| visit.starts_at.hm(&zone)).collect()
}

/// Where the vet's calendar is read.
async fn calendar(test: &TestApp) -> String {
    let mut vet = test.signed_in(Role::Vet).await;
    vet.submit("/me/calendar", &[]).await;
    let address = vet.get("/me/calendar").await.attrs("#address", "value").remove(0);
    address.trim_start_matches("http://practice.test").to_owned()
}

/// The one entry of a stop in a calendar.
fn event(calendar: &str, stop: StopId) -> String {
    let all = calendar.replace("\r\n ", "");
    let mut of_stop = all.split("BEGIN:VEVENT").filter(|event| event.contains(&format!("UID:{stop}")));
    let found = of_stop.next().unwrap().to_owned();
    assert_eq!(of_stop.count(), 0, "one drive, one entry");
    found
}

fn sequence(event: &str) -> i64 {
    event.lines().find_map(|line| line.trim().strip_prefix("SEQUENCE:")).unwrap().parse().unwrap()
}

/// Books the fixture's horse with the two others at ten the next day.
async fn booked(test: &TestApp, f: &Fixture, desk: &mut Browser) -> Vec<HorseId> {
    let others = neighbours(test, f).await;
    let call = desk.get(&format!("/call?horse={}&kind=trot_up", f.horse)).await;
    assert_eq!(call.attrs("input[name=minutes][checked]", "value"), ["15"], "the reference's time a horse");
    let offered = call.texts("#together .choice");
    assert_eq!(offered, ["Marram (Abel Test)", "Sedge (Bryn Test)"]);
    let vet = test.vet.to_string();
    let ids = [others[0].to_string(), others[1].to_string()];
    let typed = [
        ("words-1", "trot-up before the season"),
        ("with", ids[0].as_str()),
        ("with", ids[1].as_str()),
        ("vet", vet.as_str()),
        ("day", "2026-03-12"),
        ("start", "10:00"),
    ];
    let page = desk.fill(&call, "/call", &[&typed[..], &[("go", "times")]].concat()).await;
    assert_eq!(page.texts("#together-words"), ["3 horses on one stop, 45 min together and one drive."]);
    let done = desk.fill(&page, "/call", &typed).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{:?}", done.texts(".errors li"));
    others
}

#[tokio::test]
async fn three_horses_of_two_owners_more_are_one_stop_with_a_visit_each() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let others = booked(&test, &f, &mut desk).await;
    let made = visits(&test).await;
    assert_eq!(made.iter().map(|v| v.horse_id).collect::<Vec<_>>(), [f.horse, others[0], others[1]]);
    assert_eq!(times(&made), ["10:00", "10:15", "10:30"]);
    assert!(made.iter().all(|v| v.stop_id == made[0].stop_id && v.yard_id == Some(f.yard)));
    let stop = made[0].stop_id.unwrap();

    // Together on the day page, the day sheet, the route and the list for the yard.
    let day = desk.get("/?day=2026-03-12").await;
    assert_eq!(day.texts("#visits .stop-link"), ["One stop, 3 horses, 45 min"]);
    assert_eq!(day.texts("#visits .goes-on .line"), ["Marram", "Sedge"]);
    assert_eq!(day.texts("#routes .route li").len(), 1, "one drive");
    assert!(day.texts("#routes .route li")[0].contains("Testhorse and 2 more"));
    let sheet = desk.get("/day-sheet?day=2026-03-12").await;
    assert_eq!(sheet.texts("section p b"), ["One stop, 3 horses."]);
    assert_eq!(sheet.texts("dt").iter().filter(|term| *term == "Where").count(), 1);
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update horse set temperament_note = 'Bites at the girth.' where name = 'Marram'")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let mut vet = test.signed_in(Role::Vet).await;
    let list = vet.get(&format!("/stops/{stop}")).await;
    assert_eq!(list.texts("h1"), ["Test Yard, 3 horses"]);
    assert_eq!(list.texts(".turn h2 a"), ["Testhorse", "Marram", "Sedge"]);
    assert!(list.texts(".turn .caution").concat().contains("Bites at the girth."));
    let open = list.texts(".turn dd").concat();
    assert!(open.contains("recheck, due 20 Mar 2026") && open.contains("fetlock: not finished"), "{open}");
    let page = vet.fill(&list, &format!("/visits/{}/steps", made[1].id), &[]).await;
    assert_eq!(page.location(), format!("/visits/{}/exam", made[1].id));
    assert!(vet.get(&format!("/stops/{stop}")).await.has(&format!("a[href='/visits/{}/exam']", made[1].id)));

    // A horse that does not stand there is refused by name of the field, with what was typed.
    let call = desk.get(&format!("/call?horse={}", f.horse)).await;
    let stray = test.horse("Stray").await.to_string();
    let typed = [("words-1", "lame"), ("with", stray.as_str()), ("day", "2026-03-13"), ("start", "9:00")];
    let wrong = desk.fill(&call, "/call", &[&typed[..], &[("vet", &test.vet.to_string())]].concat()).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.texts("#with-error"), ["Choose horses that stand at the yard of the visit."]);
    assert_eq!(wrong.texts("textarea[name=words-1]"), ["lame"]);
}

#[tokio::test]
async fn moving_one_moves_the_stop_and_a_horse_can_be_taken_out() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let address = calendar(&test).await;
    booked(&test, &f, &mut desk).await;
    let made = visits(&test).await;
    let stop = made[0].stop_id.unwrap();
    let first = event(&desk.get(&address).await.text, stop);
    assert!(
        first.contains("DTSTART:20260312T090000Z") && first.contains("DTEND:20260312T094500Z"),
        "{first}"
    );
    assert!(first.contains("SUMMARY:Visit\\, 3 horses"), "{first}");

    // The one in the middle is asked to move: all of them do, in their order.
    let path = format!("/visits/{}/move", made[1].id);
    let page = desk.get(&path).await;
    assert_eq!(page.texts("h1"), ["Move the stop with Testhorse, Marram and Sedge"]);
    let to = [("day", "2026-03-12"), ("start", "10:20"), ("vet", &test.vet.to_string())];
    let moved = desk.fill(&page, &path, &to).await;
    assert_eq!(moved.status, StatusCode::SEE_OTHER, "over its own old time: {:?}", moved.texts(".errors li"));
    assert_eq!(times(&visits(&test).await), ["10:20", "10:35", "10:50"]);
    let second = event(&desk.get(&address).await.text, stop);
    assert!(second.contains("DTSTART:20260312T092000Z") && sequence(&second) > sequence(&first), "{second}");
    let fresh = SubmissionId::new().to_string();
    let again = [&to[..], &[("submission", fresh.as_str())]].concat();
    assert_eq!(desk.fill(&page, &path, &again).await.status, StatusCode::CONFLICT, "seen before it moved");

    // Something else stands in the way of the third.
    test.visit(f.horse, test.vet, "2026-03-13", (9, 30), limbledger::visits::State::Booked).await;
    let page = desk.get(&path).await;
    let into = [("day", "2026-03-13"), ("start", "9:00"), ("vet", &test.vet.to_string())];
    let taken = desk.fill(&page, &path, &into).await;
    assert_eq!(taken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        taken.texts("#start-error")[0].contains("from 09:30 to 10:15"),
        "{:?}",
        taken.texts(".errors li")
    );
    assert_eq!(times(&visits(&test).await), ["10:20", "10:35", "10:50"], "nothing moved");

    let list = desk.get(&format!("/stops/{stop}")).await;
    let out = desk.fill(&list, &format!("/visits/{}/stop", made[1].id), &[]).await;
    assert_eq!(out.location(), path);
    assert_eq!(desk.get(&path).await.texts("h1"), ["Move Marram's visit"]);
    assert_eq!(visits(&test).await.len(), 2);
    let third = event(&desk.get(&address).await.text, stop);
    assert!(sequence(&third) > sequence(&second));
    let fresh = SubmissionId::new().to_string();
    let again = [("submission", fresh.as_str())];
    let late = desk.fill(&list, &format!("/visits/{}/stop", made[1].id), &again).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn moving_a_visit_shows_the_yard_it_stands_at_though_the_horse_is_at_home_elsewhere() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let visit = test.visit(f.horse, test.vet, "2026-03-12", (9, 0), limbledger::visits::State::Booked).await;
    let mut tx = test.app.db.write().await.unwrap();
    let yard = limbledger::clients::yards::Details { name: "Away Yard".into(), ..Default::default() };
    let yard = limbledger::clients::yards::store::insert(&mut tx, &yard, test.now()).await.unwrap();
    sqlx::query("update visit set place = 'yard', yard_id = ? where id = ?")
        .bind(yard)
        .bind(visit)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let page = test.signed_in(Role::Desk).await.get(&format!("/visits/{visit}/move")).await;
    assert_eq!(page.attrs("input[name=place][checked]", "value"), [yard.to_string()]);
}
