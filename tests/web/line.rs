//! The line box: a line is read without recording anything, shown to confirm, change or strike, and recorded with the
//! line it came from.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::VisitId,
    record::{self, Body, Kind},
};

use crate::support::{Browser, Fixture, Page, TestApp};

struct LineBox {
    test: TestApp,
    visit: VisitId,
    browser: Browser,
}

impl LineBox {
    async fn new() -> Self {
        let test = TestApp::new().await;
        let visit = Fixture::new(&test).await.visit;
        let browser = test.signed_in(Role::Vet).await;
        LineBox { test, visit, browser }
    }

    fn path(&self) -> String {
        format!("/visits/{}/exam/line", self.visit)
    }

    async fn read(&mut self, line: &str) -> Page {
        let path = self.path();
        self.browser.post(&path, &[("line", line)]).await
    }

    /// Records the chips as they stand on the page, or as `change` says: a chip's number and another value.
    async fn record(&mut self, line: &str, page: &Page, change: &[(usize, String)]) -> Page {
        let mut fields = vec![("line".to_owned(), line.to_owned())];
        fields.extend(
            page.attrs("#line-record [name=chips]", "value").into_iter().map(|n| ("chips".to_owned(), n)),
        );
        fields.extend(
            page.attrs("#line-record [name=was]", "value").into_iter().map(|was| ("was".to_owned(), was)),
        );
        for chip in 0..page.attrs(".chip", "class").len() {
            let name = format!("row-{chip}");
            let chosen = page.attrs(&format!("input[name={name}][checked]"), "value");
            let other = change.iter().find(|(n, _)| *n == chip).map(|(_, value)| value.clone());
            if let Some(value) = other.or_else(|| chosen.first().cloned()) {
                fields.push((name, value));
            }
        }
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        let path = format!("{}/record", self.path());
        self.browser.submit(&path, &fields).await
    }

    async fn said(&mut self, line: &str) {
        let page = self.read(line).await;
        let answer = self.record(line, &page, &[]).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{line}: {}", answer.texts("#line-error").join(" "));
    }

    async fn bodies(&self) -> Vec<Body> {
        let entries = record::current_of_visit(self.test.app.db.read(), self.visit).await.unwrap();
        entries.into_iter().filter_map(|entry| entry.body).collect()
    }
}

/// The values of a chip's answers, by what stands on them.
fn answer(page: &Page, chip: usize, label: &str) -> String {
    let labels = page.texts(&format!("label:has(input[name=row-{chip}])"));
    let values = page.attrs(&format!("input[name=row-{chip}]"), "value");
    let at = labels.iter().position(|text| text.trim() == label);
    values[at.unwrap_or_else(|| panic!("no answer {label} among {labels:?}"))].clone()
}

#[tokio::test]
async fn reading_a_line_shows_it_and_records_nothing() {
    let mut line = LineBox::new().await;
    let page = line.read("LF fetlock mild effusion, warm, no pain").await;
    assert_eq!(page.status, StatusCode::OK);
    let chips = page.texts(".chip .read b");
    assert_eq!(chips.len(), 3, "{chips:?}");
    assert!(chips[0].contains("left fore fetlock") && chips[0].contains("effusion"), "{chips:?}");
    assert!(line.bodies().await.is_empty());
}

#[tokio::test]
async fn what_is_confirmed_is_recorded_with_the_line_it_came_from() {
    let mut line = LineBox::new().await;
    line.said("LF fetlock mild effusion, warm, no pain").await;
    let bodies = line.bodies().await;
    let said: Vec<_> = bodies.iter().map(|b| (b.code.as_deref().unwrap(), b.present, b.grade)).collect();
    assert_eq!(
        said,
        [("EFF", Some(true), Some(1.0)), ("HEAT", Some(true), None), ("PAIN", Some(false), Some(0.0))]
    );
    for body in &bodies {
        assert_eq!(body.place_key().as_deref(), Some("FETL_D.L"));
        assert_eq!(body.line.as_deref(), Some("LF fetlock mild effusion, warm, no pain"));
    }
    let exam = line.browser.get(&format!("/visits/{}/exam", line.visit)).await;
    assert!(exam.has("#line-form input[name=line]"), "the box stands in the exam");
}

#[tokio::test]
async fn five_lines_and_five_confirmations_record_five_findings_with_grade_and_side() {
    let mut line = LineBox::new().await;
    for words in [
        "LF fetlock effusion 2",
        "right hind hock bog spavin grade one",
        "RF check ligament moderate thickening",
        "left fore digital pulse bounding",
        "LH suspensory origin pain 1",
    ] {
        line.said(words).await;
    }
    let bodies = line.bodies().await;
    assert_eq!(bodies.len(), 5);
    assert!(
        bodies.iter().all(|body| body.kind == Kind::Finding && body.grade.is_some() && body.side.is_some())
    );
}

#[tokio::test]
async fn a_word_of_the_practice_is_read_as_soon_as_it_is_added_and_no_longer_once_it_is_removed() {
    let mut line = LineBox::new().await;
    let said = "LF fetlock squidge 2";
    assert!(!line.read(said).await.texts(".chip").concat().contains("effusion"));
    let mut owner = line.test.signed_in(Role::Owner).await;
    owner.submit("/practice/words", &[("says", "squidge"), ("means", "effusion")]).await;
    line.said(said).await;
    assert_eq!(line.bodies().await[0].code.as_deref(), Some("EFF"));
    let list = owner.get("/practice/words").await;
    let remove = list.attrs("form[action$=remove]", "action").remove(0);
    owner.fill(&list, &remove, &[]).await;
    assert!(!line.read(said).await.texts(".chip").concat().contains("effusion"));
    assert_eq!(line.bodies().await.len(), 1, "what was recorded stays");
}

#[tokio::test]
async fn a_chip_can_be_struck_or_changed() {
    let mut line = LineBox::new().await;
    let words = "LF fetlock effusion 2, heat 1";
    let page = line.read(words).await;
    let three = answer(&page, 0, "3 marked");
    line.record(words, &page, &[(0, three), (1, String::new())]).await;
    let bodies = line.bodies().await;
    assert_eq!(bodies.len(), 1);
    assert_eq!((bodies[0].code.as_deref(), bodies[0].grade), (Some("EFF"), Some(3.0)));

    let page = line.read("LF carpus effusion 2").await;
    let right = answer(&page, 0, "the right fore one");
    line.record("LF carpus effusion 2", &page, &[(0, right)]).await;
    assert_eq!(line.bodies().await.last().unwrap().limb.as_deref(), Some("RF"));
}

#[tokio::test]
async fn a_question_is_answered_by_a_button_and_nothing_is_taken_unasked() {
    let mut line = LineBox::new().await;
    let words = "RH hock swelling 2, RF fetlock effusion 1";
    let page = line.read(words).await;
    let open = page.attrs(".chip:has([required]) [required]", "name")[0].clone();
    let chip: usize = open.trim_start_matches("row-").parse().unwrap();
    let three = answer(&page, 1 - chip, "3 marked");
    let unanswered = line.record(words, &page, &[(1 - chip, three.clone())]).await;
    assert_eq!(unanswered.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(unanswered.attrs("#line", "value"), [words], "what was typed stays");
    assert_eq!(unanswered.attrs(".errors a", "href"), [format!("#{open}")]);
    assert!(unanswered.has(&format!("#{open}")));
    assert_eq!(
        unanswered.attrs(&format!("[name=row-{}][checked]", 1 - chip), "value"),
        [three],
        "and what was chosen"
    );
    assert!(line.bodies().await.is_empty());
    let labels = page.texts(&format!("label:has(input[name={open}])"));
    let point = labels.iter().find(|text| text.contains("point")).expect("the point of the hock").clone();
    let value = answer(&page, chip, &point);
    line.record(words, &page, &[(chip, value)]).await;
    let bodies = line.bodies().await;
    assert!(bodies.iter().any(|b| (b.region.as_deref(), b.grade) == (Some("HOCK_PT"), Some(2.0))));
    assert_eq!(bodies.len(), 2);
}

#[tokio::test]
async fn a_second_line_about_the_same_corrects_the_first_and_says_so_before() {
    let mut line = LineBox::new().await;
    line.said("LF fetlock effusion 2").await;
    let page = line.read("LF fetlock effusion 3").await;
    assert!(
        page.texts(".chip small")[0].contains("instead of: effusion, moderate (2 of 4)"),
        "{:?}",
        page.texts(".chip small")
    );
    line.record("LF fetlock effusion 3", &page, &[]).await;
    let bodies = line.bodies().await;
    assert_eq!(bodies.iter().map(|body| body.grade).collect::<Vec<_>>(), [Some(3.0)]);
}

#[tokio::test]
async fn a_flexion_does_not_get_around_what_stops_it() {
    let mut line = LineBox::new().await;
    // The same line raises what stops it: no weight is put on the limb.
    for (words, chips) in [("RF 5/5 walk, RH upper flexion 2", 2), ("RH upper flexion 2", 1)] {
        let page = line.read(words).await;
        assert_eq!(page.attrs(".chip", "class").len(), chips, "{words}");
        let refused = line.record(words, &page, &[]).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{words}");
        assert_eq!(refused.attrs(".errors a", "href"), ["#line_reason"]);
        assert!(refused.has("#line_reason[aria-invalid]"));
        assert!(line.bodies().await.iter().all(|body| body.kind != Kind::Flexion));
        if chips == 2 {
            // The grade alone is taken, the flexion struck.
            line.record(words, &page, &[(1, String::new())]).await;
        }
    }
    let page = line.read("RH upper flexion 2").await;
    assert!(page.has("#line-record .stop-strip"), "the stop stands beside what was read");
    let value = page.attrs("input[name=row-0][checked]", "value")[0].clone();
    let path = format!("{}/record", line.path());
    let fields =
        [("line", "RH upper flexion 2"), ("row-0", value.as_str()), ("line_reason", "the owner insists")];
    assert_eq!(line.browser.submit(&path, &fields).await.status, StatusCode::SEE_OTHER);
    let bodies = line.bodies().await;
    let passed: Vec<_> = bodies.iter().filter(|body| body.kind == Kind::Override).collect();
    assert_eq!(passed[0].reason.as_deref(), Some("the owner insists"));
    assert_eq!(bodies.last().unwrap().kind, Kind::Flexion);
}

#[tokio::test]
async fn a_line_kept_without_a_signal_waits_until_it_is_read_once() {
    let mut line = LineBox::new().await;
    let words = "LF fetlock effusion 2";
    let note = format!(r#"[{{"kind":"note","value":"not_read","text":"{words}"}}]"#);
    let path = format!("{}/record", line.path());
    line.browser.submit(&path, &[("line", words), ("row-0", &note)]).await;
    let exam = line.browser.get(&format!("/visits/{}/exam", line.visit)).await;
    assert_eq!(exam.attrs("#line-waiting [name=line]", "value"), [words]);
    let was = exam.attrs("#line-waiting [name=was]", "value")[0].clone();

    let read = line.browser.post(&line.path(), &[("line", words), ("was", &was)]).await;
    assert_eq!(line.record(words, &read, &[]).await.status, StatusCode::SEE_OTHER);
    let again = line.record(words, &read, &[]).await;
    assert_eq!(again.status, StatusCode::CONFLICT, "it was read by somebody else meanwhile");
    let bodies = line.bodies().await;
    assert!(bodies.iter().all(|body| body.kind != Kind::Note), "{bodies:?}");
    assert_eq!(bodies.iter().filter(|body| body.kind == Kind::Finding).count(), 1);
    let exam = line.browser.get(&format!("/visits/{}/exam", line.visit)).await;
    assert!(!exam.has("#line-waiting form"));
}

#[tokio::test]
async fn an_entry_shows_the_line_it_was_read_from() {
    let mut line = LineBox::new().await;
    line.said("LF fetlock effusion 2").await;
    let picker = line.browser.get(&format!("/visits/{}/exam?open=FETL_D.L", line.visit)).await;
    assert!(picker.texts(".picker .line")[0].contains("from the line: “LF fetlock effusion 2”"));
    let report = line.browser.get(&format!("/visits/{}/report", line.visit)).await;
    assert!(report.text.contains("“LF fetlock effusion 2”"), "the report keeps the line");
}

#[tokio::test]
async fn a_line_that_cannot_be_printed_is_refused_as_it_was_typed() {
    let mut line = LineBox::new().await;
    for words in ["LF \u{7}fetlock".to_owned(), "x".repeat(1001)] {
        let page = line.read(&words).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(page.attrs("#line", "value"), [words]);
        assert_eq!(page.attrs(".errors a", "href"), ["#line"]);
    }
    let page = line.read("<img src=x onerror=alert(1)> LF fetlock effusion 2").await;
    assert!(
        !page.has("main img") && page.texts(".chip small")[1].contains("<img"),
        "{:?}",
        page.texts(".chip small")
    );
}

#[tokio::test]
async fn words_that_are_not_read_are_kept_as_a_note() {
    let mut line = LineBox::new().await;
    line.said("owner reports stumbling since march, LF foot warm").await;
    let bodies = line.bodies().await;
    let note = bodies.iter().find(|body| body.kind == Kind::Note).expect("a note");
    assert_eq!(note.text.as_deref(), Some("owner reports stumbling since march,"));
}

#[tokio::test]
async fn nothing_found_over_a_limb_is_one_sweep_and_says_nothing_over_a_finding() {
    let mut line = LineBox::new().await;
    line.said("LF fetlock effusion 2").await;
    line.said("LF nad").await;
    let bodies = line.bodies().await;
    let swept: Vec<&Body> = bodies.iter().filter(|body| body.kind == Kind::Place).collect();
    assert!(swept.len() > 20);
    assert!(swept.iter().all(|body| body.sweep.is_some() && body.sweep == swept[0].sweep));
    assert!(swept.iter().all(|body| body.place_key().as_deref() != Some("FETL_D.L")));
}

#[tokio::test]
async fn vital_signs_gait_flexion_and_blocks_are_recorded_too() {
    let mut line = LineBox::new().await;
    line.said("temp 38.2 hr 40, RF 2/5 trot straight hard").await;
    line.said("RH upper flexion mod pos 60s").await;
    line.said("LF PDN 80% at 8 min").await;
    line.said("hr 44").await;
    let bodies = line.bodies().await;
    let of = |kind: Kind| bodies.iter().filter(|body| body.kind == kind).collect::<Vec<_>>();
    let pulse: Vec<_> =
        of(Kind::Vital).iter().filter(|b| b.code.as_deref() == Some("pulse_bpm")).map(|b| b.number).collect();
    assert_eq!(pulse, [Some(44.0)], "a second measure corrects the first");
    assert_eq!(of(Kind::Gait)[0].scale.as_deref(), Some("aaep_0_5"));
    assert_eq!((of(Kind::Flexion)[0].grade, of(Kind::Flexion)[0].number), (Some(2.0), Some(60.0)));
    assert_eq!(of(Kind::Block)[0].code.as_deref(), Some("PDN"));
}

#[tokio::test]
async fn what_no_page_offered_is_refused_and_nothing_of_it_recorded() {
    let mut line = LineBox::new().await;
    for forged in [
        r#"[{"kind":"signature","text":"signed"}]"#,
        r#"[{"kind":"finding","region":"FETL_D","side":"L","limb":"LF","code":"EFF","present":true,"grade":9,"scale":"effusion_0_4"}]"#,
        r#"[{"kind":"finding","region":"FETL_D","side":"L","limb":"RH","code":"EFF","present":true}]"#,
        r#"[{"kind":"finding","region":"FETL_D","side":"L","limb":"LF","code":"NOPE","present":true}]"#,
        r#"[{"kind":"vital","code":"temp_c","number":90}]"#,
        r#"[{"kind":"vital","code":"weight_kg","number":500,"value":"guess"}]"#,
        r#"[{"kind":"vital","code":"pulse_bpm","number":40.5}]"#,
        r#"[{"kind":"gait","code":"TRT_SH","limb":"LF","grade":2,"scale":"aaep_0_5","text":"hidden words"}]"#,
        r#"[{"kind":"note","text":"  "}]"#,
        r#"[{"kind":"note","text":"a\u0007b"}]"#,
        r#"[{"kind":"note","value":"plan","text":"words"}]"#,
        r#"[{"kind":"note","text":"x","nonsense":1}]"#,
        "nonsense",
        "[]",
    ] {
        let path = format!("{}/record", line.path());
        let answer = line.browser.submit(&path, &[("line", "LF"), ("row-0", forged)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{forged}");
    }
    assert!(line.bodies().await.is_empty());
}
