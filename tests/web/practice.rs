//! Settings, staff, tablets, and everybody's own account.

use axum::http::StatusCode;
use limbledger::{accounts::Role, ids::StaffId};

use crate::support::{Page, TestApp};

const NEW: &str = "copper kettle on a winding hill";

async fn version_of(test: &TestApp, id: StaffId) -> String {
    limbledger::accounts::store::get(test.app.db.read(), id).await.unwrap().version.to_string()
}

fn refused(page: &Page, field: &str) {
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}");
    assert_eq!(page.texts(&format!("#{field}-error")).len(), 1, "{field}");
}

#[tokio::test]
async fn only_an_owner_runs_the_practice_and_everybody_has_an_own_account() {
    let test = TestApp::new().await;
    for role in Role::ALL {
        let mut browser = test.signed_in(role).await;
        let wanted = if role == Role::Owner { StatusCode::OK } else { StatusCode::FORBIDDEN };
        let member = format!("/practice/staff/{}", test.vet);
        for path in ["/practice", "/practice/staff", "/practice/words", "/practice/tablets", member.as_str()]
        {
            assert_eq!(browser.get(path).await.status, wanted, "{role} {path}");
        }
        assert_eq!(browser.get("/me").await.status, StatusCode::OK, "{role}");
    }
}

#[tokio::test]
async fn settings_are_changed_and_a_stale_change_loses_nothing() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let form = owner.get("/practice").await;
    let page = owner.fill(&form, "/practice", &[("practice", "Orr Equine"), ("weight_unit", "lb")]).await;
    assert_eq!(page.location(), "/practice");
    assert_eq!(owner.get("/practice").await.attrs("#practice", "value"), ["Orr Equine"]);
    let mut again: Vec<(String, String)> = form.form_fields("/practice");
    again.retain(|(name, _)| name != "submission" && name != "practice");
    let mut fields: Vec<(&str, &str)> = again.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
    fields.push(("practice", "Orrwater Vets"));
    let stale = owner.submit("/practice", &fields).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    let cells = stale.texts("td");
    assert!(cells.iter().any(|c| c == "Orrwater Vets") && cells.iter().any(|c| c == "Orr Equine"));
    let bad = owner.get("/practice").await;
    let page = owner.fill(&bad, "/practice", &[("zone", "Mars/Base")]).await;
    refused(&page, "zone");
    assert_eq!(page.attrs("#zone", "value"), ["Mars/Base"]);
}

#[tokio::test]
async fn the_owner_adds_somebody_who_signs_in() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let form = owner.get("/practice/staff").await;
    let fields = [("name", "Perrin Ash"), ("role", "vet"), ("password", NEW), ("password_again", NEW)];
    let page = owner.fill(&form, "/practice/staff", &fields).await;
    assert_eq!(page.location(), "/practice/staff");
    assert!(owner.get("/practice/staff").await.texts("a.line").contains(&"Perrin Ash".into()));
    let vets = limbledger::accounts::store::vets(test.app.db.read()).await.unwrap();
    assert!(vets.iter().any(|v| v.name == "Perrin Ash"), "a veterinarian holds a licence");
    let page = test.stranger().post("/sign-in", &[("name", "perrin ash"), ("password", NEW)]).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn an_account_that_cannot_be_is_refused_beside_its_field() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let long = "x".repeat(10_000);
    let cases: &[(&str, &str, &str)] = &[
        ("name", "", "name"),
        ("name", &long, "name"),
        ("name", "VALA TEST", "name"),
        ("role", "", "role"),
        ("role", "king", "role"),
        ("licensed", "yes", "licensed"),
        ("password", "short", "password"),
        ("password_again", "different", "password_again"),
    ];
    for (field, value, wrong) in cases {
        let mut fields =
            vec![("name", "Perrin Ash"), ("role", "desk"), ("password", NEW), ("password_again", NEW)];
        fields.retain(|(name, _)| name != field);
        fields.push((field, value));
        let page = owner.submit("/practice/staff", &fields).await;
        refused(&page, wrong);
    }
    assert_eq!(limbledger::accounts::store::all(test.app.db.read()).await.unwrap().len(), 4);
}

#[tokio::test]
async fn whoever_leaves_is_out_at_once() {
    let test = TestApp::new().await;
    let (mut owner, mut desk) = (test.signed_in(Role::Owner).await, test.signed_in(Role::Desk).await);
    assert_eq!(desk.get("/me").await.status, StatusCode::OK);
    let path = format!("/practice/staff/{}", test.desk);
    let page = owner.submit(&format!("{path}/leave"), &[]).await;
    assert_eq!(page.location(), "/practice/staff");
    assert!(desk.get("/me").await.location().starts_with("/sign-in"));
    let fields = [("name", "Dell Test"), ("password", crate::support::PASSWORD)];
    assert_eq!(test.stranger().post("/sign-in", &fields).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    owner.submit(&format!("{path}/return"), &[]).await;
    assert_eq!(test.stranger().post("/sign-in", &fields).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn the_last_owner_stays_one() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let path = format!("/practice/staff/{}", test.owner);
    refused(&owner.submit(&format!("{path}/leave"), &[]).await, "leave");
    let version = version_of(&test, test.owner).await;
    let fields = [("name", "Olwen Test"), ("role", "desk"), ("version", version.as_str())];
    refused(&owner.submit(&path, &fields).await, "role");
    let version = version_of(&test, test.desk).await;
    let desk = format!("/practice/staff/{}", test.desk);
    let fields = [("name", "Dell Test"), ("role", "owner"), ("version", version.as_str())];
    assert_eq!(owner.submit(&desk, &fields).await.location(), desk);
    assert_eq!(owner.submit(&format!("{path}/leave"), &[]).await.location(), "/practice/staff");
}

#[tokio::test]
async fn a_stale_change_of_an_account_shows_both_sides() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let path = format!("/practice/staff/{}", test.technician);
    let fields = [("name", "Tarn Tester"), ("role", "technician"), ("version", "1")];
    assert_eq!(owner.submit(&path, &fields).await.location(), path);
    let fields = [("name", "Tarn T."), ("role", "desk"), ("version", "1")];
    let page = owner.submit(&path, &fields).await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    assert!(page.texts("td").contains(&"Tarn Tester".into()));
}

#[tokio::test]
async fn a_new_password_from_the_owner_ends_the_old_sessions() {
    let test = TestApp::new().await;
    let (mut owner, mut vet) = (test.signed_in(Role::Owner).await, test.signed_in(Role::Vet).await);
    let path = format!("/practice/staff/{}/password", test.vet);
    refused(
        &owner.submit(&path, &[("password", "passwordpassword"), ("password_again", "")]).await,
        "password",
    );
    owner.submit(&path, &[("password", NEW), ("password_again", NEW)]).await;
    assert!(vet.get("/me").await.location().starts_with("/sign-in"));
    let page = test.stranger().post("/sign-in", &[("name", "Vala Test"), ("password", NEW)]).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn ones_own_password_needs_the_one_of_now() {
    let test = TestApp::new().await;
    let (mut here, mut there) = (test.signed_in(Role::Desk).await, test.signed_in(Role::Desk).await);
    let fields = [("password", NEW), ("password_again", NEW)];
    refused(&here.submit("/me/password", &fields).await, "current");
    let wrong = [("current", "not it"), fields[0], fields[1]];
    refused(&here.submit("/me/password", &wrong).await, "current");
    let right = [("current", crate::support::PASSWORD), fields[0], fields[1]];
    assert_eq!(here.submit("/me/password", &right).await.location(), "/me");
    assert_eq!(here.get("/me").await.status, StatusCode::OK);
    assert!(there.get("/me").await.location().starts_with("/sign-in"), "the other browser is out");
}

#[tokio::test]
async fn a_pin_unlocks_and_easy_ones_are_refused() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let pin = |pin: &'static str, again: &'static str| {
        [("pin_current", crate::support::PASSWORD), ("pin", pin), ("pin_again", again)]
    };
    for (typed, again, field) in [
        ("12345", "12345", "pin"),
        ("abcdef", "abcdef", "pin"),
        ("111111", "111111", "pin"),
        ("123456", "123456", "pin"),
        ("987654", "987654", "pin"),
        ("280471", "280472", "pin_again"),
    ] {
        refused(&desk.submit("/me/pin", &pin(typed, again)).await, field);
    }
    assert_eq!(desk.submit("/me/pin", &pin("280471", "280471")).await.location(), "/me");
    desk.post("/lock", &[]).await;
    assert_eq!(desk.get("/me").await.location(), "/locked?next=/me");
    assert_eq!(desk.post("/locked", &[("secret", "280471"), ("next", "/me")]).await.location(), "/me");
    assert_eq!(desk.submit("/me/pin", &pin("", "")).await.location(), "/me");
    assert!(desk.get("/me").await.text.contains("You have none"));
}

#[tokio::test]
async fn a_session_elsewhere_is_ended_and_only_ones_own() {
    let test = TestApp::new().await;
    let (mut here, mut there) = (test.signed_in(Role::Desk).await, test.signed_in(Role::Desk).await);
    let mut vet = test.signed_in(Role::Vet).await;
    let page = here.get("/me").await;
    let actions = page.attrs("main .lines form", "action");
    assert_eq!(actions.len(), 2);
    for action in &actions {
        vet.submit(action, &[]).await;
    }
    assert_eq!(there.get("/me").await.status, StatusCode::OK, "nobody ends the session of another");
    let other = page.texts("main .lines li").iter().position(|line| !line.contains("this browser")).unwrap();
    here.submit(&actions[other], &[]).await;
    assert!(there.get("/me").await.location().starts_with("/sign-in"));
    assert_eq!(here.get("/me").await.status, StatusCode::OK);
}

#[tokio::test]
async fn the_tablets_page_gives_the_fingerprint_to_compare() {
    let mut test = TestApp::new().await;
    assert!(test.signed_in(Role::Owner).await.get("/practice/tablets").await.text.contains("--listen"));
    let fingerprint = (0..32).map(|n| format!("{n:02X}")).collect::<Vec<_>>().join(":");
    test.app.tablets = Some(std::sync::Arc::new(limbledger::serve::Reach {
        trust_page: "http://192.168.7.2:7420".into(),
        origin: "https://limbledger.local:7420".into(),
        fingerprint,
        own: std::sync::Arc::default(),
    }));
    test.router = limbledger::router(test.app.clone());
    let page = test.signed_in(Role::Owner).await.get("/practice/tablets").await;
    assert!(page.text.contains("http://192.168.7.2:7420"));
    assert!(page.text.contains("https://limbledger.local:7420"));
    assert!(page.text.contains("00 01 02 03 04 05 06 07"));

    test.app.tablets.as_ref().unwrap().own.store(true, std::sync::atomic::Ordering::Relaxed);
    let page = test.signed_in(Role::Owner).await.get("/practice/tablets").await;
    assert!(page.text.contains("nothing needs to be trusted") && page.text.contains("limbledger.local"));
    assert!(!page.text.contains("00 01 02 03 04 05 06 07"), "no fingerprint to compare");
}

#[tokio::test]
async fn a_word_of_the_practice_is_never_one_that_means_something_already() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    for (says, means, field) in [
        ("", "effusion", "says"),
        ("squidge", "", "means"),
        ("warm", "effusion", "says"),
        ("squidge", "wibble", "means"),
        ("9", "effusion", "says"),
    ] {
        let form = owner.get("/practice/words").await;
        let page = owner.fill(&form, "/practice/words", &[("says", says), ("means", means)]).await;
        refused(&page, field);
        assert_eq!(page.attrs("#says", "value"), [says]);
    }
    let form = owner.get("/practice/words").await;
    let fields = [("says", "squidge"), ("means", "effusion")];
    assert_eq!(owner.fill(&form, "/practice/words", &fields).await.location(), "/practice/words");
    let form = owner.get("/practice/words").await;
    refused(&owner.fill(&form, "/practice/words", &[("says", "Squidge"), ("means", "heat")]).await, "says");
    assert_eq!(test.count("practice_word").await, 1);
}
