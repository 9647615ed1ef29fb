//! `limbledger localise`, as a script uses it.

use std::{io::Write, process::Stdio};

use limbledger::catalogue::catalogue;

use super::support::{program, run, stderr, stdout};

fn localise(input: &str) -> std::process::Output {
    let mut command = program();
    command.arg("localise").stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

fn refused(input: &str) -> String {
    let output = localise(input);
    assert_eq!(output.status.code(), Some(1), "{}", stdout(&output));
    assert!(stdout(&output).is_empty());
    stderr(&output)
}

#[test]
fn a_work_up_gives_one_object_with_every_member() {
    let output = localise(
        r#"{"limb": "LF", "lameness": {"scale": "aaep_0_5", "grade": 3}, "flags": ["CI_TMPR"],
            "blocks": [{"block": "PDN", "injected_at": "10:02", "read": [{"minutes": 8, "improvement_pct": 90}],
                        "skin_numb": true, "volume_ml": 1.5, "site": null, "clean_baseline": true}],
            "findings": [{"region": "FETL_D", "side": "L", "limb": "LF", "aspect": null, "structure": null,
                          "finding": "EFF", "present": true, "grade": 1, "scale": "effusion_0_4", "text": "mild"}]}"#,
    );
    assert!(output.status.success(), "{}", stderr(&output));
    assert_eq!(stdout(&output).lines().count(), 1);
    let found: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
    let mut members: Vec<&str> = found.as_object().unwrap().keys().map(String::as_str).collect();
    members.sort_unstable();
    assert_eq!(
        members,
        ["candidates", "caveats", "field", "imaging", "next", "not_separable", "several_sources", "stops"]
    );
    let first = &found["candidates"][0];
    assert_eq!(first["standing"], "candidate");
    assert!(first["score"].as_f64().unwrap() <= 1.0 && first["because"][0].is_string());
    assert!(found["next"][0]["gain"].is_number() && found["next"][0]["why"].is_string());
    assert_eq!(found["imaging"][0]["set"], "RX_FOOT");
}

#[test]
fn what_cannot_be_meant_is_refused_by_its_name() {
    for (input, name) in [
        (r#"{"limb": "LF", "blokcs": []}"#, "blokcs"),
        (r#"{"limb": "LF", "blocks": [{"block": "PDN", "volume": 2}]}"#, "volume"),
        (r#"{"limb": "LF", "findings": [{"regoin": "FETL_D"}]}"#, "regoin"),
        (r#"{"limb": "XX"}"#, "XX"),
        (r#"{"limb": "LF", "blocks": [{"block": "NOPE"}]}"#, "NOPE"),
        (r#"{"limb": "LF", "blocks": [{"block": "TMTJ"}]}"#, "TMTJ"),
        (r#"{"limb": "LF", "flags": ["CI_NONE"]}"#, "CI_NONE"),
        (r#"{"limb": "LF", "flags": ["CI_SKIN@NOWHERE"]}"#, "NOWHERE"),
        (r#"{"limb": "LF", "lameness": {"scale": "obel_0_4", "grade": 2}}"#, "obel_0_4"),
        (r#"{"limb": "LF", "lameness": {"scale": "aaep_0_5", "grade": 6}}"#, "lameness.grade"),
        (r#"{"limb": "LF", "blocks": [{"block": "PDN", "injected_at": "25:61"}]}"#, "25:61"),
        (r#"{"limb": "LF", "blocks": [{"block": "PDN", "read": [{"minutes": 8}]}]}"#, "improvement_pct"),
        (r#"{"limb": "LF", "blocks": [{"block": "PDN", "site": "above"}]}"#, "above"),
        ("", "work-up"),
    ] {
        let words = refused(input);
        assert!(words.contains(name) && words.trim_end().lines().count() == 1, "{input}: {words}");
    }
}

#[test]
fn help_gives_the_bounds_of_each_standing() {
    let help = stdout(&run(&["localise", "--help"]));
    for row in &catalogue().localise.standings {
        let line = help.lines().find(|line| line.trim_start().starts_with(row.code.as_str())).unwrap();
        assert!(line.contains(&format!("{:.2}", row.at_least)), "{line}");
    }
    assert_eq!(run(&["localise", "--nonsense"]).status.code(), Some(2));
}
