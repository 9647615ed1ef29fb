//! A practice copied beside its running server, looked over, damaged, and restored elsewhere.

use std::{
    fs,
    io::Write,
    path::Path,
    process::{Output, Stdio},
};

use crate::support::{Running, filled, program, run, stderr, stdout};

/// Runs the program with words on its standard input.
fn told(args: &[&str], words: &str) -> Output {
    let mut child = program()
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(words.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

fn check(data: &Path) -> Output {
    run(&["check", "--data", data.to_str().unwrap()])
}

#[test]
fn a_copy_made_beside_a_server_is_restored_whole_and_never_over_a_practice() {
    let folder = tempfile::tempdir().unwrap();
    let (data, copy, there) =
        (folder.path().join("practice"), folder.path().join("copy.zip"), folder.path().join("restored"));
    filled(&data);
    let mut server = Running::start(&["serve", "--data", data.to_str().unwrap(), "--listen", "127.0.0.1:0"]);
    assert!(server.line().starts_with("listening on"));
    let made = run(&["backup", copy.to_str().unwrap(), "--data", data.to_str().unwrap()]);
    assert!(made.status.success(), "{}", stderr(&made));
    assert!(stdout(&made).contains("found whole") && stderr(&made).contains("no recovery passphrase"));
    let whole = check(&data);
    assert!(
        whole.status.success() && stdout(&whole).contains("are as they were written"),
        "{}",
        stdout(&whole)
    );
    assert_eq!(server.stop().0, Some(0));

    let over = told(&["restore", copy.to_str().unwrap(), "--data", data.to_str().unwrap()], "\n");
    assert_eq!(over.status.code(), Some(1));
    assert!(stderr(&over).contains("holds a practice already"), "{}", stderr(&over));
    let keyless =
        told(&["restore", copy.to_str().unwrap(), "--data", there.to_str().unwrap()], "SOME-PHRASE\n");
    assert!(!keyless.status.success() && stderr(&keyless).contains("holds no keys"), "{}", stderr(&keyless));
    assert!(!there.exists(), "nothing is left of what was refused");
    let restored = told(&["restore", copy.to_str().unwrap(), "--data", there.to_str().unwrap()], "\n");
    assert!(restored.status.success(), "{}", stderr(&restored));
    assert!(stderr(&restored).contains("every tablet has to trust it anew"), "{}", stderr(&restored));
    let (before, after) = (check(&data), check(&there));
    let entries = |output: &Output| {
        stdout(output)
            .split(" rows, ")
            .nth(1)
            .and_then(|rest| rest.split(" of the record").next().map(str::to_owned))
    };
    assert!(entries(&before).is_some() && entries(&before) == entries(&after));
    assert!(there.join("record.mark").exists(), "a new high-water mark");
}

#[test]
fn damage_is_found_and_named_and_a_damaged_backup_restores_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (data, copy, there) =
        (folder.path().join("practice"), folder.path().join("copy.zip"), folder.path().join("restored"));
    filled(&data);
    let made = run(&["backup", copy.to_str().unwrap(), "--data", data.to_str().unwrap()]);
    assert!(made.status.success(), "{}", stderr(&made));
    // One letter of a name, as a failing disk turns it; wherever it stands, since a page may hold what was there before.
    let file = data.join("practice.sqlite");
    let mut bytes = fs::read(&file).unwrap();
    let name = b"Merrit Vayle";
    let places: Vec<usize> =
        (0..bytes.len() - name.len()).filter(|at| bytes[*at..].starts_with(name)).collect();
    assert!(!places.is_empty());
    for at in places {
        bytes[at] ^= 0x04;
    }
    fs::write(&file, bytes).unwrap();
    let found = check(&data);
    assert_eq!(found.status.code(), Some(1));
    assert!(
        stdout(&found).contains(" row ") && stdout(&found).contains("not as it was written"),
        "{}",
        stdout(&found)
    );
    assert!(stderr(&found).contains("restore the last good backup"));

    let mut bytes = fs::read(&copy).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&copy, bytes).unwrap();
    let refused = told(&["restore", copy.to_str().unwrap(), "--data", there.to_str().unwrap()], "\n");
    assert_eq!(refused.status.code(), Some(1));
    assert!(stderr(&refused).contains("damaged"), "{}", stderr(&refused));
    assert!(!there.exists());
}
