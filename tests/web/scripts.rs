//! What a page runs: one script, with all its modules inside.

use limbledger::accounts::Role;

use crate::support::{Fixture, TestApp};

#[tokio::test]
async fn each_signed_in_page_has_one_script_that_needs_no_other() {
    let test = TestApp::new().await;
    let fixture = Fixture::new(&test).await;
    let mut vet = test.signed_in(Role::Vet).await;
    for (path, script) in [
        ("/".to_owned(), "clocks"),
        ("/follow-ups".to_owned(), "signed"),
        ("/away".to_owned(), "away"),
        (format!("/visits/{}/exam", fixture.visit), "exam"),
        (format!("/visits/{}/work-up", fixture.visit), "clocks"),
        (format!("/visits/{}/photos", fixture.visit), "photos"),
        (format!("/visits/{}/videos", fixture.visit), "videos"),
    ] {
        let scripts = vet.get(&path).await.attrs("script[type=module]", "src");
        assert_eq!(scripts.len(), 1, "{path}: {scripts:?}");
        assert!(scripts[0].ends_with(&format!("/page/{script}.js")), "{path}: {scripts:?}");
        let sent = vet.get(&scripts[0]).await;
        assert_eq!(sent.headers["cache-control"], "public, max-age=31536000, immutable");
        assert!(sent.text.contains("const $queue = "), "{path}: the queue is inside");
        let outside =
            sent.text.lines().find(|line| line.starts_with("import ") || line.starts_with("export "));
        assert_eq!(outside, None, "{path}");
    }
}

#[tokio::test]
async fn a_module_stands_once_before_those_that_take_from_it() {
    let test = TestApp::new().await;
    let sent = test.stranger().get("/static/old/page/exam.js").await.text;
    let at = |module: &str| {
        let found: Vec<usize> =
            sent.match_indices(&format!("const ${module} = (")).map(|(at, _)| at).collect();
        assert_eq!(found.len(), 1, "{module}");
        found[0]
    };
    for (module, taker) in [("store", "keys"), ("keys", "queue"), ("queue", "exam"), ("exam", "picks")] {
        assert!(at(module) < at(taker), "{module} and {taker}");
    }
    for line in [
        "const { Locked, all, append, drop, get, put, seal, unseal } = $keep;",
        "const { all: everything, keeps, within } = $store;",
    ] {
        assert!(sent.contains(line), "{line}");
    }
    assert!(
        sent.contains(
            "return { drop, get, put, append, all, Locked, sealBytes, unsealBytes, seal, unseal };"
        ),
        "what keep.js gives"
    );
}

#[tokio::test]
async fn a_module_by_itself_gives_what_it_declares() {
    let sent = TestApp::new().await.stranger().get("/static/old/keep.js").await.text;
    assert!(sent.contains("\nexport const { drop, get, put } = $store;"), "given on");
    assert!(sent.contains("\nexport async function unseal("), "its own");
}
