//! Vital signs, stance, gait, flexion and the neurological screen: what a form stores, what it refuses, and what a
//! hard stop takes away.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    clock::At,
    ids::{EntryId, VisitId},
    record::{self, Entry},
};

use crate::support::{
    Browser, Page, TestApp, battery,
    record::{Story, finding, gait},
    twice,
};

/// A visit of a horse, and the vet's browser.
struct Stall {
    test: TestApp,
    visit: VisitId,
    vet: Browser,
}

impl Stall {
    async fn new() -> Self {
        let test = TestApp::new().await;
        let visit = Story::new(&test).await.visit("2026-03-11").await;
        let vet = test.signed_in(Role::Vet).await;
        Stall { test, visit, vet }
    }

    fn at(&self, section: &str) -> String {
        format!("/visits/{}/exam/{section}", self.visit)
    }

    /// The exam with a section open.
    fn page(&self, section: &str) -> String {
        format!("/visits/{}/exam?to={section}", self.visit)
    }

    async fn send(&mut self, section: &str, fields: &[(&str, &str)]) -> Page {
        let path = self.at(section);
        self.vet.submit(&path, fields).await
    }

    /// Sends what must be stored.
    async fn store(&mut self, section: &str, fields: &[(&str, &str)]) {
        let page = self.send(section, fields).await;
        assert_eq!(page.status, StatusCode::SEE_OTHER, "{fields:?}: {:?}", page.texts(".errors li"));
        assert!(page.location().starts_with(&format!("/visits/{}/exam?", self.visit)), "{}", page.location());
    }

    /// Sends what must be refused, and gives what is said about it.
    async fn refuse(&mut self, section: &str, fields: &[(&str, &str)]) -> Page {
        let before = self.all().await.len();
        let page = self.send(section, fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{section}: {fields:?}");
        assert!(page.has(".errors li"), "{section}: {fields:?} says nothing");
        assert_eq!(self.all().await.len(), before, "{section}: {fields:?} was stored");
        page
    }

    async fn all(&self) -> Vec<Entry> {
        record::entries_of_visit(self.test.app.db.read(), self.visit).await.unwrap()
    }

    async fn standing(&self) -> Vec<Entry> {
        record::current_of_visit(self.test.app.db.read(), self.visit).await.unwrap()
    }

    /// The standing entries as they are kept.
    async fn bodies(&self) -> Vec<String> {
        let standing = self.standing().await;
        standing.iter().map(|e| e.body.as_ref().unwrap().canonical().unwrap()).collect()
    }

    async fn run(&self, sql: &'static str) {
        let mut tx = self.test.app.db.write().await.unwrap();
        sqlx::query(sql).bind(self.visit).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
    }

    async fn complain(&self, weight_bearing: &str) {
        let mut tx = self.test.app.db.write().await.unwrap();
        sqlx::query(
            "insert into complaint (id, visit_id, position, words, weight_bearing, created_at)
             values (?, ?, 1, 'very lame since this morning', ?, 0)",
        )
        .bind(EntryId::new())
        .bind(self.visit)
        .bind(weight_bearing)
        .execute(&mut *tx)
        .await
        .unwrap();
        tx.commit().await.unwrap();
    }

    async fn weights(&self) -> Vec<(f64, String)> {
        let rows = sqlx::query_as("select kg, method from horse_weight order by created_at, id");
        rows.fetch_all(self.test.app.db.read()).await.unwrap()
    }

    async fn state(&self) -> String {
        let row = sqlx::query_scalar("select state from visit where id = ?").bind(self.visit);
        row.fetch_one(self.test.app.db.read()).await.unwrap()
    }
}

#[tokio::test]
async fn vital_signs_are_kept_as_measured_in_one_save() {
    let mut stall = Stall::new().await;
    let typed = [
        ("temp_c", "38,2"),
        ("pulse_bpm", "36"),
        ("resp_bpm", "12"),
        ("bcs", "5.5"),
        ("crest", "2"),
        ("weight_kg", "540"),
        ("weight_method", "tape"),
    ];
    stall.store("vitals", &typed).await;
    assert_eq!(
        stall.bodies().await,
        [
            r#"{"kind":"vital","code":"temp_c","number":38.2}"#,
            r#"{"kind":"vital","code":"pulse_bpm","number":36.0}"#,
            r#"{"kind":"vital","code":"resp_bpm","number":12.0}"#,
            r#"{"kind":"vital","code":"bcs","scale":"henneke_1_9","number":5.5}"#,
            r#"{"kind":"vital","code":"crest","scale":"crest_0_5","number":2.0}"#,
            r#"{"kind":"vital","code":"weight_kg","number":540.0}"#,
        ]
    );
    assert_eq!(stall.weights().await, [(540.0, "tape".to_owned())]);
}

#[tokio::test]
async fn a_practice_that_thinks_in_fahrenheit_and_pounds_types_them() {
    let mut stall = Stall::new().await;
    stall.run("update practice set temperature_unit = 'f', weight_unit = 'lb' where ?1 is not null").await;
    let page = stall.vet.get(&stall.page("vitals")).await;
    assert!(page.texts("label[for=temp_c]")[0].ends_with("(°F)"), "{:?}", page.texts("label[for=temp_c]"));
    // 101.3 °F is (101.3 - 32) / 1.8 = 38.5 °C; the pound is 0.45359237 kg by definition.
    stall.store("vitals", &[("temp_c", "101.3"), ("weight_kg", "1000"), ("weight_method", "scale")]).await;
    assert_eq!(
        stall.bodies().await,
        [
            r#"{"kind":"vital","code":"temp_c","number":38.5}"#,
            r#"{"kind":"vital","code":"weight_kg","number":453.59}"#,
        ]
    );
    let page = stall.vet.get(&stall.page("vitals")).await;
    let said = page.texts("#vitals .said");
    assert_eq!(said, ["101.3 °F", "1000 lb"]);
    // A temperature in the other unit is a slip of the mind, not a cold horse.
    stall.refuse("vitals", &[("temp_c", "38.5")]).await;
}

#[tokio::test]
async fn what_is_unusual_is_asked_about_once_and_then_taken() {
    let mut stall = Stall::new().await;
    let page = stall.refuse("vitals", &[("temp_c", "42.1"), ("pulse_bpm", "80")]).await;
    assert!(page.texts("#temp_c-error")[0].contains("unusual"));
    assert_eq!(page.values_of("pulse_bpm"), ["80"], "the rest is kept");
    assert_eq!(page.attrs("input[name=temp_c_sure]", "value"), ["42.1"]);
    // A yes to one number is no yes to another.
    stall.refuse("vitals", &[("temp_c", "42.9"), ("temp_c_sure", "42.1")]).await;
    stall.store("vitals", &[("temp_c", "42.1"), ("temp_c_sure", "42.1"), ("pulse_bpm", "80")]).await;
    let kept = r#"{"kind":"vital","code":"temp_c","qualities":["as measured"],"number":42.1}"#;
    assert_eq!(stall.bodies().await[0], kept);
}

#[tokio::test]
async fn what_cannot_be_is_refused_beside_its_field() {
    let mut stall = Stall::new().await;
    for (field, words) in [
        ("temp_c", "60"),
        ("temp_c", "warm"),
        ("temp_c", "٣٨"),
        ("temp_c", "NaN"),
        ("temp_c", "-38"),
        ("pulse_bpm", "36.5"),
        ("pulse_bpm", "inf"),
        ("resp_bpm", "0"),
        ("bcs", "5.3"),
        ("bcs", "10"),
        ("crest", "-1"),
        ("weight_kg", "9999"),
    ] {
        let page = stall.refuse("vitals", &[(field, words), ("weight_method", "tape")]).await;
        assert!(page.has(&format!("#{field}-error")), "{field} {words}");
        assert_eq!(page.values_of(field), [words], "{field} {words}");
    }
    let page = stall.refuse("vitals", &[("weight_kg", "540")]).await;
    assert!(page.has("#weight_method-error"), "how it was weighed belongs to a weight");
    stall.refuse("vitals", &[]).await;
}

#[tokio::test]
async fn a_second_measurement_corrects_the_first_and_the_weight_follows() {
    let mut stall = Stall::new().await;
    stall.store("vitals", &[("weight_kg", "540"), ("weight_method", "tape")]).await;
    let first = stall.standing().await[0].id;
    stall.store("vitals", &[("weight_kg", "504"), ("weight_method", "scale")]).await;
    let standing = stall.standing().await;
    assert_eq!((standing.len(), standing[0].supersedes), (1, Some(first)));
    assert_eq!(stall.weights().await, [(504.0, "scale".to_owned())]);
    stall.store("vitals", &[("tap", &format!("back:{}", standing[0].id))]).await;
    assert!(stall.standing().await.is_empty() && stall.weights().await.is_empty());
    assert_eq!(stall.all().await.len(), 3, "nothing goes out of the record");
}

#[tokio::test]
async fn stood_square_is_one_tap_and_a_pick_corrects_it() {
    let mut stall = Stall::new().await;
    stall.store("standing", &[("tap", "square:")]).await;
    assert_eq!(stall.bodies().await, [r#"{"kind":"finding","code":"POST","present":false}"#]);
    stall.store("standing", &[("tap", "LF:pointing")]).await;
    stall.store("standing", &[("tap", "LF:shifting weight")]).await;
    assert_eq!(
        stall.bodies().await,
        [
            r#"{"kind":"finding","limb":"LF","code":"POST","present":true,"value":"pointing"}"#,
            r#"{"kind":"finding","limb":"LF","code":"POST","present":true,"value":"shifting weight"}"#,
        ]
    );
    stall.refuse("standing", &[("tap", "square:")]).await;
    stall.store("standing", &[("tap", "LF:pointing")]).await;
    assert_eq!(stall.standing().await.len(), 1, "a second tap takes a pick back");
    for wrong in ["LF:flying", "XX:pointing", "obel:5", "obel:1.5", "", "back:nothing"] {
        let page = stall.send("standing", &[("tap", wrong)]).await;
        assert!(!page.status.is_server_error(), "{wrong}");
        assert_eq!(stall.standing().await.len(), 1, "{wrong}");
    }
}

#[tokio::test]
async fn a_laminitis_grade_of_three_warns_where_it_would_be_trotted() {
    let mut stall = Stall::new().await;
    stall.store("standing", &[("tap", "obel:3")]).await;
    let kept = r#"{"kind":"vital","code":"obel","grade":3.0,"scale":"obel_0_4"}"#;
    assert_eq!(stall.bodies().await, [kept]);
    let page = stall.vet.get(&stall.page("gait")).await;
    let cautions = page.texts("#gait-cautions .caution");
    assert!(cautions.iter().any(|words| words.contains("No trot, no circles")), "{cautions:?}");
}

#[tokio::test]
async fn a_score_is_a_number_and_who_gave_it() {
    let mut stall = Stall::new().await;
    let good =
        [("tap", "score:"), ("score_kind", "ridden_score"), ("score_number", "9"), ("score_by", "Vala Test")];
    stall.store("standing", &good).await;
    let kept = r#"{"kind":"vital","code":"ridden_score","number":9.0,"held_by":"Vala Test"}"#;
    assert_eq!(stall.bodies().await, [kept]);
    for (field, words) in
        [("score_number", "25"), ("score_number", ""), ("score_kind", "mood"), ("score_by", " ")]
    {
        let fields: Vec<_> = good.iter().map(|(f, w)| (*f, if *f == field { words } else { *w })).collect();
        let page = stall.refuse("standing", &fields).await;
        assert!(page.has(&format!("#{field}-error")), "{field} {words}");
    }
    stall.store("standing", &[("tap", "conformation:"), ("conformation", "low heels in front")]).await;
    assert_eq!(
        stall.bodies().await[1],
        r#"{"kind":"note","code":"conformation","text":"low heels in front"}"#
    );
}

const WALK: [(&str, &str); 2] = [("condition", "WLK_S"), ("scale", "aaep_0_5")];

fn walk(tap: &str) -> Vec<(&str, &str)> {
    WALK.into_iter().chain([("tap", tap)]).collect()
}

#[tokio::test]
async fn a_normal_horse_takes_one_tap_a_gait() {
    let mut stall = Stall::new().await;
    stall.store("gait", &walk("level:")).await;
    let kept = stall.bodies().await;
    assert_eq!(kept.len(), 4);
    assert_eq!(kept[0], r#"{"kind":"gait","limb":"LF","code":"WLK_S","grade":0.0,"scale":"aaep_0_5"}"#);
    assert!(stall.standing().await.iter().all(|e| e.body.as_ref().unwrap().sweep.is_none()), "never a sweep");
}

#[tokio::test]
async fn a_grade_is_one_tap_and_level_leaves_it_alone() {
    let mut stall = Stall::new().await;
    stall.store("gait", &walk("RF:2")).await;
    stall.store("gait", &walk("RF:half")).await;
    stall.store("gait", &walk("level:")).await;
    stall.store("gait", &walk("level:")).await;
    let grades: Vec<_> = stall
        .standing()
        .await
        .iter()
        .map(|e| e.body.as_ref().unwrap())
        .map(|b| (b.limb.clone().unwrap(), b.grade.unwrap()))
        .collect();
    let expected = [("RF", 2.5), ("LF", 0.0), ("LH", 0.0), ("RH", 0.0)];
    assert_eq!(grades, expected.map(|(limb, grade)| (limb.to_owned(), grade)));
    let before = stall.all().await.len();
    stall.store("gait", &walk("LF:0")).await;
    assert_eq!(stall.all().await.len(), before, "the very same grade again says nothing new");
    for wrong in ["LF:6", "LF:-1", "LF:2.25", "LF:NaN", "LF:half:half", "M:2", "LF", "LF:", ""] {
        stall.refuse("gait", &walk(wrong)).await;
    }
    stall.refuse("gait", &[("condition", "FLY"), ("scale", "aaep_0_5"), ("tap", "LF:2")]).await;
    stall.refuse("gait", &[("condition", "WLK_S"), ("scale", "obel_0_4"), ("tap", "LF:2")]).await;
}

#[tokio::test]
async fn what_is_written_beside_the_grades_is_kept_with_any_tap() {
    let mut stall = Stall::new().await;
    let mut fields = walk("LF:1");
    fields.extend([("phase-WLK_S", "swing"), ("surface-WLK_S", "cobbles"), ("note-WLK_S", "short in front")]);
    stall.store("gait", &fields).await;
    let kept =
        r#"{"kind":"gait","code":"WLK_S","value":"swing","qualities":["cobbles"],"text":"short in front"}"#;
    assert_eq!(stall.bodies().await[0], kept);
    assert_eq!(stall.standing().await.len(), 2);
    // Without a signal the words stay in the form until the practice has answered.
    fields[2] = ("tap", "RF:2");
    stall.store("gait", &fields).await;
    let written = stall.bodies().await.into_iter().filter(|body| body == kept).count();
    assert_eq!((written, stall.standing().await.len()), (1, 3), "the same words again say nothing new");
    stall.refuse("gait", &walk("note:")).await;
}

#[tokio::test]
async fn the_last_visit_stands_in_grey_beside_todays_grade() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let before = story.visit("2026-02-11").await;
    story.say(before, gait("RF", "WLK_S", 3.0, "aaep_0_5")).await;
    story.say(before, gait("LF", "WLK_S", 6.0, "uk_0_10")).await;
    let visit = story.visit("2026-03-11").await;
    let vet = test.signed_in(Role::Vet).await;
    let mut stall = Stall { test, visit, vet };
    stall.store("gait", &walk("RF:2")).await;
    stall.store("gait", &walk("LF:2")).await;
    let page = stall.vet.get(&stall.page("gait")).await;
    let grey = page.texts("#gait-WLK_S .grades .soft").join(" | ");
    assert!(grey.contains("last time at trot (3 of 5) (11 Feb), better by 1"), "{grey}");
    assert!(
        grey.contains("last time moderate (6 of 10) (11 Feb)") && !grey.contains("better by 4"),
        "{grey}"
    );
}

const LOWER: [(&str, &str); 4] =
    [("test", "FX_DF"), ("scale", "flexion_0_4"), ("seconds-FX_DF", "60"), ("holder-FX_DF", "Vala Test")];

fn lower(tap: &str) -> Vec<(&str, &str)> {
    LOWER.into_iter().chain([("tap", tap)]).collect()
}

#[tokio::test]
async fn a_flexion_keeps_its_seconds_and_who_held() {
    let mut stall = Stall::new().await;
    stall.store("flexion", &lower("LF:2")).await;
    let kept = r#"{"kind":"flexion","limb":"LF","code":"FX_DF","grade":2.0,"scale":"flexion_0_4","number":60.0,"held_by":"Vala Test"}"#;
    assert_eq!(stall.bodies().await, [kept]);
    let page = stall.vet.get(&stall.page("flexion")).await;
    assert!(
        page.has("#flexion-FX_DF input[name='seconds-FX_DF'][value='60'][checked]"),
        "held as long again"
    );
    assert_eq!(page.values_of("holder-FX_DH"), ["Vala Test"]);
    for (field, words) in [
        ("seconds-FX_DF", ""),
        ("other-FX_DF", "long"),
        ("other-FX_DF", "٦٠"),
        ("other-FX_DF", "0"),
        ("other-FX_DF", "30,5"),
        ("other-FX_DF", "9999"),
    ] {
        let mut fields = lower("RF:1");
        fields.retain(|(name, _)| *name != field);
        fields.push((field, words));
        let page = stall.refuse("flexion", &fields).await;
        assert!(page.has(&format!("#{field}-error")), "{field} {words}");
    }
    for wrong in ["LH:1", "LF:5", "LF:1.5", "LF:half", ""] {
        stall.refuse("flexion", &lower(wrong)).await;
    }
    stall.store("flexion", &[("test", "CHURCH"), ("scale", "flexion_0_3"), ("tap", "LH:3")]).await;
    let kept = r#"{"kind":"flexion","limb":"LH","code":"CHURCH","grade":3.0,"scale":"flexion_0_3"}"#;
    assert_eq!(stall.bodies().await[1], kept, "a test that is not held has no seconds");
}

#[tokio::test]
async fn no_weight_on_the_limb_stops_flexion_until_somebody_says_why_not() {
    let mut stall = Stall::new().await;
    stall.complain("none").await;
    let page = stall.vet.get(&stall.page("flexion")).await;
    assert!(!page.has("#flexion button[value='LF:2']"), "no grades while it is stopped");
    assert!(page.texts("#flexion .stop-strip")[0].contains("the caller says it puts no weight on it"));
    let page = stall.refuse("flexion", &lower("LF:2")).await;
    assert!(page.texts(".errors li")[0].contains("not bearing weight"));

    let codes: Vec<String> = page.attrs("#go-on input[name=code]", "value");
    assert_eq!(codes, ["CI_NWB"]);
    stall.refuse("caution", &[("code", "CI_NWB"), ("caution_reason", "  ")]).await;
    let reason = "abscess opened, horse sound at walk now";
    stall.store("caution", &[("code", "CI_NWB"), ("caution_reason", reason)]).await;
    let entry = stall.standing().await.pop().unwrap();
    assert_eq!((entry.entered_by, entry.received_at), (stall.test.vet, stall.test.now()));
    let body = entry.body.unwrap();
    assert_eq!((body.code.as_deref(), body.reason.as_deref()), (Some("CI_NWB"), Some(reason)));

    let page = stall.vet.get(&stall.page("flexion")).await;
    let strip = page.texts("#cautions").join(" ");
    assert!(strip.contains("Vala Test went on") && strip.contains(reason), "{strip}");
    stall.store("flexion", &lower("LF:2")).await;
    // What was passed once does not pass the next one.
    let story = Story { test: &stall.test, horse: limbledger::ids::HorseId::new() };
    story.say(stall.visit, finding("CARP_D", "L", "CREP", 1.0, "finding_0_3")).await;
    stall.refuse("flexion", &lower("RF:1")).await;
}

#[tokio::test]
async fn a_grade_that_says_no_weight_stops_flexion_too() {
    for (scale, condition, grade, stopped) in [
        ("aaep_0_5", "TRT_SH", "5", true),
        ("aaep_0_5", "WLK_S", "4", false),
        ("uk_0_10", "WLK_S", "8", true),
        ("uk_0_10", "TRT_SH", "8", false),
        ("uk_0_10", "WLK_S", "7", false),
    ] {
        let mut stall = Stall::new().await;
        let tap = format!("LH:{grade}");
        stall.store("gait", &[("condition", condition), ("scale", scale), ("tap", &tap)]).await;
        let page = stall.send("flexion", &lower("LF:2")).await;
        let expected = if stopped { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::SEE_OTHER };
        assert_eq!(page.status, expected, "{scale} {condition} {grade}");
    }
}

#[tokio::test]
async fn a_technician_writes_down_what_the_vet_sees_and_the_desk_nothing() {
    let mut stall = Stall::new().await;
    let mut technician = stall.test.signed_in(Role::Technician).await;
    let page = technician.get(&stall.page("gait")).await;
    let mut form = page.form_fields(&stall.at("gait"));
    form.push(("tap".into(), "level:".into()));
    let fields: Vec<_> = form.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
    assert_eq!(technician.post(&stall.at("gait"), &fields).await.status, StatusCode::SEE_OTHER);
    let entry = stall.standing().await.pop().unwrap();
    assert_eq!((entry.seen_by, entry.entered_by), (stall.test.vet, stall.test.technician));
    let mut desk = stall.test.signed_in(Role::Desk).await;
    assert_eq!(desk.get(&stall.at("gait")).await.status, StatusCode::FORBIDDEN);
    assert_eq!(desk.submit(&stall.at("gait"), &walk("level:")).await.status, StatusCode::FORBIDDEN);
    let desk_id = stall.test.desk.to_string();
    let mut fields = walk("LF:1");
    fields.push(("seen_by", &desk_id));
    stall.refuse("gait", &fields).await;
}

#[tokio::test]
async fn neurological_items_are_answered_one_by_one() {
    let mut stall = Stall::new().await;
    stall.store("neuro", &[("tap", "N16:normal")]).await;
    stall.store("neuro", &[("tap", "N2.R:abnormal")]).await;
    stall.store("neuro", &[("tap", "N7:undone")]).await;
    stall.store("neuro", &[("tap", "N7:normal")]).await;
    stall.store("neuro", &[("tap", "hind:2")]).await;
    stall.store("neuro", &[("tap", "note:"), ("neuro_note", "worse with the head up")]).await;
    assert_eq!(
        stall.bodies().await,
        [
            r#"{"kind":"neuro","code":"N16","present":false}"#,
            r#"{"kind":"neuro","side":"R","code":"N2","present":true}"#,
            r#"{"kind":"neuro","side":"L","code":"N7","present":false}"#,
            r#"{"kind":"neuro","side":"R","code":"N7","present":false}"#,
            r#"{"kind":"neuro","code":"ATAX","grade":2.0,"scale":"ataxia_0_5","value":"hind"}"#,
            r#"{"kind":"note","code":"neuro","text":"worse with the head up"}"#,
        ]
    );
    stall.store("neuro", &[("tap", "N16:abnormal")]).await;
    let page = stall.vet.get(&stall.page("neuro")).await;
    let words = page.texts("#neuro .caution").join(" ");
    assert!(words.contains("Call a neurological opinion") && words.contains("backing abnormal"), "{words}");
    for wrong in ["N99:normal", "N16.L:normal", "N2.M:normal", "N2:odd", "ears:2", "hind:6", "hind:", ""] {
        stall.refuse("neuro", &[("tap", wrong)]).await;
    }
    stall.refuse("neuro", &[("tap", "note:"), ("neuro_note", "")]).await;
}

#[tokio::test]
async fn every_field_meets_bad_input() {
    let mut stall = Stall::new().await;
    let weight = [("weight_kg", "540"), ("weight_method", "tape"), ("temp_c", "38")];
    let (page, at) = (stall.page("vitals"), stall.at("vitals"));
    battery(&mut stall.vet, &page, &at, &weight).await;
    for (section, good) in [
        ("standing", vec![("tap", "conformation:"), ("conformation", "even")]),
        (
            "standing",
            vec![("tap", "score:"), ("score_kind", "pain_face"), ("score_number", "3"), ("score_by", "V")],
        ),
        ("gait", [walk("LF:1"), vec![("note-WLK_S", "short")]].concat()),
        ("flexion", lower("LF:1")),
        ("neuro", vec![("tap", "note:"), ("neuro_note", "steady")]),
    ] {
        let (page, at) = (stall.page(section), stall.at(section));
        battery(&mut stall.vet, &page, &at, &good).await;
    }
    stall.complain("toe").await;
    let long = "Ħ".repeat(10_000);
    for reason in ["", "\u{7}bell", &long] {
        let page = stall.refuse("caution", &[("code", "CI_NWB"), ("caution_reason", reason)]).await;
        assert!(page.has("#caution_reason-error"));
    }
    let markup = "<script>alert('x')</script> مهرة";
    stall.store("caution", &[("code", "CI_NWB"), ("caution_reason", markup)]).await;
    let page = stall.vet.get(&stall.page("flexion")).await;
    assert!(page.texts("#cautions").join(" ").contains(markup) && !page.text.contains("<script>alert("));
}

#[tokio::test]
async fn a_double_tap_is_one_entry() {
    let mut stall = Stall::new().await;
    for (section, good) in [
        ("vitals", vec![("temp_c", "38.0")]),
        ("standing", vec![("tap", "square:")]),
        ("gait", walk("level:")),
        ("flexion", lower("LF:1")),
        ("neuro", vec![("tap", "note:"), ("neuro_note", "steady")]),
    ] {
        let before = stall.all().await.len();
        let (page, at) = (stall.page(section), stall.at(section));
        twice(&mut stall.vet, &page, &at, &good).await;
        let added = if section == "gait" { 4 } else { 1 };
        assert_eq!(stall.all().await.len(), before + added, "{section}");
    }
}

#[tokio::test]
async fn the_first_entry_begins_a_booked_visit() {
    let mut stall = Stall::new().await;
    stall.run("update visit set state = 'booked' where id = ?").await;
    stall.refuse("vitals", &[("temp_c", "hot")]).await;
    assert_eq!(stall.state().await, "booked", "what was refused begins nothing");
    stall.store("vitals", &[("temp_c", "38.0")]).await;
    assert_eq!(stall.state().await, "in_hand");
    let visit = stall.vet.get(&format!("/visits/{}", stall.visit)).await;
    assert!(visit.texts("#changes li").last().unwrap().contains("begun"), "{:?}", visit.texts("#changes li"));
    stall.run("update visit set state = 'cancelled' where id = ?").await;
    let page = stall.send("vitals", &[("temp_c", "38.1")]).await;
    assert_eq!(page.status, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn a_signed_visit_keeps_what_still_arrives_apart_from_what_was_signed() {
    let mut stall = Stall::new().await;
    stall.store("gait", &walk("LF:2")).await;
    let signed = stall.test.now();
    stall.run("update visit set state = 'signed', signed_by = created_by, signed_at = 1773216000000 where id = ?").await;
    assert_eq!(signed, At(1_773_216_000_000), "the clock of the tests");
    // The tablet's clock stands ten minutes ahead: seen at 9:08 by it, that is 8:58 by ours.
    let [seen, sent] = [8, 10].map(|minutes| signed.plus_minutes(minutes).0.to_string());
    let mut fields = walk("LF:3");
    fields.extend([("seen_at", seen.as_str()), ("sent_at", sent.as_str())]);
    stall.store("gait", &fields).await;
    let late = stall.all().await.pop().unwrap();
    assert_eq!((late.late, late.supersedes, late.seen()), (true, None, signed.plus_minutes(-2)));
    assert_eq!(stall.standing().await.len(), 1, "what was signed stays");
}

#[tokio::test]
async fn an_entry_keeps_the_id_the_tablet_gave_it() {
    let mut stall = Stall::new().await;
    let id = EntryId::new();
    let mut fields = walk("LF:2");
    let text = id.to_string();
    fields.push(("entry", &text));
    stall.store("gait", &fields).await;
    assert_eq!(stall.standing().await[0].id, id);
}
