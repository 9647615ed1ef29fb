//! How long a record is kept, what holds it, and copies of it.

use axum::http::StatusCode;
use limbledger::{accounts::Role, clock::Day};

use crate::support::{Page, TestApp, record::Story};

fn words(page: &Page, css: &str) -> String {
    page.texts(css).join(" | ")
}

#[tokio::test]
async fn a_record_is_kept_for_the_longest_time_held_in_sight_and_copied_by_its_day() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut owner = test.signed_in(Role::Owner).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let record = format!("/horses/{}/record", story.horse);
    assert!(words(&desk.get(&record).await, "#kept").contains("no visit yet"));
    story.visit("2026-03-02").await;
    let kept = words(&desk.get(&record).await, "#kept");
    assert!(kept.contains("Kept until 2 Mar 2033: 7 years"), "{kept}");

    let setting = "/practice/record-keeping";
    let page = owner.get(setting).await;
    let wrong = owner.fill(&page, setting, &[("years", "0.5"), ("copy_rule", "nowhere")]).await;
    assert!(wrong.status == StatusCode::UNPROCESSABLE_ENTITY && wrong.has("#years-error"));
    assert!(wrong.has("#copy_rule-error"));
    let fewer = [("years", "2"), ("copy_rule", "us_california")];
    assert!(owner.fill(&page, setting, &fewer).await.status.is_redirection());
    assert!(words(&desk.get(&record).await, "#kept").contains("2 Mar 2028: 2 years"));
    let place = [("version", "1"), ("jurisdiction", "US"), ("address", "Mill Lane 1"), ("phone", "0555 1")];
    assert!(owner.submit("/practice/prescribing", &place).await.status.is_redirection());
    let kept = words(&desk.get(&record).await, "#kept");
    assert!(kept.contains("2 Mar 2031: 5 years"), "the longest of the jurisdiction: {kept}");

    let holds = format!("{record}/holds");
    assert!(desk.submit(&holds, &[]).await.has("#reason-error"));
    assert!(desk.submit(&holds, &[("reason", "a lawyer's letter")]).await.status.is_redirection());
    let page = desk.get(&record).await;
    assert!(words(&page, "#kept").contains("must not go"));
    let lift = page.attrs("#holds + .lines a", "href").remove(0);
    let page = desk.get(lift.split('#').next().unwrap()).await;
    let action = page.attrs("form[action$='/lift']", "action").remove(0);
    assert!(desk.fill(&page, &action, &[]).await.has("#lifted_why-error"));
    assert!(desk.fill(&page, &action, &[("lifted_why", "settled")]).await.status.is_redirection());
    assert_eq!(desk.submit(&action, &[("lifted_why", "again")]).await.status, StatusCode::CONFLICT);
    let page = desk.get(&record).await;
    assert!(
        !words(&page, "#kept").contains("must not go") && words(&page, "#holds + .lines").contains("settled")
    );

    let copies = format!("{record}/copies");
    let early = [("asked_by", "Corra"), ("how", "letter"), ("asked_on", "2026-03-12")];
    let early = desk.submit(&copies, &early).await;
    assert!(early.has("#asked_on-error") && early.values_of("asked_by") == ["Corra"]);
    let asked = [("asked_by", "Corra Test"), ("how", "letter"), ("asked_on", "2026-03-05")];
    assert!(desk.submit(&copies, &asked).await.status.is_redirection());
    // Five days from 5 March: due on the 10th, and today is the 11th.
    assert!(words(&desk.get(&record).await, "#copies + .lines").contains("overdue since 10 Mar 2026"));
    assert!(words(&desk.get("/").await, "#copies").contains("overdue: 1"));
    let page = desk.get("/copies").await;
    assert!(words(&page, "#open-copies li").contains("Corra Test, asked on 5 Mar 2026"));
    let give = desk.get(&record).await.attrs("#copies + .lines a", "href").remove(0);
    let page = desk.get(give.split('#').next().unwrap()).await;
    let action = page.attrs("form[action$='/given']", "action").remove(0);
    let before = [("given_on", "2026-03-01"), ("given_how", "by post")];
    assert!(desk.fill(&page, &action, &before).await.has("#given_on-error"));
    assert!(desk.fill(&page, &action, &[("given_how", "by post to her")]).await.status.is_redirection());
    let given = words(&desk.get(&record).await, "#copies + .lines");
    let today: Day = "2026-03-11".parse().unwrap();
    assert!(given.contains(&format!("Given on {} by Dell Test: by post to her", today.words())), "{given}");
    assert!(!desk.get("/").await.has("#copies"));
}
