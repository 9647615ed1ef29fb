//! Search: any part of what people know of a horse, client or yard, as text and never as an operator.

use limbledger::{
    accounts::Role,
    clients::yards,
    horses::Details,
    search::{self, Hit, Kind},
};

use crate::support::TestApp;

async fn valley() -> TestApp {
    let test = TestApp::new().await;
    let owner = test.client("Anna Marsh", "0555 / 01-42").await;
    let mut tx = test.app.db.write().await.unwrap();
    let yard = yards::Details { name: "Ashford Yard".into(), ..yards::Details::default() };
    let yard = yards::store::insert(&mut tx, &yard, test.now()).await.unwrap();
    tx.commit().await.unwrap();
    let briar = Details {
        stable_name: "Öhrchen".into(),
        microchip: "276098106543210".into(),
        ueln: "276456789012345".into(),
        yard_id: Some(yard),
        ..Details::named("Briar Rose")
    };
    test.horse_with(owner, briar).await;
    test.horse_of("Bo", owner).await;
    test
}

async fn found(test: &TestApp, q: &str) -> Vec<Hit> {
    search::find(&test.app.db, q, &Kind::ALL, 10).await.unwrap()
}

async fn titles(test: &TestApp, q: &str) -> Vec<String> {
    found(test, q).await.into_iter().map(|hit| hit.title).collect()
}

#[tokio::test]
async fn any_part_of_anything_known_finds_it_and_says_why() {
    let test = valley().await;
    for (q, title, why) in [
        ("briar", "Briar Rose", ""),
        ("RIAR", "Briar Rose", ""),
        ("rose bri", "Briar Rose", ""),
        ("öhr", "Briar Rose", "stable name Öhrchen"),
        ("ÖHRCHEN", "Briar Rose", "stable name Öhrchen"),
        ("654321", "Briar Rose", "microchip 276098106543210"),
        ("276 0981", "Briar Rose", "microchip 276098106543210"),
        ("456789", "Briar Rose", "UELN 276456789012345"),
        ("shfor", "Briar Rose", "yard Ashford Yard"),
        ("marsh briar", "Briar Rose", "belongs to Anna Marsh"),
        ("5550142", "Anna Marsh", "phone 0555 / 01-42"),
        ("0555 0142", "Anna Marsh", "phone 0555 / 01-42"),
        ("05 55 01 42", "Briar Rose", "phone 0555 / 01-42"),
        ("bo", "Bo", ""),
        ("b", "Bo", ""),
        ("ro", "Briar Rose", ""),
    ] {
        let hits = found(&test, q).await;
        let hit = hits.iter().find(|hit| hit.title == title);
        assert_eq!(hit.map(|hit| hit.why.as_str()), Some(why), "{q}: {hits:?}");
    }
    assert_eq!(titles(&test, "+49 555 0142").await, [""; 0], "a longer number than ours is another number");
    assert_eq!(titles(&test, "bo").await[0], "Bo", "the whole name comes first");
}

#[tokio::test]
async fn what_is_typed_is_text_and_no_operator() {
    let test = valley().await;
    for q in [
        "",
        "   ",
        "\"",
        "\"\"\"",
        "'",
        "*",
        "bri*",
        "NOT briar",
        "briar OR nothing",
        "words:briar",
        "^briar",
        "a AND",
        "(",
        "briar)",
        "NEAR(briar rose)",
        "%",
        "_",
        "%%%",
        "___",
        "\\",
        "zz%",
        "{",
        "-briar",
        "\u{0}bri\u{7}",
        "🐴",
        "🐴🐴🐴",
        "\u{202e}raib",
    ] {
        let hits = found(&test, q).await;
        assert!(
            hits.iter().all(|hit| hit.title != "Briar Rose") || q.contains("bri\u{7}"),
            "{q:?} found {hits:?}"
        );
    }
    assert_eq!(titles(&test, &"briar ".repeat(3000)).await, ["Briar Rose"], "a long text is cut");
}

#[tokio::test]
async fn a_change_of_name_number_or_yard_is_found_at_once() {
    let test = valley().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let client = found(&test, "marsh").await.into_iter().find(|h| h.kind == Kind::Client).unwrap().href();
    let form = desk.get(&format!("{client}/edit")).await;
    desk.fill(&form, &client, &[("name", "Anna Vale"), ("phone_number", "0777 12 12")]).await;
    assert_eq!(titles(&test, "marsh").await, [""; 0]);
    assert!(titles(&test, "anna vale").await.contains(&"Briar Rose".into()));
    assert!(titles(&test, "07771212").await.contains(&"Briar Rose".into()));
    assert_eq!(titles(&test, "5550142").await, [""; 0]);
    let yard = found(&test, "ashford").await.into_iter().find(|h| h.kind == Kind::Yard).unwrap().href();
    let form = desk.get(&format!("{yard}/edit")).await;
    desk.fill(&form, &yard, &[("name", "Thornhill")]).await;
    assert_eq!(titles(&test, "ashford").await, [""; 0]);
    assert_eq!(titles(&test, "thornhill").await.len(), 2, "the yard and the horse there");
}

#[tokio::test]
async fn building_the_lines_anew_changes_nothing() {
    let test = valley().await;
    let before = found(&test, "marsh").await;
    let mut tx = test.app.db.write().await.unwrap();
    search::rebuild(&mut tx).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(found(&test, "marsh").await, before);
    assert_eq!(test.count("search_line").await, 4, "two horses, a client, a yard");
}

#[tokio::test]
async fn the_page_works_without_script_and_marks_who_is_gone() {
    let test = valley().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let horse = found(&test, "briar").await[0].href();
    let status = format!("{horse}/status");
    let form = desk.get(&status).await;
    desk.fill(&form, &status, &[("status", "sold"), ("since", "10 Mar 2026")]).await;
    let page = desk.get("/search?q=bri").await;
    assert_eq!(page.attrs("#results a", "href"), [horse]);
    assert_eq!(page.texts("#results .state"), ["no longer seen"]);
    assert_eq!(page.values_of("q"), ["bri"]);
    let small = desk.get("/search?q=bri&list=found").await;
    assert_eq!(small.attrs("#found a", "href").len(), 1, "the list of the box at the head of a page");
    let day = desk.get("/clients/new").await;
    assert_eq!(day.attrs("input[data-search]", "data-search"), ["#found"]);
    assert_eq!(desk.get("/search?q=bri&kind=client").await.attrs("#results a", "href").len(), 0);
    let markup = desk.get("/search?q=%3Cscript%3Ealert(1)%3C/script%3E").await;
    assert!(!markup.text.contains("<script>alert"));
    assert!(desk.get("/search").await.has("#q"));
}

#[tokio::test]
async fn at_most_ten_and_the_nearest_first() {
    let test = valley().await;
    let owner = test.client("Tom Reed", "0555 99").await;
    for n in 0..30 {
        test.horse_of(&format!("Sir Oakley {n}"), owner).await;
    }
    test.horse_of("Oakley", owner).await;
    let hits = titles(&test, "oakley").await;
    assert_eq!((hits.len(), hits[0].as_str()), (10, "Oakley"));
}
