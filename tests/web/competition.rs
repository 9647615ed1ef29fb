//! Competition control: the rules that a practice keeps, and what they mean for a horse that was treated.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    catalogue::formulary::Group,
    clock::{At, Day},
    competition,
    ids::{EntryId, RuleSetId, VisitId},
    record::{Body, Dosed, Given, How, Kind},
};

use crate::support::{Browser, Page, TestApp, record::Story};

const SET: [(&str, &str); 7] = [
    ("name", "Medication"),
    ("body", "The society"),
    ("jurisdiction", "UK"),
    ("edition", "2026"),
    ("valid_from", "2026-01-01"),
    ("source", "its handbook"),
    ("read_on", "2026-03-01"),
];

async fn keep_set(vet: &mut Browser, test: &TestApp, over: &[(&str, &str)]) -> RuleSetId {
    let kept: Vec<(&str, &str)> =
        SET.into_iter().filter(|(name, _)| !over.iter().any(|(o, _)| o == name)).collect();
    let answer = vet.submit("/practice/competition", &[&kept, over].concat()).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".error"));
    let id = answer.location().rsplit('/').next().unwrap().parse().unwrap();
    assert!(competition::store::sets(test.app.db.read()).await.unwrap().iter().any(|set| set.id == id));
    id
}

async fn rule(vet: &mut Browser, set: RuleSetId, fields: &[(&str, &str)]) -> Page {
    let source = [("rule_source", "page 4")];
    vet.submit(&format!("/practice/competition/{set}/restrictions"), &[fields, &source].concat()).await
}

/// A medicine as care records it.
fn dosed(medicine: &str, route: &str, how: How, days: Option<u32>, at: At) -> Body {
    let dosed = Dosed {
        how,
        medicine: medicine.into(),
        name: medicine.into(),
        group: Group::Nsaid,
        controlled: false,
        route: route.into(),
        form: "injection".into(),
        row: String::new(),
        source: "the data sheet".into(),
        mg: 500.0,
        mg_per_ml: None,
        ml: None,
        kg: None,
        kg_from: None,
        every_h: None,
        days,
        quantity: None,
        directions: None,
        batch: None,
        expires: None,
        waste_ml: None,
        withdrawal_days: None,
        repeats: None,
        off_label: false,
        at,
    };
    Body { dosed: Some(Box::new(dosed)), ..Body::new(Kind::Treatment) }
}

fn at(test_day: &str, hour: i8) -> At {
    let zone = jiff::tz::TimeZone::get("Europe/Berlin").unwrap();
    test_day.parse::<Day>().unwrap().at(hour, 0, &zone)
}

fn words(page: &Page, css: &str) -> String {
    page.texts(css).join(" | ")
}

async fn margin(vet: &mut Browser, way: &str, entry: EntryId, fields: &[(&str, &str)]) -> Page {
    let page = vet.get(&format!("{way}&entry={entry}")).await;
    let path = way.split('?').next().unwrap();
    vet.fill(&page, &format!("{path}/margins"), fields).await
}

#[tokio::test]
async fn rules_are_kept_with_their_source_struck_in_sight_and_taken_along_into_the_next_edition() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let wrong = [("name", ""), ("valid_to", "2025-01-01"), ("read_on", "2026-03-12")];
    let kept: Vec<_> = SET.into_iter().filter(|(name, _)| !["name", "read_on"].contains(name)).collect();
    let refused = vet.submit("/practice/competition", &[&kept[..], &wrong].concat()).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(["#name-error", "#valid_to-error", "#read_on-error"].iter().all(|one| refused.has(one)));
    assert_eq!(refused.values_of("body"), ["The society"], "nothing typed is lost");

    let set = keep_set(&mut vet, &test, &[]).await;
    let way = format!("/practice/competition/{set}");
    let nothing = rule(&mut vet, set, &[]).await;
    assert!(["#medicine-error", "#kind-error", "#hours-error"].iter().all(|one| nothing.has(one)));
    let both =
        [("medicine", "flunixin"), ("procedure", "shock-wave"), ("kind", "detection"), ("hours", "1.5")];
    let both = rule(&mut vet, set, &both).await;
    assert!(both.has("#procedure-error") && both.has("#hours-error"));
    let flunixin =
        [("medicine", "flunixin"), ("kind", "detection"), ("hours", "144"), ("max_dose", "one dose")];
    assert!(rule(&mut vet, set, &flunixin).await.status.is_redirection());
    let wave = [("procedure", "shock-wave"), ("kind", "stand_down"), ("clear_days", "5")];
    assert!(rule(&mut vet, set, &wave).await.status.is_redirection());
    let page = vet.get(&way).await;
    let rules = words(&page, "#rules + .lines li");
    assert!(rules.contains("flunixin: detection time 144 h; at most one dose"), "{rules}");
    assert!(rules.contains("shock-wave: stand-down 5 clear days") && rules.contains("Vala Test"), "{rules}");

    let strike = page.attrs("#rules + .lines a", "href").pop().unwrap();
    let page = vet.get(strike.split('#').next().unwrap()).await;
    let action = page.attrs("form[action$='/strike']", "action").remove(0);
    assert!(vet.fill(&page, &action, &[]).await.has("#strike_why-error"));
    let why = [("strike_why", "of the year before")];
    assert!(vet.fill(&page, &action, &why).await.status.is_redirection());
    assert_eq!(vet.submit(&action, &why).await.status, StatusCode::CONFLICT, "struck once");
    assert!(words(&vet.get(&way).await, "#struck").contains("of the year before"));

    let next = vet.get(&format!("/practice/competition/new?from={set}")).await;
    assert_eq!(next.values_of("edition"), [""], "what is to be read again is asked again");
    let typed = [
        ("edition", "2027"),
        ("valid_from", "2027-01-01"),
        ("source", "its handbook"),
        ("read_on", "2026-03-11"),
    ];
    let added = vet.fill(&next, "/practice/competition", &typed).await;
    let page = vet.get(added.location()).await;
    let rules = words(&page, "#rules + .lines li");
    assert!(
        rules.contains("flunixin") && !rules.contains("shock-wave"),
        "what stood was taken along: {rules}"
    );
    assert_eq!(test.count("audit").await, 2);
    let mut technician = test.signed_in(Role::Technician).await;
    assert!(!technician.get(&way).await.has("main form"), "a technician reads only");
}

#[tokio::test]
async fn a_horse_may_compete_when_every_rule_and_the_margin_are_over_and_what_has_no_rule_is_said() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-09").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let set = keep_set(&mut vet, &test, &[]).await;
    for fields in [
        [("medicine", "flunixin"), ("kind", "detection"), ("hours", "48"), ("route", "IV")],
        [("medicine", "triamcinolone"), ("kind", "stand_down"), ("clear_days", "8"), ("route", "IA")],
    ] {
        assert!(rule(&mut vet, set, &fields).await.status.is_redirection());
    }
    let block =
        [("procedure", "diagnostic block"), ("kind", "stand_down"), ("clear_days", "2"), ("max_dose", "")];
    assert!(rule(&mut vet, set, &block).await.status.is_redirection());
    let way = format!("/horses/{}/competition?set={set}&event=2026-03-18", story.horse);
    let nothing = vet.get(&way).await;
    assert!(
        words(&nothing, "#earliest").contains("not the same as free"),
        "{}",
        words(&nothing, "#earliest")
    );

    // Monday 9 March and 8 clear days: Wednesday 18 March.
    story.say(visit, joint("triamcinolone 10 mg/ml")).await;
    story.say(visit, dosed("phenylbutazone", "IV", How::Administered, None, at("2026-03-09", 9))).await;
    story.say(visit, dosed("flunixin", "PO paste", How::Administered, None, at("2026-03-09", 9))).await;
    story.say(visit, needle(at("2026-03-09", 9))).await;
    let page = vet.get(&way).await;
    let (earliest, met, none) =
        (words(&page, "#earliest"), words(&page, "#met li"), words(&page, "#no-rule li"));
    assert!(
        earliest.contains("Earliest day: Wednesday 18 March 2026.") && earliest.contains("is not before it"),
        "{earliest}"
    );
    assert!(earliest.contains("decided by joint or sheath medicated"), "{earliest}");
    assert!(met.contains("8 clear days until the event") && met.contains("palmar digital block"), "{met}");
    assert!(none.contains("No rule is kept for phenylbutazone, IV: ask the body."), "{none}");
    assert!(
        none.contains("flunixin, PO paste") && none.contains("mepivacaine"),
        "another route has no rule: {none}"
    );
    let early = vet.get(&way.replace("03-18", "03-17")).await;
    assert!(words(&early, ".stop-strip#earliest").contains("is before it"));
    wants_a_margin(&mut vet, (&story, visit), &way).await;
}

/// A detection time wants a margin of the veterinarian's own, which is kept for earlier treatments too.
async fn wants_a_margin(vet: &mut Browser, (story, visit): (&Story<'_>, VisitId), way: &str) {
    let first = story.say(visit, dosed("flunixin", "IV", How::Administered, None, at("2026-03-09", 9))).await;
    let last = story.say(visit, dosed("flunixin", "IV", How::Administered, None, at("2026-03-10", 9))).await;
    let open = vet.get(way).await;
    assert!(words(&open, ".stop-strip#earliest").contains("No earliest day: 2 of the treatments"));
    assert!(words(&open, "#met li").contains("a veterinarian must add a margin"));
    let bad = margin(vet, way, last, &[("amount", "0"), ("unit", "hours"), ("why", "fat")]).await;
    assert_eq!(
        (bad.status, bad.values_of("why")),
        (StatusCode::UNPROCESSABLE_ENTITY, vec!["fat".to_owned()])
    );
    assert!(bad.has("#amount-error"));
    let unit = margin(vet, way, last, &[("amount", "24"), ("last_on", "2026-03-01")]).await;
    assert!(unit.has("#unit-error") && unit.has("#last_on-error"));
    let day = [("amount", "3"), ("unit", "days"), ("why", "a small pony"), ("earlier", "yes")];
    let kept = margin(vet, way, last, &day).await;
    assert!(kept.status.is_redirection(), "{:?}", kept.texts(".error"));
    assert_eq!(story.test.count("competition_margin").await, 2, "the earlier one, too");
    let page = vet.get(way).await;
    let met = words(&page, "#met li");
    assert!(
        met.contains("Margin: 3 days") && met.contains("Vala Test, 11 Mar 2026, 09:00: a small pony"),
        "{met}"
    );
    // 48 h from the 10th at nine end on the 12th: Friday the 13th, and three days more.
    assert!(met.contains("earliest Monday 16 March") && met.contains("earliest Sunday 15 March"), "{met}");
    assert!(words(&page, "#earliest").contains("18 March"));
    assert!(margin(vet, way, first, &[("amount", "5"), ("unit", "days")]).await.status.is_redirection());
    assert!(
        words(&vet.get(way).await, "#met li").contains("earliest Tuesday 17 March"),
        "the newest word holds"
    );
}

/// A joint's sheet with its medicine in words.
fn joint(medicine: &str) -> Body {
    let answers = [("joint_procedure", "joint or sheath medicated"), ("joint_medicine", medicine)];
    let answers = answers.map(|(field, answer)| (field.to_owned(), answer.to_owned())).into();
    let given = Given { at: Some(at("2026-03-09", 9)), ..Given::default() };
    Body { code: Some("joint".into()), answers, given: Some(given), ..Body::new(Kind::Treatment) }
}

/// A block of the palmar digital nerves.
fn needle(at: At) -> Body {
    let given = Given { agent: Some("mepivacaine".into()), at: Some(at), ..Given::default() };
    Body { code: Some("PDN".into()), limb: Some("LF".into()), given: Some(given), ..Body::new(Kind::Block) }
}

#[tokio::test]
async fn a_course_without_an_end_gives_no_day_what_is_planned_counts_and_the_owner_gets_a_note() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit: VisitId = story.visit("2026-03-09").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let old = [("valid_from", "2025-01-01"), ("valid_to", "2026-03-31"), ("read_on", "2025-03-01")];
    let set = keep_set(&mut vet, &test, &old).await;
    let stand = [("medicine", "phenylbutazone"), ("kind", "stand_down"), ("hours", "24")];
    assert!(rule(&mut vet, set, &stand).await.status.is_redirection());
    let paste = dosed("phenylbutazone", "PO paste", How::Dispensed, None, at("2026-03-09", 9));
    let paste = story.say(visit, paste).await;
    let way = format!("/horses/{}/competition?set={set}&event=2026-04-02", story.horse);
    let page = vet.get(&way).await;
    let doubts = words(&page, ".caution");
    assert!(doubts.contains("does not hold on 2 Apr 2026: it ended on 31 Mar 2026"), "{doubts}");
    assert!(doubts.contains("more than 12 months ago") && !doubts.contains("expired"), "{doubts}");
    assert!(words(&page, "#met li").contains("it is not known when the last was given"));
    assert!(margin(&mut vet, &way, paste, &[("last_on", "2026-03-13")]).await.status.is_redirection());
    // To the last minute of Friday the 13th, and 24 h.
    assert!(words(&vet.get(&way).await, "#earliest").contains("Earliest day: Sunday 15 March 2026."));

    let planned = format!("{way}&planned=Phenylbutazone&planned_on=2026-03-30");
    let page = vet.get(&planned).await;
    assert!(
        words(&page, "#earliest").contains("Earliest day: Wednesday 1 April 2026."),
        "{}",
        words(&page, "#earliest")
    );
    assert!(words(&page, "#met li").contains("(planned)"));
    let note = page.attrs("a[href*='/competition/note?']", "href").remove(0);
    assert!(words(&vet.get(&note).await, "#note").contains("Phenylbutazone (planned)"), "{note}");
    for (wrong, field) in [("&event=soon", "#event-error"), ("&event=2026-03-01", "#event-error")] {
        let asked = way.split("&event").next().unwrap().to_owned() + wrong;
        let page = vet.get(&asked).await;
        assert!(page.status == StatusCode::UNPROCESSABLE_ENTITY && page.has(field), "{asked}");
    }
    let past = vet.get(&format!("{way}&planned=x&planned_on=2026-03-01")).await;
    assert!(past.has("#planned_on-error"));

    let note = vet.get(&way.replace("competition?", "competition/note?")).await;
    let note = words(&note, "#note");
    assert!(
        note.contains("Not before Sunday 15 March 2026.") && note.contains("it ended on 31 Mar 2026"),
        "{note}"
    );
    assert!(note.contains("No list is a defence") && note.contains("The rider answers"), "{note}");
    let horse = format!("/horses/{}", story.horse);
    let link = format!("a[href='{horse}/competition']");
    assert!(vet.get(&horse).await.has(&link) && vet.get(&format!("{horse}/medicines")).await.has(&link));
    assert!(!test.signed_in(Role::Desk).await.get(&horse).await.has(&link));
}
