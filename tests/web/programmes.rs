//! Return to work: prescribed at a visit, moved by its gates, slowed by what the yard tells, and printed for it.

use axum::http::StatusCode;
use limbledger::{accounts::Role, record::Kind};

use crate::support::{Browser, Page, TestApp, record::Story};

/// A visit with a programme that began long enough ago for its first gate to be due: 84 days lie before it.
async fn prescribed(story: &Story<'_>, vet: &mut Browser) -> String {
    let visit = story.visit("2026-03-10").await;
    let fields = [
        ("template", "sdft_moderate"),
        ("limb", "RF"),
        ("start", "2025-12-17"),
        ("ring", "the practice, 0555 010203"),
    ];
    let answer = vet.submit(&format!("/visits/{visit}/programme"), &fields).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
    answer.location().to_owned()
}

/// Days and words of the follow-ups of the horse that are open.
async fn due(test: &TestApp, story: &Story<'_>) -> Vec<(String, String)> {
    let open = limbledger::followups::store::open_of_horse(test.app.db.read(), story.horse).await.unwrap();
    open.into_iter().map(|one| (one.due_on.to_string(), one.what)).collect()
}

async fn sent(vet: &mut Browser, at: &str, fields: &[(&str, &str)]) -> Page {
    let answer = vet.submit(at, fields).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{at}: {:?}", answer.texts(".errors li"));
    answer
}

/// What the yard tells.
const TOLD: [(&str, &str); 5] = [
    ("done", "all"),
    ("signs", "heat"),
    ("signs", "lameness"),
    ("told_on", "2026-03-11"),
    ("told_by", "Anna Marsh"),
];

/// The desk notes it, and the veterinarian decides on it.
async fn told_and_slowed(test: &TestApp, vet: &mut Browser, at: &str) {
    // The desk notes what the yard tells, and reads no reason of a decision.
    let mut desk = test.signed_in(Role::Desk).await;
    sent(&mut desk, &format!("{at}/told"), &TOLD).await;
    let page = desk.get(at).await;
    assert!(!page.text.contains("fluid line") && !page.has("#gate"));
    assert!(page.texts(".caution").join(" ").contains("heat, lameness, one grade or more"));
    assert!(vet.get("/").await.texts("#programmes li").join(" ").contains("The yard told a sign."));

    // The veterinarian decides what the rules propose: one step back, from which all of it is walked again.
    let open = vet.get(at).await.attrs(".caution a.button", "href").remove(0);
    let page = vet.get(open.split('#').next().unwrap()).await;
    let action = format!("{at}/change");
    let proposed = page.form_fields(&action);
    let value = |name: &str| proposed.iter().find(|(k, _)| k == name).unwrap().1.clone();
    assert_eq!((value("slow_back"), value("slow_hold")), ("1".into(), "7".into()));
    let answer = vet.fill(&page, &action, &[("slow_why", "lame at the walk")]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert!(!vet.get(at).await.has("#slower[open]") && vet.get("/").await.texts("#programmes li").is_empty());
}

#[tokio::test]
async fn a_programme_goes_from_the_plan_over_its_gates_to_its_end() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let at = prescribed(&story, &mut vet).await;

    // The visit's plan says it, the horse, its history and the day show it, the desk is told when the gate is due.
    let gate = "Return to work: ultrasound and soundness before walk and trot".to_owned();
    assert_eq!(due(&test, &story).await, [("2026-03-11".to_owned(), gate.clone())]);
    for page in [format!("/horses/{}", story.horse), story.history()] {
        let shown = vet.get(&page).await.texts("#ways li").join(" ");
        assert!(shown.contains("walk: walk 45 min") && shown.contains("due"), "{page}: {shown}");
    }
    assert!(vet.get("/").await.texts("#programmes li").join(" ").contains(&gate));

    // Signed meanwhile: the way goes on all the same.
    let visit =
        limbledger::programmes::store::of_horse(test.app.db.read(), story.horse).await.unwrap()[0].visit_id;
    let plan = limbledger::record::current_of_visit(test.app.db.read(), visit).await.unwrap();
    let planned = plan.iter().filter_map(|e| e.body.as_ref()).find(|b| b.kind == Kind::Plan).unwrap();
    let words = planned.text.as_deref().unwrap();
    assert!(words.contains("moderate lesion, from 17 Dec 2025; full work from 18 Nov 2026"), "{words}");
    story.sign(visit).await;

    // Not passed: two weeks more of the same, and the follow-up moves along.
    let hold = [("gate", "9"), ("passed", "no"), ("gate_on", "2026-03-11"), ("gate_hold", "14")];
    let without = vet.submit(&format!("{at}/gate"), &hold).await;
    assert_eq!(without.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(without.has("#gate_why-error") && without.texts("#whole tr.now").len() == 1);
    let because = ("gate_why", "a fluid line in zone 2B");
    sent(&mut vet, &format!("{at}/gate"), &[&hold[..], &[because]].concat()).await;
    assert_eq!(due(&test, &story).await, [("2026-03-25".to_owned(), gate.clone())]);
    let page = vet.get(&at).await;
    assert!(page.texts("#log li").join(" ").contains("a fluid line in zone 2B"));

    told_and_slowed(&test, &mut vet, &at).await;
    // One week at 40 minutes and three at 45 from 11 March on.
    assert_eq!(due(&test, &story).await, [("2026-04-08".to_owned(), gate.clone())]);

    // Taken back: the day is what it was; passed early: the calendar stays, and the next gate is promised.
    let back = vet.get(&at).await.attrs("#log li:first-child a", "href").remove(0);
    let entry = back.split("back=").nth(1).unwrap().split('#').next().unwrap().to_owned();
    sent(&mut vet, &format!("{at}/entries/{entry}/withdraw"), &[("why_back", "the other horse")]).await;
    assert_eq!(due(&test, &story).await, [("2026-03-25".to_owned(), gate)]);
    let pass =
        [("gate", "9"), ("passed", "yes"), ("gate_on", "2026-03-11"), ("gate_why", "even, fibres parallel")];
    sent(&mut vet, &format!("{at}/gate"), &pass).await;
    assert_eq!(due(&test, &story).await[0].0, "2026-06-17");
    let stale = vet.submit(&format!("{at}/gate"), &pass).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);

    // The yard's page says when to ring and whom.
    let sheet = test.signed_in(Role::Desk).await.get(&format!("{at}/sheet")).await.texts("#sheet").join(" ");
    assert!(sheet.contains("Ring the practice, 0555 010203.") && sheet.contains("We look first"), "{sheet}");

    let end = [("end_on", "2026-03-11"), ("end_why", "the horse is retired")];
    sent(&mut vet, &format!("{at}/end"), &end).await;
    assert_eq!(due(&test, &story).await, []);
    assert_eq!(vet.submit(&format!("{at}/told"), &TOLD).await.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_practice_copies_a_programme_changes_it_and_prescribes_its_own() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut owner = test.signed_in(Role::Owner).await;
    let page = owner.get("/practice/programmes/new?from=bone").await;
    let action = "/practice/programmes";
    let steps = page.texts("#steps").remove(0);
    assert!(steps.starts_with("42 | 0 | 0 | 0 | box rest"), "{steps}");
    let wrong = owner.fill(&page, action, &[("steps", "7 | 10 | 0 | 0 | walk\n7 | x | 0 | 0 | walk")]).await;
    assert_eq!(wrong.texts("#steps-error"), ["Line 2: walk is a whole number from 0 to 240."]);
    let ours =
        [("name", "Splint, quicker"), ("steps", "7 | 10 | 0 | 0 | walk\n7 | 10 | 5 | 0 | trot | soundness")];
    assert_eq!(owner.fill(&page, action, &ours).await.status, StatusCode::SEE_OTHER);
    let again = owner.fill(&page, action, &ours).await;
    assert!(again.status == StatusCode::SEE_OTHER, "the same form is answered with where it led");

    let own = limbledger::programmes::store::own(test.app.db.read()).await.unwrap().remove(0);
    let visit = story.visit("2026-03-10").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let fields = [("template", own.id.to_string()), ("start", "2026-03-20".to_owned())];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let at = sent(&mut vet, &format!("/visits/{visit}/programme"), &fields).await.location().to_owned();
    let page = vet.get(&at).await;
    assert!(page.texts("#now-head").join(" ").contains("begins on 20 Mar 2026"));
    assert_eq!(page.texts("#whole .stack tbody tr").len(), 2);
    assert_eq!(due(&test, &story).await[0].0, "2026-03-27");
}
