//! Farriery and joint treatments: sheets of a visit, in the record's words, amended, promised and printed.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    catalogue::catalogue,
    record::{self, Kind},
};

use crate::support::{TestApp, record::Story};

#[tokio::test]
async fn a_foot_is_prescribed_for_amended_and_put_on_the_follow_ups_and_on_paper() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-10").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let at = format!("/visits/{visit}/procedures/farriery");
    let fields = [("site", "RF"), ("farriery_wedge", "12"), ("farriery_shoe", "silver")];
    let wrong = vet.submit(&at, &fields).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.texts("#farriery_wedge-error"), ["Enter a number from 0 to 8 degrees."]);
    assert!(wrong.has("#farriery_shoe-error"));
    let fields = [
        ("site", "RF"),
        ("farriery_wedge", "3"),
        ("farriery_shoe", "egg bar"),
        ("farriery_next", "2026-04-14"),
    ];
    assert_eq!(vet.submit(&at, &fields).await.location(), at);
    let due = || async {
        let open =
            limbledger::followups::store::open_of_horse(test.app.db.read(), story.horse).await.unwrap();
        open.into_iter().map(|one| (one.due_on.to_string(), one.what)).collect::<Vec<_>>()
    };
    let what = "Farrier: reset of the right fore limb".to_owned();
    assert_eq!(due().await, [("2026-04-14".to_owned(), what.clone())]);

    let amend = vet.get(&at).await.attrs("#filled a", "href").remove(0);
    let page = vet.get(amend.split('#').next().unwrap()).await;
    let amended = [("farriery_next", "2026-04-21")];
    assert!(vet.fill(&page, &at, &amended).await.has("#why-error"));
    let amended = [("farriery_next", "2026-04-21"), ("why", "the farrier is away")];
    assert_eq!(vet.fill(&page, &at, &amended).await.status, StatusCode::SEE_OTHER);
    assert_eq!(due().await, [("2026-04-21".to_owned(), what)]);
    let entries = record::current_of_visit(test.app.db.read(), visit).await.unwrap();
    let bodies: Vec<_> = entries.iter().filter_map(|e| e.body.as_ref()).collect();
    assert_eq!(bodies.len(), 1);
    assert_eq!(bodies[0].kind, Kind::Plan);
    let said = bodies[0].text.as_deref().unwrap();
    assert!(said.contains("wedge: 3 degrees; shoe: egg bar; next reset: 21 Apr 2026"), "{said}");
    let paper = vet.get(&format!("{at}/paper")).await.texts("#paper").join(" ");
    assert!(paper.contains("egg bar") && paper.contains("Right fore"), "{paper}");
    story.sign(visit).await;
    assert_eq!(vet.submit(&at, &fields).await.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_joint_is_treated_with_the_caution_the_consent_and_what_the_yard_does_afterwards() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-10").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let at = format!("/visits/{visit}/procedures/joint");
    let page = vet.get(&at).await;
    assert!(page.texts(".caution").join(" ").contains("sterile preparation"));
    assert!(page.texts("#leave").join(" ").contains("No consent for injections"));
    let fields = [
        ("site", "FETL_D.R"),
        ("joint_procedure", "joint or sheath medicated"),
        ("joint_medicine", "triamcinolone 10 mg/ml"),
        ("joint_lot", "A17"),
        ("joint_volume", "1"),
        ("joint_fluid", "clear and yellow, strings well"),
    ];
    assert_eq!(vet.submit(&at, &fields).await.status, StatusCode::SEE_OTHER);
    let report = vet.get(&format!("/visits/{visit}/report")).await.text;
    assert!(report.contains("lot number: A17") && report.contains("volume in: 1 ml"));
    let paper = vet.get(&format!("{at}/paper")).await.texts("#paper").join(" ");
    assert!(paper.contains("light work on day 5") && paper.contains("ring us the same day"), "{paper}");
    let foot = vet.submit(&at, &[("site", "RF"), ("joint_procedure", "shock-wave")]).await;
    assert!(foot.has("#site-error"), "a limb is no joint");
}

#[test]
fn every_procedure_has_its_after_care() {
    let known = &catalogue().procedures;
    let procedures = &known.fields.get("joint_procedure").unwrap().options;
    let without: Vec<_> =
        procedures.iter().filter(|one| !known.aftercare.iter().any(|row| row.name == **one)).collect();
    assert_eq!(without, Vec::<&String>::new());
}
