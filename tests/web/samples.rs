//! Samples for the laboratory: the suspicion proposes, the protocol is chosen, the sample is clocked and sent, the sheet
//! is filled from the record, enzymes are compared only where they may be.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::{OrderId, VisitId},
    record::{self, Body, Kind},
};

use crate::support::{
    Browser, Page, TestApp, battery,
    record::{Story, finding, on},
    twice,
};

struct Case<'a> {
    test: &'a TestApp,
    story: Story<'a>,
    visit: VisitId,
    vet: Browser,
}

impl<'a> Case<'a> {
    async fn new(test: &'a TestApp) -> Self {
        let story = Story::new(test).await;
        let visit = story.visit("2026-03-11").await;
        Case { test, story, visit, vet: test.signed_in(Role::Vet).await }
    }

    fn page(&self) -> String {
        format!("/visits/{}/diagnostics", self.visit)
    }

    /// Orders with these fields; gives the order's id.
    async fn order(&mut self, study: &str, fields: &[(&str, &str)]) -> String {
        let mut all = vec![("study", study)];
        all.extend_from_slice(fields);
        let answer = self.vet.submit(&self.page(), &all).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
        answer.location().rsplit('/').next().unwrap().to_owned()
    }

    /// A biopsy of the tail head under the protocol that fixes it.
    async fn biopsy(&mut self) -> String {
        let fields = [("suspicion", "emnd"), ("item", "BX_SACRO"), ("protocol", "formalin"), ("when", "now")];
        self.order("muscle_biopsy", &fields).await
    }

    async fn look(&mut self, order: &str) -> Page {
        self.vet.get(&format!("/diagnostics/{order}")).await
    }

    async fn take(&mut self, order: &str, fields: &[(&str, &str)]) -> Page {
        let usual = [
            ("item", "BX_SACRO"),
            ("sample_side", "neither"),
            ("method", "open biopsy"),
            ("taken_on", "2026-03-11"),
            ("taken_at", "8:50"),
            ("taken_by", "Vala Test"),
        ];
        let mut all: Vec<_> =
            usual.into_iter().filter(|(name, _)| !fields.iter().any(|(over, _)| over == name)).collect();
        all.extend_from_slice(fields);
        self.vet.submit(&format!("/diagnostics/{order}/samples"), &all).await
    }

    async fn enzyme(&mut self, order: &str, fields: &[(&str, &str)]) -> Page {
        let usual =
            [("enzyme", "CK"), ("unit", "U/L"), ("drawn_on", "2026-03-10"), ("measured_by", "Harbour Lab")];
        let mut all: Vec<_> =
            usual.into_iter().filter(|(name, _)| !fields.iter().any(|(over, _)| over == name)).collect();
        all.extend_from_slice(fields);
        let answer = self.vet.submit(&format!("/diagnostics/{order}/enzymes"), &all).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
        answer
    }

    async fn entries(&self, order: &str) -> Vec<(String, Body)> {
        let id: OrderId = order.parse().unwrap();
        let (standing, _) = record::results_of_order(self.test.app.db.read(), id).await.unwrap();
        standing.into_iter().filter_map(|e| Some((e.id.to_string(), e.body?))).collect()
    }

    async fn laboratory(&mut self, fields: &[(&str, &str)]) -> Page {
        let mut all = vec![("range_unit", "U/L"), ("in_use", "yes")];
        all.extend_from_slice(fields);
        self.test.signed_in(Role::Owner).await.submit("/practice/laboratories", &all).await
    }
}

#[tokio::test]
async fn the_suspicion_proposes_its_muscles_with_remark_and_source_and_others_may_be_chosen() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let new = format!("{}/new?study=muscle_biopsy", case.page());
    let asked = case.vet.get(&new).await;
    assert_eq!(asked.texts("#suspicion .lines li").len(), 7, "the catalogue's six, and something else");
    assert!(!asked.has("input[name=item]"), "first what is suspected");
    let atrophy =
        asked.texts("#suspicion li").into_iter().find(|line| line.contains("wasting, general")).unwrap();
    assert!(atrophy.contains("General: head of the tail."), "{atrophy}");
    assert!(atrophy.contains("sacrocaudalis") && atrophy.contains("Michigan State"), "{atrophy}");
    let genes = asked.attrs("#genes-first a", "href");
    assert_eq!(genes, [format!("/visits/{}/diagnostics/new?study=blood_genes", case.visit)]);
    let way = asked.attrs("#suspicion a", "href");
    assert!(way.iter().any(|href| href.contains("suspicion=immune")), "a plain link proposes: {way:?}");
    let proposed = case.vet.get(&format!("{new}&suspicion=immune")).await;
    let ticked = proposed.attrs("input[name=item][checked]", "value");
    assert_eq!(ticked, ["BX_SEMIM", "BX_EPAXIAL"]);
    assert!(!proposed.has("input[name=protocol][checked]"), "no protocol is a default");
    let free = [("item", "BX_GLUT"), ("suspicion", "immune")];
    let order = case.order("muscle_biopsy", &free).await;
    let page = case.look(&order).await;
    assert!(page.texts("#items .item").join(" ").contains("middle gluteal"));
    assert!(page.texts("#samples").join(" ").contains("immune-mediated myositis"));
    let other = case.order("muscle_biopsy", &[("item", "BX_SEMIT"), ("suspicion", "other")]).await;
    assert!(case.look(&other).await.texts("#samples").join(" ").contains("chosen freely"));
}

#[tokio::test]
async fn a_biopsy_without_a_suspicion_or_with_a_protocol_for_others_is_refused_and_keeps_what_was_typed() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let typed = [("study", "muscle_biopsy"), ("item", "BX_GLUT"), ("question", "PSSM?"), ("when", "now")];
    let silent = case.vet.submit(&case.page(), &typed).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(silent.has("#suspicion #suspicion-error"), "{:?}", silent.texts(".errors li"));
    assert_eq!(silent.texts("textarea#question"), ["PSSM?"]);
    let mut other = typed.to_vec();
    other.extend([("suspicion", "rer"), ("protocol", "formalin")]);
    let other = case.vet.submit(&case.page(), &other).await;
    assert!(other.texts("#protocol-error")[0].contains("formalin only"), "{:?}", other.texts(".errors li"));
    assert!(other.has("input[name=item][value=BX_GLUT][checked]"));
    let tap = case.vet.submit(&format!("{}/usual", case.page()), &[("study", "muscle_biopsy")]).await;
    assert!(tap.location().contains("/new?study=muscle_biopsy"), "one tap leads to the question");
    assert_eq!(test.count("diagnostic_order").await, 0);
}

#[tokio::test]
async fn the_protocol_says_what_to_do_in_order_and_the_laboratory_adds_its_own_steps() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let own = [
        ("name", "Harbour Lab"),
        ("steps", "ring before\nlabel twice"),
        ("result_route", "to the vet by mail"),
    ];
    assert_eq!(case.laboratory(&own).await.status, StatusCode::SEE_OTHER);
    let order = case.biopsy().await;
    let page = case.look(&order).await;
    let steps = page.texts("#steps li");
    assert_eq!(steps.len(), 4);
    assert!(steps[1].contains("3 to 5 minutes in air") && steps[2].contains("130 mL"), "{steps:?}");
    assert!(page.texts("#samples").join(" ").contains("in the fixative best no more than 5 days"));
    assert!(!page.has("#own-steps"), "no laboratory is a default");
    let chosen = page.attrs("select#laboratory option:last-child", "value");
    let fields = [("laboratory", chosen[0].as_str())];
    let answer = case.vet.fill(&page, &format!("/diagnostics/{order}/plan"), &fields).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
    let now = case.look(&order).await;
    assert_eq!(now.texts("#own-steps li"), ["ring before", "label twice"]);
    assert_eq!(now.texts("#steps li").len(), 4, "the protocol stays");
    let late = case.vet.fill(&page, &format!("/diagnostics/{order}/plan"), &[("submission", &fresh())]).await;
    assert_eq!(late.status, StatusCode::CONFLICT, "made for an older plan");
}

fn fresh() -> String {
    limbledger::ids::SubmissionId::new().to_string()
}

#[tokio::test]
async fn a_day_on_which_no_sample_may_arrive_warns_and_lets_the_person_decide() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let days = [("name", "Harbour Lab"), ("arrives", "mon"), ("arrives", "tue"), ("arrives", "wed")];
    case.laboratory(&days).await;
    let list = test.signed_in(Role::Owner).await.get("/practice/laboratories").await;
    assert!(list.texts(".lines li")[0].contains("Monday to Wednesday"));
    let laboratory = list.attrs(".lines a", "href")[0].rsplit('/').next().unwrap().to_owned();
    // 2026-03-11 is a Wednesday.
    for (day, warned) in [
        ("2026-03-10", vec![]),
        ("2026-03-11", vec!["not on Thursday"]),
        ("2026-03-13", vec!["not on Friday or Saturday"]),
        ("2026-03-14", vec!["Saturday 14 March is at a weekend", "not on Saturday or Sunday"]),
    ] {
        let fields =
            [("item", "CK"), ("laboratory", laboratory.as_str()), ("planned_on", day), ("when", "now")];
        let order = case.order("blood_muscle", &fields).await;
        let warnings = case.look(&order).await.texts(".day-warning");
        assert_eq!(warnings.len(), warned.len(), "{day}: {warnings:?}");
        for (warning, words) in warnings.iter().zip(warned) {
            assert!(warning.contains(words), "{day}: {warning}");
        }
    }
    let fresh =
        [("suspicion", "emnd"), ("item", "BX_SACRO"), ("protocol", "fresh"), ("planned_on", "2026-03-12")];
    let order = case.order("muscle_biopsy", &fresh).await;
    let warnings = case.look(&order).await.texts(".day-warning");
    assert!(warnings[0].contains("taken Monday to Wednesday; this is a Thursday"), "{warnings:?}");
}

#[tokio::test]
async fn a_sample_counts_from_when_it_was_taken_beside_the_limits_of_its_protocol() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.biopsy().await;
    // The clock of the test stands at 9:00.
    assert_eq!(case.take(&order, &[("taken_at", "8:56")]).await.status, StatusCode::SEE_OTHER);
    let page = case.look(&order).await;
    assert_eq!(page.texts("#taken .minutes"), ["4 min"]);
    assert_eq!(page.texts("#taken .phase"), ["into the fixative until 09:01"]);
    assert_eq!(page.texts(".head .state"), ["acquired"], "what was ordered is taken");
    assert!(page.has("#taken .clock-now[data-clock][data-from][data-until]"), "the script counts on");
    assert!(page.attrs("script[type=module]", "src")[0].ends_with("/page/samples.js"));
    let sample = case.entries(&order).await.remove(0);
    let amend = format!("/diagnostics/{order}/samples?amend={}", sample.0);
    let form = case.vet.get(&amend).await;
    assert_eq!(form.values_of("taken_at"), ["08:56"]);
    let way = format!("/diagnostics/{order}/samples");
    let fixed = [("into", "10 % neutral buffered formalin"), ("into_at", "8:59")];
    let silent = case.vet.fill(&form, &way, &fixed).await;
    assert!(silent.has("#sample_why-error"), "{:?}", silent.texts(".errors li"));
    assert_eq!(silent.values_of("into_at"), ["8:59"]);
    let mut why = fixed.to_vec();
    why.push(("sample_why", "fixed meanwhile"));
    assert_eq!(case.vet.fill(&form, &way, &why).await.status, StatusCode::SEE_OTHER);
    let now = case.look(&order).await;
    let phase = now.texts("#taken .phase").remove(0);
    assert!(phase.contains("5 days are over 16 Mar 2026, 08:59"), "{phase}");
    assert_eq!(now.texts("#taken li").len(), 1);
    assert_eq!(now.texts("#earlier-samples li").len(), 1, "both versions stay");
    let gone = case.vet.fill(&form, &way, &[("submission", &fresh()), ("sample_why", "again")]).await;
    assert_eq!(gone.status, StatusCode::CONFLICT, "another amendment of the old version");
    let verified = record::verify(test.app.db.read(), 1).await.unwrap();
    assert!(verified.is_ok(), "the chain holds: {verified:?}");
}

#[tokio::test]
async fn what_is_wrong_with_a_sample_is_said_beside_its_field_and_everything_typed_stays() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.biopsy().await;
    for (field, bad, said) in [
        ("item", "BX_GLUT", "Choose which"),
        ("sample_side", "", "Choose a side"),
        ("method", " ", "how it was taken"),
        ("taken_on", "2026-03-12", "has not come yet"),
        ("taken_on", "2025-03-01", "Check the year"),
        ("taken_at", "25:00", "such as 9:30"),
        ("taken_at", "9:30", "has not come yet"),
        ("into_at", "8:40", "before it was taken"),
        ("taken_by", "", "who took it"),
    ] {
        let kept = [("what", "left of the midline"), ("into", "formalin"), (field, bad)];
        let answer = case.take(&order, &kept).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} {bad}");
        let error = answer.texts(&format!("#{field}-error"));
        assert!(error.len() == 1 && error[0].contains(said), "{field} {bad}: {error:?}");
        assert_eq!(answer.values_of("what"), ["left of the midline"], "{field}");
        assert_eq!(answer.values_of("into"), ["formalin"], "{field}");
        assert!(
            answer.has(&format!(".errors a[href='#{field}']")) && answer.has("details[open] #what"),
            "{field}"
        );
    }
    assert!(case.entries(&order).await.is_empty(), "nothing was recorded");
}

#[tokio::test]
async fn a_parcel_is_sent_and_arrives_and_stops_the_clock() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.biopsy().await;
    case.take(&order, &[]).await;
    let way = format!("/diagnostics/{order}/parcels");
    let sent = [("sent_on", "2026-03-11"), ("sent_to", "Harbour Lab"), ("courier", "the night courier")];
    let early = [sent[0], sent[1], ("received_on", "2026-03-10")];
    let early = case.vet.submit(&way, &early).await;
    assert!(early.texts("#received_on-error")[0].contains("before it was sent"));
    assert_eq!(case.vet.submit(&way, &sent).await.status, StatusCode::SEE_OTHER);
    let page = case.look(&order).await;
    assert!(page.texts("#sent li")[0].contains("to Harbour Lab on 2026-03-11, by the night courier"));
    let parcel =
        case.entries(&order).await.into_iter().find(|(_, body)| body.kind == Kind::Parcel).unwrap().0;
    let received = format!("{way}/{parcel}/received");
    let bad = case.vet.fill(&page, &received, &[("arrived_on", "12 Mar 2026")]).await;
    assert!(bad.texts("#arrived_on-error")[0].contains("has not come yet"));
    assert_eq!(bad.values_of("arrived_on"), ["12 Mar 2026"]);
    assert_eq!(
        case.vet.fill(&page, &received, &[("arrived_on", "11 Mar 2026")]).await.status,
        StatusCode::SEE_OTHER
    );
    let now = case.look(&order).await;
    assert!(now.texts("#sent li")[0].contains("received on 2026-03-11"));
    assert!(!now.has(&format!("form[action^='{way}/']")) && !now.has("#taken [data-clock]"));
    assert!(now.texts("#taken .phase")[0].contains("at the laboratory since 2026-03-11"));
}

#[tokio::test]
async fn a_sample_of_the_wrong_horse_is_taken_back_with_a_reason() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.biopsy().await;
    case.take(&order, &[]).await;
    let entry = case.entries(&order).await.remove(0).0;
    let way = format!("/diagnostics/{order}/samples/{entry}/withdraw");
    let silent = case.vet.submit(&way, &[]).await;
    assert!(silent.has("#back_why-error"), "{:?}", silent.texts(".errors li"));
    let why = [("back_why", "the wrong horse")];
    assert_eq!(case.vet.submit(&way, &why).await.status, StatusCode::SEE_OTHER);
    let page = case.look(&order).await;
    assert!(!page.has("#taken") && page.texts("#earlier-samples li").len() == 1);
    assert_eq!(case.vet.submit(&way, &why).await.status, StatusCode::CONFLICT);
}

/// What a record holds of a muscle disease before anybody thinks of a sheet: a laboratory, history, a finding, a drug, CK
/// and a gene.
async fn tell_of_a_muscle(case: &mut Case<'_>) {
    let own = [("name", "Harbour Lab"), ("address", "4 Quay Street"), ("result_route", "to the vet by mail")];
    case.laboratory(&own).await;
    case.story.say(case.visit, on(finding("HAMS", "L", "ATRO", 2.0, "finding_0_3"), None)).await;
    let told = Body {
        value: Some("history".into()),
        text: Some("Ties up since autumn.".into()),
        ..Body::new(Kind::Note)
    };
    case.story.say(case.visit, told).await;
    let drug = Body { text: Some("dexamethasone on Monday".into()), ..Body::new(Kind::Treatment) };
    case.story.say(case.visit, drug).await;
    let blood = case.order("blood_muscle", &[("item", "CK")]).await;
    case.enzyme(&blood, &[("amount", "770"), ("drawn_at", "14:00"), ("drawn_when", "rest")]).await;
    let genes = case.order("blood_genes", &[("item", "GYS1")]).await;
    let report = [("version", "1"), ("report", "GYS1: not found.")];
    case.vet.submit(&format!("/diagnostics/{genes}/report"), &report).await;
}

#[tokio::test]
async fn the_sheet_holds_every_field_from_the_record_or_by_hand() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    tell_of_a_muscle(&mut case).await;
    let order = case.biopsy().await;
    let page = case.look(&order).await;
    let laboratory = page.attrs("select#laboratory option:last-child", "value").remove(0);
    case.vet.fill(&page, &format!("/diagnostics/{order}/plan"), &[("laboratory", &laboratory)]).await;
    case.take(&order, &[("into", "10 % neutral buffered formalin"), ("into_at", "8:54")]).await;
    let way = format!("/diagnostics/{order}/submission");
    let empty = case.vet.get(&way).await;
    let typed = [
        ("contact", "0555 01 77"),
        ("owner", "Anna Marsh"),
        ("breed", "cob"),
        ("age", "9 years"),
        ("use", "driving"),
        ("diet", "hay and oats"),
        ("exercise", "two hours a day"),
        ("emg", "not done"),
        ("question", "motor neurons?"),
    ];
    assert_eq!(case.vet.fill(&empty, &way, &typed).await.status, StatusCode::SEE_OTHER);
    let sheet = case.vet.get(&way).await;
    let words = sheet.texts("#sheet").join(" ");
    for held in [
        "Test Practice",
        "Vala Test",
        "0555 01 77",
        "to the vet by mail",
        "4 Quay Street",
        "Anna Marsh",
        "Briar",
        "9 years",
        "gelding",
        "cob",
        "driving",
        "sacrocaudalis dorsalis medialis",
        "neither side",
        "open biopsy",
        "11 Mar 2026, 08:50",
        "formalin",
        "11 Mar 2026, 08:54",
        "Ties up since autumn.",
        "muscle wasting",
        "hay and oats",
        "two hours a day",
        "CK 770 U/L",
        "10 Mar 2026, 14:00",
        "Harbour Lab",
        "not done",
        "GYS1: not found.",
        "dexamethasone on Monday",
        "motor neurons?",
    ] {
        assert!(words.contains(held), "{held} is not on the sheet: {words}");
    }
    assert!(sheet.has("#ready") && !sheet.has("#not-ready"), "{:?}", sheet.texts("#not-ready"));
    assert!(!words.contains("not said"), "{words}");
    assert_eq!(sheet.texts("textarea#emg"), ["not done"], "it is kept to be changed");
}

#[tokio::test]
async fn an_empty_history_or_examination_is_said_with_its_reason_and_the_sheet_is_not_ready() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.biopsy().await;
    case.take(&order, &[]).await;
    let way = format!("/diagnostics/{order}/submission");
    let bare = case.vet.get(&way).await;
    let said = bare.texts("#not-ready").remove(0);
    assert!(
        said.contains("Empty: History, Examination and signs.") && said.contains("report is delayed"),
        "{said}"
    );
    assert!(!bare.has("#ready") && !bare.texts("main").join(" ").contains("Ready"));
    case.vet.fill(&bare, &way, &[("history", "Wasting since summer.")]).await;
    let half = case.vet.get(&way).await;
    assert!(half.texts("#not-ready")[0].contains("Empty: Examination and signs."));
    case.vet.fill(&half, &way, &[("signs", "Topline wasted, trembles.")]).await;
    let full = case.vet.get(&way).await;
    assert!(full.has("#ready") && full.texts("#sheet").join(" ").contains("Wasting since summer."));
    // Somebody still has the bare sheet open.
    let late = case.vet.fill(&bare, &way, &[("submission", &fresh()), ("history", "Nothing known.")]).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert!(late.text.contains("Nothing known."), "what was typed is not lost");
    let long = "x".repeat(4_001);
    let wrong =
        case.vet.fill(&full, &way, &[("submission", &fresh()), ("diet", &long), ("emg", "left side")]).await;
    assert!(wrong.has("#diet-error") && wrong.texts("textarea#emg") == ["left side"]);
    let (all, earlier) = record::results_of_order(test.app.db.read(), order.parse().unwrap()).await.unwrap();
    let sheets = |of: &[record::Entry]| {
        of.iter().filter(|e| e.body.as_ref().is_some_and(|b| b.kind == Kind::Submission)).count()
    };
    assert_eq!((sheets(&all), sheets(&earlier)), (1, 1), "the first version stays in the record");
}

#[tokio::test]
async fn a_sample_is_missing_from_a_sheet_without_one_and_other_orders_have_no_sheet() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.biopsy().await;
    let sheet = case.vet.get(&format!("/diagnostics/{order}/submission")).await;
    assert!(sheet.texts("#not-ready")[0].contains("Sample"));
    let blood = case.order("blood_muscle", &[("item", "CK")]).await;
    assert_eq!(case.vet.get(&format!("/diagnostics/{blood}/submission")).await.status, StatusCode::NOT_FOUND);
    let radiograph = case.order("fetlock", &[("limb", "LF"), ("item", "LM")]).await;
    assert_eq!(
        case.vet.get(&format!("/diagnostics/{radiograph}/samples")).await.status,
        StatusCode::NOT_FOUND
    );
    assert!(!case.look(&radiograph).await.has("#samples"));
}

#[tokio::test]
async fn a_fold_is_given_within_its_hours_at_one_laboratory_and_else_it_is_said_why_not() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    for (at, laboratory, said) in [
        ("12:00", "Harbour Lab", "CK rose 3.50-fold."),
        ("14:00", "harbour lab", "CK rose 3.50-fold."),
        ("14:01", "Harbour Lab", "no fold is given: the samples are 6 h 1 min apart, not 4 to 6 h."),
        ("11:59", "Harbour Lab", "no fold is given: the samples are 3 h 59 min apart, not 4 to 6 h."),
        (
            "12:30",
            "Hill Lab",
            "no fold is given: the samples went to two laboratories, Harbour Lab and Hill Lab.",
        ),
    ] {
        let order = case.order("blood_muscle", &[("item", "CK"), ("item", "AST")]).await;
        assert!(!case.look(&order).await.has("#fold-rise"));
        case.enzyme(&order, &[("amount", "220"), ("drawn_at", "8:00"), ("drawn_when", "before")]).await;
        let waits = case.look(&order).await.texts("#fold-rise").remove(0);
        assert!(waits.contains("the CK after exercise is not entered"), "{waits}");
        let after =
            [("amount", "770"), ("drawn_at", at), ("drawn_when", "after"), ("measured_by", laboratory)];
        case.enzyme(&order, &after).await;
        let page = case.look(&order).await;
        assert_eq!(page.texts("#fold-rise"), [format!("Exercise test: {said}")], "{at} at {laboratory}");
        let beside = page.texts("#enzyme-references").remove(0);
        for reference in
            ["never a diagnosis", "from 3-fold", "44 to 735 U/L", "Stucchi", "peaks 4 to 6 h", "25.8 %"]
        {
            assert!(beside.contains(reference), "{reference}: {beside}");
        }
    }
}

#[tokio::test]
async fn a_value_stands_beside_the_range_of_its_laboratory_in_its_own_unit() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let ranges = [
        ("name", "Harbour Lab"),
        ("ck_low", "100"),
        ("ck_high", "300"),
        ("range_source", "its list of 2026"),
    ];
    case.laboratory(&ranges).await;
    let order = case.order("blood_muscle", &[("item", "CK")]).await;
    case.enzyme(&order, &[("amount", "301"), ("drawn_at", "8:00"), ("drawn_when", "rest")]).await;
    case.enzyme(&order, &[("amount", "5"), ("unit", "µkat/L"), ("drawn_at", "9:00"), ("drawn_when", "rest")])
        .await;
    let values = case.look(&order).await.texts("#enzymes li");
    assert!(
        values[0].contains("CK 301 U/L") && values[0].contains("its range 100 to 300, above"),
        "{values:?}"
    );
    assert!(values[1].contains("CK 5 µkat/L") && !values[1].contains("range"), "another unit: {values:?}");
    let way = format!("/diagnostics/{order}/enzymes");
    let bad = [
        ("enzyme", "CK"),
        ("amount", "many"),
        ("unit", "U/L"),
        ("drawn_on", "2026-03-11"),
        ("drawn_at", "8:00"),
        ("drawn_when", "rest"),
        ("measured_by", "Harbour Lab"),
        ("range_low", "300"),
        ("range_high", "100"),
    ];
    let answer = case.vet.submit(&way, &bad).await;
    assert!(
        answer.has("#amount-error") && answer.has("#range_high-error"),
        "{:?}",
        answer.texts(".errors li")
    );
    assert_eq!(
        (answer.values_of("amount"), answer.values_of("range_low")),
        (vec!["many".into()], vec!["300".into()])
    );
}

#[tokio::test]
async fn the_report_of_a_biopsy_is_sorted_into_classes_that_say_what_they_usually_mean() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    case.story.say(case.visit, on(finding("HAMS", "L", "ATRO", 2.0, "finding_0_3"), None)).await;
    let order = case.biopsy().await;
    case.take(&order, &[]).await;
    let page = case.look(&order).await;
    assert_eq!(page.attrs("input[name=class]", "value").len(), 11);
    let way = format!("/diagnostics/{order}/report");
    let fields = [("report", "Angular fibres."), ("class", "neurogenic"), ("class", "chronic")];
    assert_eq!(case.vet.fill(&page, &way, &fields).await.status, StatusCode::SEE_OTHER);
    let page = case.look(&order).await;
    let classes = page.texts(".report-text .classes li");
    assert_eq!(classes.len(), 2);
    assert!(
        classes[0].contains("usual meaning, lost nerve supply") && classes[0].contains("reference"),
        "{classes:?}"
    );
    let report = case.vet.get(&format!("/visits/{}/report", case.visit)).await;
    assert!(report.texts("article").join(" ").contains("angular atrophy"));
    let entry = case.entries(&order).await.into_iter().find(|(_, body)| body.kind == Kind::Report).unwrap().0;
    let amend = case.vet.get(&format!("/diagnostics/{order}?amend={entry}")).await;
    assert_eq!(amend.attrs("input[name=class][checked]", "value"), ["neurogenic", "chronic"]);
    let blood = case.order("blood_muscle", &[("item", "CK")]).await;
    assert!(!case.look(&blood).await.has("input[name=class]"));
}

#[tokio::test]
async fn a_laboratory_is_entered_changed_and_never_there_by_itself() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let mut owner = test.signed_in(Role::Owner).await;
    assert!(owner.get("/practice/laboratories").await.has(".empty"), "none is there by itself");
    let bad = [("name", " "), ("ck_low", "300"), ("ck_high", "100"), ("steps", "ring before")];
    let answer = case.laboratory(&bad).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.has("#name-error") && answer.has("#ck_high-error") && answer.has("#range_source-error"));
    assert_eq!(answer.texts("textarea#steps"), ["ring before"]);
    case.laboratory(&[("name", "Harbour Lab")]).await;
    let again = case.laboratory(&[("name", "harbour lab"), ("phone", "0555")]).await;
    assert!(again.texts("#name-error")[0].contains("in the list already"));
    assert_eq!(again.values_of("phone"), ["0555"]);
    let list = owner.get("/practice/laboratories").await;
    let way = list.attrs(".lines a", "href").remove(0);
    let form = owner.get(&way).await;
    assert_eq!(owner.fill(&form, &way, &[("steps", "ring first")]).await.status, StatusCode::SEE_OTHER);
    let late = owner.fill(&form, &way, &[("submission", &fresh()), ("steps", "ring last")]).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert!(late.text.contains("ring last"), "what was typed is not lost");
    assert_eq!(owner.get(&way).await.texts("textarea#steps"), ["ring first"]);
}

#[tokio::test]
async fn a_sample_sent_twice_is_one_and_a_closed_order_takes_none() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.biopsy().await;
    let (page, way) = (format!("/diagnostics/{order}"), format!("/diagnostics/{order}/samples"));
    let fields = [("sample_side", "neither"), ("method", "open biopsy"), ("taken_at", "8:30")];
    twice(&mut case.vet, &page, &way, &fields).await;
    assert_eq!(case.entries(&order).await.len(), 1);
    battery(&mut case.vet, &page, &way, &fields).await;
    let closed = case.biopsy().await;
    case.vet.submit(&format!("/diagnostics/{closed}/close"), &[("version", "1"), ("closed", "sold")]).await;
    assert_eq!(case.take(&closed, &[]).await.status, StatusCode::CONFLICT);
    assert!(!case.look(&closed).await.has("#sample form"));
}
