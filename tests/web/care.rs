//! Weights and scores, the formulary, care with its checks and papers, and the register of controlled drugs.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::VisitId,
    record::{self, Body, Given, Kind},
};

use crate::support::{Browser, Page, TestApp, record::Story};

const FLUNIXIN: &str = "/practice/formulary/row?code=flunixin_inj";

/// Confirms a row as a veterinarian does.
async fn confirm(vet: &mut Browser, code: &str) {
    let page = vet.get(&format!("/practice/formulary/row?code={code}")).await;
    let read = [("read_in", "data sheet of March 2026")];
    let answer = vet.fill(&page, "/practice/formulary/confirm", &read).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".error"));
}

/// Gives a medicine by its row; what is not said is left as the page has it.
async fn give(who: &mut Browser, visit: VisitId, row: &str, fields: &[(&str, &str)]) -> Page {
    let page = who.get(&format!("/visits/{visit}/care?row={row}")).await;
    who.fill(&page, &format!("/visits/{visit}/care"), fields).await
}

/// A practice in the United States with a horse of 500 kg that is signed out of the food chain, and its visit.
async fn set_up(test: &TestApp) -> (Story<'_>, VisitId) {
    let story = Story::new(test).await;
    let visit = story.visit("2026-03-11").await;
    let mut owner = test.signed_in(Role::Owner).await;
    let place = [("version", "1"), ("jurisdiction", "US"), ("address", "Mill Lane 1"), ("phone", "0555 1")];
    assert!(owner.submit("/practice/prescribing", &place).await.status.is_redirection());
    let mut vet = test.signed_in(Role::Vet).await;
    let weight = [("weight", "500"), ("method", "scale"), ("weighed_on", "2026-03-10")];
    vet.submit(&format!("/horses/{}/weights", story.horse), &weight).await;
    let passport = [("food_chain", "excluded"), ("seen_on", "2026-03-11"), ("declared_on", "2020-05-01")];
    let seen = vet.submit(&format!("/horses/{}/passport", story.horse), &passport).await;
    assert!(seen.status.is_redirection(), "{:?}", seen.texts(".error"));
    (story, visit)
}

#[tokio::test]
async fn a_better_weight_is_not_beaten_by_a_newer_poorer_one_and_scores_stand_beside() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let mut desk = test.signed_in(Role::Desk).await;
    let weights = format!("/horses/{}/weights", story.horse);
    let weigh = |weight, method, on| [("weight", weight), ("method", method), ("weighed_on", on)];
    for fields in [weigh("520", "scale", "2026-02-01"), weigh("600", "estimate", "2026-03-10")] {
        assert!(desk.submit(&weights, &fields).await.status.is_redirection());
    }
    let page = desk.get(&weights).await;
    let used = page.texts("#dosing").join(" ");
    assert!(used.contains("520 kg") && used.contains("600 kg") && used.contains("better method"), "{used}");
    assert!(page.texts(".horse-line").join(" ").contains("520 kg"), "the card has the same");
    let tape = [
        ("method", "formula"),
        ("formula", "hall_adult"),
        ("girth", "195"),
        ("length", "170"),
        ("weighed_on", "2026-03-11"),
    ];
    assert!(desk.submit(&weights, &tape).await.status.is_redirection());
    let page = desk.get(&weights).await;
    assert!(page.texts("td").iter().any(|cell| cell.contains("544.1 kg")), "{:?}", page.texts("td"));
    let no_length =
        [("method", "formula"), ("formula", "hall_adult"), ("girth", "195"), ("weighed_on", "2026-03-11")];
    let wrong = desk.submit(&weights, &no_length).await;
    assert!(wrong.status == StatusCode::UNPROCESSABLE_ENTITY && wrong.has("#length-error"));

    let condition = format!("/horses/{}/condition", story.horse);
    let sites = ["neck", "withers", "shoulder", "ribs", "loin", "tail"].map(|site| format!("site_{site}"));
    let mut six: Vec<(&str, &str)> = sites.iter().map(|site| (site.as_str(), "6")).collect();
    six[0].1 = "7.5";
    six.extend([("crest", "3"), ("scored_on", "2026-03-11")]);
    assert!(desk.submit(&condition, &six).await.status.is_redirection());
    let again = [("bcs", "5"), ("scored_on", "2026-03-01")];
    assert!(desk.submit(&condition, &again).await.status.is_redirection());
    let page = desk.get(&weights).await;
    let scores = page.texts("table td").join("|");
    assert!(
        scores.contains("body 6.3 of 9, mean of six sites") && scores.contains("crest of the neck 3 of 5"),
        "{scores}"
    );
    assert_eq!(page.attrs("svg.weights", "aria-label").len(), 2, "weights and the body have a line each");
    let five = desk.submit(&condition, &six[..5]).await;
    assert_eq!(five.status, StatusCode::UNPROCESSABLE_ENTITY);
    // What is scored in the exam stands there, too, and goes when it was wrong.
    let visit = story.visit("2026-03-11").await;
    let mut vet = test.signed_in(Role::Vet).await;
    vet.submit(&format!("/visits/{visit}/exam/vitals"), &[("bcs", "8")]).await;
    assert_eq!(test.count("horse_condition").await, 4);
}

#[tokio::test]
async fn a_row_is_confirmed_as_it_stands_and_waits_again_when_it_changes() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    assert!(vet.get("/practice/formulary").await.text.contains("wait to be confirmed"));
    let page = vet.get(FLUNIXIN).await;
    let nothing = vet.fill(&page, "/practice/formulary/confirm", &[("read_in", " ")]).await;
    assert!(nothing.status == StatusCode::UNPROCESSABLE_ENTITY && nothing.has("#read_in-error"));
    confirm(&mut vet, "flunixin_inj").await;
    let page = vet.get(FLUNIXIN).await;
    let words = page.texts("dd").join(" ");
    assert!(
        words.contains("confirmed by Vala Test") && words.contains("from data sheet of March 2026"),
        "{words}"
    );
    let changed = [("high", "1.2"), ("source", "data sheet of April"), ("reason", "a new data sheet")];
    assert!(vet.fill(&page, "/practice/formulary/row", &changed).await.status.is_redirection());
    let after = vet.get(FLUNIXIN).await;
    assert!(after.text.contains("waits to be confirmed: nothing is given by it"));
    assert!(after.texts(".lines li").join(" ").contains("a new data sheet"));
    let number = limbledger::ids::SubmissionId::new().to_string();
    let again = [changed.as_slice(), &[("submission", number.as_str())]].concat();
    let stale = vet.fill(&page, "/practice/formulary/row", &again).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    let retire = [("retire_reason", "not kept any more")];
    assert!(vet.fill(&after, "/practice/formulary/retire", &retire).await.status.is_redirection());
    assert!(vet.get(FLUNIXIN).await.text.contains("not in use"));
    let mut technician = test.signed_in(Role::Technician).await;
    assert!(!technician.get(FLUNIXIN).await.has("main form"), "a technician reads only");
}

#[tokio::test]
async fn a_dose_is_reckoned_by_a_confirmed_row_and_stands_wherever_the_visit_is_read() {
    let test = TestApp::new().await;
    let (story, visit) = set_up(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let care = format!("/visits/{visit}/care");
    assert!(
        !vet.get(&care).await.texts("option").join(" ").contains("flunixin"),
        "unconfirmed rows are not offered"
    );
    let unread = vet.get(&format!("{care}?row=flunixin_inj")).await;
    assert_eq!(unread.values_of("amount"), [""], "nothing is filled in from an unconfirmed row");
    assert!(unread.texts("#warnings").join(" ").contains("Row not confirmed"));
    let stopped = give(
        &mut vet,
        visit,
        "flunixin_inj",
        &[("how", "administered"), ("amount", "1.1"), ("reason", "so")],
    )
    .await;
    assert_eq!(stopped.status, StatusCode::UNPROCESSABLE_ENTITY);
    confirm(&mut vet, "flunixin_inj").await;
    let page = vet.get(&format!("{care}?row=flunixin_inj")).await;
    assert_eq!(page.values_of("amount"), ["1.1"]);
    assert_eq!(page.texts("#dose"), ["550 mg, that is 11 ml"]);
    let given = give(&mut vet, visit, "flunixin_inj", &[("how", "administered"), ("batch", "A1")]).await;
    assert_eq!(given.status, StatusCode::SEE_OTHER, "{:?}", given.texts(".error, .errors li"));
    let page = vet.get(&care).await;
    let line = page.texts("#given + .lines li, .lines li").join(" ");
    assert!(line.contains("Administered: flunixin, IV, 550 mg (11 ml of 50 mg/ml), by 500 kg"), "{line}");
    assert!(line.contains("batch A1"), "{line}");
    for path in [format!("/visits/{visit}/report"), story.history(), format!("/visits/{visit}/assessment")] {
        assert!(vet.get(&path).await.text.contains("flunixin"), "{path}");
    }
    let medicines = vet.get(&format!("/horses/{}/medicines", story.horse)).await;
    assert!(medicines.texts(".lines li").join(" ").contains("flunixin, IV"));
}

#[tokio::test]
async fn a_medicine_is_amended_and_taken_back_with_a_reason_and_not_after_signing() {
    let test = TestApp::new().await;
    let (story, visit) = set_up(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let care = format!("/visits/{visit}/care");
    confirm(&mut vet, "flunixin_inj").await;
    give(&mut vet, visit, "flunixin_inj", &[("how", "administered")]).await;
    let entry = record::current_of_visit(test.app.db.read(), visit).await.unwrap().last().unwrap().id;
    let amend = vet.get(&format!("{care}?amend={entry}")).await;
    assert_eq!(amend.values_of("amount"), ["1.1"]);
    let half = [("amount", "1.05"), ("why", "misread the syringe"), ("reason", "less was left")];
    let answer = vet.fill(&amend, &care, &half).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".error, .errors li"));
    let stale = vet
        .fill(
            &amend,
            &care,
            &[
                ("submission", &limbledger::ids::SubmissionId::new().to_string()),
                ("why", "again"),
                ("reason", "x"),
            ],
        )
        .await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    let current = record::current_of_visit(test.app.db.read(), visit).await.unwrap();
    let entry = current.iter().find(|e| e.body.as_ref().unwrap().dosed.is_some()).unwrap().id;
    let back = vet.submit(&format!("{care}/{entry}/withdraw"), &[("why_back", "the wrong horse")]).await;
    assert_eq!(back.status, StatusCode::SEE_OTHER);
    assert!(vet.get(&care).await.text.contains("Nothing yet."));
    story.sign(visit).await;
    let late =
        vet.submit(&care, &[("row", "flunixin_inj"), ("how", "administered"), ("amount", "1.1")]).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn what_speaks_against_a_medicine_is_gone_over_only_as_its_row_says() {
    let test = TestApp::new().await;
    let (_, visit) = set_up(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    for row in ["flunixin_inj", "ketoprofen_iv", "phenylbutazone_iv", "triamcinolone_ia", "mepivacaine_nerve"]
    {
        confirm(&mut vet, row).await;
    }
    let mut technician = test.signed_in(Role::Technician).await;
    let given = give(&mut technician, visit, "flunixin_inj", &[("how", "administered")]).await;
    assert!(given.status.is_redirection(), "{:?}", given.texts(".error, .errors li"));
    let exam = vet.get(&format!("/visits/{visit}/work-up")).await;
    assert!(exam.text.contains("given at this visit: flunixin"), "the gait after it is not trusted");
    // A second one: not by a technician, by a veterinarian with a reason, which is kept.
    let second = [("how", "administered"), ("reason", "the pain is worse")];
    let barred = give(&mut technician, visit, "ketoprofen_iv", &second).await;
    assert!(
        barred.texts(".errors li").join(" ").contains("Only a veterinarian"),
        "{:?}",
        barred.texts(".errors li")
    );
    let silent = give(&mut vet, visit, "ketoprofen_iv", &[("how", "administered")]).await;
    assert!(
        silent.has("#reason-error")
            && silent.texts("#warnings").join(" ").contains("Two anti-inflammatories")
    );
    assert!(give(&mut vet, visit, "ketoprofen_iv", &second).await.status.is_redirection());
    let report = vet.get(&format!("/visits/{visit}/report")).await;
    assert!(report.text.contains("went on in spite of: two anti-inflammatories"));
    assert!(report.text.contains("because: the pain is worse"));
}

#[tokio::test]
async fn blocks_risks_and_the_food_chain_are_asked_before_a_medicine() {
    let test = TestApp::new().await;
    let (story, visit) = set_up(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    for row in ["phenylbutazone_iv", "triamcinolone_ia", "mepivacaine_nerve"] {
        confirm(&mut vet, row).await;
    }
    let mut block = Body::new(Kind::Block);
    (block.code, block.limb) = (Some("PDN".into()), Some("LF".into()));
    let at = Some(test.now().plus_minutes(-30));
    block.given = Some(Given { volume_ml: Some(115.0), sites: Some(1.0), at, ..Given::default() });
    story.say(visit, block).await;
    let local = give(
        &mut vet,
        visit,
        "mepivacaine_nerve",
        &[("how", "administered"), ("amount", "300"), ("strength", "20")],
    )
    .await;
    assert!(
        local.texts("#warnings").join(" ").contains("104 % of the ceiling"),
        "{:?}",
        local.texts("#warnings")
    );
    let risk = [("risk", "laminitis"), ("note", "autumn of last year")];
    assert!(vet.submit(&format!("/horses/{}/risks", story.horse), &risk).await.status.is_redirection());
    let page =
        vet.get(&format!("/visits/{visit}/care?row=triamcinolone_ia&amount=20&how=administered")).await;
    let told = page.texts("#warnings").join(" ");
    for words in [
        "Laminitis risk",
        "autumn of last year",
        "Steroid load of the day",
        "111 %",
        "Outside the row's range",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    // No reason goes over the food chain.
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update horse set food_chain = 'unknown'").execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    let eaten = [("how", "administered"), ("amount", "2.2"), ("strength", "200"), ("reason", "needed")];
    let stopped = give(&mut vet, visit, "phenylbutazone_iv", &eaten).await;
    assert_eq!(stopped.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        stopped.texts(".errors li").join(" ").contains("Food chain"),
        "{:?}",
        stopped.texts(".errors li")
    );
    assert_eq!(stopped.values_of("reason"), ["needed"], "nothing typed is lost");
}

#[tokio::test]
async fn a_prescription_names_what_its_place_asks_for_and_what_is_missing() {
    let test = TestApp::new().await;
    let (_, visit) = set_up(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    confirm(&mut vet, "firocoxib_paste").await;
    let paper = [
        ("how", "prescribed"),
        ("days", "5"),
        ("quantity", "one syringe"),
        ("directions", "once a day into the mouth"),
    ];
    let kept = give(&mut vet, visit, "firocoxib_paste", &paper).await;
    assert!(kept.status.is_redirection(), "{:?}", kept.texts(".error, .errors li"));
    let page = vet.get(&format!("/visits/{visit}/care")).await;
    let hrefs = page.attrs(".lines a", "href");
    let prescription = hrefs.iter().find(|href| href.ends_with("/prescription")).unwrap();
    let page = vet.get(prescription).await;
    let said = page.texts("dd").join("|");
    for words in [
        "Vala Test",
        "Mill Lane 1",
        "11 Mar 2026",
        "Briar",
        "276020000000017",
        "one syringe",
        "50 mg every 24 h for 5 days",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert!(
        page.texts(".stop-strip").join(" ").contains("Owner or keeper"),
        "{:?}",
        page.texts(".stop-strip")
    );
    let mut owner = test.signed_in(Role::Owner).await;
    let place = owner.get("/practice/prescribing").await;
    assert!(
        owner.fill(&place, "/practice/prescribing", &[("jurisdiction", "UK")]).await.status.is_redirection()
    );
    let page = vet.get(prescription).await;
    let said = page.texts("dd").join("|");
    assert!(said.contains("10 Sep 2026"), "good for six months: {said}");
    assert!(page.texts(".stop-strip").join(" ").contains("Qualification"));
    let label = vet.get(&prescription.replace("/prescription", "/label")).await;
    assert!(label.text.contains("For animal treatment only."));
}

/// A safe and a truck; gives their ids.
async fn places(test: &TestApp) -> (String, String) {
    let mut owner = test.signed_in(Role::Owner).await;
    for (name, kind) in [("The safe", "safe"), ("The truck", "vehicle")] {
        let answer = owner.submit("/practice/stock", &[("name", name), ("kind", kind)]).await;
        assert!(answer.status.is_redirection());
    }
    let stores = limbledger::stock::store::stores(test.app.db.read()).await.unwrap();
    (stores[0].id.to_string(), stores[1].id.to_string())
}

/// Enters a line of butorphanol 10 mg/ml.
async fn enter(who: &mut Browser, place: &str, fields: &[(&str, &str)]) -> Page {
    let drug = [("medicine", "butorphanol"), ("strength", "10")];
    who.submit(&format!("/practice/stock/{place}/lines"), &[&drug, fields].concat()).await
}

/// What the book says of a place.
async fn book(who: &mut Browser, place: &str) -> String {
    who.get(&format!("/practice/stock/{place}")).await.texts("dd").join(" ")
}

#[tokio::test]
async fn a_count_beside_the_book_is_a_discrepancy_until_the_book_is_set() {
    let test = TestApp::new().await;
    let (safe, truck) = places(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let technician = test.technician.to_string();
    for fields in [
        [("what", "receipt"), ("ml", "10"), ("batch", "B1")],
        [("what", "transfer"), ("ml", "4"), ("to", truck.as_str())],
        [("what", "count"), ("ml", "5.5"), ("witness", technician.as_str())],
    ] {
        let answer = enter(&mut vet, &safe, &fields).await;
        assert!(answer.status.is_redirection(), "{fields:?}: {:?}", answer.texts(".error"));
    }
    let unseen = enter(&mut vet, &safe, &[("what", "count"), ("ml", "6")]).await;
    assert!(unseen.has("#witness-error"), "nobody saw it");
    let told = book(&mut vet, &safe).await;
    assert!(told.contains("6 ml") && told.contains("0.5 ml missing at the last count"), "{told}");
    let page = vet.get(&format!("/practice/stock/{safe}")).await;
    let reverse = page.attrs("form", "action").into_iter().find(|way| way.ends_with("/reverse")).unwrap();
    assert!(vet.submit(&reverse, &[("reason", "it stayed here")]).await.status.is_redirection());
    let balances = limbledger::stock::store::balances(test.app.db.read()).await.unwrap();
    let total: i64 = balances.iter().map(|balance| balance.ul).sum();
    assert_eq!(total, 10_000, "what moved between places is neither lost nor made");
    let set =
        [("what", "adjustment"), ("ml", "5.5"), ("witness", technician.as_str()), ("reason", "a vial broke")];
    assert!(enter(&mut vet, &safe, &set).await.status.is_redirection());
    assert_eq!(book(&mut vet, &safe).await, "5.5 ml", "nothing is off after it");
}

#[tokio::test]
async fn what_is_given_draws_on_the_register_and_comes_back_when_it_was_not() {
    let test = TestApp::new().await;
    let (_, visit) = set_up(&test).await;
    let (_, truck) = places(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    confirm(&mut vet, "butorphanol_iv").await;
    enter(&mut vet, &truck, &[("what", "receipt"), ("ml", "4")]).await;
    let given = [("how", "administered"), ("amount", "0.1"), ("strength", "10")];
    let nowhere = give(&mut vet, visit, "butorphanol_iv", &given).await;
    assert!(nowhere.has("#store-error"), "it is taken from somewhere");
    let technician = test.technician.to_string();
    let more = [("store", truck.as_str()), ("waste", "0.5"), ("witness", technician.as_str())];
    let answer = give(&mut vet, visit, "butorphanol_iv", &[given.as_slice(), &more].concat()).await;
    assert!(answer.status.is_redirection(), "{:?}", answer.texts(".error, .errors li"));
    // 4 ml came, 5 ml were given and half a millilitre was wasted.
    let told = book(&mut vet, &truck).await;
    assert!(told.contains("-1.5 ml Discrepancy: the book is below nothing"), "{told}");
    let current = record::current_of_visit(test.app.db.read(), visit).await.unwrap();
    let entry = current.iter().find(|e| e.body.as_ref().unwrap().dosed.is_some()).unwrap().id;
    let back = [("why_back", "it was not given")];
    vet.submit(&format!("/visits/{visit}/care/{entry}/withdraw"), &back).await;
    assert!(book(&mut vet, &truck).await.starts_with("4 ml"));
}

#[tokio::test]
async fn a_horse_that_is_put_down_is_dead_and_nothing_stays_booked() {
    let test = TestApp::new().await;
    let (story, visit) = set_up(&test).await;
    let booked =
        test.visit(story.horse, test.vet, "2026-03-20", (10, 0), limbledger::visits::State::Booked).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let path = format!("/visits/{visit}/euthanasia");
    let good = [
        ("why", "a fracture that cannot be mended"),
        ("leave_by", "Anna Marsh"),
        ("leave_how", "by phone"),
        ("method", "free_bullet"),
        ("died_at", "8:50"),
        ("sign", "heart"),
        ("sign", "cornea"),
        ("confirmed_by", "Vala Test"),
        ("remains", "taken away by the knacker"),
        ("insurer", "told at 8:30"),
    ];
    let unsure = vet.submit(&path, &good[..6]).await;
    assert!(unsure.status == StatusCode::UNPROCESSABLE_ENTITY && unsure.has("#sign-error"));
    let answer = vet.submit(&path, &good).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".error"));
    let page = vet.get(&path).await;
    assert!(page.texts("#said").join(" ").contains("put down by free bullet"), "{:?}", page.texts("#said"));
    assert!(page.texts(".stop-strip").join(" ").contains("Dead since 11 Mar 2026."));
    assert!(vet.get(&format!("/visits/{booked}")).await.text.contains("cancelled"));
    assert_eq!(vet.submit(&path, &good).await.status, StatusCode::CONFLICT, "once");
    assert!(vet.get(&format!("/visits/{visit}/report")).await.text.contains("no corneal reflex"));
}
