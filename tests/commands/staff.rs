//! `limbledger staff add`

use std::{
    io::Write,
    path::Path,
    process::{Output, Stdio},
};

use limbledger::{
    accounts::{self, factor},
    clock::Clock,
    db::Db,
};

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

#[tokio::test]
async fn a_lost_device_is_taken_away_at_the_computer_and_its_sessions_end() {
    let folder = tempfile::tempdir().unwrap();
    filled(folder.path());
    let data = folder.path().to_str().unwrap();
    let now = Clock::System.now();
    let db = Db::open(folder.path(), now).await.unwrap();
    let staff = accounts::store::all(db.read()).await.unwrap();
    let owner = staff.iter().find(|one| one.role == accounts::Role::Owner).unwrap();
    let mut tx = db.write().await.unwrap();
    factor::store::propose(&mut tx, owner.id, &[0; 48], now).await.unwrap();
    factor::store::confirm(&mut tx, owner.id, 1, now).await.unwrap();
    factor::store::set_recovery(&mut tx, owner.id, &[vec![1; 32]], &[]).await.unwrap();
    let session = accounts::store::NewSession {
        id: limbledger::ids::SessionId::new(),
        token_hash: vec![2; 32],
        staff: owner.id,
        now,
        expires: now.plus_minutes(60),
        shared: false,
        agent: "",
    };
    accounts::store::begin_session(&mut tx, &session).await.unwrap();
    tx.commit().await.unwrap();
    db.close().await;

    let output = run(&["staff", "factor-off", &owner.name.to_lowercase(), "--data", data]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let db = Db::open(folder.path(), now).await.unwrap();
    assert!(factor::store::of(db.read(), owner.id).await.unwrap().is_none());
    assert_eq!(factor::store::recovery_left(db.read(), owner.id).await.unwrap(), 0);
    assert!(accounts::keeping::sessions(db.read(), owner.id, now).await.unwrap().is_empty());
    let noted = &limbledger::audit::store::list(db.read(), 0, 1).await.unwrap()[0];
    assert_eq!(noted.what, "removed a second factor");
    assert!(noted.detail.contains("computer"), "{}", noted.detail);
    db.close().await;

    for name in [owner.name.as_str(), "Nobody"] {
        let output = run(&["staff", "factor-off", name, "--data", data]);
        assert_eq!(output.status.code(), Some(1), "{name}");
        assert_eq!(stderr(&output).lines().count(), 1, "one sentence: {}", stderr(&output));
    }
}

#[test]
fn where_there_is_no_practice_nothing_is_made() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("nowhere");
    let output = run(&["staff", "add", "Somebody", "--role", "desk", "--data", data.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    assert!(!data.exists());
}
