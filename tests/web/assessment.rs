//! Assessment and plan: what is written, changed and taken back, by whom, and what is refused.

use std::collections::HashMap;

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    catalogue::Limb,
    followups,
    ids::VisitId,
    plan::{Site, choices},
    record::{self, Body, Entry, Kind},
};

use crate::support::{
    Browser, TestApp, battery,
    record::{Story, finding, gait, on},
    twice,
};

pub fn path(visit: VisitId) -> String {
    format!("/visits/{visit}/assessment")
}

pub async fn standing(test: &TestApp, visit: VisitId) -> Vec<Entry> {
    record::current_of_visit(test.app.db.read(), visit).await.unwrap()
}

/// The standing bodies of one kind.
async fn of_kind(test: &TestApp, visit: VisitId, kind: Kind) -> Vec<Body> {
    let bodies = standing(test, visit).await.into_iter().filter_map(|e| e.body);
    bodies.filter(|b| b.kind == kind).collect()
}

/// Opens the form of a part and sends it filled in.
pub async fn write(browser: &mut Browser, visit: VisitId, part: &str, fields: &[(&str, &str)]) {
    let page = browser.get(&format!("{}?add={part}", path(visit))).await;
    let answer = browser.fill(&page, &format!("{}/{part}", path(visit)), fields).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{part}: {:?}", answer.texts(".errors li"));
    assert_eq!(answer.location(), path(visit));
}

#[tokio::test]
async fn the_page_opens_what_is_still_missing_and_everything_is_kept() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let steps: [(&str, &[(&str, &str)]); 7] = [
        ("history", &[("words", "Short on the right for two weeks,\nworse on stones.")]),
        ("problem", &[("words", "effusion"), ("other_site", "LF fetlock"), ("certainty", "likely")]),
        ("plan", &[("words", "Box rest, walk in hand 10 min twice a day.")]),
        ("follow-up", &[("words", "trot up again"), ("due", "2")]),
        ("block", &[("words", "PDN 1.5 ml, 80 % at 8 min"), ("other_site", "left fore limb")]),
        ("image", &[("words", "4 views, nothing seen"), ("other_site", "FETL_D.L")]),
        ("treatment", &[("words", "cold hosing shown to the owner")]),
    ];
    for (at, (part, fields)) in steps.into_iter().enumerate() {
        let page = vet.get(&path(visit)).await;
        if at < 4 {
            assert!(page.has(&format!("#{part} form")), "{part} should be open by now");
        }
        let mut fields = fields.to_vec();
        if part == "problem" {
            fields[1].1 = "left fore fetlock, dorsal";
        }
        write(&mut vet, visit, part, &fields).await;
    }
    let page = vet.get(&path(visit)).await;
    assert!(!page.has("form.picker"), "nothing is missing any more");
    assert_eq!(page.texts("#problem .lines b"), ["likely, left fore fetlock, dorsal"]);
    assert_eq!(page.texts("#follow-up .lines b"), ["25 Mar 2026"], "two weeks after 11 March");
    assert_eq!(page.texts("#block .lines b"), ["left fore limb"]);
    assert_eq!(of_kind(&test, visit, Kind::Image).await[0].place_key().as_deref(), Some("FETL_D.L"));
    let history = &of_kind(&test, visit, Kind::Note).await[0];
    assert_eq!(history.value.as_deref(), Some("history"));
    assert_eq!(history.text.as_deref(), Some("Short on the right for two weeks,\nworse on stones."));
    let due = followups::store::open_of_horse(test.app.db.read(), story.horse).await.unwrap();
    assert_eq!((due[0].visit_id, due[0].what.as_str()), (Some(visit), "trot up again"));
}

#[tokio::test]
async fn what_is_abnormal_stands_beside_and_is_offered_first() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    story.say(visit, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    story.say(visit, gait("RF", "TRT_SH", 3.0, "aaep_0_5")).await;
    story.say(visit, on(finding("FETL_D", "R", "EFF", 0.0, "effusion_0_4"), Some("RF"))).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get(&format!("{}?add=problem", path(visit))).await;
    let beside = page.texts("aside li");
    assert_eq!(beside.len(), 2, "{beside:?}");
    assert!(beside[0].contains("left fore fetlock, dorsal"), "{beside:?}");
    assert_eq!(page.attrs("input[name=site]", "value"), ["FETL_D.L", "RF"]);
    let answer = vet
        .fill(
            &page,
            &format!("{}/problem", path(visit)),
            &[("site", "FETL_D.L"), ("words", "synovitis"), ("certainty", "suspected")],
        )
        .await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert_eq!(of_kind(&test, visit, Kind::Problem).await[0].limb.as_deref(), Some("LF"));
}

#[tokio::test]
async fn a_horse_that_bears_no_weight_raises_its_caution() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let strips = |page: &crate::support::Page| page.texts(".caution strong");
    let before = strips(&vet.get(&path(visit)).await);
    assert!(!before.iter().any(|s| s.contains("not bearing weight")), "{before:?}");
    story.say(visit, gait("RF", "WLK_S", 5.0, "aaep_0_5")).await;
    let after = strips(&vet.get(&path(visit)).await);
    assert!(after.iter().any(|s| s.contains("not bearing weight")), "{after:?}");
}

#[tokio::test]
async fn a_change_keeps_both_versions_and_asks_why() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    write(&mut vet, visit, "problem", &[("words", "abscess"), ("certainty", "suspected")]).await;
    let first = standing(&test, visit).await[0].id;
    let form = vet.get(&format!("{}?change={first}", path(visit))).await;
    let action = format!("{}/entries/{first}", path(visit));
    let silent = vet.fill(&form, &action, &[("words", "abscess, draining")]).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(silent.attrs("#words", "value"), ["abscess, draining"], "what was typed stays");
    assert!(silent.has("#reason-error"));
    let fields = [("words", "abscess, draining"), ("certainty", "confirmed"), ("reason", "it opened")];
    let done = vet.fill(&silent, &action, &fields).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    let now = standing(&test, visit).await;
    assert_eq!(now.len(), 1);
    assert_eq!(now[0].supersedes, Some(first));
    assert_eq!(now[0].body.as_ref().unwrap().reason.as_deref(), Some("it opened"));
    let gone = record::superseded_of_visit(test.app.db.read(), visit).await.unwrap();
    assert_eq!(gone[0].body.as_ref().unwrap().text.as_deref(), Some("abscess"));
    // Somebody else's page still shows the first version.
    let stale = vet.fill(&form, &action, &fields[..]).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_stale_change_shows_both_sides() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    write(&mut vet, visit, "plan", &[("words", "box rest")]).await;
    let first = standing(&test, visit).await[0].id;
    let page = format!("{}?change={first}", path(visit));
    let action = format!("{}/entries/{first}", path(visit));
    let (mine, theirs) = (vet.get(&page).await, vet.get(&page).await);
    vet.fill(&theirs, &action, &[("words", "field rest"), ("reason", "no box")]).await;
    let stale = vet.fill(&mine, &action, &[("words", "box rest, 2 weeks"), ("reason", "longer")]).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    assert_eq!(stale.texts("tbody td"), ["box rest, 2 weeks", "field rest"]);
    let kept: Vec<_> = of_kind(&test, visit, Kind::Plan).await.into_iter().filter_map(|b| b.text).collect();
    assert_eq!(kept, ["field rest"]);
}

#[tokio::test]
async fn taking_back_leaves_a_withdrawal_with_its_reason() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    write(&mut vet, visit, "treatment", &[("words", "given to the wrong horse's sheet")]).await;
    let entry = standing(&test, visit).await[0].id;
    let form = vet.get(&format!("{}?change={entry}", path(visit))).await;
    let withdraw = format!("{}/entries/{entry}/withdraw", path(visit));
    assert_eq!(form.attrs("button.stop", "formaction"), std::slice::from_ref(&withdraw));
    let submission = &form.attrs("input[name=submission]", "value")[0];
    let without = vet.post(&withdraw, &[("submission", submission)]).await;
    assert_eq!(without.status, StatusCode::UNPROCESSABLE_ENTITY);
    let done = vet.post(&withdraw, &[("submission", submission), ("reason", "wrong horse")]).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    assert!(standing(&test, visit).await.is_empty());
    let all = record::entries_of_visit(test.app.db.read(), visit).await.unwrap();
    assert_eq!(all.len(), 2, "the entry and its withdrawal");
}

#[tokio::test]
async fn roles_write_what_is_theirs() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut browsers = HashMap::new();
    for role in Role::ALL {
        browsers.insert(role, test.signed_in(role).await);
    }
    for (role, part, status) in [
        (Role::Technician, "image", StatusCode::SEE_OTHER),
        (Role::Technician, "treatment", StatusCode::SEE_OTHER),
        (Role::Technician, "history", StatusCode::FORBIDDEN),
        (Role::Technician, "problem", StatusCode::FORBIDDEN),
        (Role::Technician, "block", StatusCode::FORBIDDEN),
        (Role::Technician, "plan", StatusCode::FORBIDDEN),
        (Role::Technician, "follow-up", StatusCode::FORBIDDEN),
        (Role::Desk, "image", StatusCode::FORBIDDEN),
        (Role::Owner, "plan", StatusCode::FORBIDDEN),
        (Role::Vet, "plan", StatusCode::SEE_OTHER),
    ] {
        let browser = browsers.get_mut(&role).unwrap();
        let answer = browser.submit(&format!("{}/{part}", path(visit)), &[("words", "one line")]).await;
        assert_eq!(answer.status, status, "{role} writes {part}");
    }
    let page = test.signed_in(Role::Technician).await.get(&path(visit)).await;
    assert!(!page.has("#plan a.button, #plan form"), "no way to what would be refused");
    assert!(page.has("#image a.button"));
    assert_eq!(test.signed_in(Role::Desk).await.get(&path(visit)).await.status, StatusCode::FORBIDDEN);
    assert_eq!(test.signed_in(Role::Owner).await.get(&path(visit)).await.status, StatusCode::OK);
}

#[tokio::test]
async fn bad_input_gets_its_answer_and_nothing_typed_is_lost() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let good: [(&str, &[(&str, &str)]); 4] = [
        ("history", &[("words", "short")]),
        ("problem", &[("words", "sore"), ("certainty", "likely")]),
        ("image", &[("words", "two views")]),
        ("follow-up", &[("words", "look again"), ("due", "1")]),
    ];
    for (part, fields) in good {
        let page = format!("{}?add={part}", path(visit));
        battery(&mut vet, &page, &format!("{}/{part}", path(visit)), fields).await;
    }
}

#[tokio::test]
async fn a_form_sent_twice_takes_effect_once() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let (page, action) = (format!("{}?add=plan", path(visit)), format!("{}/plan", path(visit)));
    twice(&mut vet, &page, &action, &[("words", "rest")]).await;
    assert_eq!(of_kind(&test, visit, Kind::Plan).await.len(), 1);
    let (page, action) = (format!("{}?add=follow-up", path(visit)), format!("{}/follow-up", path(visit)));
    twice(&mut vet, &page, &action, &[("words", "call the owner"), ("due", "1")]).await;
    let due = followups::store::open_of_horse(test.app.db.read(), story.horse).await.unwrap();
    assert_eq!(due.len(), 1);
}

#[tokio::test]
async fn a_follow_up_is_never_in_the_past_and_never_for_a_horse_that_is_gone() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let action = format!("{}/follow-up", path(visit));
    for (due_on, field) in [
        ("10 Mar 2026", "#due_on-error"),
        ("2062-03-12", "#due_on-error"),
        ("31.2.2026", "#due_on-error"),
        ("", "#due-error"),
    ] {
        let page = vet.submit(&action, &[("words", "look again"), ("due_on", due_on)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{due_on}");
        assert!(page.has(field), "{due_on}: {:?}", page.texts(".error"));
        assert_eq!(page.attrs("#words", "value"), ["look again"]);
    }
    let today = vet.submit(&action, &[("words", "look again"), ("due_on", "11.3.2026")]).await;
    assert_eq!(today.status, StatusCode::SEE_OTHER);
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update horse set status = 'dead', status_on = '2026-03-11'")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let gone = vet.submit(&action, &[("words", "look again"), ("due", "1")]).await;
    assert_eq!(gone.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(followups::store::open_of_horse(test.app.db.read(), story.horse).await.unwrap().len(), 1);
}

#[tokio::test]
async fn a_visit_that_is_not_in_hand_takes_nothing() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    for state in ["booked", "arrived", "did_not_come", "cancelled"] {
        let visit = story.visit("2026-03-11").await;
        set_state(&test, visit, state).await;
        let page = vet.get(&path(visit)).await;
        assert!(!page.has("form.picker") && !page.has("a.primary"), "{state}");
        let answer = vet.submit(&format!("{}/plan", path(visit)), &[("words", "rest for a week")]).await;
        assert_eq!(answer.status, StatusCode::CONFLICT, "{state}");
        assert!(answer.text.contains("rest for a week"), "{state}: what was typed is gone");
    }
}

#[tokio::test]
async fn an_entry_is_changed_only_on_its_own_visit() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let (one, other) = (story.visit("2026-03-11").await, story.visit("2026-03-10").await);
    let mut vet = test.signed_in(Role::Vet).await;
    write(&mut vet, one, "plan", &[("words", "rest")]).await;
    let entry = standing(&test, one).await[0].id;
    let fields = [("words", "work"), ("reason", "because")];
    let answer = vet.submit(&format!("{}/entries/{entry}", path(other)), &fields).await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
    let found = story.say(one, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    let answer = vet.submit(&format!("{}/entries/{found}", path(one)), &fields).await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND, "findings are changed in the exam");
}

#[test]
fn every_place_has_words_of_its_own_and_is_found_by_them() {
    let mut count = 0;
    for site in Site::all() {
        assert_eq!(Site::read(&site.to_string().to_uppercase()), Some(site), "{site}");
        assert_eq!(Site::read(&site.key()), Some(site), "{site}");
        count += 1;
    }
    assert!(count > 150, "{count}");
    assert_eq!(Site::read("LF"), Some(Site::Limb(Limb::LF)));
    assert_eq!(Site::read("left fore wing"), None);
}

#[test]
fn the_picks_say_where_they_come_from() {
    let picks = choices();
    assert_eq!(picks.near_day.iter().map(|d| d.days).collect::<Vec<_>>(), [7, 14, 28, 42]);
    assert_eq!(
        picks.certainty.iter().map(|c| c.code.as_str()).collect::<Vec<_>>(),
        ["suspected", "likely", "confirmed"]
    );
    assert!(picks.certainty.iter().all(|c| !c.source.is_empty() && !c.meaning.is_empty()));
    assert!(picks.near_day.iter().all(|d| !d.source.is_empty()));
}

pub async fn set_state(test: &TestApp, visit: VisitId, state: &str) {
    let mut tx = test.app.db.write().await.unwrap();
    let done = sqlx::query("update visit set state = ? where id = ?").bind(state).bind(visit);
    done.execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}
