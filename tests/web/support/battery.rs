//! Every field of a form meets every kind of bad input, and nothing is lost, broken or let through.

use axum::http::StatusCode;

use super::{Browser, Page};

/// What a form may be sent by accident, by a paste or by somebody who means harm.
pub const BAD_INPUTS: [(&str, &str); 8] = [
    ("empty", ""),
    ("control characters", "before\u{0}\u{7}\u{1b}after"),
    ("markup", "<img src=x onerror=alert(1)></textarea><script>alert('x')</script>\"'>"),
    ("emoji and right-to-left text", "🐴 مهرة\u{202e}gnirpS\u{202c} סוס"),
    ("an impossible date", "31 Feb 2026"),
    ("an impossible month", "2026-13-01"),
    ("an operator", "\" OR 1=1; drop table horse; --"),
    ("an absurd number", "-99999999999999999999"),
];

/// Of every page: markup that came out of these inputs as markup.
pub const LET_THROUGH: [&str; 2] = ["<img src=x", "<script>alert("];

/// Opens `page`, fills its form with action `action` from `good`, and sends it once for each text field and each
/// kind of bad input. The answer is 422 with all that was typed still there, or a success; never a failure of the
/// server, never markup that came through. Where a field may hold what it was given, the page that the form leads
/// to must show it as text.
///
/// Give `good` fields that may be stored again and again: rows that must be unique want a form of their own.
pub async fn battery(browser: &mut Browser, page: &str, action: &str, good: &[(&str, &str)]) {
    let form = browser.get(page).await;
    assert_eq!(form.status, StatusCode::OK, "{page} did not open");
    let fields = form.text_fields(action);
    assert!(!fields.is_empty(), "{action} has no text field");
    let long = "Ħ".repeat(10_000);
    for field in &fields {
        for (kind, bad) in BAD_INPUTS.iter().chain([&("10,000 characters", long.as_str())]) {
            // Opened afresh: each send has a number and a version of its own.
            let form = browser.get(page).await;
            let mut filled: Vec<(&str, &str)> =
                good.iter().filter(|(name, _)| name != field).copied().collect();
            filled.push((field, bad));
            let answer = browser.fill(&form, action, &filled).await;
            let told = format!("{action}: {field} with {kind}");
            check(browser, &answer, field, bad, &told).await;
        }
    }
}

async fn check(browser: &mut Browser, answer: &Page, field: &str, bad: &str, told: &str) {
    no_markup(answer, told);
    match answer.status {
        StatusCode::SEE_OTHER => {
            let next = browser.get(answer.location()).await;
            assert!(!next.status.is_server_error(), "{told}: the next page answered {}", next.status);
            no_markup(&next, told);
        }
        StatusCode::UNPROCESSABLE_ENTITY => {
            assert!(answer.has(".errors a, .errors li"), "{told}: nothing says what is wrong");
            let kept = answer.values_of(field);
            let typed = as_a_page_keeps_it(bad);
            assert!(
                kept.iter().any(|value| as_a_page_keeps_it(value) == typed),
                "{told}: what was typed is gone, the page has {kept:?}"
            );
        }
        other => panic!("{told}: answered {other}"),
    }
}

fn no_markup(page: &Page, told: &str) {
    for markup in LET_THROUGH {
        assert!(!page.text.contains(markup), "{told}: {markup} came through as markup");
    }
}

/// What cannot stand in HTML at all is not compared: a parser replaces it.
pub fn as_a_page_keeps_it(text: &str) -> String {
    text.chars().filter(|c| !c.is_control() && *c != '\u{fffd}').collect::<String>().trim().to_owned()
}

/// The form on `page` with action `action`, sent twice as by a double tap: both answers lead to one place.
/// How many rows there are is the caller's to count.
pub async fn twice(browser: &mut Browser, page: &str, action: &str, good: &[(&str, &str)]) {
    let form = browser.get(page).await;
    let first = browser.fill(&form, action, good).await;
    let second = browser.fill(&form, action, good).await;
    assert_eq!(first.status, StatusCode::SEE_OTHER, "{action}: {:?}", first.texts(".errors li"));
    assert_eq!((second.status, second.location()), (first.status, first.location()), "{action} sent twice");
}
