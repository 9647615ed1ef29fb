//! Clients and yards: entered, found, changed, and what bad input does to them.

use axum::http::StatusCode;
use limbledger::accounts::Role;

use crate::support::{TestApp, battery, twice};

const MARSH: [(&str, &str); 7] = [
    ("name", "Anna Marsh"),
    ("kind", "person"),
    ("email", "anna@marsh.test"),
    ("phone_number", "0555 01 42"),
    ("phone_label", "mobile"),
    ("address_lines", "Mill Lane 3\nUpper Vale"),
    ("address_label", "home"),
];

#[tokio::test]
async fn a_client_is_entered_with_phones_and_addresses_and_shows_them() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let form = desk.get("/clients/new").await;
    let two = [&MARSH[..], &[("phone_number", "+49 171 555"), ("phone_label", "yard")]].concat();
    let answer = desk.fill(&form, "/clients", &two).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
    let page = desk.get(answer.location()).await;
    assert_eq!(page.texts("h1"), ["Anna Marsh"]);
    assert_eq!(page.texts("a[href^='tel:']"), ["0555 01 42", "+49 171 555"]);
    assert_eq!(page.attrs("a[href^='tel:']", "href"), ["tel:05550142", "tel:+49171555"]);
    assert!(page.texts("dd").iter().any(|line| line == "Mill Lane 3Upper Vale"), "{:?}", page.texts("dd"));
    let list = desk.get("/clients").await;
    assert!(list.texts(".lines a").contains(&"Anna Marsh".to_owned()));
}

#[tokio::test]
async fn the_edit_form_has_every_row_and_an_empty_one_and_a_cleared_row_is_gone() {
    let test = TestApp::new().await;
    let id = test.client("Anna Marsh", "0555 01 42").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let form = desk.get(&format!("/clients/{id}/edit")).await;
    assert_eq!(form.values_of("phone_number"), ["0555 01 42", ""]);
    let action = format!("/clients/{id}");
    let answer = desk.fill(&form, &action, &[("phone_number", ""), ("phone_label", "")]).await;
    assert_eq!(answer.location(), action);
    assert_eq!(test.count("client_phone").await, 0);
}

#[tokio::test]
async fn a_label_without_its_number_says_so_beside_the_row() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    let answer = desk.submit("/clients", &[("name", "A"), ("kind", "person"), ("phone_label", "yard")]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.has("#phone_number-0-error"));
    assert_eq!(answer.attrs(".errors a", "href"), ["#phone_number-0"]);
    assert_eq!(answer.values_of("phone_label")[0], "yard");
}

#[tokio::test]
async fn every_field_of_a_client_takes_bad_input() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    battery(&mut desk, "/clients/new", "/clients", &MARSH).await;
    let id = test.client("Anna Marsh", "0555 01 42").await;
    battery(&mut desk, &format!("/clients/{id}/edit"), &format!("/clients/{id}"), &MARSH).await;
}

#[tokio::test]
async fn a_double_tap_enters_one_client() {
    let test = TestApp::new().await;
    let mut desk = test.signed_in(Role::Desk).await;
    twice(&mut desk, "/clients/new", "/clients", &MARSH).await;
    assert_eq!((test.count("client").await, test.count("client_phone").await), (1, 1));
}

#[tokio::test]
async fn two_who_edit_one_client_lose_nothing() {
    let test = TestApp::new().await;
    let id = test.client("Anna Marsh", "0555 01 42").await;
    let (edit, action) = (format!("/clients/{id}/edit"), format!("/clients/{id}"));
    let mut desk = test.signed_in(Role::Desk).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let (first, second) = (desk.get(&edit).await, vet.get(&edit).await);
    desk.fill(&first, &action, &[("phone_number", "0555 77 77")]).await;
    let clash = vet.fill(&second, &action, &[("name", "Anna Marsh-Reed")]).await;
    assert_eq!(clash.status, StatusCode::CONFLICT);
    let cells = clash.texts("td");
    for side in ["Anna Marsh-Reed", "Anna Marsh", "0555 01 42 mobile", "0555 77 77 mobile"] {
        assert!(cells.contains(&side.to_owned()), "{side} is missing in {cells:?}");
    }
    let kept = desk.get(&action).await;
    assert_eq!(kept.texts("h1"), ["Anna Marsh"], "the second did not write over the first");
}

#[tokio::test]
async fn a_yard_takes_both_degrees_or_neither_and_shows_its_horses() {
    let test = TestApp::new().await;
    let owner = test.client("Anna Marsh", "0555 01 42").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let form = desk.get(&format!("/yards/new?client={owner}")).await;
    let one = desk.fill(&form, "/yards", &[("name", "Ashford Yard"), ("lat", "47.5")]).await;
    assert_eq!(one.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(one.has("#lon-error"));
    let far = desk.fill(&form, "/yards", &[("name", "Ashford Yard"), ("lat", "91"), ("lon", "11")]).await;
    assert!(far.has("#lat-error"));
    let good =
        desk.fill(&form, "/yards", &[("name", "Ashford Yard"), ("lat", "47,5"), ("lon", "-11.25")]).await;
    let yard = good.location().to_owned();
    let page = desk.get(&yard).await;
    assert_eq!(page.texts("a[href^='geo:']"), ["47.5, -11.25"]);
    assert!(page.has(&format!("a[href='/clients/{owner}']")));
    let id = yard.trim_start_matches("/yards/");
    desk.submit("/horses", &[("name", "Briar"), ("sex", "female"), ("yard", id)]).await;
    assert!(desk.get(&yard).await.texts(".lines a").contains(&"Briar".to_owned()));
}

#[tokio::test]
async fn every_field_of_a_yard_takes_bad_input() {
    let test = TestApp::new().await;
    test.client("Anna Marsh", "0555 01 42").await;
    let mut desk = test.signed_in(Role::Desk).await;
    let good = [("name", "Ashford Yard"), ("client", "Anna Marsh"), ("lat", "47.5"), ("lon", "11.25")];
    battery(&mut desk, "/yards/new", "/yards", &good).await;
}

#[tokio::test]
async fn who_is_not_signed_in_sees_no_client() {
    let test = TestApp::new().await;
    let id = test.client("Anna Marsh", "0555 01 42").await;
    let mut stranger = test.stranger();
    for path in ["/clients".to_owned(), format!("/clients/{id}"), "/yards".into(), "/search?q=anna".into()] {
        let answer = stranger.get(&path).await;
        assert!(answer.location().starts_with("/sign-in"), "{path}");
        assert!(!answer.text.contains("Anna"));
    }
    let answer = stranger.submit("/clients", &MARSH).await;
    assert_eq!(answer.status, StatusCode::UNAUTHORIZED);
    assert_eq!(answer.attrs("a.primary", "href"), ["/sign-in"]);
    assert_eq!(test.count("client").await, 1);
}
