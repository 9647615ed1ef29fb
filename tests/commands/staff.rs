//! `limbledger staff add`

use std::{
    io::Write,
    path::Path,
    process::{Output, Stdio},
};

use limbledger::{accounts, clock::Clock, db::Db};

use crate::support::{filled, program, run, stderr, stdout};

fn add(data: &Path, args: &[&str], typed: &str) -> Output {
    let mut child = program()
        .args(["staff", "add"])
        .args(args)
        .args(["--data", data.to_str().unwrap()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The program may refuse before it reads.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    child.wait_with_output().unwrap()
}

#[tokio::test]
async fn an_account_is_added_with_the_password_of_stdin_or_a_code() {
    let folder = tempfile::tempdir().unwrap();
    filled(folder.path());
    let data = folder.path();
    let typed = "lantern under the seventh gate\n";
    let output = add(data, &["Perrin Ashdown", "--role", "vet"], typed);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert_eq!(stdout(&output), "");
    let output = add(data, &["Wenna Dray", "--role", "owner", "--licensed"], "");
    let code = stdout(&output).trim().to_owned();
    assert_eq!(code.len(), 14, "{code}");

    for (args, typed) in [
        (&["perrin ashdown", "--role", "desk"][..], typed),
        (&["Somebody New", "--role", "desk"], "short\n"),
        (&["Somebody New", "--role", "desk", "--licensed"], typed),
        (&["  ", "--role", "desk"], typed),
    ] {
        let output = add(data, args, typed);
        assert_eq!(output.status.code(), Some(1), "{args:?}");
        assert_eq!(stderr(&output).lines().count(), 1, "one sentence: {}", stderr(&output));
    }

    let db = Db::open(data, Clock::System.now()).await.unwrap();
    let hasher = accounts::Hasher::new().unwrap();
    for (name, secret) in [("Perrin Ashdown", typed.trim()), ("Wenna Dray", code.as_str())] {
        let known = accounts::store::secrets_by_name(db.read(), name).await.unwrap().unwrap();
        assert!(hasher.verify(secret, Some(&known.password_hash)).await.unwrap(), "{name}");
    }
    assert_eq!(accounts::store::all(db.read()).await.unwrap().len(), 8);
}

#[test]
fn where_there_is_no_practice_nothing_is_made() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("nowhere");
    let output = run(&["staff", "add", "Somebody", "--role", "desk", "--data", data.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    assert!(!data.exists());
}
