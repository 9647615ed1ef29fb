//! Papers in words of the practice's own, the whole record, and any paper as a PDF.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    record::{Body, Kind},
};

use crate::support::{
    Page, TestApp,
    record::{Story, finding, gait, on},
};

fn words(kind: Kind, text: &str) -> Body {
    Body { text: Some(text.into()), ..Body::new(kind) }
}

fn said(page: &Page, css: &str) -> String {
    page.texts(css).join(" | ")
}

#[tokio::test]
async fn a_letter_is_filled_from_the_record_read_by_a_person_and_kept_as_it_went_out() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let before = story.visit("2026-02-02").await;
    story.say(before, words(Kind::Problem, "bruised sole")).await;
    story.sign(before).await;
    let visit = story.visit("2026-03-11").await;
    story.say(visit, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
    story.say(visit, gait("LF", "TRT_SH", 2.5, "aaep_0_5")).await;
    story.say(visit, words(Kind::Problem, "coffin {joint} pain")).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let letters = format!("/visits/{visit}/letters");
    let list = vet.get(&letters).await;
    assert!(list.texts("#usual a").contains(&"Referral letter".to_owned()), "{:?}", list.texts("#usual a"));

    let write = format!("{letters}/referral");
    let page = vet.get(&write).await;
    let draft = page.values_of("words").remove(0);
    assert!(draft.contains("- left fore fetlock, dorsal: effusion, moderate (2 of 4)"), "{draft}");
    assert!(draft.contains("left fore 2.5") && draft.contains("- coffin (joint) pain"), "{draft}");
    assert!(
        draft.contains("{addressee}") && draft.contains("{earlier}"),
        "what is asked stays a name: {draft}"
    );
    assert!(
        !draft.contains("{flexion}") && !draft.contains("{blocks}"),
        "a line of empty names goes: {draft}"
    );

    let odd = format!("{draft}\nand {{hors}}");
    let wrong = vet.fill(&page, &write, &[("words", &odd), ("leave", "yes")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.has("#addressee-error") && wrong.has("#question-error") && wrong.has("#leave_by-error"));
    let line = draft.lines().count() + 1;
    assert_eq!(wrong.texts("#words-error"), [format!("Line {line}: nothing is called {{hors}}.")]);
    assert_eq!(wrong.values_of("words"), [odd]);

    let good = [("addressee", "Dr Hollis, Vale Clinic"), ("question", "Is it the joint?")];
    let kept = vet.fill(&page, &write, &good).await.location().to_owned();
    let paper = vet.get(&kept).await;
    let told = said(&paper, "#letter");
    assert!(told.contains("To Dr Hollis, Vale Clinic") && told.contains("Is it the joint?"), "{told}");
    assert!(told.contains("Not told: no leave for it is noted.") && !told.contains("bruised sole"), "{told}");
    let with = [good.as_slice(), &[("leave", "yes"), ("leave_by", "Corra Test, by telephone")]].concat();
    let page = vet.get(&write).await;
    let kept = vet.fill(&page, &write, &with).await.location().to_owned();
    let told = said(&vet.get(&kept).await, "#letter");
    assert!(told.contains("2 Feb 2026: bruised sole") && told.contains("Corra Test, by telephone"), "{told}");
    assert_eq!(vet.get(&letters).await.texts("#kept a").len(), 2);
    for sql in ["update letter set words = 'x'", "delete from letter"] {
        let mut tx = test.app.db.write().await.unwrap();
        let refused = sqlx::query(sql).execute(&mut *tx).await.unwrap_err();
        assert!(refused.to_string().contains("letters_are_kept"), "{refused}");
    }

    let file = vet.get(&format!("{kept}/letter.pdf")).await;
    assert_eq!(file.headers["content-type"], "application/pdf");
    let name = file.headers["content-disposition"].to_str().unwrap();
    assert!(name.contains("filename=\"referral-letter-briar-"), "{name}");
    assert!(file.text.starts_with("%PDF-1.7"));
    assert_eq!(
        test.signed_in(Role::Desk).await.get(&format!("{kept}/letter.pdf")).await.status,
        StatusCode::FORBIDDEN
    );
}

#[tokio::test]
async fn a_purchase_paper_has_the_style_of_the_place_and_keeps_the_sellers_history_closed() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut owner = test.signed_in(Role::Owner).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let letters = format!("/visits/{visit}/letters");
    let place = [("version", "1"), ("jurisdiction", "US"), ("address", "Mill Lane 1"), ("phone", "0555 1")];
    assert!(owner.submit("/practice/prescribing", &place).await.status.is_redirection());
    let usual = said(&vet.get(&letters).await, "#usual a");
    assert!(usual.contains("Purchase examination, findings") && !usual.contains("with opinion"), "{usual}");
    // AAEP guidelines on reporting purchase examinations: no opinion on suitability.
    let page = vet.get(&format!("{letters}/purchase_findings")).await;
    assert!(!page.has("[name=opinion]") && page.has("[name=meaning]"));
    assert!(!page.values_of("words")[0].contains("{opinion}"));

    // BEVA/RCVS: one named purchaser, an opinion, blood kept for six months.
    let write = format!("{letters}/purchase_opinion");
    let page = vet.get(&write).await;
    assert_eq!(page.values_of("destroy_on"), ["2026-09-11"]);
    let typed = [
        ("addressee", "Petra Winnow"),
        ("seller", "Corra Test"),
        ("use", "hacking"),
        ("conflict", "The seller is a client of this practice."),
        ("stage_1", "9:05-9:20"),
        ("stage_2", "9:30 to 9:10"),
        ("blood", "taken, stored here"),
        ("opinion", "Nothing prejudices it."),
    ];
    let wrong = vet.fill(&page, &write, &typed).await;
    assert_eq!(wrong.texts("#stage_2-error"), ["The second time comes after the first."]);
    let right: Vec<(&str, &str)> = typed
        .iter()
        .map(|(name, value)| (*name, if *name == "stage_2" { "9.20 to 9.35" } else { *value }))
        .collect();
    let kept = vet.fill(&page, &write, &right).await.location().to_owned();
    let told = said(&vet.get(&kept).await, "#letter");
    for part in [
        "Petra Winnow, the purchaser",
        "1, at rest: 9:05 to 9:20",
        "walk and trot in hand: 9:20 to 9:35",
        "The seller is a client of this practice.",
        "Stored blood is destroyed on 11 Sep 2026",
        "Nothing prejudices it.",
        "Not told: no leave for it is noted.",
    ] {
        assert!(told.contains(part), "{part} in {told}");
    }
    assert!(!told.contains("3, exercise"), "what was not done is not told as done: {told}");
}

#[tokio::test]
async fn the_practice_words_its_letters_and_a_bad_one_says_where() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-11").await;
    let mut owner = test.signed_in(Role::Owner).await;
    let at = "/practice/letters/consent";
    let (page, late) = (owner.get(at).await, owner.get(at).await);
    for (bad, why) in [
        ("# Leave\nfor {horse\n", "Line 2: a brace is open there. Names stand between two, such as {horse}."),
        ("# Leave\n\n{earlier}", "Line 3: nothing is called {earlier}."),
    ] {
        let wrong = owner.fill(&page, at, &[("words", bad)]).await;
        assert_eq!(
            (wrong.status, wrong.texts("#words-error")),
            (StatusCode::UNPROCESSABLE_ENTITY, vec![why.to_owned()])
        );
    }
    assert!(owner.fill(&page, at, &[("words", "# Our own leave for {horse}")]).await.status.is_redirection());
    assert_eq!(owner.fill(&late, at, &[("words", "late")]).await.status, StatusCode::CONFLICT);
    let write = format!("/visits/{visit}/letters/consent");
    let mut vet = test.signed_in(Role::Vet).await;
    assert_eq!(vet.get(&write).await.values_of("words"), ["# Our own leave for Briar"]);
    let page = owner.get(at).await;
    assert!(owner.fill(&page, at, &[("proposed", "yes")]).await.status.is_redirection());
    assert!(vet.get(&write).await.values_of("words")[0].contains("withhold my consent"));
}

#[tokio::test]
async fn the_whole_record_says_for_whom_it_is_shows_each_entry_and_who_read_it() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let before = story.visit("2026-02-02").await;
    story.say(before, words(Kind::Problem, "under the former owner")).await;
    let visit = story.visit("2026-03-11").await;
    let first = story.say(visit, words(Kind::Problem, "sore back")).await;
    story.erase(first).await;
    story.say(visit, words(Kind::Plan, "walk in hand")).await;
    let mut tx = test.app.db.write().await.unwrap();
    let client = limbledger::ids::ClientId::new();
    sqlx::query("insert into client (id, kind, name, created_at) values (?, 'person', 'Former Test', ?)")
        .bind(client)
        .bind(test.now())
        .execute(&mut *tx)
        .await
        .unwrap();
    let zone = jiff::tz::TimeZone::get("Europe/Berlin").unwrap();
    let sold = "2026-03-01".parse::<limbledger::clock::Day>().unwrap().at(12, 0, &zone);
    sqlx::query("insert into party_past (id, horse_id, client_id, role, began_at, ended_at, ended_by) values (?, ?, ?, 'owner', 1, ?, ?)")
        .bind(limbledger::ids::PartyId::new()).bind(story.horse).bind(client).bind(sold).bind(test.owner).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();

    let whole = format!("/horses/{}/record/whole", story.horse);
    let mut vet = test.signed_in(Role::Vet).await;
    let asked = vet.get(&whole).await;
    assert!(asked.status == StatusCode::UNPROCESSABLE_ENTITY && asked.has("#for_whom-error"));
    let own = vet.get(&format!("{whole}?for_whom=the+county+court")).await;
    let told = said(&own, "#whole");
    assert!(
        told.contains("Left out: 1 visit for a former owner.") && !told.contains("under the former owner"),
        "{told}"
    );
    assert!(!told.contains("Former Test"), "{told}");
    let entries = said(&own, ".entries tbody tr");
    assert!(entries.contains("words erased") && entries.contains("walk in hand"), "{entries}");
    assert!(entries.contains("typed by"), "{entries}");
    let all = vet.get(&format!("{whole}?for_whom=the+county+court&all=yes")).await;
    let told = said(&all, "#whole");
    assert!(told.contains("under the former owner") && told.contains("Former Test, owner from"), "{told}");
    let reads = said(&all, "#whole > section:last-of-type li");
    assert_eq!(reads.matches("whole record read").count(), 2, "{reads}");
    assert!(reads.contains("for the present owner: the county court"), "{reads}");
    let file = vet.get(&format!("{whole}.pdf?for_whom=the+county+court")).await;
    assert_eq!(file.headers["content-type"], "application/pdf");
}
