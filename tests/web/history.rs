//! Before the recheck: what the page makes of the record.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    catalogue::{Limb, Place, Section, sweep_places},
    ids::{EntryId, HorseId},
    record::{Body, Kind, NewEntry},
};

use crate::support::{
    TestApp,
    record::{Story, clear, finding, gait, on},
};

#[tokio::test]
async fn the_desk_may_not_read_the_record() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let path = story.history();
    for (role, status) in [
        (Role::Owner, StatusCode::OK),
        (Role::Vet, StatusCode::OK),
        (Role::Technician, StatusCode::OK),
        (Role::Desk, StatusCode::FORBIDDEN),
    ] {
        assert_eq!(test.signed_in(role).await.get(&path).await.status, status, "{role}");
    }
}

#[tokio::test]
async fn a_horse_without_a_past_says_so_and_a_horse_that_is_none_is_not_found() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get(&story.history()).await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.texts("main > div > .empty").len(), 1);
    let none = format!("/horses/{}/history", HorseId::new());
    assert_eq!(vet.get(&none).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_finding_stays_open_until_its_place_is_seen_clear() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let (first, second) = (story.visit("2025-10-12").await, story.visit("2026-01-20").await);
    story.say(first, finding("FETL_D", "L", "EFF", 3.0, "effusion_0_4")).await;
    story.say(first, finding("CARP_D", "R", "HEAT", 1.0, "finding_0_3")).await;
    story.say(second, clear("CARP_D", "R")).await;
    let page = test.signed_in(Role::Vet).await.get(&story.history()).await;
    let open = page.texts(".again li");
    assert_eq!(open, ["left fore fetlock, dorsal effusion, marked (3 of 4) (12 Oct 2025)"]);
    assert_eq!(
        page.attrs("tr[id='CARP_D.R'] svg", "aria-label"),
        ["abnormal, grade 1", "nothing found, better than last time"]
    );
    assert_eq!(page.attrs("tr[id='FETL_D.L'] svg", "aria-label"), ["abnormal, grade 3", "not examined"]);
    assert!(page.has("tr[id='CARP_D.R'].settled") && !page.has("tr[id='FETL_D.L'].settled"));
    assert!(page.has(".plan a[href='#FETL_D.L']"), "the plan leads to the row");
}

#[tokio::test]
async fn looking_again_is_one_tap_into_todays_exam_or_begins_a_visit() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let past = story.visit("2025-10-12").await;
    story.say(past, finding("FETL_D", "L", "EFF", 3.0, "effusion_0_4")).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let start = format!("form[action='/horses/{}/visits']", story.horse);
    assert!(vet.get(&story.history()).await.has(&start));
    assert!(
        !test.signed_in(Role::Owner).await.get(&story.history()).await.has(&start),
        "an owner does not examine"
    );
    let today = story.visit("2026-03-11").await;
    let page = vet.get(&story.history()).await;
    let tap = format!("/visits/{today}/exam?open=FETL_D.L#at-FETL_D");
    assert_eq!(page.attrs(".again a.line", "href"), std::slice::from_ref(&tap));
    assert_eq!(page.attrs("tr[id='FETL_D.L'] .look a", "href"), [tap]);
    assert!(!page.has(&start));
}

#[tokio::test]
async fn a_correction_a_withdrawal_and_an_erasure_leave_the_grid() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2025-10-12").await;
    let wrong = story.say(visit, finding("FETL_D", "L", "EFF", 3.0, "effusion_0_4")).await;
    let mut right = finding("FETL_D", "L", "EFF", 1.0, "effusion_0_4");
    right.reason = Some("slip of the finger".into());
    story.add(NewEntry::new(visit, right).superseding(wrong)).await;
    let taken = story.say(visit, finding("CARP_D", "R", "HEAT", 1.0, "finding_0_3")).await;
    story.add(NewEntry::new(visit, Body::new(Kind::Withdrawal)).superseding(taken)).await;
    let erased = story.say(visit, finding("SHLD", "R", "PAIN", 2.0, "finding_0_3")).await;
    story.erase(erased).await;
    let page = test.signed_in(Role::Vet).await.get(&story.history()).await;
    assert_eq!(page.attrs("tr[id='FETL_D.L'] svg", "aria-label"), ["abnormal, grade 1"]);
    assert!(!page.has("tr[id='CARP_D.R']") && !page.has("tr[id='SHLD.R']"));
}

#[tokio::test]
async fn a_late_entry_counts_once_it_was_adopted() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2025-10-12").await;
    story.sign(visit).await;
    let id = EntryId::new();
    let body = finding("FETL_D", "L", "EFF", 3.0, "effusion_0_4");
    story.add(NewEntry { id, late: true, ..NewEntry::new(visit, body) }).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let before = vet.get(&story.history()).await;
    assert!(!before.has("tr[id='FETL_D.L']"));
    assert_eq!(before.texts(".late").len(), 1, "it waits, and the page says so");
    story.say(visit, Body { about: Some(id), ..Body::new(Kind::Adoption) }).await;
    let after = vet.get(&story.history()).await;
    assert!(after.has("tr[id='FETL_D.L']") && !after.has(".late"));
}

#[tokio::test]
async fn a_moved_visit_takes_its_findings_along() {
    let test = TestApp::new().await;
    let (from, to) = (Story::new(&test).await, Story::new(&test).await);
    let visit = from.visit("2025-10-12").await;
    from.say(visit, finding("FETL_D", "L", "EFF", 3.0, "effusion_0_4")).await;
    from.move_to(visit, to.horse).await;
    let mut vet = test.signed_in(Role::Vet).await;
    assert!(!vet.get(&from.history()).await.has("tr[id='FETL_D.L']"));
    assert!(vet.get(&to.history()).await.has("tr[id='FETL_D.L']"));
}

#[tokio::test]
async fn lameness_is_drawn_a_limb_a_line_and_scales_are_never_mixed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let (first, second) = (story.visit("2025-10-12").await, story.visit("2026-01-20").await);
    story.say(first, gait("RF", "TRT_SH", 5.0, "uk_0_10")).await;
    story.say(second, gait("RF", "TRT_SH", 2.0, "aaep_0_5")).await;
    story.say(second, gait("RF", "LNG_RH", 3.0, "aaep_0_5")).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get(&story.history()).await;
    assert_eq!(page.texts("#lame-head"), ["Lameness over time: trot, straight, hard"]);
    let captions = page.texts(".lameness figcaption");
    assert_eq!(captions.len(), 2);
    assert!(captions[0].starts_with("Lameness, AAEP 0-5") && captions[1].starts_with("Lameness, 0-10"));
    assert_eq!(
        page.texts(".lameness figure:first-of-type tbody tr"),
        ["20 Jan 2026not graded2not gradednot graded"]
    );
    let other = vet.get(&format!("{}?condition=LNG_RH", story.history())).await;
    assert_eq!(other.texts("#lame-head"), ["Lameness over time: lunge right, hard"]);
    assert_eq!(vet.get(&format!("{}?condition=%3Cb%3E", story.history())).await.status, StatusCode::OK);
}

#[tokio::test]
async fn open_tests_and_what_was_done_last_are_told() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let (first, second) = (story.visit("2025-10-12").await, story.visit("2026-01-20").await);
    let bend = |limb: &str, grade: f64| Body {
        limb: Some(limb.into()),
        code: Some("FX_DF".into()),
        grade: Some(grade),
        scale: Some("flexion_0_4".into()),
        ..Body::new(Kind::Flexion)
    };
    story.say(first, bend("LF", 2.0)).await;
    story.say(first, bend("RF", 1.0)).await;
    story.say(second, bend("RF", 0.0)).await;
    let words = |kind, text: &str| Body { text: Some(text.into()), ..Body::new(kind) };
    story.say(first, words(Kind::Block, "palmar digital: negative")).await;
    story.say(second, words(Kind::Plan, "walk in hand for three weeks")).await;
    let page = test.signed_in(Role::Vet).await.get(&story.history()).await;
    assert_eq!(
        page.texts(".again li"),
        ["left fore: flexion, lower limb (fetlock) moderate (2 of 4) (12 Oct 2025)"]
    );
    assert_eq!(page.texts(".latest dt"), ["Blocks 12 Oct 2025", "Plan 20 Jan 2026", "Follow-ups"]);
    assert_eq!(
        page.texts(".latest dd"),
        ["palmar digital: negative", "walk in hand for three weeks", "none open"]
    );
}

#[tokio::test]
async fn what_only_describes_a_foot_is_not_looked_at_again() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2025-10-12").await;
    let pick = |region: &str, code: &str, value: &str| {
        let body = finding(region, "L", code, 0.0, "");
        Body {
            value: Some(value.into()),
            present: Some(true),
            grade: None,
            scale: None,
            ..on(body, Some("LF"))
        }
    };
    story.say(visit, pick("FT_BAL", "landing", "toe_first")).await;
    story.say(visit, pick("FT_FROG", "frog", "thrush")).await;
    let page = test.signed_in(Role::Vet).await.get(&story.history()).await;
    assert_eq!(page.texts(".again li .where"), ["left fore foot, frog"]);
    assert_eq!(page.texts("tr[id='FT_BAL.LF'] .look"), ["noted"]);
}

#[tokio::test]
async fn places_resolved_before_the_visits_shown_are_folded() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let first = story.visit("2024-01-10").await;
    story.say(first, finding("FETL_D", "L", "EFF", 3.0, "effusion_0_4")).await;
    for month in 1..=12 {
        let visit = story.visit(&format!("2025-{month:02}-10")).await;
        story.say(visit, clear("FETL_D", "L")).await;
    }
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.get(&story.history()).await;
    assert_eq!(page.texts("#older summary"), ["1 place with older findings, all resolved"]);
    assert!(page.has("#older li[id='FETL_D.L']") && !page.has("tr[id='FETL_D.L']"));
    assert!(vet.get(&format!("{}?earlier=yes", story.history())).await.has("tr[id='FETL_D.L']"));
}

#[tokio::test]
async fn every_way_to_look_again_leads_to_something_on_the_exam_page() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let before = story.visit("2025-10-12").await;
    story.say(before, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    let (limb, scale) = (Some("LF".into()), Some("flexion_0_4".into()));
    let bend = Body { limb, code: Some("FX_DF".into()), grade: Some(2.0), scale, ..Body::new(Kind::Flexion) };
    story.say(before, bend).await;
    story.say(before, Body { code: Some("N16".into()), present: Some(true), ..Body::new(Kind::Neuro) }).await;
    story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let ways = vet.get(&story.history()).await.attrs(".again a.line", "href");
    assert_eq!(ways.len(), 3, "{ways:?}");
    for way in ways {
        let (page, anchor) = way.split_once('#').unwrap();
        assert!(vet.get(page).await.has(&format!("[id='{anchor}']")), "{way} leads nowhere");
    }
}

/// 60 visits of 200 entries: the page still opens, shows twelve visits and leads to the earlier ones.
#[tokio::test]
async fn a_horse_of_sixty_visits_and_twelve_thousand_entries_opens() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    long_life(&story).await;
    let mut vet = test.signed_in(Role::Vet).await;
    vet.get(&story.history()).await;
    let begun = std::time::Instant::now();
    let page = vet.get(&story.history()).await;
    let took = begun.elapsed();
    println!("history of 12,000 entries: {took:?}, {} bytes", page.text.len());
    assert_eq!(page.texts("thead th").len(), 1 + 12 + 1 + 5, "place, visits, today; and the grades' table");
    assert_eq!(page.texts("a[href='?earlier=yes#grid-head']"), ["Show 48 earlier visits"]);
    let all = vet.get(&format!("{}?earlier=yes", story.history())).await;
    assert_eq!(all.texts("table.history thead th").len(), 62);
}

/// Every place swept, a few findings that come and go, gait on four limbs.
pub async fn long_life(story: &Story<'_>) {
    let sections = ["axial", "LF", "RF", "LH", "RH", "LF.foot", "RF.foot", "LH.foot", "RH.foot"];
    let places: Vec<_> = sections.iter().flat_map(|s| sweep_places(s.parse::<Section>().unwrap())).collect();
    for n in 0..60u8 {
        let visit = story.visit(&format!("20{}-{:02}-11", 21 + n / 12, 1 + n % 12)).await;
        let limb = |p: &Place| p.limb().map(Limb::code);
        let mut bodies: Vec<Body> =
            places.iter().map(|p| on(clear(&p.region().code, p.side().code()), limb(p))).collect();
        for (m, place) in places.iter().enumerate().filter(|(m, _)| m % 6 == 0) {
            let grade = f64::from((n + u8::try_from(m).unwrap()) % 4);
            let body = finding(&place.region().code, place.side().code(), "SWEL", grade, "finding_0_3");
            bodies[m] = on(body, limb(place));
        }
        for (limb, condition) in
            ["LF", "RF", "LH", "RH"].iter().flat_map(|l| ["WLK_S", "TRT_SH", "LNG_LS"].map(|c| (l, c)))
        {
            bodies.push(gait(limb, condition, f64::from(n % 5), "aaep_0_5"));
        }
        while bodies.len() < 200 {
            bodies.push(Body { text: Some("stood well".into()), ..Body::new(Kind::Note) });
        }
        story.say_all(visit, bodies).await;
    }
}
