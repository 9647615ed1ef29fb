//! Ordering much at once and in one tap: sets of a purchase examination, and the usual set from a place of the exam.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    diagnostics::store,
    ids::{OrderId, VisitId},
};

use crate::support::{Browser, TestApp, record::Story};

/// The orders of a visit: study, and its items as `LF LM`.
async fn orders(test: &TestApp, visit: VisitId) -> Vec<(String, Vec<String>)> {
    let mut all = Vec::new();
    for order in store::of_visit(test.app.db.read(), visit).await.unwrap() {
        let items = store::items(test.app.db.read(), order.id).await.unwrap();
        let items = items.into_iter().map(|item| format!("{} {}", item.side, item.code)).collect();
        all.push((order.study, items));
    }
    all
}

async fn begun(test: &TestApp) -> (VisitId, Browser) {
    let visit = Story::new(test).await.visit("2026-03-11").await;
    (visit, test.signed_in(Role::Vet).await)
}

#[tokio::test]
async fn a_set_for_a_purchase_examination_is_offered_whole_and_becomes_an_order_a_region() {
    let test = TestApp::new().await;
    let (visit, mut vet) = begun(&test).await;
    let page = vet.get(&format!("/visits/{visit}/diagnostics")).await;
    let offered = page.texts("#sets .what");
    assert!(offered.iter().any(|set| set == "basic 14 projections"), "{offered:?}");
    let form = vet.get(&format!("/visits/{visit}/diagnostics/sets?set=ppe_basic")).await;
    let keys = form.attrs("input[name='view'][checked]", "value");
    assert_eq!(keys.len(), 14, "all of it is ticked, on both sides");
    assert!(form.text.contains("common practice, no single source"));
    let way = format!("/visits/{visit}/diagnostics/sets");
    let none = vet.submit(&way, &[("set", "ppe_basic"), ("question", "sold to Anna")]).await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(none.texts("#view-error"), ["Tick at least one projection."]);
    assert_eq!(none.values_of("question"), ["sold to Anna"]);

    // One projection is left out; one that the set does not have is passed over.
    let without = |key: &&String| *key != "hock.RH.D45M-PaLO";
    let mut fields: Vec<(&str, &str)> =
        keys.iter().filter(without).map(|key| ("view", key.as_str())).collect();
    fields.extend([("set", "ppe_basic"), ("when", "now"), ("question", "q"), ("view", "stifle.LH.LM")]);
    let done = vet.submit(&way, &fields).await;
    assert_eq!(
        (done.status, done.location()),
        (StatusCode::SEE_OTHER, format!("/visits/{visit}/diagnostics").as_str())
    );
    let expected: [(&str, &[&str]); 4] = [
        ("foot_p3", &["LF LM", "RF LM"]),
        ("navicular", &["LF D60Pr-PaDiO", "RF D60Pr-PaDiO"]),
        ("fetlock", &["LF LM", "RF LM", "LH LM", "RH LM"]),
        ("hock", &["LH LM", "LH D45L-PlMO", "LH D45M-PlLO", "RH LM", "RH D45L-PlMO"]),
    ];
    let expected =
        expected.map(|(study, items)| (study.to_owned(), items.iter().map(|&i| i.to_owned()).collect()));
    assert_eq!(orders(&test, visit).await, expected);
    let unknown = vet.get(&format!("/visits/{visit}/diagnostics/sets?set=ppe_generic")).await;
    assert_eq!(unknown.status, StatusCode::NOT_FOUND, "what the buyer chooses has no projections of its own");
}

#[tokio::test]
async fn one_tap_at_a_place_is_one_order_however_often_the_tablet_sends_it() {
    let test = TestApp::new().await;
    let (visit, mut vet) = begun(&test).await;
    let exam = format!("/visits/{visit}/exam?open=FETL_D.R");
    let page = vet.get(&exam).await;
    let way = format!("/visits/{visit}/diagnostics/usual");
    let form = format!("form[data-order][action='{way}']");
    assert_eq!(page.texts(&format!("{form} button"))[0], "Radiographs, fetlock: usual set");
    assert_eq!(page.attrs(&format!("{form} [name=place]"), "value"), ["FETL_D.R"]);
    assert!(!page.has("#saved[data-ordered]"));
    // The id is the tablet's own: another number of the form brings the same order.
    let id = OrderId::new();
    let own = id.to_string();
    for _ in 0..2 {
        let fields = [("study", "fetlock"), ("place", "FETL_D.R"), ("order", own.as_str())];
        let sent = vet.submit(&way, &fields).await;
        assert_eq!(
            (sent.status, sent.location()),
            (StatusCode::SEE_OTHER, format!("/diagnostics/{id}").as_str())
        );
    }
    let items = ["RF LM", "RF D30Pr-PaDiO", "RF D45L-PaMO", "RF D45M-PaLO"].map(str::to_owned).to_vec();
    assert_eq!(orders(&test, visit).await, [("fetlock".to_owned(), items)], "the place says the limb");
    let page = vet.get(&exam).await;
    assert_eq!(page.attrs("#saved", "data-ordered"), ["fetlock@FETL_D.R"], "the tablet knows of it");
    assert_eq!(page.texts(&format!("{form} small")), ["ordered, in the practice"]);
}
