//! The numbers of the reasoning on pages: who may look and who may change, what is kept of a change, and what the work-up
//! says of it.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::VisitId,
    record::{After, Body, Given, Kind},
};

use crate::support::{
    Browser, Page, TestApp,
    record::{Story, gait},
};

const NAV: &str = "/practice/weights?weight=fore/NAV/PDN";
const BONE: &str = "navicular bone and its ligaments";
const LATE: &str = "/practice/weights?weight=clock/PDN/late_min";

/// Opens the page of a number and sends its form.
async fn set(owner: &mut Browser, path: &str, value: &str, reason: &str) -> Page {
    let page = owner.get(path).await;
    owner.fill(&page, "/practice/weights", &[("value", value), ("reason", reason)]).await
}

/// A left fore that a palmar digital block made sound.
async fn blocked(story: &Story<'_>) -> VisitId {
    let visit = story.visit("2026-03-11").await;
    story.say(visit, gait("LF", "TRT_SH", 3.0, "aaep_0_5")).await;
    let mut block = Body::new(Kind::Block);
    (block.code, block.limb) = (Some("PDN".into()), Some("LF".into()));
    let at = Some(story.test.now().plus_minutes(-8));
    block.given = Some(Given { volume_ml: Some(1.5), at, skin_numb: Some(true), ..Given::default() });
    let block = story.say(visit, block).await;
    let mut look = Body::new(Kind::Reading);
    (look.about, look.limb) = (Some(block), Some("LF".into()));
    let (minutes, improvement_pct) = (Some(8.0), Some(90.0));
    look.after = Some(After { minutes, improvement_pct, ..After::default() });
    story.say(visit, look).await;
    visit
}

fn pairs(page: &Page) -> String {
    page.texts("main dl").join(" ")
}

#[tokio::test]
async fn every_number_is_found_by_its_block_with_its_source_and_how_sure_it_is() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get("/practice/weights").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(
        page.text.contains("every number is as shipped") && !page.has("main form"),
        "no form to begin with"
    );
    let ways = page.attrs(".ways a", "href");
    assert!(ways.contains(&"/practice/weights?group=PDN#open".to_owned()), "{ways:?}");
    for way in &ways {
        let group = vet.get(way.trim_end_matches("#open")).await;
        let lines = group.texts("#open .lines > li");
        assert!(!lines.is_empty(), "{way}");
        assert!(lines[0].contains(" · "), "{way}: {}", lines[0]);
    }
    let block = vet.get("/practice/weights?group=PDN").await;
    let lines = block.texts("#open .lines > li").join("\n");
    for words in ["late after", "15 min", "O1: chance instead of the letter", "0.72", "published"] {
        assert!(lines.contains(words), "{words}");
    }
    let number = vet.get(NAV).await;
    assert!(pairs(&number).contains("0.95, by the letter A (is expected to be numb)"), "{}", pairs(&number));
    for nothing in ["?weight=fore/NAV/NOPE", "?weight=x", "?weight=clock/PDN/nope", "?group=NOPE"] {
        assert_eq!(
            vet.get(&format!("/practice/weights{nothing}")).await.status,
            StatusCode::NOT_FOUND,
            "{nothing}"
        );
    }
}

#[tokio::test]
async fn a_technician_may_look_and_not_change_and_the_desk_does_neither() {
    let test = TestApp::new().await;
    let mut technician = test.signed_in(Role::Technician).await;
    let page = technician.get(NAV).await;
    assert!(page.text.contains("Only the practice's owner") && !page.has("main form"));
    let fields = [("weight", "fore/NAV/PDN"), ("version", "0"), ("value", "0.5"), ("reason", "so it seems")];
    for path in ["/practice/weights", "/practice/weights/shipped"] {
        assert_eq!(technician.submit(path, &fields).await.status, StatusCode::FORBIDDEN);
    }
    assert_eq!(test.count("practice_weight").await, 0);
    assert_eq!(test.signed_in(Role::Desk).await.get(NAV).await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_change_is_kept_with_who_when_and_why_and_one_button_leads_back() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    assert_eq!(set(&mut owner, LATE, "12", "our own cases").await.location(), LATE);
    let page = owner.get(LATE).await;
    assert!(pairs(&page).contains("12 min, the practice's own"), "{}", pairs(&page));
    assert!(pairs(&page).contains("Shipped15 min"), "{}", pairs(&page));
    let kept = page.texts("main ol li");
    assert!(kept[0].contains("12: our own cases") && kept[0].contains("Olwen Test"), "{kept:?}");
    assert!(kept[0].contains("11 Mar 2026"), "{kept:?}");
    let list = owner.get("/practice/weights?group=PDN").await;
    assert!(list.texts("main > .lines li")[0].contains("PDN: late after 12 min (shipped: 15)"));
    assert!(list.texts("#open li").iter().any(|line| line.contains("the practice's own; shipped: 15")));

    let back = owner.fill(&page, "/practice/weights/shipped", &[]).await;
    assert_eq!(back.location(), LATE);
    let page = owner.get(LATE).await;
    assert!(pairs(&page).contains("15 min, as shipped"), "{}", pairs(&page));
    assert_eq!(page.texts("main ol li").len(), 2, "what was set before stays in sight");
    assert!(!page.has("form[action='/practice/weights/shipped']"));
    assert!(owner.get("/practice/weights").await.text.contains("every number is as shipped"));
}

#[tokio::test]
async fn what_a_number_cannot_be_is_said_beside_the_field_and_nothing_typed_is_lost() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    for (path, value, reason, field) in [
        (NAV, "", "because", "value"),
        (NAV, "much", "because", "value"),
        (NAV, "1", "because", "value"),
        (NAV, "0.5", " ", "reason"),
        (LATE, "4", "because", "value"),
        ("/practice/weights?weight=clock/PDN/sites", "1.5", "because", "value"),
        ("/practice/weights?weight=standing/possible/at_least", "0.8", "because", "value"),
    ] {
        let page = set(&mut owner, path, value, reason).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{path} {value}");
        assert_eq!(page.attrs(".errors a", "href"), [format!("#{field}")], "{path} {value}");
        assert!(page.has(&format!("#{field}-error")) && page.values_of("value") == [value], "{path} {value}");
        assert!(page.values_of("reason")[0].contains(reason.trim()));
    }
    assert_eq!(test.count("practice_weight").await, 0);
    let fixed = owner.get("/practice/weights?weight=answer/positive/slope").await;
    assert!(fixed.text.contains("not to be changed") && !fixed.has("main form"));
}

#[tokio::test]
async fn a_number_does_not_go_back_while_another_rests_on_it() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    set(&mut owner, LATE, "40", "read late here").await;
    set(&mut owner, "/practice/weights?weight=clock/PDN/again_min", "30", "read late here").await;
    let page = owner.get(LATE).await;
    let page = owner.fill(&page, "/practice/weights/shipped", &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.texts(".errors li")[0].contains("must follow each other"), "{:?}", page.texts(".errors li"));
    assert_eq!(test.count("practice_weight").await, 2);
}

#[tokio::test]
async fn a_stale_edit_is_told_and_a_repeat_is_taken_once() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let stale = owner.get(NAV).await;
    set(&mut owner, NAV, "0.6", "our own cases").await;
    let late = owner.fill(&stale, "/practice/weights", &[("value", "0.7"), ("reason", "a hunch")]).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    for words in ["0.7", "0.6", "a hunch", "our own cases", "Olwen Test"] {
        assert!(late.text.contains(words), "{words}");
    }
    let page = owner.get(NAV).await;
    for _ in 0..2 {
        let again = owner.fill(&page, "/practice/weights", &[("value", "0.7"), ("reason", "a hunch")]).await;
        assert_eq!(again.location(), NAV);
    }
    assert_eq!(test.count("practice_weight").await, 2);
}

#[tokio::test]
async fn a_result_that_rests_on_the_practices_own_value_says_so_and_a_signed_visit_keeps_its_own() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = blocked(&story).await;
    let work_up = format!("/visits/{visit}/work-up");
    let mut vet = test.signed_in(Role::Vet).await;
    let before = vet.get(&work_up).await;
    let candidates = |page: &Page| page.texts(".reasoning > .standing summary b");
    assert!(candidates(&before).contains(&BONE.to_owned()), "{:?}", candidates(&before));
    assert!(!before.text.contains("The practice's own") && before.has("a[href='/practice/weights']"));

    let mut owner = test.signed_in(Role::Owner).await;
    set(&mut owner, NAV, "0.1", "our own cases").await;
    set(&mut owner, LATE, "12", "our own cases").await;
    let after = vet.get(&work_up).await;
    assert!(!candidates(&after).contains(&BONE.to_owned()));
    let own = after.texts(".reasoning ul.own li").join("\n");
    assert!(
        own.contains(
            "navicular bone and its ligaments, fore limb: chance that it is numb 0.1 (shipped: 0.95)"
        ),
        "{own}"
    );
    assert!(after.attrs(".reasoning ul.own a", "href").contains(&NAV.to_owned()));
    let paper = vet.get(&format!("/visits/{visit}/report")).await;
    let told = paper.texts("ul.own li").join("\n");
    assert!(told.contains("chance that it is numb 0.1 (shipped: 0.95)"), "the report: {told}");
    let summary = after.texts(".reasoning .standing summary");
    let nav = summary.iter().find(|line| line.starts_with(BONE)).unwrap();
    assert!(nav.contains("less likely") && nav.contains("by the shipped values candidate"), "{nav}");
    let because = after.texts(".reasoning .standing li li").join("\n");
    assert!(because.contains("Rests on the practice's own value"), "{because}");
    let numbers = after.texts(".fold th").join("\n");
    assert!(numbers.contains("The practice's own: PDN: late after 12 min (shipped: 15)"), "{numbers}");

    // Signed before the next change: what it says then stays.
    story.sign(visit).await;
    test.set_clock(test.now().plus_minutes(60));
    let mut owner = test.signed_in(Role::Owner).await;
    let page = owner.get(NAV).await;
    owner.fill(&page, "/practice/weights/shipped", &[]).await;
    let signed = test.signed_in(Role::Vet).await.get(&work_up).await;
    assert!(!candidates(&signed).contains(&BONE.to_owned()));
    assert!(signed.texts(".reasoning ul.own li").join("\n").contains("shipped: 0.95"));
}
