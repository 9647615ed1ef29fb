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
fn it_says_where_equipment_can_call_and_refuses_a_name_that_is_none() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap().to_owned();
    let with = ["serve", "--listen", "127.0.0.1:0", "--data", &data, "--dicom", "127.0.0.1:0", "--ae"];
    let mut server = Running::start(&[&with[..], &["BARN 1"]].concat());
    let line = server.line();
    let url = line.strip_prefix("listening on ").expect("still the first line").to_owned();
    assert!(get(&url, "/healthz").ends_with("ok"));
    let (code, said) = server.stop();
    assert_eq!(code, Some(0));
    let heard = said.lines().find(|line| line.starts_with("DICOM: ")).unwrap();
    assert!(heard.starts_with("DICOM: listening on 127.0.0.1:") && heard.ends_with(" as BARN 1"), "{heard}");

    let refused = run(&[&with[..], &["SEVENTEEN_LETTERS"]].concat());
    assert_eq!(refused.status.code(), Some(1));
    assert!(stderr(&refused).contains("AE title"));
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
