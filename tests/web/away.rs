//! Away from the practice: what a tablet takes along, and visits that began out of reach.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    ids::{HorseId, SubmissionId, VisitId},
    visits::{self, State},
};

use crate::support::{TestApp, battery, twice};

#[tokio::test]
async fn the_day_names_the_pages_of_ones_own_visits() {
    let test = TestApp::new().await;
    let other = test.another_vet("Orla Test").await;
    let (mine, theirs) = (test.horse("Briar").await, test.horse("Sorrel").await);
    let visit = test.visit(mine, test.vet, "2026-03-11", (10, 0), State::Booked).await;
    test.visit(theirs, other, "2026-03-11", (10, 0), State::Booked).await;
    test.visit(theirs, test.vet, "2026-03-12", (10, 0), State::Booked).await;
    let page = test.signed_in(Role::Vet).await.get("/away").await;
    assert_eq!(page.texts("#my-visits a.line"), ["Briar"]);
    let kept = page.attrs("[data-keep]", "data-keep");
    for url in [
        format!("/visits/{visit}"),
        format!("/visits/{visit}/exam"),
        format!("/horses/{mine}/history"),
        format!("/horses/{mine}"),
        "/away/pack".to_owned(),
        "/away/begin".to_owned(),
    ] {
        assert!(kept.contains(&url), "{url} is not among {kept:?}");
    }
}

#[tokio::test]
async fn the_list_has_every_horse_that_is_still_seen_with_its_warnings() {
    let test = TestApp::new().await;
    test.horse("Briar").await;
    let gone = test.horse("Sorrel").await;
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::query("update horse set status = 'dead', status_on = '2026-01-01' where id = ?")
        .bind(gone)
        .execute(&mut *tx)
        .await
        .unwrap();
    sqlx::query("update horse set temperament_note = 'kicks to the left' where name = 'Briar'")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let page = test.signed_in(Role::Vet).await.get("/away/pack").await;
    assert_eq!(page.texts("#pack .line"), ["Briar"]);
    assert!(page.texts("#pack .open")[0].contains("kicks to the left"));
}

#[tokio::test]
async fn the_blank_exam_belongs_to_nobody_and_takes_nothing() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let exam = vet.get("/away").await.attrs("#taken", "data-blank").remove(0);
    let page = vet.get(&exam).await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.texts("h1"), ["%HORSE%"]);
    let entry = vet.submit(&format!("{exam}/entries/sweep"), &[("section", "LF")]).await;
    assert_eq!(entry.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_visit_begun_out_of_reach_keeps_its_id_and_its_time() {
    let test = TestApp::new().await;
    let (horse, visit) = (test.horse("Briar").await.to_string(), VisitId::new());
    let mut vet = test.signed_in(Role::Vet).await;
    let id = visit.to_string();
    let fields = [
        ("visit", id.as_str()),
        ("horse", &horse),
        ("words", "Stands on three legs"),
        ("seen_at", "1000000"),
        ("sent_at", "8200000"),
    ];
    let page = vet.submit("/away/visits", &fields).await;
    assert_eq!(
        (page.status, page.location()),
        (StatusCode::SEE_OTHER, format!("/visits/{id}/exam").as_str())
    );
    let made = visits::store::get(test.app.db.read(), visit).await.unwrap();
    assert_eq!((made.state, made.vet_id, made.walk_in), (State::InHand, Some(test.vet), true));
    assert_eq!(made.starts_at, test.now().plus_minutes(-120), "two hours before it was sent");
    let page = vet.get(&format!("/visits/{id}")).await;
    assert!(page.text.contains("Stands on three legs"));
    assert!(page.texts("#changes li")[0].contains("away from the practice"));
}

#[tokio::test]
async fn a_horse_that_was_not_in_the_list_becomes_one_and_the_desk_is_asked_for_its_details() {
    let test = TestApp::new().await;
    let (horse, visit) = (HorseId::new().to_string(), VisitId::new().to_string());
    let mut vet = test.signed_in(Role::Vet).await;
    let fields = [
        ("visit", visit.as_str()),
        ("new_horse", &horse),
        ("name", "Quill"),
        ("client", "Somebody, 0170"),
        ("yard", "Behind the mill"),
    ];
    for _ in 0..2 {
        // Sent under another number too: the ids say that it is the same.
        let page = vet.submit("/away/visits", &fields).await;
        assert_eq!(page.status, StatusCode::SEE_OTHER, "{:?}", page.texts(".errors li"));
    }
    assert_eq!(vet.get(&format!("/horses/{horse}")).await.texts("h1"), ["Quill"]);
    let due = test.signed_in(Role::Desk).await.get("/follow-ups").await;
    let asked: Vec<_> = due.text.matches("Complete the details of Quill").collect();
    assert_eq!(asked.len(), 1);
    assert!(due.text.contains("Client: Somebody, 0170. Yard: Behind the mill."));
    let again = VisitId::new().to_string();
    let second = [("visit", again.as_str()), ("horse", &horse)];
    assert_eq!(vet.submit("/away/visits", &second).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn one_visit_is_of_one_horse() {
    let test = TestApp::new().await;
    let (one, other) = (test.horse("Briar").await.to_string(), test.horse("Sorrel").await.to_string());
    let visit = VisitId::new().to_string();
    let mut vet = test.signed_in(Role::Vet).await;
    let send = |horse| [("visit", visit.as_str()), ("horse", horse)];
    assert_eq!(vet.submit("/away/visits", &send(&one)).await.status, StatusCode::SEE_OTHER);
    assert_eq!(vet.submit("/away/visits", &send(&other)).await.status, StatusCode::BAD_REQUEST);
    let unknown = HorseId::new().to_string();
    let fields = [("submission", &*SubmissionId::new().to_string()), ("horse", &unknown)];
    assert_eq!(vet.post("/away/visits", &fields).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_form_for_an_unknown_horse_keeps_what_was_typed() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let page = vet.submit("/away/visits", &[("client", "Somebody"), ("words", "Lame")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.texts("#name-error"), ["Enter what the horse is called."]);
    assert_eq!(page.values_of("client"), ["Somebody"]);
    let good = [("name", "Quill"), ("client", "Somebody"), ("yard", "Mill"), ("words", "Lame")];
    battery(&mut vet, "/away/begin", "/away/visits", &good).await;
    twice(&mut vet, "/away/begin", "/away/visits", &good).await;
}

#[tokio::test]
async fn the_worker_stands_at_the_root_and_names_the_files_of_its_revision() {
    let test = TestApp::new().await;
    let mut stranger = test.stranger();
    let page = stranger.get("/worker.js").await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.headers["content-type"], "text/javascript; charset=utf-8");
    assert_eq!(page.headers["cache-control"], "no-cache");
    assert!(!page.text.contains("import "), "all that it needs is inside");
    let file = page.text.split('"').find(|word| word.ends_with("/page/exam.js")).unwrap().to_owned();
    assert_eq!(stranger.get(&file).await.headers["cache-control"], "public, max-age=31536000, immutable");
    assert!(!stranger.get("/away/missing").await.has("meta[name=account]"));
}
