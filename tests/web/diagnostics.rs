//! Orders of diagnostics: made, taken, reported, read, told; and what stays open until a person closes it.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    diagnostics::store,
    ids::{HorseId, OrderId, VisitId},
    record::{self, Kind},
};

use crate::support::{
    Browser, Page, TestApp,
    record::{Story, finding, on},
    twice,
};

/// A horse in hand with fluid in its left fore fetlock.
struct Case<'a> {
    story: Story<'a>,
    visit: VisitId,
    vet: Browser,
}

impl<'a> Case<'a> {
    async fn new(test: &'a TestApp) -> Self {
        let story = Story::new(test).await;
        let visit = story.visit("2026-03-11").await;
        story.say(visit, on(finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), Some("LF"))).await;
        Case { story, visit, vet: test.signed_in(Role::Vet).await }
    }

    fn page(&self) -> String {
        format!("/visits/{}/diagnostics", self.visit)
    }

    /// Orders the usual set in one tap; gives the order's page.
    async fn usual(&mut self, study: &str, limb: &str) -> String {
        let way = format!("{}/usual", self.page());
        let answer = self.vet.submit(&way, &[("study", study), ("limb", limb)]).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
        answer.location().to_owned()
    }

    async fn fill(&mut self, order: &str, act: &str, fields: &[(&str, &str)]) -> Page {
        let page = self.vet.get(order).await;
        self.vet.fill(&page, &format!("{order}/{act}"), fields).await
    }

    async fn group(&mut self, order: &str) -> Option<String> {
        let list = self.vet.get("/diagnostics").await;
        let group = format!("ul.lines:has(a[href='{order}'])");
        list.attrs(&group, "id").into_iter().next()
    }
}

fn id(order: &str) -> OrderId {
    order.rsplit('/').next().unwrap().parse().unwrap()
}

#[tokio::test]
async fn one_tap_orders_the_usual_set_for_the_place_that_was_found_abnormal() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let exam = case.vet.get(&format!("/visits/{}/exam?open=FETL_D.L", case.visit)).await;
    let link = format!("{}?place=FETL_D.L", case.page());
    assert!(exam.has(&format!("a[href='{link}']")), "the open place leads to what can be ordered for it");
    for page in [link, case.page()] {
        let page = case.vet.get(&page).await;
        let proposed = page.texts("#proposed .what");
        assert!(
            proposed.iter().any(|words| words.starts_with("left fore fetlock radiographs")),
            "{proposed:?}"
        );
    }
    let order = case.usual("fetlock", "LF").await;
    let page = case.vet.get(&order).await;
    let items = page.texts("#items .item");
    assert_eq!(items.len(), 4, "{items:?}");
    assert!(items.iter().any(|item| item.contains("D45L-PaMO")), "{items:?}");
    assert!(items.iter().all(|item| item.starts_with("LF")), "{items:?}");
    assert_eq!(page.texts(".head .state"), ["scheduled"]);
    assert!(page.texts("#open")[0].contains("4 not taken yet"));
    assert!(page.has(".caution"), "radiation is spoken of where it is ordered");
    let known = store::get(test.app.db.read(), id(&order)).await.unwrap();
    assert!(known.accession.len() <= 16 && known.study_uid.starts_with("2.25."), "{known:?}");
}

#[tokio::test]
async fn views_of_a_hindlimb_are_plantar_and_both_limbs_may_be_ordered_at_once() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let new = case.vet.get(&format!("{}/new?study=fetlock&limb=LH", case.page())).await;
    let offered = new.texts(".choices .choice");
    assert!(offered.iter().any(|words| words.contains("D45L-PlMO")), "{offered:?}");
    let fields = [
        ("study", "fetlock"),
        ("limb", "LF"),
        ("limb", "LH"),
        ("item", "LM"),
        ("item", "D45L-PaMO"),
        ("when", "open"),
    ];
    let answer = case.vet.submit(&case.page(), &fields).await;
    let page = case.vet.get(answer.location()).await;
    let items = page.texts("#items .item");
    let has = |limb: &str, code: &str| items.iter().any(|item| item.starts_with(limb) && item.contains(code));
    assert!(has("LF", "D45L-PaMO:") && has("LH", "D45L-PlMO:") && items.len() == 4, "{items:?}");
    assert_eq!(page.texts(".head .state"), ["requested"]);
}

#[tokio::test]
async fn a_projection_of_ones_own_must_be_one_of_that_limb() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let with = |own: &'static str| {
        [
            ("study", "fetlock"),
            ("limb", "LF"),
            ("item", "LM"),
            ("when", "now"),
            ("question", "chip?"),
            ("own", own),
        ]
    };
    for bad in ["D45L-PlMO", "nonsense", "CrCd"] {
        let answer = case.vet.submit(&case.page(), &with(bad)).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{bad}");
        assert!(answer.has("#own-error"), "{bad}: {:?}", answer.texts(".errors li"));
        assert_eq!(answer.values_of("own"), [bad], "what was typed stands in the field");
        assert!(answer.has("input[name=item][value=LM][checked]"));
        assert_eq!(answer.texts("textarea#question"), ["chip?"]);
    }
    let answer = case.vet.submit(&case.page(), &with("D35L-PaMO, flexed LM")).await;
    let page = case.vet.get(answer.location()).await;
    let items = page.texts("#items .item").join("\n");
    assert!(items.contains("D35L-PaMO") && items.contains("flexed LM"), "{items}");
}

#[tokio::test]
async fn nothing_ticked_or_no_limb_is_said_beside_the_field() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let no_limb =
        case.vet.submit(&case.page(), &[("study", "fetlock"), ("item", "LM"), ("when", "now")]).await;
    assert!(no_limb.has("#limb-error"), "{:?}", no_limb.texts(".errors li"));
    let no_item =
        case.vet.submit(&case.page(), &[("study", "fetlock"), ("limb", "LF"), ("when", "now")]).await;
    assert!(no_item.has("#item-error"), "{:?}", no_item.texts(".errors li"));
    let no_day = [
        ("study", "fetlock"),
        ("limb", "LF"),
        ("item", "LM"),
        ("when", "now"),
        ("planned_on", "31 Feb 2026"),
    ];
    let answer = case.vet.submit(&case.page(), &no_day).await;
    assert!(answer.has("#planned_on-error"), "a day that was typed stands over what was tapped");
    assert_eq!(test.count("diagnostic_order").await, 0);
}

#[tokio::test]
async fn an_order_shows_in_the_list_until_it_was_taken_reported_read_and_told() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.usual("fetlock", "LF").await;
    assert_eq!(case.group(&order).await.as_deref(), Some("today"));
    let day = case.vet.get("/").await;
    assert!(day.texts("#diagnostics li").join(" ").contains("Briar: fetlock, left fore"));
    case.fill(&order, "taken", &[]).await;
    assert_eq!(case.group(&order).await.as_deref(), Some("report"));
    let mut technician = test.signed_in(Role::Technician).await;
    let page = technician.get(&order).await;
    let report = [("report", "Small fragment, dorsal."), ("author", "the radiologist at the coast")];
    let answer = technician.fill(&page, &format!("{order}/report"), &report).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert_eq!(case.group(&order).await.as_deref(), Some("read"));
    assert!(
        !technician.get(&order).await.has(&format!("form[action='{order}/read']")),
        "only a vet has read it"
    );
    case.fill(&order, "read", &[]).await;
    assert_eq!(case.group(&order).await.as_deref(), Some("tell"));
    let nobody = case.fill(&order, "told", &[("told", " "), ("nobody", "")]).await;
    assert_eq!(nobody.status, StatusCode::UNPROCESSABLE_ENTITY);
    let told = [("told", "Anna Marsh, by phone"), ("nobody", ""), ("untold", "")];
    assert_eq!(case.fill(&order, "told", &told).await.status, StatusCode::SEE_OTHER);
    assert_eq!(case.group(&order).await, None);
    let page = case.vet.get(&order).await;
    assert_eq!(page.texts(".head .state"), ["client told"]);
    assert!(page.texts("#client")[0].contains("Anna Marsh, by phone"));
    assert!(!case.vet.get("/").await.has("#diagnostics"));
}

#[tokio::test]
async fn an_item_is_left_out_or_repeated_with_a_reason_only() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.usual("fetlock", "LF").await;
    let items = store::items(test.app.db.read(), id(&order)).await.unwrap();
    let way = format!("{order}/items/{}", items[0].id);
    let silent = case.vet.submit(&way, &[("version", "1"), ("state", "repeat"), ("reason", "")]).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(silent.has(&format!("#reason-{}-error", items[0].id)));
    let moved = [("version", "1"), ("state", "repeat"), ("reason", "moved")];
    assert_eq!(case.vet.submit(&way, &moved).await.status, StatusCode::SEE_OTHER);
    assert_eq!(case.group(&order).await.as_deref(), Some("repeat"));
    let late = case
        .vet
        .submit(&way, &[("version", "1"), ("state", "left_out"), ("reason", "he would not stand")])
        .await;
    assert_eq!(late.status, StatusCode::CONFLICT, "made for an older version");
    assert!(late.texts("main").join(" ").contains("he would not stand"), "what was typed is not lost");
    case.vet.submit(&way, &[("version", "2"), ("state", "left_out"), ("reason", "he would not stand")]).await;
    let page = case.vet.get(&order).await;
    assert!(page.texts("#items").join(" ").contains("he would not stand"));
    assert!(page.texts("#open")[0].contains("3 not taken yet"), "{:?}", page.texts("#open"));
}

#[tokio::test]
async fn a_result_comes_after_the_signature_and_joins_the_history_of_its_place() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.usual("fetlock", "LF").await;
    case.story.sign(case.visit).await;
    let signed = record::entries_of_visit(test.app.db.read(), case.visit).await.unwrap().len();
    case.fill(&order, "taken", &[]).await;
    let shown = [("site", "FETL_D.L"), ("shows", "rounded fragment at the joint margin"), ("clear", "")];
    assert_eq!(case.fill(&order, "shown", &shown).await.status, StatusCode::SEE_OTHER);
    case.fill(&order, "report", &[("report", "One fragment, dorsal.")]).await;
    let after = record::entries_of_visit(test.app.db.read(), case.visit).await.unwrap().len();
    assert_eq!(after, signed, "what was signed stays as it was");
    let history = case.vet.get(&case.story.history()).await;
    assert!(history.texts("main").join(" ").contains("rounded fragment at the joint margin (radiographs)"));
    let again = history.texts(".again").join(" ");
    assert!(
        again.contains("effusion") && !again.contains("fragment"),
        "hands do not look for it again: {again}"
    );
    let report = case.vet.get(&format!("/visits/{}/report", case.visit)).await;
    assert!(report.texts("article").join(" ").contains("One fragment, dorsal."));
    let verified = record::verify(test.app.db.read(), 1).await.unwrap();
    assert!(verified.is_ok(), "the chain holds: {verified:?}");
}

#[tokio::test]
async fn an_amended_report_has_to_be_told_again_and_both_versions_stay() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.usual("fetlock", "LF").await;
    case.fill(&order, "taken", &[]).await;
    case.fill(&order, "report", &[("report", "Nothing to see.")]).await;
    case.fill(&order, "told", &[("told", "Anna Marsh"), ("nobody", ""), ("untold", "")]).await;
    assert_eq!(case.group(&order).await, None, "a vet's own report is read");
    let (results, _) = record::results_of_order(test.app.db.read(), id(&order)).await.unwrap();
    let amend = format!("{order}?amend={}", results[0].id);
    let page = case.vet.get(&amend).await;
    assert_eq!(page.texts("textarea#report"), ["Nothing to see."]);
    let way = format!("{order}/report");
    let silent = case.vet.fill(&page, &way, &[("report", "A small chip after all.")]).await;
    assert!(silent.has("#why-error"), "{:?}", silent.texts(".errors li"));
    let why = [("report", "A small chip after all."), ("why", "looked again on the big screen")];
    assert_eq!(case.vet.fill(&page, &way, &why).await.status, StatusCode::SEE_OTHER);
    assert_eq!(case.group(&order).await.as_deref(), Some("tell"));
    let now = case.vet.get(&order).await;
    assert_eq!(now.texts(".report-text .as-typed"), ["A small chip after all."]);
    assert!(now.texts("#result details").join(" ").contains("Nothing to see."));
    let stale = case.vet.fill(&page, &way, &why).await;
    assert_eq!(stale.status, StatusCode::SEE_OTHER, "the very same form again is a repeat");
    let mut other = why.to_vec();
    other.push(("was", results[0].id.to_string().leak()));
    let clash = case.vet.submit(&way, &other).await;
    assert_eq!(clash.status, StatusCode::CONFLICT, "another amendment of the old version");
}

#[tokio::test]
async fn an_order_is_closed_with_a_reason_and_may_be_opened_again() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.usual("us_tendons", "RF").await;
    let items = store::items(test.app.db.read(), id(&order)).await.unwrap();
    assert!(
        items.iter().any(|i| i.side == "LF") && items.iter().any(|i| i.side == "RF"),
        "against the other limb"
    );
    assert!(items.iter().any(|i| i.zones.contains("2B")), "{items:?}");
    let silent = case.fill(&order, "close", &[("closed", "")]).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
    case.fill(&order, "close", &[("closed", "the owner does not want it")]).await;
    assert_eq!(case.group(&order).await, None);
    let taken = case.vet.submit(&format!("{order}/taken"), &[("version", "2")]).await;
    assert_eq!(taken.status, StatusCode::CONFLICT, "nothing is done with a closed order");
    case.fill(&order, "open", &[]).await;
    assert_eq!(case.group(&order).await.as_deref(), Some("today"));
    let steps = case.vet.get(&order).await.texts("details:last-of-type li").join(" ");
    assert!(steps.contains("the owner does not want it") && steps.contains("opened again"), "{steps}");
}

#[tokio::test]
async fn an_order_goes_with_its_visit_to_the_right_horse() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.usual("fetlock", "LF").await;
    let right: HorseId = test.horse("Sorrel").await;
    case.story.move_to(case.visit, right).await;
    assert_eq!(store::get(test.app.db.read(), id(&order)).await.unwrap().horse_id, right);
    let list = case.vet.get("/diagnostics").await;
    assert!(list.texts("li").join(" ").contains("Sorrel"));
}

#[tokio::test]
async fn an_order_sent_twice_is_one_order() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let new = format!("{}/new?study=fetlock&limb=LF", case.page());
    twice(&mut case.vet, &new, &format!("/visits/{}/diagnostics", case.visit), &[]).await;
    assert_eq!(test.count("diagnostic_order").await, 1);
    assert_eq!(test.count("diagnostic_step").await, 1);
}

#[tokio::test]
async fn the_record_takes_no_result_for_an_order_of_another_visit() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.usual("fetlock", "LF").await;
    let other = case.story.visit("2026-03-12").await;
    let body =
        record::Body { order: Some(id(&order)), text: Some("x".into()), ..record::Body::new(Kind::Report) };
    let stamp = record::Stamp::here(test.vet, "test", test.now());
    let mut tx = test.app.db.write().await.unwrap();
    let refused = record::append(&mut tx, &stamp, &[record::NewEntry::new(other, body)]).await;
    assert!(refused.unwrap_err().to_string().contains("order_of_another_visit"));
}

#[tokio::test]
async fn a_report_that_was_taken_back_leaves_the_order_to_be_reported() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    let order = case.usual("fetlock", "LF").await;
    case.fill(&order, "taken", &[]).await;
    case.fill(&order, "report", &[("report", "Of another horse.")]).await;
    let (results, _) = record::results_of_order(test.app.db.read(), id(&order)).await.unwrap();
    let way = format!("{order}/results/{}/withdraw", results[0].id);
    let back = case.vet.submit(&way, &[("why_back", "the wrong horse")]).await;
    assert_eq!(back.status, StatusCode::SEE_OTHER);
    assert_eq!(case.group(&order).await.as_deref(), Some("report"));
    let known = store::get(test.app.db.read(), id(&order)).await.unwrap();
    assert!(!known.reported && known.read_at.is_none(), "{known:?}");
    let page = case.vet.get(&order).await;
    assert!(page.texts("details:last-of-type li").join(" ").contains("report taken back"));
}
