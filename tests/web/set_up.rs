//! The first run: the practice and its owner, against the code on the server's screen.

use axum::http::StatusCode;

use crate::support::{Browser, Page, TestApp};

const CODE: &str = "ABCD-EFGH-JKLM";
const GOOD: [(&str, &str); 10] = [
    ("code", CODE),
    ("practice", "Orrside Horses"),
    ("zone", "Europe/Dublin"),
    ("weight_unit", "kg"),
    ("height_unit", "hands"),
    ("temperature_unit", "c"),
    ("lameness_scale", "aaep_0_5"),
    ("name", "Maren Quill"),
    ("password", "teal ladder under ninety clouds"),
    ("password_again", "teal ladder under ninety clouds"),
];

async fn send(browser: &mut Browser, changes: &[(&str, &str)]) -> Page {
    let form = browser.get("/set-up").await;
    let mut fields: Vec<(&str, &str)> =
        GOOD.into_iter().filter(|(name, _)| !changes.iter().any(|(n, _)| n == name)).collect();
    fields.extend_from_slice(changes);
    browser.fill(&form, "/set-up", &fields).await
}

#[tokio::test]
async fn until_set_up_every_page_leads_there_and_health_already_answers() {
    let test = TestApp::bare(Some(CODE)).await;
    let mut browser = test.stranger();
    for path in ["/", "/horses", "/sign-in", "/practice"] {
        assert_eq!(browser.get(path).await.location(), "/set-up", "{path}");
    }
    assert_eq!(browser.get("/healthz").await.status, StatusCode::OK);
    let page = browser.get("/set-up").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(!page.text.contains(CODE), "the code stands on the server's screen alone");
}

#[tokio::test]
async fn the_owner_sets_up_signs_in_and_the_page_is_gone() {
    let test = TestApp::bare(Some(CODE)).await;
    let mut browser = test.stranger();
    let page = send(&mut browser, &[("code", "abcd efgh jklm"), ("licensed", "yes")]).await;
    assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, "/sign-in?ready=yes"));
    assert!(browser.get("/sign-in?ready=yes").await.text.contains("The practice is set up"));
    assert_eq!(browser.get("/set-up").await.location(), "/");
    let page = browser
        .post("/sign-in", &[("name", "Maren Quill"), ("password", "teal ladder under ninety clouds")])
        .await;
    assert_eq!(page.location(), "/me/second-factor", "an owner is asked for one");
    assert_eq!(browser.get("/").await.status, StatusCode::OK, "and may put it off");
    let practice = limbledger::practice::store::get(test.app.db.read()).await.unwrap();
    assert_eq!((practice.name.as_str(), practice.zone_name.as_str()), ("Orrside Horses", "Europe/Dublin"));
    assert_eq!(practice.height_unit, "hands");
    let staff = limbledger::accounts::store::all(test.app.db.read()).await.unwrap();
    assert_eq!(staff.len(), 1);
    assert!(staff[0].licensed && staff[0].role.key() == "owner");
}

#[tokio::test]
async fn a_wrong_code_is_told_beside_the_field_and_what_was_typed_stays() {
    let test = TestApp::bare(Some(CODE)).await;
    let mut browser = test.stranger();
    let page = send(&mut browser, &[("code", "ABCD-EFGH-JKLN")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.texts("#code-error").len(), 1);
    assert_eq!(page.attrs("#practice", "value"), ["Orrside Horses"]);
    assert_eq!(page.attrs("#zone", "value"), ["Europe/Dublin"]);
    assert_eq!(page.attrs("#password", "value"), [""]);
    assert!(page.texts("#password-error")[0].contains("again"));
}

#[tokio::test]
async fn guessing_the_code_is_slowed_down() {
    let test = TestApp::bare(Some(CODE)).await;
    let mut browser = test.stranger();
    for _ in 0..6 {
        send(&mut browser, &[("code", "NOPE")]).await;
    }
    let page = send(&mut browser, &[]).await;
    assert_eq!(page.status, StatusCode::TOO_MANY_REQUESTS);
    assert!(page.texts("#code-error")[0].contains("Wait"));
    assert_eq!(page.attrs("#practice", "value"), ["Orrside Horses"]);
}

#[tokio::test]
async fn nobody_sets_up_where_no_code_was_printed() {
    let test = TestApp::bare(None).await;
    let page = send(&mut test.stranger(), &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn each_field_refuses_what_it_cannot_take() {
    let test = TestApp::bare(Some(CODE)).await;
    let long = "x".repeat(10_000);
    let cases: &[(&str, &str, &str)] = &[
        ("code", "", "code"),
        ("practice", "", "practice"),
        ("practice", &long, "practice"),
        ("practice", "Orr\u{7}side", "practice"),
        ("zone", "", "zone"),
        ("zone", "Orr/Nowhere", "zone"),
        ("zone", "../../etc/passwd", "zone"),
        ("weight_unit", "stone", "weight_unit"),
        ("height_unit", "", "height_unit"),
        ("temperature_unit", "k", "temperature_unit"),
        ("lameness_scale", "obel_0_4", "lameness_scale"),
        ("name", "", "name"),
        ("name", &long, "name"),
        ("password", "", "password"),
        ("password", "short", "password"),
        ("password", "passwordpassword", "password"),
        ("password", &long, "password"),
        ("password_again", "something else entirely", "password_again"),
    ];
    for (field, value, wrong) in cases {
        let page = send(&mut test.stranger(), &[(field, value)]).await;
        let shown: String = value.chars().take(20).collect();
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} {shown:?}");
        assert_eq!(page.texts(&format!("#{wrong}-error")).len(), 1, "{field} {shown:?}");
        assert!(page.has(&format!("#errors a[href='#{wrong}']")), "{field} {shown:?}");
    }
    assert!(!test.app.is_set_up().await.unwrap());
}

#[tokio::test]
async fn markup_emoji_and_other_scripts_are_names_too() {
    let test = TestApp::bare(Some(CODE)).await;
    let name = "<b>Orr</b> 🐎 עמק";
    let page = send(&mut test.stranger(), &[("practice", name), ("zone", "nowhere")]).await;
    assert_eq!(page.attrs("#practice", "value"), [name]);
    assert!(!page.has("main b"));
}

#[tokio::test]
async fn sent_twice_it_is_set_up_once() {
    let test = TestApp::bare(Some(CODE)).await;
    let mut browser = test.stranger();
    let form = browser.get("/set-up").await;
    let first = browser.fill(&form, "/set-up", &GOOD).await;
    let second = browser.fill(&form, "/set-up", &GOOD).await;
    assert_eq!((first.location(), second.location()), ("/sign-in?ready=yes", "/sign-in?ready=yes"));
    let other = browser.submit("/set-up", &GOOD).await;
    assert_eq!(other.status, StatusCode::BAD_REQUEST);
    assert_eq!(limbledger::accounts::store::all(test.app.db.read()).await.unwrap().len(), 1);
}
