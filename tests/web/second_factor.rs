//! The second factor: set up, asked for at the door and before what cannot be taken back, lost and taken away.

use axum::http::StatusCode;
use limbledger::{
    accounts::{Role, Token, factor},
    clock::At,
    record::hex,
};
use ring::hmac;

use crate::{
    access,
    support::{Browser, Fixture, PASSWORD, Page, TestApp},
};

const PAGE: &str = "/me/second-factor";
const CODES: &str = "/me/second-factor/codes";
const OTHER_PASSWORD: &str = "lantern under the ninth gate";

/// A device that somebody signs in with, and the recovery codes beside it.
struct Device {
    secret: Vec<u8>,
    recovery: Vec<String>,
}

impl Device {
    /// What it shows, reckoned here by RFC 4226, section 5.3, and RFC 6238, section 4.2.
    fn shows(&self, at: At) -> String {
        let key = hmac::Key::new(hmac::HMAC_SHA1_FOR_LEGACY_USE_ONLY, &self.secret);
        let step = u64::try_from(at.0 / 30_000).unwrap();
        let tag = hmac::sign(&key, &step.to_be_bytes());
        let offset = usize::from(tag.as_ref()[19] & 15);
        let four: [u8; 4] = tag.as_ref()[offset..offset + 4].try_into().unwrap();
        format!("{:06}", (u32::from_be_bytes(four) & 0x7fff_ffff) % 1_000_000)
    }
}

/// The field of the code, where the form goes, and the rest of it.
type Asked<'a> = (&'a str, String, Vec<(&'a str, &'a str)>);

/// Sets one up through the pages.
async fn enrol(test: &TestApp, browser: &mut Browser) -> Device {
    let begun = browser.submit("/me/second-factor/begin", &[("current", PASSWORD)]).await;
    assert_eq!(
        (begun.status, begun.location()),
        (StatusCode::SEE_OTHER, PAGE),
        "{:?}",
        begun.texts(".error")
    );
    let page = browser.get(PAGE).await;
    assert!(page.has("figure.qr svg"), "a code for a camera");
    let by_hand = page.texts("#by-hand")[0].replace(' ', "");
    let secret = data_encoding::BASE32_NOPAD.decode(by_hand.as_bytes()).unwrap();
    assert_eq!(secret.len() * 8, 160);
    let mut device = Device { secret, recovery: Vec::new() };
    let code = device.shows(test.now());
    let done = browser.fill(&page, "/me/second-factor/confirm", &[("factor", &code)]).await;
    assert_eq!((done.status, done.location()), (StatusCode::SEE_OTHER, CODES));
    device.recovery = browser.get(CODES).await.texts("main ol code");
    device
}

fn wait(test: &TestApp, seconds: i64) {
    test.set_clock(test.now().plus_millis(seconds * 1000));
}

async fn password(browser: &mut Browser, name: &str) -> Page {
    browser.post("/sign-in", &[("name", name), ("password", PASSWORD)]).await
}

async fn code(browser: &mut Browser, code: &str) -> Page {
    browser.post("/sign-in/code", &[("code", code)]).await
}

/// A browser between the two pages of signing in.
async fn halfway(test: &TestApp, name: &str) -> Browser {
    let mut browser = test.stranger();
    let page = password(&mut browser, name).await;
    assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, "/sign-in/code"));
    browser
}

async fn run(test: &TestApp, sql: &str) {
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::raw_sql(sqlx::AssertSqlSafe(sql.to_owned())).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

async fn audited(test: &TestApp) -> Vec<(String, String)> {
    let lines = limbledger::audit::store::list(test.app.db.read(), 0, 50).await.unwrap();
    lines.into_iter().map(|line| (line.what, line.by)).collect()
}

#[tokio::test]
async fn a_device_that_has_shown_a_code_is_asked_for_at_the_door() {
    let test = TestApp::new().await;
    let mut elsewhere = test.signed_in(Role::Desk).await;
    let mut desk = test.signed_in(Role::Desk).await;
    assert!(desk.get("/me").await.has("a[href='/me/second-factor']"));
    let wrong = desk.submit("/me/second-factor/begin", &[("current", "wrong")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.has("#current-error"));

    let page = desk.get(PAGE).await;
    desk.fill(&page, "/me/second-factor/begin", &[("current", PASSWORD)]).await;
    assert_eq!(password(&mut test.stranger(), "Dell Test").await.location(), "/", "it does not count yet");
    let page = desk.get(PAGE).await;
    let wrong = desk.fill(&page, "/me/second-factor/confirm", &[("factor", "12 34")]).await;
    assert!(wrong.has("#factor-error") && wrong.attrs("#factor", "value") == ["12 34"]);

    let device = enrol(&test, &mut desk).await;
    assert_eq!(device.recovery.len(), 10);
    assert_eq!(desk.get(CODES).await.location(), PAGE, "they are shown once");
    assert!(
        elsewhere.get("/").await.location().starts_with("/sign-in"),
        "other browsers have to come in anew"
    );
    assert_eq!(desk.get("/").await.status, StatusCode::OK);

    wait(&test, 30);
    let mut browser = test.stranger();
    let asked = browser.get("/sign-in?next=/horses").await;
    let sent = browser.fill(&asked, "/sign-in", &[("name", "dell test"), ("password", PASSWORD)]).await;
    assert_eq!(sent.location(), "/sign-in/code");
    let half = browser.cookie.clone();
    let page = browser.get("/sign-in/code").await;
    assert_eq!(page.attrs("#code", "autocomplete"), ["one-time-code"]);
    let spaced = device.shows(test.now());
    let spaced = format!("{} {}", &spaced[..3], &spaced[3..]);
    let done = browser.fill(&page, "/sign-in/code", &[("code", &spaced)]).await;
    assert_eq!((done.status, done.location()), (StatusCode::SEE_OTHER, "/horses"));
    assert_ne!(browser.cookie, half, "a fresh token");
    assert_eq!(browser.get("/horses").await.status, StatusCode::OK);
    let mut old = Browser { cookie: half, ..test.stranger() };
    assert!(old.get("/horses").await.location().starts_with("/sign-in"), "the token between is over");
}

#[tokio::test]
async fn a_code_is_good_once_one_step_either_way_and_every_refusal_says_the_same() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let device = enrol(&test, &mut vet).await;
    wait(&test, 300);
    let now = test.now();
    let mut browser = halfway(&test, "Vala Test").await;
    let mut said = Vec::new();
    for seconds in [-60, 60] {
        let page = code(&mut browser, &device.shows(now.plus_millis(seconds * 1000))).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{seconds} s");
        said.push(page.texts("#code-error"));
    }
    said.push(code(&mut browser, "000000").await.texts("#code-error"));
    assert_eq!(code(&mut browser, &device.shows(now.plus_millis(-30_000))).await.location(), "/");

    wait(&test, 30);
    let mut browser = halfway(&test, "Vala Test").await;
    let good = device.shows(now.plus_millis(30_000));
    assert_eq!(code(&mut browser, &good).await.location(), "/");
    let mut again = halfway(&test, "Vala Test").await;
    for used in [now.plus_millis(30_000), now, now.plus_millis(-30_000)] {
        let page = code(&mut again, &device.shows(used)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "used, or older than one that was used");
        said.push(page.texts("#code-error"));
    }
    said.dedup();
    assert_eq!(said.len(), 1, "{said:?}");
    let ahead = device.shows(now.plus_millis(60_000));
    assert_eq!(code(&mut again, &ahead).await.location(), "/", "a device's clock may be a little fast");
}

#[tokio::test]
async fn between_password_and_code_nothing_opens() {
    let test = TestApp::new().await;
    let rows = Fixture::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let device = enrol(&test, &mut vet).await;
    wait(&test, 30);
    let mut half = halfway(&test, "Vala Test").await;
    let inside = access::behind_the_door();
    assert!(inside.len() > 200, "the table was not read");
    for (method, path) in inside.iter().filter(|(_, path)| path != "/sign-in/code") {
        let (status, location) = access::ask(&mut half, method, &rows.fill(path)).await;
        assert!(
            status == StatusCode::SEE_OTHER && location.starts_with("/sign-in"),
            "{method} {path}: {status} {location}"
        );
    }
    assert_eq!(half.get("/sign-in/code").await.status, StatusCode::OK);
    wait(&test, 5 * 60);
    assert_eq!(half.get("/sign-in/code").await.location(), "/sign-in", "it waits for five minutes");
    let late = code(&mut half, &device.shows(test.now())).await;
    assert_eq!(late.location(), "/sign-in");
    assert!(half.get("/").await.location().starts_with("/sign-in"));
}

#[tokio::test]
async fn guessing_a_code_is_slowed_down_and_a_right_password_gives_no_fresh_tries() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let device = enrol(&test, &mut vet).await;
    wait(&test, 60);
    let mut browser = halfway(&test, "Vala Test").await;
    for guess in 0..5 {
        let page = code(&mut browser, &format!("{guess:06}")).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{guess}");
    }
    let mut fresh = halfway(&test, "Vala Test").await;
    let good = device.shows(test.now());
    let slow = code(&mut fresh, &good).await;
    assert_eq!(slow.status, StatusCode::TOO_MANY_REQUESTS);
    assert!(slow.headers.contains_key("retry-after"));
    wait(&test, 10);
    assert_eq!(code(&mut fresh, &good).await.location(), "/", "and never for good");
}

#[tokio::test]
async fn a_recovery_code_stands_for_the_device_once() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let device = enrol(&test, &mut vet).await;
    let typed = device.recovery[3].to_lowercase().replace('-', " ");
    let mut browser = halfway(&test, "Vala Test").await;
    assert_eq!(code(&mut browser, &typed).await.location(), "/");
    assert!(browser.get("/").await.texts("#status")[0].contains("9 are left"));
    let mut again = halfway(&test, "Vala Test").await;
    assert_eq!(code(&mut again, &typed).await.status, StatusCode::UNPROCESSABLE_ENTITY);

    // New ones in their place: those of before are over.
    wait(&test, 30);
    let page = browser.get(PAGE).await;
    let made = browser.fill(&page, CODES, &[("factor_codes", &device.shows(test.now()))]).await;
    assert_eq!(made.location(), CODES);
    let fresh = browser.get(CODES).await.texts("main ol code");
    assert_eq!(fresh.len(), 10);
    assert_eq!(code(&mut again, &device.recovery[4]).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(code(&mut again, &fresh[0]).await.location(), "/");
}

#[tokio::test]
async fn another_device_takes_the_place_of_the_first_once_it_has_shown_a_code() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let first = enrol(&test, &mut vet).await;
    wait(&test, 30);
    let page = vet.get(PAGE).await;
    let fields = [("current", PASSWORD), ("factor_new", "000000")];
    let refused = vet.fill(&page, "/me/second-factor/begin", &fields).await;
    assert!(refused.has("#factor_new-error"), "a password alone changes no device");
    let shown = first.shows(test.now());
    vet.fill(&page, "/me/second-factor/begin", &[("current", PASSWORD), ("factor_new", &shown)]).await;
    let page = vet.get(PAGE).await;
    let secret =
        data_encoding::BASE32_NOPAD.decode(page.texts("#by-hand")[0].replace(' ', "").as_bytes()).unwrap();
    let second = Device { secret, recovery: Vec::new() };
    vet.fill(&page, "/me/second-factor/confirm", &[("factor", &second.shows(test.now()))]).await;
    wait(&test, 30);
    let mut browser = halfway(&test, "Vala Test").await;
    assert_eq!(code(&mut browser, &first.shows(test.now())).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(code(&mut browser, &second.shows(test.now())).await.location(), "/");
}

#[tokio::test]
async fn the_data_folder_holds_no_secret_in_clear_and_the_key_is_for_the_owner_alone() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let device = enrol(&test, &mut vet).await;
    let kept: Vec<u8> =
        sqlx::query_scalar("select secret from second_factor").fetch_one(test.app.db.read()).await.unwrap();
    assert_eq!(kept.len(), 12 + 20 + 16, "nonce, secret, tag");
    assert!(!hex(&kept).contains(&hex(&device.secret)));
    let base32 = data_encoding::BASE32_NOPAD.encode(&device.secret);
    let mut clear: Vec<Vec<u8>> = vec![device.secret.clone(), base32.into_bytes()];
    clear.extend(device.recovery.iter().map(|code| code.clone().into_bytes()));
    clear.extend(device.recovery.iter().map(|code| code.replace('-', "").into_bytes()));
    let mut looked = 0;
    for entry in std::fs::read_dir(test.folder()).unwrap() {
        let path = entry.unwrap().path();
        let Ok(bytes) = std::fs::read(&path) else { continue };
        looked += bytes.len();
        for secret in &clear {
            let found = bytes.windows(secret.len()).any(|part| part == secret);
            assert!(!found, "{} holds a secret", path.display());
        }
    }
    assert!(looked > 100_000, "the database was not read");

    let key = test.folder().join("second-factor.key");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&key).unwrap().permissions().mode() & 0o777, 0o600);
    }
    // A secret of one account opens for no other.
    assert!(test.app.second_factors.unseal(&factor::owner_of(test.vet), &kept).is_ok());
    assert!(test.app.second_factors.unseal(&factor::owner_of(test.desk), &kept).is_err());
}

#[tokio::test]
async fn what_cannot_be_taken_back_asks_for_a_fresh_code() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    assert!(!owner.get("/practice/export").await.has("#factor"), "without a second factor nothing is asked");
    let device = enrol(&test, &mut owner).await;
    let staff = format!("/practice/staff/{}", test.desk);
    let member = owner.get(&staff).await;
    let version = member.values_of("version")[0].clone();
    let changed = [("version", version.as_str()), ("name", "Dell Test"), ("role", "desk")];
    let new = [("name", "Wenna Dray"), ("role", "desk")];
    let secret = [("password", OTHER_PASSWORD), ("password_again", OTHER_PASSWORD)];
    let export = [("what", "everything"), ("password", PASSWORD)];
    let asked: [Asked<'_>; 6] = [
        ("factor", "/practice/export".into(), export.to_vec()),
        ("factor", "/practice/staff".into(), [&new[..], &secret[..]].concat()),
        ("factor", staff.clone(), changed.to_vec()),
        ("factor_password", format!("{staff}/password"), secret.to_vec()),
        ("factor_leave", format!("{staff}/leave"), vec![]),
        ("factor_return", format!("{staff}/return"), vec![]),
    ];
    let used = device.shows(test.now());
    for (field, path, fields) in &asked {
        wait(&test, 60);
        for typed in ["", used.as_str(), "000000"] {
            let refused = owner.submit(path, &[&fields[..], &[(*field, typed)]].concat()).await;
            assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{path} with “{typed}”");
            assert!(refused.has(&format!("#{field}-error")), "{path} says it beside {field}");
        }
        let good = device.shows(test.now());
        let done = owner.submit(path, &[&fields[..], &[(*field, &good)]].concat()).await;
        assert_eq!(done.status, StatusCode::SEE_OTHER, "{path}: {:?}", done.texts(".error"));
    }
    assert_eq!(audited(&test).await[0].0, "exported everything");
}

#[tokio::test]
async fn a_form_with_something_else_wrong_uses_up_no_code_and_a_double_tap_needs_none() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let device = enrol(&test, &mut owner).await;
    wait(&test, 30);
    let good = device.shows(test.now());
    let page = owner.get("/practice/export").await;
    let wrong = [("what", "contacts"), ("password", "wrong"), ("factor", good.as_str())];
    let refused = owner.fill(&page, "/practice/export", &wrong).await;
    assert!(refused.has("#password-error") && !refused.has("#factor-error"));
    let right = [("what", "contacts"), ("password", PASSWORD), ("factor", good.as_str())];
    let first = owner.fill(&page, "/practice/export", &right).await;
    let second = owner.fill(&page, "/practice/export", &right).await;
    assert_eq!(first.status, StatusCode::SEE_OTHER);
    assert_eq!((second.status, second.location()), (first.status, first.location()));
}

#[tokio::test]
async fn an_owner_is_led_to_set_one_up_can_put_it_off_for_a_week_and_is_then_held_to_it() {
    let test = TestApp::new().await;
    run(&test, "delete from second_factor_asked").await;
    let mut owner = test.stranger();
    let asked = owner.get("/sign-in?next=/horses").await;
    let led = owner.fill(&asked, "/sign-in", &[("name", "Olwen Test"), ("password", PASSWORD)]).await;
    assert_eq!(led.status, StatusCode::SEE_OTHER);
    assert_eq!(led.location(), "/me/second-factor?next=%2Fhorses");
    let page = owner.get(led.location()).await;
    assert!(page.texts(".caution")[0].contains("18 Mar 2026, 09:00"), "{:?}", page.texts(".caution"));
    assert_eq!(owner.get("/").await.status, StatusCode::OK, "everything opens meanwhile");
    assert_eq!(password(&mut test.stranger(), "Olwen Test").await.location(), PAGE, "asked until put off");
    let later = owner.fill(&page, "/me/second-factor/later", &[]).await;
    assert_eq!((later.status, later.location()), (StatusCode::SEE_OTHER, "/horses"));
    assert_eq!(password(&mut test.stranger(), "Olwen Test").await.location(), "/");
    assert_eq!(password(&mut test.stranger(), "Vala Test").await.location(), "/", "nobody else is asked");

    let week = test.now().plus_minutes(7 * 24 * 60);
    test.set_clock(week.plus_minutes(-1));
    let mut owner = test.stranger();
    assert_eq!(password(&mut owner, "Olwen Test").await.location(), "/");
    test.set_clock(week);
    for path in ["/", "/horses", "/practice/staff", "/me", CODES] {
        let page = owner.get(path).await;
        assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, PAGE), "{path}");
    }
    let held = owner.submit("/practice/staff", &[("name", "Wenna Dray")]).await;
    assert_eq!(held.status, StatusCode::UNAUTHORIZED);
    assert!(held.texts("#typed dd").concat().contains("Wenna Dray"), "what was typed is not lost");
    assert_eq!(held.attrs("a.primary", "href"), [PAGE]);
    let mut owner = test.stranger();
    let led = password(&mut owner, "Olwen Test").await;
    assert_eq!((led.status, led.location()), (StatusCode::SEE_OTHER, PAGE));
    let page = owner.get(PAGE).await;
    assert!(page.texts(".caution")[0].starts_with("Needed since 18 Mar 2026"));
    assert!(!page.has("form[action='/me/second-factor/later']"));
    enrol(&test, &mut owner).await;
    assert_eq!(owner.get("/").await.status, StatusCode::OK);
    assert!(!owner.get(PAGE).await.has("form[action='/me/second-factor/remove']"), "an owner keeps it");
    wait(&test, 30);
    let kept = owner.submit("/me/second-factor/remove", &[("current_off", PASSWORD)]).await;
    assert_eq!(kept.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn an_invented_practice_asks_nobody() {
    let test = TestApp::new().await;
    run(&test, "delete from second_factor_asked; update practice set invented = 1").await;
    let mut owner = test.stranger();
    assert_eq!(password(&mut owner, "Olwen Test").await.location(), "/");
    assert_eq!(test.count("second_factor_asked").await, 0);
    assert!(!owner.get(PAGE).await.has(".caution"));
    // Nor one that was asked before it was marked.
    run(&test, "insert into second_factor_asked (staff_id, asked_at, until_at) select id, 0, 1 from staff")
        .await;
    assert_eq!(owner.get("/").await.status, StatusCode::OK);
}

#[tokio::test]
async fn an_owner_takes_away_what_somebody_lost_and_ends_their_sessions() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    enrol(&test, &mut vet).await;
    let mut half = halfway(&test, "Vala Test").await;
    let mut owner = test.signed_in(Role::Owner).await;
    let page = owner.get(&format!("/practice/staff/{}", test.vet)).await;
    let path = format!("/practice/staff/{}/second-factor/remove", test.vet);
    let done = owner.fill(&page, &path, &[]).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    assert!(vet.get("/").await.location().starts_with("/sign-in"));
    assert_eq!(half.get("/sign-in/code").await.location(), "/sign-in");
    assert_eq!(password(&mut test.stranger(), "Vala Test").await.location(), "/");
    assert_eq!(audited(&test).await[0], ("removed a second factor".to_owned(), "Olwen Test".to_owned()));
    for table in ["second_factor", "recovery_code", "half_sign_in"] {
        assert_eq!(test.count(table).await, 0, "{table}");
    }

    let own = format!("/practice/staff/{}/second-factor/remove", test.owner);
    assert_eq!(owner.submit(&own, &[]).await.status, StatusCode::UNPROCESSABLE_ENTITY, "not their own here");
}

#[tokio::test]
async fn who_need_not_have_one_can_do_without_again() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let device = enrol(&test, &mut desk).await;
    wait(&test, 30);
    let page = desk.get(PAGE).await;
    let shown = device.shows(test.now());
    let half_right = [("current_off", "wrong"), ("factor_off", shown.as_str())];
    assert!(desk.fill(&page, "/me/second-factor/remove", &half_right).await.has("#current_off-error"));
    let right = [("current_off", PASSWORD), ("factor_off", shown.as_str())];
    assert_eq!(desk.fill(&page, "/me/second-factor/remove", &right).await.location(), PAGE);
    assert_eq!(password(&mut test.stranger(), "Dell Test").await.location(), "/");
}

#[tokio::test]
async fn an_account_without_one_signs_in_as_ever() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    enrol(&test, &mut vet).await;
    let mut desk = test.stranger();
    let page = password(&mut desk, "Dell Test").await;
    assert_eq!((page.status, page.location()), (StatusCode::SEE_OTHER, "/"));
    assert_eq!(desk.get("/").await.status, StatusCode::OK);
    assert_eq!(desk.get("/sign-in/code").await.location(), "/sign-in", "a session is no half of one");
    let mut made_up = test.stranger();
    made_up.cookie = Some(format!("sid={}", Token::new().unwrap().as_str()));
    assert_eq!(code(&mut made_up, "123456").await.location(), "/sign-in");
}
