//! Bringing clients and horses in: looked at first, entered whole, told row by row, taken back.

use axum::http::StatusCode;
use limbledger::{accounts::Role, visits::State};

use crate::support::{
    Browser, TestApp,
    imports::{import, read_rows, upload},
};

/// Five rows: a client who is here by phone, one who is here by name, two horses of one new client, one torn row.
const TABLE: &str = "Owner;Phone;Horse;Sex;Chip;Yard\n\
    Anna Marsh;0555 01 42;Briar;mare;;Hill Yard\n\
    Ben Ode;;Tansy;mare;;\n\
    Corra Vale;0777 31 31;Plover;gelding;276098100000012;Hill Yard\n\
    Corra Vale;0777 31 31;Dunlin;unicorn;;\n\
    corra vale;0777-3131;Ruff;stallion;;Hill Yard\n\
    Short row;1\n";

#[tokio::test]
async fn a_table_comes_in_whole_and_goes_back_while_nothing_hangs_on_it() {
    let test = TestApp::new().await;
    let anna = test.client("Anna Marsh", "0555 01 42").await;
    test.client("Ben Ode", "0888 2").await;
    let mut owner = test.signed_in(Role::Owner).await;
    let import = import(&mut owner, TABLE).await;
    let page = owner.get(&import).await;
    assert!(page.text.contains("divided by semicolons"), "what is odd about the file is said");
    read_rows(&mut owner, &import).await;

    // The doubtful row is asked about; what is certain and what is wrong is not.
    let page = owner.get(&import).await;
    assert_eq!(page.texts("main [aria-current=true]"), ["to be decided 1"]);
    assert!(page.texts(".lines .open").iter().any(|words| words.contains("called the same as Ben Ode")));
    let run = format!("{import}/run");
    let early = owner.fill(&page, &run, &[]).await;
    assert_eq!(early.status, StatusCode::UNPROCESSABLE_ENTITY, "nothing is guessed");
    let wrong = owner.get(&format!("{import}?show=wrong")).await.texts(".lines .open");
    assert_eq!(wrong.len(), 2, "{wrong:?}");
    assert!(wrong[0].contains("Column 4 (Sex): “unicorn” is no sex that is known here."), "{wrong:?}");
    assert!(wrong[1].contains("4 cells are missing: the row ends before column 3 (Horse)."), "{wrong:?}");
    assert_eq!((test.count("horse").await, test.count("client").await), (0, 2), "nothing is entered yet");

    let answer = owner.fill(&page, &format!("{import}/decide"), &[("likely", "ask"), ("row-2", "new")]).await;
    assert_eq!(answer.location(), import);
    let page = owner.get(&import).await;
    assert_eq!(owner.fill(&page, &run, &[]).await.location(), import);
    let page = owner.get(&import).await;
    assert!(page.text.contains("<b>4</b> rows entered"), "{:?}", page.texts("main p"));
    // Anna is here; Ben is new; Corra's two rows are one client with two horses at one yard.
    let counts = (test.count("client").await, test.count("horse").await, test.count("yard").await);
    assert_eq!((counts, test.count("party").await), ((4, 4, 1), 4));
    let hits = owner.get("/search?q=plover").await.texts("#results a");
    assert!(hits.iter().any(|hit| hit.contains("Plover") && hit.contains("Corra Vale")), "{hits:?}");
    let of_anna = owner.get(&format!("/clients/{anna}")).await;
    assert!(of_anna.texts(".lines a").contains(&"Briar".to_owned()), "{:?}", of_anna.texts(".lines a"));

    reported(&mut owner, &import).await;

    // A visit hangs on it: it stays.
    let plover: limbledger::ids::HorseId = sqlx::query_scalar("select id from horse where name = 'Plover'")
        .fetch_one(test.app.db.read())
        .await
        .unwrap();
    test.visit(plover, test.vet, "2026-03-12", (9, 0), State::Booked).await;
    let page = owner.get(&import).await;
    assert_eq!(page.texts("#undo ~ ul li"), ["visits: Plover"]);
    assert!(!page.text.contains("Take this import back"));
    let refused = owner.submit(&format!("{import}/undo"), &[("version", "5")]).await;
    assert!(refused.status.is_client_error(), "{}", refused.status);
    assert_eq!(test.count("horse").await, 4);
}

/// The rows that were not entered come back with why, ready to be put right.
async fn reported(owner: &mut Browser, import: &str) {
    let report = owner.get(&format!("{import}/report.csv?show=back")).await.text;
    let lines: Vec<&str> = report.lines().collect();
    assert_eq!(lines[0], "Owner,Phone,Horse,Sex,Chip,Yard,Import row,Import result,Import says");
    assert_eq!(lines.len(), 3, "{report}");
    assert!(lines[1].starts_with("Corra Vale,0777 31 31,Dunlin,unicorn,,,5,wrong,"), "{report}");
}

#[tokio::test]
async fn what_was_entered_goes_back_without_a_trace_but_in_the_audit() {
    let test = TestApp::new().await;
    test.client("Anna Marsh", "0555 01 42").await;
    let mut owner = test.signed_in(Role::Owner).await;
    let import = import(&mut owner, TABLE).await;
    read_rows(&mut owner, &import).await;
    let page = owner.get(&import).await;
    owner.fill(&page, &format!("{import}/run"), &[]).await;
    assert_eq!(test.count("horse").await, 4);
    let page = owner.get(&import).await;
    owner.fill(&page, &format!("{import}/undo"), &[]).await;
    let left = (test.count("client").await, test.count("client_phone").await, test.count("horse").await);
    assert_eq!((left, test.count("yard").await, test.count("party").await), ((1, 1, 0), 0, 0));
    assert_eq!(test.count("search_line").await, 1, "nothing of it is found");
    let audit = owner.get("/practice/audit").await.texts(".lines b");
    assert_eq!(audit, ["import taken back", "imported"]);
}

#[tokio::test]
async fn a_file_that_is_none_is_refused_beside_the_field() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    for (bytes, words) in [
        (&b"PK\x03\x04"[..], "a.csv: This is a workbook"),
        (&b""[..], "a.csv: The file is empty."),
        (&b"Name\n"[..], "a.csv: Row 1 has the headings"),
    ] {
        let answer = upload(&mut owner, "a.csv", bytes).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        let error = answer.texts("#file-error");
        assert!(error[0].starts_with(words), "{error:?}");
    }
    let none = upload(&mut owner, "", b"").await;
    assert_eq!(none.texts("#file-error"), ["Choose a CSV file."]);
    let large = vec![b'a'; 65 * 1024 * 1024];
    let answer = upload(&mut owner, "a.csv", &large).await;
    assert!(answer.texts("#file-error")[0].contains("larger than 64 MB"));
    assert_eq!(test.count("import").await, 0);
}
