//! The work-up: what a block form stores and refuses, clocks that survive, what is read of an answer, and what the page
//! says of it.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::{EntryId, VisitId},
    record::{self, Body, Given, Kind},
};

use crate::support::{
    Browser, Page, TestApp,
    record::{Story, finding, gait, on},
};

const CONSENT: [(&str, &str); 3] =
    [("consent", "given"), ("consent_by", "Anna Marsh"), ("consent_how", "by phone")];

/// A visit at which the left fore is lame, and the vet's browser.
struct Yard {
    test: TestApp,
    visit: VisitId,
    vet: Browser,
}

impl Yard {
    async fn new() -> Self {
        let test = TestApp::new().await;
        let story = Story::new(&test).await;
        let visit = story.visit("2026-03-11").await;
        story.say(visit, gait("LF", "TRT_SH", 3.0, "aaep_0_5")).await;
        let vet = test.signed_in(Role::Vet).await;
        Yard { test, visit, vet }
    }

    fn at(&self, path: &str) -> String {
        format!("/visits/{}/work-up{path}", self.visit)
    }

    async fn see(&mut self, path: &str) -> Page {
        let path = self.at(path);
        self.vet.get(&path).await
    }

    async fn send(&mut self, path: &str, fields: &[(&str, &str)]) -> Page {
        let path = self.at(path);
        self.vet.submit(&path, fields).await
    }

    async fn block(&mut self, limb: &str, block: &str, more: &[(&str, &str)]) -> Page {
        let usual = [
            ("limb", limb),
            ("block", block),
            ("agent", "mepivacaine"),
            ("volume", "1.5"),
            ("sites", "2"),
            ("at", "9:00"),
        ];
        let usual: Vec<_> = usual.into_iter().chain(CONSENT).collect();
        self.send("/block", &over(&usual, more)).await
    }

    /// A block that must be taken, and its entry.
    async fn blocked(&mut self, limb: &str, block: &str, more: &[(&str, &str)]) -> EntryId {
        let page = self.block(limb, block, more).await;
        assert_eq!(page.status, StatusCode::SEE_OTHER, "{:?}", page.texts(".errors li"));
        let entries = record::current_of_visit(self.test.app.db.read(), self.visit).await.unwrap();
        let is_block = |body: &Body| body.kind == Kind::Block;
        entries.iter().rev().find(|e| e.body.as_ref().is_some_and(is_block)).unwrap().id
    }

    async fn read(&mut self, block: EntryId, fields: &[(&str, &str)]) -> Page {
        let all = over(&[("condition", "TRT_SH"), ("scale", "aaep_0_5")], fields);
        self.send(&format!("/blocks/{block}/reading"), &all).await
    }

    async fn bodies(&self, kind: Kind) -> Vec<Body> {
        let entries = record::current_of_visit(self.test.app.db.read(), self.visit).await.unwrap();
        entries.into_iter().filter_map(|e| e.body).filter(|body| body.kind == kind).collect()
    }

    fn pass(&self, minutes: i64) {
        self.test.set_clock(self.test.now().plus_minutes(minutes));
    }
}

#[tokio::test]
async fn a_block_is_kept_as_it_was_given_with_the_consent_asked_beside_it() {
    let mut yard = Yard::new().await;
    let now = yard.test.now();
    yard.blocked("LF", "PDN", &[("site", "at_cartilage"), ("mg_per_ml", "20"), ("at", "8:55")]).await;
    let block = &yard.bodies(Kind::Block).await[0];
    assert_eq!((block.limb.as_deref(), block.code.as_deref()), (Some("LF"), Some("PDN")));
    let given = Given {
        agent: Some("mepivacaine".into()),
        mg_per_ml: Some(20.0),
        volume_ml: Some(1.5),
        sites: Some(2.0),
        site: Some("at_cartilage".into()),
        at: Some(now.plus_minutes(-5)),
        ..Given::default()
    };
    assert_eq!(block.given, Some(given));
    let consent = &yard.bodies(Kind::Consent).await[0];
    assert_eq!((consent.code.as_deref(), consent.present), (Some("blocks"), Some(true)));
    assert_eq!(consent.held_by.as_deref(), Some("Anna Marsh"));
    let again = yard.see("/block?limb=LF&block=ASN").await;
    assert!(!again.has("[name=consent]"), "consent for blocks stands");
    let joint = yard.see("/block?limb=LF&block=DIPJ").await;
    assert!(joint.has("[name=consent]"), "a joint is asked for by itself");
}

#[tokio::test]
async fn withheld_consent_is_kept_and_no_block_with_it() {
    let mut yard = Yard::new().await;
    let page = yard.block("LF", "PDN", &[("consent", "withheld"), ("volume", "")]).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER, "{:?}", page.texts(".errors li"));
    assert!(yard.bodies(Kind::Block).await.is_empty());
    assert_eq!(yard.bodies(Kind::Consent).await[0].present, Some(false));
    let form = yard.see("/block?limb=LF&block=PDN").await;
    assert!(form.texts(".stop-strip")[0].contains("Anna Marsh, by phone"));
}

#[tokio::test]
async fn what_a_block_cannot_be_is_said_beside_its_field_and_stored_nowhere() {
    let mut yard = Yard::new().await;
    for (field, bad) in [
        ("volume", ""),
        ("volume", "a lot"),
        ("volume", "900"),
        ("sites", "1.5"),
        ("at", "9:40"),
        ("at", "noonish"),
        ("agent", "rum"),
        ("site", "elsewhere"),
        ("mg_per_ml", "-2"),
        ("consent", ""),
        ("consent_by", ""),
        ("consent_how", "by owl"),
    ] {
        let page = yard.block("LF", "PDN", &[(field, bad)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {bad}");
        let ways = page.attrs(".errors a", "href");
        assert_eq!(ways, [format!("#{field}")], "{field}: {bad}");
        assert!(page.has(&format!("[id='{field}']")), "{field} is there to be put right");
    }
    for (limb, block) in [("LF", "TMTJ"), ("XX", "PDN"), ("LF", "NOPE")] {
        let page = yard.block(limb, block, &[]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{block} on {limb}");
    }
    assert!(yard.bodies(Kind::Block).await.is_empty() && yard.bodies(Kind::Consent).await.is_empty());
}

#[tokio::test]
async fn a_clock_is_told_from_the_stored_instant_whatever_time_the_page_is_opened() {
    let mut yard = Yard::new().await;
    yard.blocked("LF", "PDN", &[]).await;
    for (after, phase, words) in [
        (2, "early", "too early, read from 09:05"),
        (4, "now", "read now, until 09:15"),
        (10, "late", "late since 09:15"),
    ] {
        yard.pass(after);
        let page = yard.see("").await;
        assert_eq!(page.texts(".next-up .phase"), [words]);
        assert!(page.has(&format!(".next-up.clock-{phase}")), "{phase}");
        let day = yard.vet.get("/").await;
        assert_eq!(day.texts("#visits .phase"), [words], "the day page shows the clock too");
    }
    assert_eq!(yard.see("").await.texts(".next-up .minutes"), ["16 min"]);
}

#[tokio::test]
async fn a_clock_that_was_read_rests_and_the_horse_may_still_be_numb() {
    let mut yard = Yard::new().await;
    let block = yard.blocked("LF", "PDN", &[]).await;
    yard.pass(8);
    yard.read(block, &[("minutes", "8"), ("before", "3"), ("after", "0.5")]).await;
    let page = yard.see("").await;
    assert!(!page.has(".next-up .clock"));
    assert!(page.texts("#leaving dd")[1].contains("until 15:06"), "366 minutes of mepivacaine");
    assert!(yard.vet.get("/").await.texts("#visits .open")[0].contains("may be numb until 15:06"));
    yard.pass(400);
    yard.vet = yard.test.signed_in(Role::Vet).await;
    assert!(yard.see("").await.texts("#leaving dd")[1].contains("not any more"));
}

#[tokio::test]
async fn an_answer_is_reckoned_from_the_grades_and_may_be_judged_otherwise() {
    let mut yard = Yard::new().await;
    let block = yard.blocked("LF", "PDN", &[]).await;
    let form = yard.see(&format!("/blocks/{block}/reading")).await;
    let field = |name: &str| form.attrs(&format!("[name={name}]"), "value")[0].clone();
    assert_eq!((field("minutes"), field("before")), ("0".into(), "3".into()), "from the clock and the gait");

    yard.read(block, &[("minutes", "4"), ("before", "3"), ("after", "3")]).await;
    yard.read(block, &[("minutes", "8"), ("before", "3"), ("after", "1")]).await;
    yard.read(block, &[("minutes", "12"), ("before", "3"), ("after", "1"), ("better", "80")]).await;
    let looks = yard.see("").await.texts(".looks > li");
    assert!(
        looks[0].contains("at 4 min: no better, from 3 to 3") && looks[0].contains("too early"),
        "{looks:?}"
    );
    assert!(looks[1].contains("67 % better, from 3 to 1"), "{looks:?}");
    assert!(
        looks[2].contains("80 % better") && looks[2].contains("the grades alone say 67 % better"),
        "{looks:?}"
    );
    for (field, bad) in [
        ("minutes", ""),
        ("minutes", "-3"),
        ("before", "2.3"),
        ("after", "9"),
        ("better", "140"),
        ("condition", "GONE"),
        ("switched", "LF"),
        ("skin", "maybe"),
    ] {
        let good = [("minutes", "8"), ("before", "3"), ("after", "1")];
        let page = yard.read(block, &over(&good, &[(field, bad)])).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {bad}");
    }
    assert_eq!(yard.bodies(Kind::Reading).await.len(), 3);
}

#[tokio::test]
async fn a_hard_stop_comes_before_the_form_and_only_a_reason_for_blocks_lets_it_open() {
    let mut yard = Yard::new().await;
    let story = Story { test: &yard.test, horse: horse_of(&yard).await };
    story.say(yard.visit, on(finding("FETL_D", "L", "CREP", 2.0, "finding_0_3"), Some("LF"))).await;
    let mut flexed = Body::new(Kind::Override);
    (flexed.code, flexed.value, flexed.reason) =
        (Some("CI_FRAC".into()), Some("flexion".into()), Some("pictures are clean".into()));
    story.say(yard.visit, flexed).await;

    let page = yard.see("/block?limb=LF&block=PDN").await;
    assert!(page.has("#go-on") && !page.has("[name=volume]"), "leave for flexion is none for a needle");
    let refused = yard.block("LF", "PDN", &[("volume", "1.7")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(refused.attrs("[name=volume]", "value"), ["1.7"], "what was typed stays");
    let codes = page.attrs("#go-on [name=code]", "value");
    assert!(codes.contains(&"CI_FRAC".to_owned()), "{codes:?}");
    let fields = |reason: &'static str| {
        let mut all = vec![("limb", "LF"), ("block", "PDN"), ("reason", reason)];
        all.extend(codes.iter().map(|code| ("code", code.as_str())));
        all
    };
    assert_eq!(yard.send("/go-on", &fields("")).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(yard.send("/go-on", &fields("radiographs are clean")).await.status, StatusCode::SEE_OTHER);
    let passed = yard.bodies(Kind::Override).await;
    let blocks: Vec<_> = passed.iter().filter(|body| body.value.as_deref() == Some("blocks")).collect();
    assert_eq!(blocks.len(), codes.len());
    assert!(blocks.iter().all(|body| body.reason.as_deref() == Some("radiographs are clean")));
    assert!(yard.see("/block?limb=LF&block=PDN").await.has("[name=volume]"));
    yard.blocked("LF", "PDN", &[]).await;
}

#[tokio::test]
async fn a_horse_that_is_needle_shy_is_told_of_where_the_needle_is() {
    let mut yard = Yard::new().await;
    let horse = horse_of(&yard).await;
    let mut tx = yard.test.app.db.write().await.unwrap();
    sqlx::query("update horse set temperament = 'NEEDLE' where id = ?")
        .bind(horse)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let cautions = yard.see("/block?limb=LF&block=PDN").await.texts(".caution").concat();
    assert!(cautions.contains("before the needle comes out"), "{cautions}");
    assert_eq!(cautions.matches("plan the restraint").count(), 1, "its own warning stands on its card only");
}

#[tokio::test]
async fn a_caution_that_a_person_says_holds_stops_the_needle() {
    let mut yard = Yard::new().await;
    let said = yard
        .send("/cautions", &[("limb", "LF"), ("block", "PDN"), ("code", "CI_SKIN"), ("words", "heel")])
        .await;
    assert_eq!(said.status, StatusCode::SEE_OTHER);
    assert_eq!(said.location(), yard.at("/block?limb=LF&block=PDN"));
    let page = yard.see("/block?limb=LF&block=PDN").await;
    assert!(page.has("#go-on") && !page.has("[name=volume]"));
    assert!(page.texts(".caution, .stop-strip").join(" ").contains("Infected or wounded skin"));
    for bad in ["", "NOPE"] {
        let page = yard.send("/cautions", &[("limb", "LF"), ("block", "PDN"), ("code", bad)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    }
}

#[tokio::test]
async fn the_page_says_what_an_answer_supports_and_never_that_anything_is_excluded() {
    let mut yard = Yard::new().await;
    let story = Story { test: &yard.test, horse: horse_of(&yard).await };
    story.say(yard.visit, on(finding("DIP_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    let before = yard.see("").await;
    assert!(before.text.contains("No block was read on this limb yet"));
    assert!(before.texts(".reasoning .lines b").contains(&"PDN".to_owned()), "what is worth doing first");

    let block = yard.blocked("LF", "PDN", &[]).await;
    let waiting = yard.see("").await;
    assert!(waiting.text.contains("Read first what was injected:"));
    assert!(
        !waiting.texts(".reasoning .lines b").contains(&"PDN".to_owned()),
        "what waits is not suggested again"
    );
    yard.read(block, &[("minutes", "8"), ("before", "3"), ("after", "0"), ("skin", "numb")]).await;
    let page = yard.see("").await;
    let says = page.texts(".reasoning").join(" ");
    assert!(says.contains("Pain localised to: foot"), "{says}");
    let names = page.texts(".reasoning > .standing summary b");
    assert!(
        names.contains(&"coffin joint".to_owned()) && names.contains(&"navicular bursa".to_owned()),
        "{names:?}"
    );
    assert!(!says.to_lowercase().contains("is excluded"), "{says}");
    assert!(
        says.contains("not supported by these blocks") && says.contains("What blocks cannot say."),
        "{says}"
    );
    assert!(
        says.contains("Apart from the blocks, seen at this visit"),
        "effusion stands apart from the blocks"
    );
    let next = page.texts(".reasoning ol.lines > li");
    assert!(next.len() >= 3 && next.iter().all(|line| line.contains("bits")), "{next:?}");
    assert!(says.contains("foot radiographs"), "{says}");
    assert!(page.texts(".memory summary")[0].starts_with("left fore: what else to think of"));
    let maybe = page.texts(".memory li").join(" ");
    assert!(
        maybe.contains("this visit has effusion, coffin joint") || maybe.contains("this visit has"),
        "{maybe}"
    );
    assert!(yard.bodies(Kind::Problem).await.is_empty(), "nothing is written into the assessment");
}

#[tokio::test]
async fn lameness_that_moves_opens_the_other_limb_beside_the_first() {
    let mut yard = Yard::new().await;
    let block = yard.blocked("LF", "PDN", &[]).await;
    yard.read(block, &[("minutes", "8"), ("before", "3"), ("after", "0"), ("switched", "RF")]).await;
    let page = yard.see("").await;
    assert!(page.texts(".looks li")[0].contains("lame on the right fore then"));
    assert!(page.has("#says-LF") && page.has("#says-RF"), "both limbs are reasoned about");
    yard.blocked("RF", "PDN", &[]).await;
    assert_eq!(yard.see("").await.texts(".sequence h3"), ["left fore", "right fore"]);
}

#[tokio::test]
async fn a_block_of_the_line_box_and_of_the_form_are_one_kind_of_entry() {
    let mut yard = Yard::new().await;
    yard.pass(10);
    let path = format!("/visits/{}/exam/line", yard.visit);
    let read = yard.vet.post(&path, &[("line", "LF PDN 80% at 8 min")]).await;
    let row = read.attrs("input[name=row-0][checked]", "value")[0].clone();
    yard.vet.submit(&format!("{path}/record"), &[("line", "LF PDN 80% at 8 min"), ("row-0", &row)]).await;
    let (blocks, readings) = (yard.bodies(Kind::Block).await, yard.bodies(Kind::Reading).await);
    assert_eq!((blocks.len(), readings.len()), (1, 1));
    assert_eq!(readings[0].after.as_ref().unwrap().improvement_pct, Some(80.0));
    let page = yard.see("").await;
    assert!(page.texts(".timeline time").contains(&"09:02".to_owned()), "reckoned back from the answer");
    assert!(page.texts(".looks li")[0].contains("80 % better"));
    assert!(page.texts(".reasoning").join(" ").contains("Pain localised to: foot"));
}

#[tokio::test]
async fn the_drug_of_all_sites_is_told_as_a_share_of_the_ceiling_for_this_weight() {
    let mut yard = Yard::new().await;
    yard.blocked("LF", "L4P", &[("volume", "3"), ("sites", "4")]).await;
    yard.blocked("LF", "DIPJ", &[("volume", "5"), ("sites", "1"), ("agent", "bupivacaine")]).await;
    assert!(yard.see("").await.texts("#leaving dd")[0].contains("265 mg; the ceiling is 5 mg a kg"));
    let mut tx = yard.test.app.db.write().await.unwrap();
    sqlx::query("insert into horse_weight (id, horse_id, kg, method, weighed_on, entered_by, created_at) values (?, ?, 530, 'scale', '2026-03-10', ?, 0)")
        .bind(EntryId::new())
        .bind(horse_of(&yard).await)
        .bind(yard.test.vet)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let words = yard.see("").await.texts("#leaving dd")[0].clone();
    assert!(words.starts_with("265 mg of 2650 mg (5 mg a kg): 10 %"), "{words}");
}

#[tokio::test]
async fn the_drug_of_another_visit_counts_for_as_long_as_the_window_and_is_named() {
    let mut yard = Yard::new().await;
    let horse = horse_of(&yard).await;
    let given = |minutes_ago: i64, ml: f64| {
        let at = Some(yard.test.now().plus_minutes(-minutes_ago));
        let given = Given { volume_ml: Some(ml), sites: Some(2.0), at, ..Given::default() };
        Body { code: Some("ASN".into()), given: Some(given), ..on(Body::new(Kind::Block), Some("RF")) }
    };
    let (recent, long_ago) = (given(230, 2.0), given(250, 9.0));
    let story = Story { test: &yard.test, horse };
    let (early, other_horse) = (story.visit("2026-03-11").await, yard.test.horse("Sallow").await);
    story.say_all(early, vec![recent.clone(), long_ago]).await;
    let elsewhere = Story { test: &yard.test, horse: other_horse };
    elsewhere.say(elsewhere.visit("2026-03-11").await, recent).await;

    yard.blocked("LF", "PDN", &[]).await;
    let page = yard.see("").await;
    // 2 x 1.5 ml here and 2 x 2 ml there, of 20 mg a ml.
    assert!(page.texts("#leaving dd")[0].starts_with("140 mg; "), "{}", page.texts("#leaving dd")[0]);
    let told = page.texts("#elsewhere li");
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].starts_with("right fore, 11 Mar 2026") && told[0].contains("2 ml at each of 2"),
        "{told:?}"
    );
    assert_eq!(page.attrs("#elsewhere a", "href"), [format!("/visits/{early}/work-up")]);
    let numbers = page.texts(".fold tr");
    assert!(numbers.iter().any(|row| row.contains("summed over 4 h") && row.contains("working rule")));

    yard.pass(11);
    let page = yard.see("").await;
    assert!(page.texts("#leaving dd")[0].starts_with("60 mg; ") && !page.has("#elsewhere"));
    yard.pass(240);
    yard.vet = yard.test.signed_in(Role::Vet).await;
    let words = yard.see("").await.texts("#leaving dd")[0].clone();
    assert!(words.starts_with("0 mg; ") && words.contains("1 of this visit's blocks"), "{words}");
}

#[tokio::test]
async fn the_numb_field_is_drawn_and_told_in_words_here_and_on_the_report() {
    let mut yard = Yard::new().await;
    assert!(!yard.see("").await.has(".plan .numb"));
    let block = yard.blocked("LF", "L4P", &[("volume", "3"), ("sites", "4")]).await;
    yard.read(block, &[("minutes", "12"), ("before", "3"), ("after", "0.5")]).await;
    for page in [yard.see("").await, yard.vet.get(&format!("/visits/{}/report", yard.visit)).await] {
        assert!(page.has(".plan .numb[fill='url(#numb-full)']") && page.has(".plan .candidate"));
        let told = page.attrs(".plan[role=img]", "aria-label").join(" ");
        assert!(told.contains("left fore fetlock, dorsal: not examined; numb: full; candidate"), "{told}");
        assert!(page.texts(".field-picture dd")[0].contains("fetlock joint"));
        assert!(page.attrs(".change svg", "aria-label")[0].contains("L4P 12 min: from 3 to 0.5"));
    }
}

#[tokio::test]
async fn a_block_is_taken_back_with_its_answers_and_a_reason() {
    let mut yard = Yard::new().await;
    let block = yard.blocked("LF", "PDN", &[]).await;
    yard.read(block, &[("minutes", "8"), ("before", "3"), ("after", "0")]).await;
    let path = format!("/entries/{block}/withdraw");
    let page = yard.send(&path, &[("why", " ")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.has("#take-back #why"));
    assert_eq!(yard.send(&path, &[("why", "it was the right fore")]).await.status, StatusCode::SEE_OTHER);
    assert!(yard.bodies(Kind::Block).await.is_empty() && yard.bodies(Kind::Reading).await.is_empty());
    let gone = yard.send(&path, &[("why", "again")]).await;
    assert_eq!(gone.status, StatusCode::NOT_FOUND);
    let all = record::entries_of_visit(yard.test.app.db.read(), yard.visit).await.unwrap();
    let reasons = all.iter().filter_map(|e| e.body.as_ref()?.reason.as_deref());
    assert_eq!(reasons.collect::<Vec<_>>(), ["it was the right fore"; 2]);
}

#[tokio::test]
async fn sedation_and_what_holds_on_the_way_home_are_kept_and_shown() {
    let mut yard = Yard::new().await;
    let sedative = [("sedative", "detomidine 0.01 mg a kg"), ("sedated_at", "8:50")];
    assert_eq!(
        yard.send("/sedation", &sedative).await.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "consent is asked"
    );
    let all: Vec<_> = sedative.into_iter().chain(CONSENT).collect();
    assert_eq!(yard.send("/sedation", &all).await.status, StatusCode::SEE_OTHER);
    let empty = yard.send("/leaving", &[]).await;
    assert_eq!(empty.attrs(".errors a", "href"), ["#watch"]);
    yard.send("/leaving", &[("no_riding", "15:30"), ("no_travel", ""), ("watch", "the pastern")]).await;
    let told = yard.see("").await.texts("#leaving dd").join(" ");
    assert!(told.contains("sedation at 08:50: detomidine 0.01 mg a kg"), "{told}");
    assert!(told.contains("No riding until 15:30. Watch: the pastern"), "{told}");
    let report = yard.vet.get(&format!("/visits/{}/report", yard.visit)).await;
    assert!(
        report.text.contains("No riding until 15:30.")
            && report.text.contains("consent for sedation given by Anna Marsh")
    );
}

#[tokio::test]
async fn fore_and_hind_lame_together_suggest_where_to_look_first() {
    let mut yard = Yard::new().await;
    let story = Story { test: &yard.test, horse: horse_of(&yard).await };
    story.say(yard.visit, gait("LH", "TRT_SH", 2.0, "aaep_0_5")).await;
    let told = yard.see("").await.texts("section").join(" ");
    assert!(told.contains("Lame at the straight trot: left fore, left hind"), "{told}");
    assert!(
        told.contains("Look at the hind limb first") && !told.contains("Look at the fore limb first"),
        "{told}"
    );
}

#[tokio::test]
async fn every_number_says_whether_it_is_published_from_memory_or_a_working_rule() {
    let mut yard = Yard::new().await;
    yard.blocked("LF", "PDN", &[]).await;
    let page = yard.see("").await;
    let rows = page.texts("details.fold table tbody tr");
    assert!(rows.iter().any(|row| row.contains("PDN: read from 5 min")
        && row.contains("published, partly common practice or memory")));
    assert!(
        rows.iter().any(
            |row| row.contains("ceiling of local anaesthetic: 5 mg a kg") && row.contains("working rule")
        )
    );
}

#[tokio::test]
async fn who_only_looks_is_offered_nothing_to_record() {
    let yard = Yard::new().await;
    let mut owner = yard.test.signed_in(Role::Owner).await;
    let page = owner.get(&yard.at("")).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(!page.has("main form") && !page.text.contains("/work-up/block"));
}

/// Fields with others in the place of those of the same name.
fn over<'a>(usual: &[(&'a str, &'a str)], with: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = usual.iter().filter(|(name, _)| !with.iter().any(|(field, _)| field == name));
    kept.chain(with).copied().collect()
}

async fn horse_of(yard: &Yard) -> limbledger::ids::HorseId {
    limbledger::visits::store::get(yard.test.app.db.read(), yard.visit).await.unwrap().horse_id
}

#[tokio::test]
async fn a_wound_where_the_needle_goes_stops_that_block_and_no_other() {
    let mut yard = Yard::new().await;
    let horse = horse_of(&yard).await;
    let wound = Body { grade: None, scale: None, ..finding("FT_CART", "L", "WOND", 1.0, "finding_0_3") };
    Story { test: &yard.test, horse }.say(yard.visit, on(wound, Some("LF"))).await;

    let page = yard.see("/block?limb=LF&block=PDN").await;
    assert!(page.has("#go-on") && !page.has("[name=volume]"), "the needle would go through it");
    let words = page.texts(".caution, .stop-strip").join(" ");
    assert!(words.contains("Infected or wounded skin") && words.contains("wound"), "{words}");
    assert_eq!(yard.block("LF", "PDN", &[]).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    for elsewhere in ["limb=LF&block=DIPJ", "limb=RF&block=PDN"] {
        assert!(yard.see(&format!("/block?{elsewhere}")).await.has("[name=volume]"), "{elsewhere}");
    }

    let reason = [("limb", "LF"), ("block", "PDN"), ("code", "CI_SKIN"), ("reason", "a graze well above it")];
    assert_eq!(yard.send("/go-on", &reason).await.status, StatusCode::SEE_OTHER);
    assert!(yard.see("/block?limb=LF&block=PDN").await.has("[name=volume]"));

    let other = Body { grade: None, scale: None, ..finding("FT_CART", "R", "DRNT", 1.0, "finding_0_3") };
    Story { test: &yard.test, horse }.say(yard.visit, on(other, Some("RF"))).await;
    let page = yard.see("/block?limb=RF&block=PDN").await;
    assert!(page.has("#go-on"), "leave for one wound is none for another");
    assert_eq!(yard.block("RF", "PDN", &[]).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    yard.blocked("LF", "PDN", &[]).await;
}
