//! The pieces of the pickers: nobody's data, the same each time, and all of what can be said.

use axum::http::{StatusCode, header};
use limbledger::{accounts::Role, catalogue::catalogue};
use serde_json::Value;

use crate::support::{Fixture, Page, TestApp};

async fn picks(test: &TestApp) -> (Page, Value) {
    let page = test.stranger().get("/exam/picks").await;
    assert_eq!(page.status, StatusCode::OK);
    let read = serde_json::from_str(&page.text).unwrap();
    (page, read)
}

#[tokio::test]
async fn a_stranger_gets_every_place_and_nothing_of_any_horse() {
    let test = TestApp::new().await;
    Fixture::new(&test).await;
    test.horse("Briar").await;
    let (page, picks) = picks(&test).await;
    for region in &catalogue().regions {
        let pick = &picks["regions"][&region.code];
        assert!(pick["first"].as_array().is_some_and(|asks| !asks.is_empty()), "{}", region.code);
    }
    assert!(!page.text.contains("Briar"));
    assert!(page.headers[header::CACHE_CONTROL].to_str().unwrap().contains("immutable"));
}

#[tokio::test]
async fn the_pieces_carry_no_number_of_a_form_and_hold_each_question_once() {
    let test = TestApp::new().await;
    let (page, picks) = picks(&test).await;
    let numbers: Vec<&str> = page.text.split(r#"name=\"submission\" value="#).skip(1).collect();
    assert!(!numbers.is_empty(), "there are forms");
    assert!(numbers.iter().all(|after| after.starts_with(r#"\"\">"#)), "none has a number");
    let asks: Vec<&str> = picks["asks"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    let mut once = asks.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), asks.len());
}

#[tokio::test]
async fn the_exam_and_the_worker_name_the_pieces_by_what_is_in_them() {
    let test = TestApp::new().await;
    let visit = Fixture::new(&test).await.visit;
    let mut vet = test.signed_in(Role::Vet).await;
    let address =
        vet.get(&format!("/visits/{visit}/exam")).await.attrs("meta[name=picks]", "content").remove(0);
    assert!(address.starts_with("/exam/picks?"), "{address}");
    let worker = test.stranger().get("/worker.js").await;
    assert!(worker.text.contains(&format!("\"{address}\"")), "the worker keeps {address}");
}
