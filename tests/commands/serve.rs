//! `limbledger serve`, and wrong usage.

use crate::support::{Running, get, run, stderr};

#[test]
fn it_says_where_it_listens_and_asks_for_its_code_on_stderr() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap().to_owned();
    let mut server = Running::start(&["serve", "--listen", "127.0.0.1:0", "--data", &data]);
    let line = server.line();
    let url = line.strip_prefix("listening on ").unwrap().to_owned();
    assert!(get(&url, "/healthz").ends_with("ok"), "health answers before set-up");
    assert!(get(&url, "/horses").contains("location: /set-up"));

    let second = run(&["serve", "--listen", "127.0.0.1:0", "--data", &data]);
    assert_eq!(second.status.code(), Some(1), "one server a folder");
    assert!(stderr(&second).contains("stop it first"));

    let (code, said) = server.stop();
    assert_eq!(code, Some(0));
    let code = said.lines().find(|line| line.contains("code")).unwrap();
    assert!(code.rsplit(' ').next().unwrap().split('-').all(|group| group.len() == 4), "{code}");
}

#[test]
fn wrong_usage_is_exit_status_two() {
    for args in [
        &["gallop"][..],
        &["serve", "--listen", "nowhere"],
        &["demo", "--years", "0"],
        &["staff", "add"],
        &["staff", "add", "Somebody", "--role", "king"],
    ] {
        assert_eq!(run(args).status.code(), Some(2), "{args:?}");
    }
}
