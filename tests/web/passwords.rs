//! What is taken for a password, and that nothing at the door tells who has one.

use std::time::{Duration, Instant};

use axum::http::StatusCode;
use limbledger::accounts::{Hasher, Role, weakness};

use crate::support::{PASSWORD, TestApp};

/// Long enough, and on the lists of whoever guesses, or made of what anybody knows of a practice.
const EASY: [&str; 22] = [
    "passwordpassword",
    "password12345678",
    "123456789012345",
    "1234567890123456",
    "qwertyuiopasdfgh",
    "aaaaaaaaaaaaaaaa",
    "abcabcabcabcabcabc",
    "iloveyouiloveyou",
    "letmeinletmeinletmein",
    "111111111111111111",
    "abcdefghijklmnop",
    "zxcvbnmasdfghjkl",
    "P@ssw0rdP@ssw0rd",
    "Vala Test Vala Test",
    "valatestvalatest",
    "testpracticetestpractice",
    "Test Practice 2026",
    "limbledgerlimbledger",
    "veterinarian2026",
    "veterinarypractice1",
    "horsehorsehorsehorse",
    "lamenesslameness1",
];

#[test]
fn what_anybody_would_try_is_no_password() {
    for easy in EASY {
        assert!(weakness(easy, &["Vala Test", "Test Practice"]).is_some(), "{easy}");
    }
    let emoji = "🐴🌾🚜🪵🧲🛖🥕🪣🧺🧹🎠🐕🐓🌧🪨🔭";
    let long = "harbour violet ".repeat(8) + "eightful";
    for good in [PASSWORD, "teal ladder under ninety clouds", emoji, &long, "ωμέγα κάστρο ένατο φως"]
    {
        assert_eq!(weakness(good, &["Vala Test", "Test Practice"]), None, "{good}");
    }
    assert!(long.chars().count() >= 128);
}

/// As it was typed: every sign counts, to the last one.
#[tokio::test]
async fn a_password_is_all_of_what_was_typed() {
    let test = TestApp::new().await;
    let mut set = test.signed_in(Role::Desk).await;
    let whole: String = "amber Fjord 7 lilac drum ".chars().cycle().take(256).collect();
    let shortest = "tq7 vexing dolm";
    assert_eq!(shortest.len(), 15);
    let mut now = PASSWORD.to_owned();
    for (password, taken) in [
        (&shortest[..14], false),
        (&*format!("{whole}x"), false),
        (&*whole, true),
        (shortest, true),
        (&*format!("{shortest} "), true),
    ] {
        let fields = [("current", now.as_str()), ("password", password), ("password_again", password)];
        let answer = set.submit("/me/password", &fields).await;
        assert_eq!(answer.status.is_redirection(), taken, "{password}: {:?}", answer.texts(".error"));
        if !taken {
            continue;
        }
        password.clone_into(&mut now);
        let enters = async |typed: &str| {
            test.set_clock(test.now().plus_minutes(2));
            let fields = [("name", "Dell Test"), ("password", typed)];
            test.stranger().post("/sign-in", &fields).await.status == StatusCode::SEE_OTHER
        };
        assert!(enters(password).await, "{password}");
        let other_case = password.replacen(|c: char| c.is_lowercase(), "T", 1);
        let last_off: String = password.chars().take(password.chars().count() - 1).collect();
        for other in [format!("{password}x"), format!(" {password}"), other_case, last_off] {
            assert!(!enters(&other).await, "{other} for {password}");
            test.app.throttle.succeeded("Dell Test");
        }
    }
}

#[tokio::test]
async fn a_kept_password_is_argon2id_at_the_cost_of_a_practice() {
    let hash = Hasher::new().unwrap().hash(PASSWORD).await.unwrap();
    // OWASP, Password Storage Cheat Sheet: at least m=47104 with one pass, or m=19456 with two.
    assert!(hash.starts_with("$argon2id$v=19$m=47104,t=1,p=1$"), "{hash}");
    let other = Hasher::new().unwrap().hash(PASSWORD).await.unwrap();
    assert_ne!(hash, other, "each has a salt of its own");
}

#[tokio::test]
async fn fields_of_passwords_hide_them_and_let_managers_fill_them_in() {
    let test = TestApp::new().await;
    let door = test.stranger().get("/sign-in").await;
    assert_eq!(door.attrs("input[name=password]", "type"), ["password"]);
    assert_eq!(door.attrs("input[name=password]", "autocomplete"), ["current-password"]);
    assert_eq!(door.attrs("input[name=name]", "autocomplete"), ["username"]);
    let me = test.signed_in(Role::Desk).await.get("/me").await;
    let own = "form[action='/me/password'] input[type=password]";
    assert_eq!(me.attrs(own, "autocomplete"), ["current-password", "new-password", "new-password"]);
    for page in [door, me] {
        assert!(!page.has("input[type=password][maxlength], input[onpaste], input[type=password][readonly]"));
        let shown = page.attrs("input[type=password]", "value");
        assert!(shown.iter().all(String::is_empty), "{shown:?}");
    }
}

#[tokio::test]
async fn nothing_at_the_door_tells_who_works_here() {
    let mut test = TestApp::new().await;
    // As costly as can be told from the rest of a sign-in.
    test.app.hasher = Hasher::with_cost(8192, 3).unwrap();
    let hash = test.app.hasher.hash(PASSWORD).await.unwrap();
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update staff set password_hash = ?").bind(hash).execute(&mut *tx).await.unwrap();
    sqlx::query("update staff set active = 0 where id = ?").bind(test.desk).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    test.router = limbledger::router(test.app.clone());
    let mut told = Vec::new();
    for name in ["Vala Test", "Dell Test", "Vila Test"] {
        let mut times = Vec::new();
        for _ in 0..3 {
            let begun = Instant::now();
            let page =
                test.stranger().post("/sign-in", &[("name", name), ("password", "not this one")]).await;
            times.push(begun.elapsed());
            told.push((page.status, page.text.replace(name, "NAME")));
        }
        times.sort();
        let least = Duration::from_millis(4);
        assert!(times[0] > least, "{name} was answered after {:?}: nothing was hashed", times[0]);
    }
    assert!(told.iter().all(|one| *one == told[0]), "who is known, gone or nobody is answered in one way");
    assert_eq!(told[0].0, StatusCode::UNPROCESSABLE_ENTITY);
}
