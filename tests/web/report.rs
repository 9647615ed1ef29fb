//! The visit's report: complete, in order, and plain about what it does not say.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::{EntryId, SweepId, VisitId},
    record::{Body, Kind, NewEntry},
};

use crate::support::{
    TestApp,
    record::{Story, clear, finding, gait, on},
};

fn words(kind: Kind, text: &str) -> Body {
    Body { text: Some(text.into()), ..Body::new(kind) }
}

#[tokio::test]
async fn the_desk_may_not_read_it_and_a_visit_that_is_none_is_not_found() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let path = format!("/visits/{visit}/report");
    assert_eq!(test.signed_in(Role::Desk).await.get(&path).await.status, StatusCode::FORBIDDEN);
    let mut vet = test.signed_in(Role::Vet).await;
    assert_eq!(vet.get(&path).await.status, StatusCode::OK);
    let none = format!("/visits/{}/report", VisitId::new());
    assert_eq!(vet.get(&none).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_empty_draft_says_that_it_is_one() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let page = test.signed_in(Role::Vet).await.get(&format!("/visits/{visit}/report")).await;
    assert_eq!(page.texts(".draft"), ["Draft: this visit is not signed. State: in hand."]);
    assert_eq!(page.texts(".empty"), ["Nothing was recorded in this visit yet."]);
    assert!(page.text.contains("microchip 276020000000017"));
}

#[tokio::test]
async fn findings_stand_left_beside_right_with_what_was_and_was_not_examined() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    story.say(visit, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    story.say(visit, on(clear("FETL_D", "R"), Some("RF"))).await;
    let sweep = Some(SweepId::new());
    story.say(visit, Body { sweep, ..on(clear("SHLD", "L"), Some("LF")) }).await;
    story.say(visit, gait("LF", "TRT_SH", 2.5, "aaep_0_5")).await;
    story.say(visit, gait("LF", "WLK_S", 0.0, "aaep_0_5")).await;
    let page = test.signed_in(Role::Vet).await.get(&format!("/visits/{visit}/report")).await;
    assert_eq!(page.texts(".places tbody th"), ["fetlock, dorsal"]);
    assert_eq!(page.texts(".places tbody td"), ["effusion, moderate (2 of 4)", "nothing found"]);
    let clear: Vec<String> = page.texts("section p").into_iter().filter(|p| p.contains("by sweep")).collect();
    assert_eq!(
        clear,
        [
            "left fore limb: shoulder joint. 1 place, 1 by sweep",
            "right fore limb: fetlock, dorsal. 1 place, 0 by sweep",
        ]
    );
    let unseen = page.texts(".unseen p").join("\n");
    assert!(unseen.contains("left hind limb: no place was examined."), "{unseen}");
    assert!(unseen.contains("left fore limb: biceps tendon and bursa;"), "{unseen}");
    assert_eq!(page.texts(".gaits tbody tr")[0].split_whitespace().next(), Some("walk,"));
    assert_eq!(
        page.texts(".gaits tbody td"),
        ["0", "not graded", "not graded", "not graded", "2.5", "not graded", "not graded", "not graded"]
    );
    assert!(page.attrs(".picture svg", "aria-label")[0].contains("effusion, moderate (2 of 4)"));
    assert!(!page.has(".picture a"));
}

#[tokio::test]
async fn words_problems_cautions_and_authors_are_kept() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut problem = Body { value: Some("likely".into()), ..words(Kind::Problem, "fetlock synovitis") };
    (problem.region, problem.side) = (Some("FETL_D".into()), Some("L".into()));
    story.say(visit, problem).await;
    story.say(visit, words(Kind::Plan, "rest for <b>two</b> weeks")).await;
    let mut passed = Body { reason: Some("pictures are clean".into()), ..Body::new(Kind::Override) };
    passed.code = Some("CI_FRAC".into());
    story.say(visit, passed).await;
    let page = test.signed_in(Role::Technician).await.get(&format!("/visits/{visit}/report")).await;
    let lines = page.texts(".report li");
    assert!(lines.contains(&"fetlock synovitis, left fore fetlock, dorsal (likely)".into()), "{lines:?}");
    assert!(lines.contains(&"rest for <b>two</b> weeks".into()), "{lines:?}");
    assert!(lines.iter().any(|l| l.ends_with("because: pictures are clean")), "{lines:?}");
    assert_eq!(
        page.texts(".signature .small"),
        ["3 entries seen by Vala Test, typed by Tarn Test, 11 Mar 2026, 09:00 to 09:00."]
    );
}

#[tokio::test]
async fn a_signed_report_carries_its_seal_and_what_came_after() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    story.say(visit, finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4")).await;
    story.sign(visit).await;
    test.set_clock(test.now().plus_minutes(60 * 24));
    story.say(visit, words(Kind::Addendum, "culture was negative")).await;
    let id = EntryId::new();
    let body = finding("CARP_D", "R", "HEAT", 1.0, "finding_0_3");
    story.add(NewEntry { id, late: true, ..NewEntry::new(visit, body) }).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/report");
    let page = vet.get(&path).await;
    assert!(!page.has(".draft"));
    let seal = &page.texts(".signature p")[0];
    assert!(seal.starts_with("Signed by Vala Test,") && seal.contains("Entry 2 of the record"), "{seal}");
    assert_eq!(
        page.texts(".added li"),
        [
            "Addendum, 12 Mar 2026, 09:00, Vala Test: culture was negative",
            "Late entry, seen 12 Mar 2026, 09:00 by Vala Test, received 12 Mar 2026, 09:00: heat, mild (1 of 3), \
         right fore carpus, dorsal not yet taken into the record",
        ]
    );
    assert!(
        !page.texts(".places td").join(" ").contains("heat"),
        "late words stay outside the signed content"
    );
    story.say(visit, Body { about: Some(id), ..Body::new(Kind::Adoption) }).await;
    let page = vet.get(&path).await;
    assert!(page.texts(".added li")[1].ends_with("taken into the record by Vala Test, 12 Mar 2026, 09:00"));
}

#[tokio::test]
async fn corrections_erasures_and_a_move_leave_their_trace() {
    let test = TestApp::new().await;
    let (story, other) = (Story::new(&test).await, Story::new(&test).await);
    let visit = story.visit("2026-03-11").await;
    let wrong = story.say(visit, finding("FETL_D", "L", "EFF", 3.0, "effusion_0_4")).await;
    let mut right = finding("FETL_D", "L", "EFF", 1.0, "effusion_0_4");
    right.reason = Some("slip of the finger".into());
    story.add(NewEntry::new(visit, right).superseding(wrong)).await;
    let taken = story.say(visit, finding("CARP_D", "R", "HEAT", 1.0, "finding_0_3")).await;
    let back = Body { reason: Some("other horse".into()), ..Body::new(Kind::Withdrawal) };
    story.add(NewEntry::new(visit, back).superseding(taken)).await;
    let erased = story.say(visit, words(Kind::Note, "a name that must go")).await;
    story.erase(erased).await;
    let moved = Body {
        from_horse: Some(other.horse),
        to_horse: Some(story.horse),
        reason: Some("opened the wrong card".into()),
        ..Body::new(Kind::Moved)
    };
    story.say(visit, moved).await;
    let page = test.signed_in(Role::Vet).await.get(&format!("/visits/{visit}/report")).await;
    assert_eq!(
        page.texts(".corrected li"),
        [
            "11 Mar 2026, 09:00, Vala Test: effusion, marked (3 of 4), left fore fetlock, dorsal, now: effusion, mild \
         (1 of 4), left fore fetlock, dorsal because: slip of the finger",
            "11 Mar 2026, 09:00, Vala Test: taken back: heat, mild (1 of 3), right fore carpus, dorsal because: other horse",
        ]
    );
    let erased = page.texts(".erased li");
    assert!(erased[0].ends_with("by Olwen Test under GDPR Art. 17: wrong person"), "{erased:?}");
    assert!(!page.text.contains("a name that must go"));
    assert_eq!(
        page.texts(".added li"),
        ["Moved, 11 Mar 2026, 09:00, Vala Test: entered under Briar, moved to Briar: opened the wrong card"]
    );
}
