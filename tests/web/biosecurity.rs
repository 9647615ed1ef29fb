//! Yards and horses that others are kept safe from: marked, shown, last on the round, lifted.

use axum::http::StatusCode;
use limbledger::{accounts::Role, ids::SubmissionId, visits::State};

use crate::support::{Fixture, TestApp};

#[tokio::test]
async fn a_mark_is_shown_wherever_hands_go_near_and_lifting_it_keeps_who_when_and_why() {
    let test = TestApp::new().await;
    let f = Fixture::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let path = format!("/yards/{}/biosecurity", f.yard);
    let page = desk.get(&path).await;
    let typed = [("kind", "suspected"), ("disease", "influenza"), ("until_on", "1 Mar 2026")];
    let wrong = desk.fill(&page, &path, &typed).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.texts("#until_on-error"), ["The last day cannot lie before the first."]);
    assert_eq!(wrong.texts("#reason-error"), ["Write why; it stays beside the mark."]);
    assert_eq!(wrong.attrs("#until_on", "value"), ["1 Mar 2026"]);
    let typed =
        [("kind", "suspected"), ("disease", "influenza"), ("until_on", ""), ("reason", "three coughs")];
    assert_eq!(desk.fill(&page, &path, &typed).await.location(), path);

    // The prompt defers to the authority, whose telephone the owner enters.
    let marked = desk.get(&path).await;
    let report = marked.texts("#report")[0].clone();
    assert!(
        report.contains("Equine influenza may have to be reported") && report.contains("not entered yet"),
        "{report}"
    );
    let mut owner = test.signed_in(Role::Owner).await;
    let all = owner.get("/biosecurity").await;
    let office = [("name", "The county office"), ("phone", "0555 99 00")];
    owner.fill(&all, "/biosecurity/authority", &office).await;
    assert!(desk.get(&path).await.texts("#report")[0].contains("The county office, 0555 99 00."));
    assert_eq!(desk.get("/biosecurity").await.texts("#marks .line"), ["Test Yard"]);

    let mut vet = test.signed_in(Role::Vet).await;
    let words = "Yard: infection suspected (equine influenza). Seen last on the round until it is ruled out.";
    for page in ["/horses/{h}", "/visits/{v}", "/visits/{v}/exam", "/call?horse={h}"] {
        let page = page.replace("{h}", &f.horse.to_string()).replace("{v}", &f.visit.to_string());
        let shown = vet.get(&page).await.texts(".caution");
        assert!(shown.iter().any(|caution| caution.contains(words)), "{page}: {shown:?}");
    }
    assert!(
        vet.get(&format!("/yards/{}", f.yard)).await.texts(".caution")[0].contains("infection suspected")
    );
    let sheet = vet.get("/day-sheet").await.texts(".biosecurity").concat();
    assert!(sheet.contains("disposable gloves") && sheet.contains("dirt off first"), "{sheet}");

    // At departure, and before the next yard.
    test.visit(test.horse("Sedge").await, test.vet, "2026-03-11", (15, 0), State::Booked).await;
    let visit = format!("/visits/{}", f.visit);
    assert!(vet.get(&visit).await.texts("#cleaning")[0].starts_with("Before the next yard:"));
    vet.submit("/departures", &[("visit", &f.visit.to_string())]).await;
    let day = vet.get("/").await;
    assert!(day.texts("#status").concat().contains("clean and disinfect before the next yard"));
    let open = day.texts("#visits .open");
    assert!(open[0].contains("infection suspected (equine influenza): last on the round"), "{open:?}");
    assert!(open[1].contains("after a marked stop: clean and disinfect first"), "{open:?}");
    assert!(day.texts("#routes .caution").concat().contains("Marked stops come last."));

    let lift = desk.get(&path).await.attrs("#marks a.button", "href")[0].clone();
    let page = desk.get(lift.split('#').next().unwrap()).await;
    let action = page.attrs("form[action^='/biosecurity/']", "action").remove(0);
    assert_eq!(desk.fill(&page, &action, &[]).await.texts("#lifted-error").len(), 1);
    desk.fill(&page, &action, &[("lifted", "two negative swabs")]).await;
    let lifted = desk.get(&path).await.texts("#lifted li").concat();
    assert!(lifted.contains("three coughs") && lifted.contains("Lifted: two negative swabs"), "{lifted}");
    assert!(lifted.contains("Dell Test, 11 Mar 2026"), "{lifted}");
    assert!(!desk.get(&format!("/horses/{}", f.horse)).await.text.contains("infection suspected"));
    let twice = [("lifted", "over"), ("submission", &SubmissionId::new().to_string())];
    assert_eq!(desk.fill(&page, &action, &twice).await.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_marked_yard_is_offered_after_the_others_and_the_others_before_it() {
    let test = TestApp::new().await;
    let (_, visits) = test.zigzag("Zara Test").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let near = limbledger::visits::store::get(test.app.db.read(), visits[1]).await.unwrap().yard_id.unwrap();
    // Near Yard stands between two others: 12:00 of 10:00, 12:00 and 14:00.
    let mark =
        [("kind", "infectious"), ("disease", "strangles"), ("from_on", "2026-03-11"), ("reason", "swab")];
    let set = desk.submit(&format!("/yards/{near}/biosecurity"), &mark).await;
    assert_eq!(set.status, StatusCode::SEE_OTHER);
    let day = desk.get("/").await;
    let caution = day.texts("#routes .caution").concat();
    assert!(caution.contains("This day leads from one on to the others."), "{caution}");
    assert!(day.has("#routes .better"), "an order that puts it last");
    desk.fill(&day, "/routes", &[]).await;
    let after = desk.get("/").await;
    let order = after.texts("#routes .route a");
    assert_eq!(order.last().map(String::as_str), Some("Nettle"), "{order:?}");
    assert!(!after.has("#routes .caution") && !after.has("#routes .better"));
}
