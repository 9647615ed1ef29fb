//! The examination: taps become rows, a sweep covers exactly what it says, and nothing is lost or let through.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    catalogue::{Limb, Place, Section, sweep_places},
    ids::{EntryId, SubmissionId, VisitId},
    record::{self, Body, Entry, Kind, NewEntry},
};

use crate::support::{Browser, Fixture, Page, TestApp, record::Story};

/// By the tablet's clock, a minute before the clock of these tests.
const A_MINUTE_AGO: &str = "1773215940000";

struct Exam {
    test: TestApp,
    visit: VisitId,
    browser: Browser,
}

impl Exam {
    /// A visit in hand, with the technician at the tablet.
    async fn new() -> Self {
        let test = TestApp::new().await;
        let visit = Fixture::new(&test).await.visit;
        let browser = test.signed_in(Role::Technician).await;
        Exam { test, visit, browser }
    }

    fn path(&self) -> String {
        format!("/visits/{}/exam", self.visit)
    }

    async fn page(&mut self) -> Page {
        self.browser.get(&self.path()).await
    }

    async fn opened(&mut self, place: &str) -> Page {
        self.browser.get(&format!("{}?open={place}", self.path())).await
    }

    async fn tap(&mut self, act: &str, fields: &[(&str, &str)]) -> Page {
        self.browser.submit(&format!("{}/entries/{act}", self.path()), fields).await
    }

    async fn standing(&self) -> Vec<Entry> {
        record::current_of_visit(self.test.app.db.read(), self.visit).await.unwrap()
    }

    async fn all(&self) -> Vec<Entry> {
        record::entries_of_visit(self.test.app.db.read(), self.visit).await.unwrap()
    }

    /// What stands, as canonical JSON.
    async fn rows(&self) -> Vec<String> {
        self.standing().await.iter().map(|e| e.body.as_ref().unwrap().canonical().unwrap()).collect()
    }

    async fn keys(&self) -> Vec<String> {
        self.standing().await.iter().filter_map(|e| e.body.as_ref().unwrap().place_key()).collect()
    }
}

fn keys(section: Section) -> Vec<String> {
    sweep_places(section).into_iter().map(Place::key).collect()
}

#[tokio::test]
async fn one_tap_says_that_nothing_was_found_at_one_place() {
    let mut exam = Exam::new().await;
    let before = exam.page().await;
    assert!(before.has("button[name=place][value='FETL_D.L']"));
    let answer = exam.tap("nothing", &[("place", "FETL_D.L")]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert_eq!(
        exam.rows().await,
        [r#"{"kind":"place","region":"FETL_D","side":"L","limb":"LF","present":false}"#]
    );
    let after = exam.page().await;
    assert!(!after.has("button[name=place][value='FETL_D.L']"), "it is examined");
    assert!(after.texts("#fore-count")[0].starts_with("1 of "), "{:?}", after.texts("#fore-count"));
    assert!(
        after.texts("#saved")[0].starts_with("Saved in the practice 09:00"),
        "{:?}",
        after.texts("#saved")
    );
}

#[tokio::test]
async fn a_sweep_says_before_and_after_exactly_what_it_covers() {
    let mut exam = Exam::new().await;
    exam.tap("finding", &[("place", "CARP_D.L"), ("found", "EFF:2")]).await;
    let before = exam.page().await;
    let covers = keys(Section::Limb(Limb::LF)).len() - 1;
    let label = format!("LF nothing found at the other {covers}");
    assert!(
        before.texts("#fore-sweeps button").contains(&label),
        "{:?}",
        before.texts("#fore-sweeps button")
    );
    exam.tap("sweep", &[("section", "LF")]).await;
    let mut expected: Vec<String> = keys(Section::Limb(Limb::LF));
    expected.retain(|key| key != "CARP_D.L");
    let swept: Vec<Entry> =
        exam.standing().await.into_iter().filter(|e| e.body.as_ref().unwrap().sweep.is_some()).collect();
    let found: Vec<String> = swept.iter().filter_map(|e| e.body.as_ref().unwrap().place_key()).collect();
    assert_eq!(found, expected);
    let after = exam.page().await;
    let words = format!("Nothing found recorded at {covers} places: left fore, 09:00 TT");
    assert_eq!(after.texts("#fore-swept .swept summary"), [words]);
    assert!(after.texts("#fore-swept .swept p")[0].contains("fetlock, dorsal"));
    assert!(!after.texts("#fore-swept .swept p")[0].contains("carpus, dorsal"));
}

#[tokio::test]
async fn no_sweep_ever_covers_what_hands_alone_cannot_tell() {
    let mut exam = Exam::new().await;
    for section in ["axial", "LF", "RF", "LH", "RH", "LF.foot", "RF.foot", "LH.foot", "RH.foot"] {
        assert_eq!(
            exam.tap("sweep", &[("section", section)]).await.status,
            StatusCode::SEE_OTHER,
            "{section}"
        );
    }
    let keys = exam.keys().await;
    assert!(keys.len() > 150, "{}", keys.len());
    for never in ["FT_PULSE", "FT_HT", "FT_PERC", "FT_SIZE", "FT_BAL", "FT_LSUL", "FT_SHOE", "CREST"] {
        assert!(keys.iter().all(|key| !key.starts_with(never)), "{never} was swept");
    }
    assert!(exam.standing().await.iter().all(|e| e.body.as_ref().unwrap().kind == Kind::Place));
    for section in ["gait", "LF.pulse", "all", "", "FT_PULSE.LF"] {
        let answer = exam.tap("sweep", &[("section", section)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{section}");
    }
    assert_eq!(exam.keys().await.len(), keys.len());
}

#[tokio::test]
async fn from_here_down_starts_here_and_ends_with_the_limb() {
    let mut exam = Exam::new().await;
    exam.tap("sweep", &[("place", "FETL_D.R")]).await;
    let mut all = keys(Section::Limb(Limb::RF));
    let from = all.iter().position(|key| key == "FETL_D.R").unwrap();
    assert_eq!(exam.keys().await, all.split_off(from));
}

#[tokio::test]
async fn undo_takes_back_that_sweep_and_nothing_else() {
    let mut exam = Exam::new().await;
    exam.tap("nothing", &[("place", "SHLD.L")]).await;
    exam.tap("sweep", &[("section", "RF"), ("seen_at", A_MINUTE_AGO)]).await;
    exam.tap("sweep", &[("section", "LF")]).await;
    exam.tap("finding", &[("place", "FETL_D.L"), ("found", "EFF:1")]).await;
    let page = exam.page().await;
    let sweeps = page.attrs("#fore-swept input[name=sweep]", "value");
    assert_eq!(sweeps.len(), 2);
    exam.tap("undo", &[("sweep", &sweeps[1])]).await;
    let mut expected = vec!["SHLD.L".to_owned()];
    expected.extend(keys(Section::Limb(Limb::RF)));
    expected.push("FETL_D.L".to_owned());
    assert_eq!(exam.keys().await, expected);
    let withdrawn = exam.all().await;
    let withdrawn = withdrawn.iter().filter(|e| e.body.as_ref().unwrap().kind == Kind::Withdrawal).count();
    assert_eq!(
        withdrawn,
        keys(Section::Limb(Limb::LF)).len() - 2,
        "not the one by hand, not the one found since"
    );
    assert_eq!(exam.page().await.attrs("#fore-swept input[name=sweep]", "value").len(), 1);
}

#[tokio::test]
async fn a_finding_takes_the_place_of_what_the_sweep_said_there() {
    let mut exam = Exam::new().await;
    exam.tap("sweep", &[("section", "LH")]).await;
    let swept = exam.standing().await;
    let clear =
        swept.iter().find(|e| e.body.as_ref().unwrap().place_key().as_deref() == Some("HOCK_DT.L")).unwrap();
    let answer = exam.tap("finding", &[("place", "HOCK_DT.L"), ("found", "BONY:2")]).await;
    assert_eq!(answer.location(), format!("{}?open=HOCK_DT.L#at-HOCK_DT", exam.path()));
    let after = exam.standing().await;
    assert_eq!(after.len(), swept.len(), "one for one");
    let finding = after.last().unwrap();
    assert_eq!(finding.supersedes, Some(clear.id));
    let page = exam.page().await;
    assert_eq!(page.texts("#at-HOCK_DT .left .words"), ["bony enlargement 2"]);
    assert!(page.texts("#hind-count")[0].contains("1 abnormal"));
}

#[tokio::test]
async fn sides_that_differ_say_so_in_words() {
    let mut exam = Exam::new().await;
    exam.tap("finding", &[("place", "FETL_D.L"), ("found", "EFF:2")]).await;
    assert!(exam.page().await.texts("#at-FETL_D .differs").is_empty(), "the other side was not examined");
    exam.tap("nothing", &[("place", "FETL_D.R")]).await;
    assert_eq!(exam.page().await.texts("#at-FETL_D .differs"), ["◀ left only"]);
    exam.tap("finding", &[("place", "FETL_D.R"), ("found", "EFF:3")]).await;
    assert_eq!(exam.page().await.texts("#at-FETL_D .differs"), ["right more ▶"]);
}

#[tokio::test]
async fn a_written_script_of_findings_is_stored_row_for_row() {
    let mut exam = Exam::new().await;
    for fields in [
        &[("place", "CARP_D.R"), ("found", "EFF:3")][..],
        &[("place", "SL_BR.L"), ("found", "PAIN:1"), ("aspect", "medial"), ("note", "warm after work")],
        &[("place", "MC_DORS.L"), ("found", "CREP:no")],
        &[("place", "SPLINT.R"), ("found", "HEAT:0")],
        &[("place", "POLL.M"), ("found", "ASYM:yes")],
        &[("place", "FT_SOLE.LF"), ("found", "sole:flat")],
        &[("place", "FT_WALL.RH"), ("found", "wall"), ("value", "crack_toe"), ("value", "hollow")],
        &[("place", "FT_PULSE.LF"), ("found", "PULS:2"), ("aspect", "lateral")],
        &[("place", "FT_HT.LF"), ("found", "HT_TOE:2")],
        &[("place", "FT_HT.LF"), ("found", "HT_XH:N")],
        &[("place", "FT_SIZE.RF"), ("found", "width_mm"), ("answer", "132 mm")],
        &[("place", "CREST.M"), ("found", "crest:2")],
        &[("place", "GLUT.L"), ("found", "OTHR"), ("note", "old brand")],
    ] {
        let answer = exam.tap("finding", fields).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{fields:?}: {:?}", answer.texts(".errors li"));
    }
    exam.tap("barred", &[("place", "HIP.L"), ("reason", "temperament")]).await;
    let rows = exam.rows().await;
    insta::assert_snapshot!(rows.join("\n"), @r#"
    {"kind":"finding","region":"CARP_D","side":"R","limb":"RF","code":"EFF","present":true,"grade":3.0,"scale":"effusion_0_4"}
    {"kind":"finding","region":"SL_BR","side":"L","limb":"LF","aspect":"medial","code":"PAIN","present":true,"grade":1.0,"scale":"finding_0_3","text":"warm after work"}
    {"kind":"finding","region":"MC_DORS","side":"L","limb":"LF","code":"CREP","present":false}
    {"kind":"finding","region":"SPLINT","side":"R","limb":"RF","code":"HEAT","present":false,"grade":0.0,"scale":"finding_0_3"}
    {"kind":"finding","region":"POLL","side":"M","code":"ASYM","present":true}
    {"kind":"finding","region":"FT_SOLE","side":"L","limb":"LF","code":"sole","present":true,"value":"flat"}
    {"kind":"finding","region":"FT_WALL","side":"R","limb":"RH","code":"wall","present":true,"value":"crack_toe hollow"}
    {"kind":"finding","region":"FT_PULSE","side":"L","limb":"LF","aspect":"lateral","code":"PULS","present":true,"grade":2.0,"scale":"pulse_0_3"}
    {"kind":"finding","region":"HT_TOE","side":"L","limb":"LF","code":"HTST","present":true,"grade":2.0,"scale":"tester_0_3"}
    {"kind":"finding","region":"HT_XH","side":"L","limb":"LF","code":"HTST","scale":"tester_0_3","value":"N"}
    {"kind":"finding","region":"FT_SIZE","side":"R","limb":"RF","code":"width_mm","number":132.0}
    {"kind":"finding","region":"CREST","side":"M","code":"crest","present":true,"grade":2.0,"scale":"crest_0_5"}
    {"kind":"finding","region":"GLUT","side":"L","code":"OTHR","present":true,"text":"old brand"}
    {"kind":"place","region":"HIP","side":"L","limb":"LH","text":"temperament"}
    "#);
    let page = exam.page().await;
    assert_eq!(page.texts("#at-FT_HT-fore .left .words span"), ["sole, toe 2", "across the heels N"]);
}

#[tokio::test]
async fn what_is_not_in_the_catalogue_is_refused_beside_the_field_and_stores_nothing() {
    let mut exam = Exam::new().await;
    for (fields, field) in [
        (&[("place", "NOSUCH.L"), ("found", "EFF:2")][..], "place"),
        (&[("place", "FETL_D.M"), ("found", "EFF:2")], "place"),
        (&[("place", ""), ("found", "EFF:2")], "place"),
        (&[("place", "FETL_D.L"), ("found", "NOSUCH:2")], "found"),
        (&[("place", "FETL_D.L"), ("found", "")], "found"),
        (&[("place", "FETL_D.L"), ("found", "EFF:5")], "found"),
        (&[("place", "FETL_D.L"), ("found", "EFF:1.5")], "found"),
        (&[("place", "FETL_D.L"), ("found", "EFF:-1")], "found"),
        (&[("place", "FETL_D.L"), ("found", "EFF:NaN")], "found"),
        (&[("place", "FETL_D.L"), ("found", "EFF")], "found"),
        (&[("place", "FETL_D.L"), ("found", "CREP:maybe")], "found"),
        (&[("place", "FETL_D.L"), ("found", "NAD")], "found"),
        (&[("place", "FETL_D.L"), ("found", "PULS:1")], "found"),
        (&[("place", "FETL_D.L"), ("found", "sole:flat")], "found"),
        (&[("place", "FT_SOLE.LF"), ("found", "sole:square")], "found"),
        (&[("place", "FT_WALL.LF"), ("found", "wall"), ("value", "nosuch")], "value"),
        (&[("place", "FT_HT.LF"), ("found", "HTST:2")], "found"),
        (&[("place", "FT_SIZE.LF"), ("found", "width_mm"), ("answer", "9000")], "answer"),
        (&[("place", "FT_SHOE.LF"), ("found", "shod_on"), ("answer", "31 Feb 2026")], "answer"),
        (&[("place", "FETL_D.L"), ("found", "EFF:2"), ("aspect", "upward")], "aspect"),
        (&[("place", "FETL_D.L"), ("found", "EFF:2"), ("quality", "purple")], "quality"),
        (&[("place", "GLUT.L"), ("found", "OTHR"), ("note", " ")], "note"),
        (&[("place", "FETL_D.L"), ("found", "EFF:2"), ("was", "x")], "was"),
        (&[("place", "FETL_D.L"), ("found", "EFF:2"), ("seen_by", "x")], "seen_by"),
    ] {
        let answer = exam.tap("finding", fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert_eq!(answer.attrs(".errors a", "href"), [format!("#{field}")], "{fields:?}");
    }
    assert_eq!(exam.tap("nothing", &[("place", "FT_SOLE.L")]).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(
        exam.tap("barred", &[("place", "HIP.L"), ("reason", "")]).await.status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    assert!(exam.all().await.is_empty());
}

#[tokio::test]
async fn what_was_typed_stays_when_something_is_wrong_with_it() {
    let mut exam = Exam::new().await;
    exam.tap("finding", &[("place", "THCK_NOT.L"), ("found", "EFF:2")]).await;
    exam.tap("finding", &[("place", "SL_BR.L"), ("found", "THCK:2")]).await;
    let was = exam.standing().await[0].id.to_string();
    let answer = exam
        .tap(
            "finding",
            &[
                ("place", "SL_BR.L"),
                ("was", &was),
                ("found", "THCK:3"),
                ("answer", "wide"),
                ("note", "a <b>note</b>"),
            ],
        )
        .await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(answer.attrs(".detail input[name=answer]", "value"), ["wide"]);
    assert_eq!(answer.texts(".detail textarea"), ["a <b>note</b>"]);
    assert!(answer.has(".detail input[name=found][value='THCK:3'][checked]"));
    assert!(answer.has("#answer-error"));
}

#[tokio::test]
async fn more_detail_corrects_with_a_reason_and_keeps_the_first() {
    let mut exam = Exam::new().await;
    exam.tap("finding", &[("place", "CARP_D.L"), ("found", "EFF:2")]).await;
    let was = exam.standing().await[0].id;
    let page = exam.browser.get(&format!("{}?open=CARP_D.L&edit={was}", exam.path())).await;
    assert!(page.has(".detail input[name=found][value='EFF:2'][checked]"));
    assert!(page.has(".detail input[name=quality][value='ballottable: yes']"));
    exam.tap(
        "finding",
        &[
            ("place", "CARP_D.L"),
            ("was", &was.to_string()),
            ("found", "EFF:3"),
            ("aspect", "medial"),
            ("quality", "tense"),
            ("extra", "middle carpal"),
            ("note", "since Monday"),
            ("reason", "looked again"),
        ],
    )
    .await;
    assert_eq!(
        exam.rows().await,
        [
            r#"{"kind":"finding","region":"CARP_D","side":"L","limb":"LF","aspect":"medial","code":"EFF","present":true,"grade":3.0,"scale":"effusion_0_4","qualities":["tense","pouch: middle carpal"],"text":"since Monday","reason":"looked again"}"#
        ]
    );
    assert_eq!(exam.all().await.len(), 2, "the first stays in the record");
}

#[tokio::test]
async fn correcting_what_was_corrected_meanwhile_shows_both_sides() {
    let mut exam = Exam::new().await;
    exam.tap("finding", &[("place", "CARP_D.L"), ("found", "EFF:2")]).await;
    let was = exam.standing().await[0].id.to_string();
    let correct = |grade| [("place", "CARP_D.L"), ("was", was.as_str()), ("found", grade)];
    exam.tap("finding", &correct("EFF:3")).await;
    let answer = exam.tap("finding", &correct("EFF:1")).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    assert_eq!(answer.texts("main td"), ["effusion 1", "effusion 3"]);
    let withdrawn = exam.tap("withdraw", &[("was", &was), ("reason", "wrong place")]).await;
    assert_eq!(withdrawn.status, StatusCode::CONFLICT);
    assert_eq!(exam.all().await.len(), 2);
    let unknown = EntryId::new().to_string();
    let answer = exam.tap("withdraw", &[("was", &unknown), ("reason", "wrong place")]).await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_entry_is_taken_back_with_its_reason() {
    let mut exam = Exam::new().await;
    exam.tap("finding", &[("place", "CARP_D.L"), ("found", "EFF:2")]).await;
    let was = exam.standing().await[0].id.to_string();
    let bare = exam.tap("withdraw", &[("was", &was), ("place", "CARP_D.L"), ("reason", "  ")]).await;
    assert_eq!(bare.status, StatusCode::UNPROCESSABLE_ENTITY);
    exam.tap("withdraw", &[("was", &was), ("reason", "wrong place")]).await;
    assert!(exam.standing().await.is_empty());
    assert_eq!(exam.all().await[1].body.as_ref().unwrap().reason.as_deref(), Some("wrong place"));
    assert!(exam.page().await.has("button[name=place][value='CARP_D.L']"), "not examined again");
}

#[tokio::test]
async fn two_tablets_that_say_the_same_are_both_kept() {
    let mut exam = Exam::new().await;
    let mut vet = exam.test.signed_in(Role::Vet).await;
    exam.tap("finding", &[("place", "CARP_D.L"), ("found", "EFF:2")]).await;
    let vet_id = exam.test.vet.to_string();
    let technician = exam.test.technician.to_string();
    vet.submit(
        &format!("{}/entries/finding", exam.path()),
        &[("place", "CARP_D.L"), ("found", "EFF:3"), ("seen_by", &vet_id)],
    )
    .await;
    assert_eq!(exam.standing().await.len(), 2);
    let page = exam.page().await;
    assert_eq!(page.texts("#at-CARP_D .left .words span"), ["effusion 2", "effusion 3"]);
    assert_eq!(page.texts("#at-CARP_D .left .words small"), ["TT, VT"], "{technician}");
}

#[tokio::test]
async fn a_form_sent_twice_and_an_entry_sent_twice_are_one_row() {
    let mut exam = Exam::new().await;
    let (submission, entry) = (SubmissionId::new().to_string(), EntryId::new().to_string());
    let path = format!("{}/entries/finding", exam.path());
    let fields =
        [("submission", submission.as_str()), ("entry", &entry), ("place", "CARP_D.L"), ("found", "EFF:2")];
    let first = exam.browser.post(&path, &fields).await;
    let second = exam.browser.post(&path, &fields).await;
    assert_eq!((first.status, first.location()), (second.status, second.location()));
    exam.tap("finding", &fields[1..]).await;
    let all = exam.all().await;
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].id.to_string(), entry);
}

#[tokio::test]
async fn whose_words_and_which_clock_are_kept() {
    let mut exam = Exam::new().await;
    let now = exam.test.now().0;
    let (seen, sent) = ((now + 299_000).to_string(), (now + 300_000).to_string());
    let vet = exam.test.vet.to_string();
    let fields = [("place", "CARP_D.L"), ("seen_by", vet.as_str()), ("seen_at", &seen), ("sent_at", &sent)];
    exam.tap("nothing", &fields).await;
    let entry = &exam.standing().await[0];
    assert_eq!((entry.seen_by, entry.entered_by), (exam.test.vet, exam.test.technician));
    assert_eq!((entry.offset_ms, entry.seen().0), (300_000, now - 1000));
    let form = exam.page().await.form_fields(&format!("{}/entries/nothing", exam.path()));
    assert!(
        form.contains(&("seen_by".into(), vet)),
        "the visit's vet is the examiner until another is chosen"
    );
}

#[tokio::test]
async fn the_desk_may_not_look_and_the_owner_may_only_look() {
    let exam = Exam::new().await;
    let mut desk = exam.test.signed_in(Role::Desk).await;
    assert_eq!(desk.get(&exam.path()).await.status, StatusCode::FORBIDDEN);
    let path = format!("{}/entries/nothing", exam.path());
    assert_eq!(desk.submit(&path, &[("place", "CARP_D.L")]).await.status, StatusCode::FORBIDDEN);
    let mut owner = exam.test.signed_in(Role::Owner).await;
    let page = owner.get(&exam.path()).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(!page.has(".part button"), "nothing to tap");
    assert_eq!(owner.submit(&path, &[("place", "CARP_D.L")]).await.status, StatusCode::FORBIDDEN);
    assert!(exam.all().await.is_empty());
}

#[tokio::test]
async fn the_first_tap_begins_a_booked_visit_and_a_cancelled_one_takes_none() {
    let mut exam = Exam::new().await;
    let story = Story::new(&exam.test).await;
    let visits = [story.visit("2026-03-11").await, story.visit("2026-03-11").await];
    let cases =
        [("booked", StatusCode::SEE_OTHER, "in_hand"), ("cancelled", StatusCode::BAD_REQUEST, "cancelled")];
    for (visit, (state, status, then)) in visits.into_iter().zip(cases) {
        exam.visit = visit;
        let mut tx = exam.test.app.db.write().await.unwrap();
        let set = sqlx::query("update visit set state = ? where id = ?").bind(state).bind(exam.visit);
        set.execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
        assert_eq!(exam.tap("nothing", &[("place", "CARP_D.L")]).await.status, status);
        let now = limbledger::visits::store::get(exam.test.app.db.read(), exam.visit).await.unwrap();
        assert_eq!(now.state.key(), then);
    }
}

#[tokio::test]
async fn what_comes_after_signing_is_kept_as_late_and_changes_nothing_that_was_signed() {
    let mut exam = Exam::new().await;
    exam.tap("nothing", &[("place", "CARP_D.L")]).await;
    let story = Story { test: &exam.test, horse: limbledger::ids::HorseId::new() };
    story.sign(exam.visit).await;
    let signed = exam.rows().await;
    let answer = exam.tap("finding", &[("place", "CARP_D.L"), ("found", "EFF:2")]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert_eq!(exam.rows().await, signed);
    let late: Vec<Entry> = exam.all().await.into_iter().filter(|e| e.late).collect();
    assert_eq!((late.len(), late[0].supersedes), (1, None));
    let page = exam.page().await;
    assert!(page.texts("#status")[0].starts_with("Kept as a late entry"), "{:?}", page.texts("#status"));
    assert!(page.text.contains("1 late entry came after signing"));
    assert!(!page.has(".part button"), "a signed exam is not tapped");
}

#[tokio::test]
async fn what_comes_late_corrects_and_takes_back_what_came_late() {
    let mut exam = Exam::new().await;
    exam.tap("nothing", &[("place", "CARP_D.L")]).await;
    Story { test: &exam.test, horse: limbledger::ids::HorseId::new() }.sign(exam.visit).await;
    let [first, sweep] = [EntryId::new().to_string(), limbledger::ids::SweepId::new().to_string()];
    exam.tap("finding", &[("place", "FETL_D.L"), ("found", "EFF:1"), ("entry", &first)]).await;
    let again = [("place", "FETL_D.L"), ("found", "EFF:3"), ("was", &first), ("reason", "answered again")];
    let answer = exam.tap("finding", &again).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    exam.tap("sweep", &[("section", "LF"), ("sweep", &sweep)]).await;

    let late = |all: Vec<Entry>| all.into_iter().filter(|e| e.late).collect::<Vec<_>>();
    let before = late(exam.all().await);
    assert_eq!(before[1].supersedes, Some(before[0].id));
    let swept: Vec<EntryId> = before[2..].iter().map(|e| e.id).collect();
    let covered: Vec<String> =
        before[2..].iter().filter_map(|e| e.body.as_ref().unwrap().place_key()).collect();
    let mut expected = keys(Section::Limb(Limb::LF));
    expected.retain(|key| !["CARP_D.L", "FETL_D.L"].contains(&key.as_str()));
    assert_eq!(covered, expected, "neither what was signed nor what came late is spoken of again");

    exam.tap("undo", &[("sweep", &sweep)]).await;
    let undone = late(exam.all().await).split_off(before.len());
    let about: Vec<EntryId> = undone.iter().filter_map(|e| e.supersedes).collect();
    assert_eq!(about, swept);
    let mut vet = exam.test.signed_in(Role::Vet).await;
    let addenda = vet.get(&format!("/visits/{}/addenda", exam.visit)).await;
    let waits = addenda.texts("#late .what");
    assert_eq!(waits.len(), 1, "what the hands put right themselves needs nobody: {waits:?}");
    assert!(waits[0].contains("effusion, marked (3 of 4)"), "{waits:?}");
}

#[tokio::test]
async fn last_time_stands_beside_the_place_and_asks_to_look_again() {
    let mut exam = Exam::new().await;
    let story = Story::new(&exam.test).await;
    let effusion = |grade: f64| Body {
        region: Some("CARP_D".into()),
        side: Some("R".into()),
        limb: Some("RF".into()),
        code: Some("EFF".into()),
        present: Some(true),
        grade: Some(grade),
        scale: Some("effusion_0_4".into()),
        ..Body::new(Kind::Finding)
    };
    let clean = |region: &str| Body {
        region: Some(region.into()),
        side: Some("R".into()),
        limb: Some("RF".into()),
        present: Some(false),
        ..Body::new(Kind::Place)
    };
    let first = story.visit("2025-10-12").await;
    story.say(first, effusion(3.0)).await;
    story.add(NewEntry::new(first, Body { region: Some("FETL_D".into()), ..effusion(2.0) })).await;
    let second = story.visit("2025-12-01").await;
    story.say(second, clean("FETL_D")).await;
    exam.visit = story.visit("2026-03-11").await;
    let page = exam.page().await;
    assert_eq!(page.texts("#at-CARP_D .last"), ["look again · last time: effusion 3 (12 Oct 2025)"]);
    assert!(!page.has("#at-FETL_D .last"), "it was found clean since");
    exam.tap("finding", &[("place", "CARP_D.R"), ("found", "EFF:2")]).await;
    let page = exam.page().await;
    assert!(page.attrs("#at-CARP_D .right a", "aria-label")[0].contains("better than last time"));
}

#[tokio::test]
async fn the_order_of_the_hands_can_be_chosen_for_the_visit() {
    let mut exam = Exam::new().await;
    let path = exam.path();
    let own = exam.page().await.attrs("details.fold[id]", "id");
    assert!(own.windows(2).any(|pair| pair == ["fore", "hind"]), "{own:?}");
    let other = exam.browser.get(&format!("{path}?order=whole_horse")).await;
    let ids = other.attrs(".part details.fold[id]", "id");
    assert_eq!(ids, ["axial", "fore", "hind", "fore-feet", "hind-feet", "testers"]);
    let answer = exam.tap("nothing", &[("place", "CARP_D.L"), ("order", "whole_horse")]).await;
    assert_eq!(answer.location(), format!("{path}?order=whole_horse&at=fore#fore"));
}

#[tokio::test]
async fn the_picker_offers_the_findings_of_the_place_first_then_all_others() {
    let mut exam = Exam::new().await;
    let page = exam.opened("CARP_D.L").await;
    let first = page.texts("#at-CARP_D .picker > .ask > .ask-label");
    assert!(first[0].starts_with("effusion") && first[1].starts_with("pain"), "{first:?}");
    let all = page.attrs("#at-CARP_D .ask button[name=found]", "value");
    for code in ["EFF:4", "PAIN:3", "CREP:yes", "ATRO:1", "WOND:yes"] {
        assert!(all.iter().any(|value| value == code), "{code}");
    }
    assert!(!all.iter().any(|value| value.starts_with("PULS")), "a pulse is felt at the foot");
    let foot = exam.opened("FT_PULSE.LF").await;
    let pulses = foot.texts("#at-FT_PULSE-fore .picker > .ask > .ask-label");
    assert_eq!(pulses, ["digital pulse, medial", "digital pulse, lateral"]);
    let testers = exam.opened("FT_HT.RH").await;
    assert_eq!(testers.texts("#at-FT_HT-hind .ask").len(), 13);
    assert_eq!(
        testers.attrs("button[value^='HT_TOE']", "value"),
        ["HT_TOE:0", "HT_TOE:1", "HT_TOE:2", "HT_TOE:3", "HT_TOE:N"]
    );
}

#[tokio::test]
async fn one_gesture_for_a_pair_is_two_sweeps_and_one_undo() {
    let mut exam = Exam::new().await;
    exam.tap("finding", &[("place", "CARP_D.R"), ("found", "EFF:1")]).await;
    let page = exam.page().await;
    let sections = page.attrs("#fore-sweeps .both input[name=section]", "value");
    assert_eq!(sections, ["LF", "RF"]);
    let named = page.attrs("#fore-sweeps .both button", "data-places")[0].clone();
    exam.tap("sweep", &[("section", "LF"), ("section", "RF")]).await;
    let mut expected = keys(Section::Limb(Limb::LF));
    expected.extend(keys(Section::Limb(Limb::RF)).into_iter().filter(|key| key != "CARP_D.R"));
    assert_eq!(named.split(' ').collect::<Vec<_>>(), expected, "named before");
    assert_eq!(exam.keys().await[1..], expected, "and covered");
    let page = exam.page().await;
    assert!(!page.has("#fore-sweeps .both"), "nothing is left to cover");
    let words =
        format!("Nothing found recorded at {} places: left fore and right fore, 09:00 TT", expected.len());
    assert_eq!(page.texts("#fore-swept summary"), [words]);
    let sweeps = page.attrs("#fore-swept input[name=sweep]", "value");
    assert_eq!(sweeps.len(), 2);
    exam.tap("undo", &[("sweep", &sweeps[0]), ("sweep", &sweeps[1])]).await;
    assert_eq!(exam.keys().await, ["CARP_D.R"]);
    for odd in [["LF", "LH"], ["LF", "LF"], ["LF", "axial"], ["LF", "LF.foot"]] {
        let answer = exam.tap("sweep", &[("section", odd[0]), ("section", odd[1])]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{odd:?} is no pair");
    }
}
