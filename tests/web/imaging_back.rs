//! What was decided in the tray is taken back: the picture waits again, and who decided what, and why not, is kept.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    diagnostics::{self, ItemState},
};

use crate::support::{
    TestApp,
    pictures::{Object, TRAY, order, picture_of, send_one},
};

#[tokio::test]
async fn a_match_is_taken_back_with_a_reason_though_something_was_measured_on_it() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let order = order(&test, horse, 9, &[("LM", "LF"), ("DPa", "LF")]).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let object = Object { view: "LM".into(), laterality: "L".into(), ..Object::new("1") };
    let picture = picture_of(&mut vet, &test, order, object).await;
    let marks = [("point-G1", "0,2"), ("point-G2", "2,2"), ("point-T", "1.5,1.5"), ("point-Q", "0.5,1")];
    let asked = [("what", "foot"), ("view", "LM"), ("limb", "LF"), ("scale", "none")];
    let measured = vet.submit(&format!("{picture}/measure"), &[&marks[..], &asked].concat()).await;
    assert_eq!(measured.status, StatusCode::SEE_OTHER);
    let states = || async {
        let items = diagnostics::store::items(test.app.db.read(), order).await.unwrap();
        items.into_iter().map(|item| item.state).collect::<Vec<_>>()
    };
    assert_eq!(states().await, [ItemState::Taken, ItemState::Wanted]);

    let id = picture.rsplit('/').next().unwrap();
    let back = format!("{TRAY}/{id}/back");
    assert!(vet.get(&picture).await.has(&format!("a[href='{back}']")));
    let page = vet.get(&back).await;
    assert_eq!(page.texts("#standing li").len(), 1, "what stands on it is said first");
    let none = vet.fill(&page, &back, &[]).await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(none.texts("#back_reason-error"), ["Say why it is taken back."]);
    let done = vet.fill(&page, &back, &[("back_reason", "it is the other horse")]).await;
    assert_eq!((done.status, done.location()), (StatusCode::SEE_OTHER, TRAY));
    assert_eq!(
        states().await,
        [ItemState::Wanted, ItemState::Wanted],
        "what only the picture took is wanted again"
    );
    let page = vet.get(&format!("/diagnostics/{order}")).await;
    assert!(!page.has("#pictures") && page.has("#measured li"), "what was measured stays in the record");
    assert!(
        page.text.contains("1 picture taken back from it") && page.text.contains("it is the other horse")
    );
    let waits = vet.get(&format!("{TRAY}/{id}")).await;
    let was = &waits.texts(".was")[0];
    assert!(was.starts_with("Was with L000001, taken back: it is the other horse"), "{was}");
    let again = vet.get(&back).await;
    assert_eq!(again.status, StatusCode::NOT_FOUND, "nothing is decided about it any more");
}

#[tokio::test]
async fn what_was_set_aside_together_comes_back_together_or_alone() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    for instance in ["1", "2", "3"] {
        send_one(&mut vet, &Object { study: "2.25.9".into(), ..Object::new(instance) }).await;
    }
    let path = vet.get(TRAY).await.attrs("#waiting a", "href")[0].clone();
    let page = vet.get(&path).await;
    vet.fill(&page, &format!("{path}/set-aside"), &[("reason", "of another practice")]).await;
    let tray = vet.get(TRAY).await;
    let links = tray.attrs("#aside a.button", "href");
    assert_eq!((links.len(), tray.texts("#waiting li").len()), (3, 0));
    let page = vet.get(&links[0]).await;
    assert!(page.text.contains("the 2 others too"));
    let alone = [("together", ""), ("back_reason", "this one is ours")];
    assert_eq!(vet.submit(&links[0], &alone).await.status, StatusCode::SEE_OTHER);
    let gone = vet.submit(&links[0], &alone).await;
    assert_eq!(gone.status, StatusCode::CONFLICT, "somebody was there first");
    let tray = vet.get(TRAY).await;
    assert_eq!((tray.texts("#aside li").len(), tray.texts("#waiting li").len()), (2, 1));
    let page = vet.get(&links[1]).await;
    let done = vet.fill(&page, &links[1], &[("back_reason", "all are")]).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    let tray = vet.get(TRAY).await;
    assert!(!tray.has("#aside") && tray.text.contains("3 pictures"));
    assert_eq!(test.count("dicom_taken_back").await, 3, "each decision is kept");
}
