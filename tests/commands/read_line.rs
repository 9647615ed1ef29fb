//! `limbledger read-line`, as a script uses it.

use std::{io::Write, process::Stdio};

use super::support::{program, stdout};

/// What comes back for these bytes, one line each, and the exit status.
fn read(input: &[u8]) -> (Vec<serde_json::Value>, bool) {
    let mut child = program().arg("read-line").stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(input).unwrap();
    let output = child.wait_with_output().unwrap();
    let lines = stdout(&output).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    (lines, output.status.success())
}

#[test]
fn every_line_gives_one_object_with_every_member() {
    let (lines, success) = read(b"LF fetlock mild effusion, warm, no pain\n\nnothing that can be read\n");
    assert!(success);
    assert_eq!(lines.len(), 3);
    for line in &lines {
        let object = line.as_object().unwrap();
        let members: Vec<&str> = object.keys().map(String::as_str).collect();
        let all = [
            "line",
            "findings",
            "examined",
            "vitals",
            "gait",
            "flexion",
            "blocks",
            "unread",
            "ask",
            "withdrawn",
        ];
        assert!(all.iter().all(|member| members.contains(member)), "{members:?}");
    }
    let first = &lines[0]["findings"][0];
    assert_eq!(first["region"], "FETL_D");
    assert_eq!((&first["grade"], &first["scale"]), (&1.into(), &"effusion_0_4".into()));
    assert!(first["aspect"].is_null() && first["structure"].is_null());
    assert_eq!(lines[0]["findings"][1]["grade"], serde_json::Value::Null);
    assert_eq!(lines[0]["findings"][2]["present"], false);
    assert_eq!(lines[1]["line"], "");
    assert_eq!(lines[2]["unread"], "nothing that can be read");
}

#[test]
fn bytes_that_are_no_text_stay_unread_and_end_nothing() {
    let (lines, success) = read(b"\xff\xfe LF fetlock effusion 2\r\nlast line without an end");
    assert!(success);
    assert_eq!(lines.len(), 2);
    assert_eq!(lines[0]["findings"][0]["finding"], "EFF");
    assert!(lines[0]["unread"].as_str().unwrap().contains('\u{fffd}'));
}
