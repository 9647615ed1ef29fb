//! What the examination adds: evidence beside the blocks, never in a score.

use limbledger::reasoning::localise::Localised;
use serde_json::{Value, json};

use super::{block, of, reason};

fn with(findings: &[Value]) -> Localised {
    reason(json!({"limb": "LF", "blocks": [block("L4P", 15, 80)], "findings": findings}))
}

fn scores(found: &Localised) -> Vec<(&str, f64)> {
    let mut scores: Vec<_> = found.candidates.iter().map(|row| (row.structure.as_str(), row.score)).collect();
    scores.sort_by(|a, b| a.0.cmp(b.0));
    scores
}

#[test]
fn effusion_testers_and_flexion_are_shown_and_change_no_score() {
    let effusion = json!({"region": "FETL_D", "side": "L", "limb": "LF", "aspect": null, "structure": null, "finding": "EFF",
        "present": true, "grade": 2, "scale": "effusion_0_4", "value": null, "value_mm": null, "text": "LF fetlock effusion 2"});
    let tester = json!({"region": "FT_HT", "side": "L", "limb": "LF", "finding": "HTST", "present": true, "grade": 2,
        "scale": "tester_0_3", "value": "HT_TOE", "text": "toe 2"});
    let flexion = json!({"limb": "LF", "flexion": "FX_DF", "grade": 2, "hold_s": 60, "text": "flexion 2"});
    let (plain, seen) = (with(&[]), with(&[effusion, tester, flexion]));
    assert_eq!(scores(&plain), scores(&seen));
    let because = &of(&seen, "FET").because;
    assert_eq!(because.len(), 3, "{because:?}");
    assert!(
        because[1].contains("apart from the blocks") && because[1].contains("effusion"),
        "{}",
        because[1]
    );
    assert!(because[2].contains("flexion"), "{}", because[2]);
    assert!(of(&seen, "SOT").because.iter().any(|line| line.contains("supports it")));
    assert_eq!(of(&seen, "SBO").because.len(), 1);
}

#[test]
fn a_sign_of_another_limb_or_one_that_is_not_there_supports_nothing() {
    let of_limb = |limb: &str, present: bool| {
        with(&[json!({"region": "FETL_D", "limb": limb, "finding": "EFF", "present": present})])
    };
    assert_eq!(of(&of_limb("RF", true), "FET").because.len(), 1);
    assert_eq!(of(&of_limb("LF", false), "FET").because.len(), 1);
    assert_eq!(of(&of_limb("LF", true), "FET").because.len(), 2);
}

#[test]
fn testers_without_an_answer_weaken_the_sole() {
    let found =
        with(&[json!({"region": "FT_HT", "limb": "LF", "finding": "HTST", "present": false, "grade": 0})]);
    assert!(of(&found, "SOT").because.iter().any(|line| line.contains("weakens it")));
}

#[test]
fn among_equals_what_the_examination_supports_stands_first() {
    let sore = json!({"region": "FETL_P", "limb": "LF", "finding": "PAIN", "present": true});
    let place = |found: &Localised| found.candidates.iter().position(|row| row.structure == "PSB");
    assert!(place(&with(&[sore])) < place(&with(&[])));
}
