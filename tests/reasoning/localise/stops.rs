//! What stops blocks, and what does not count.

use serde_json::{Value, json};

use super::{block, blocks, has_caveat, next_codes, reason};

fn stopped(json: Value) -> Vec<String> {
    let found = reason(json);
    assert!(
        found.stops.is_empty() || found.next.is_empty() || found.stops[0].code == "CI_SKIN",
        "{:?}",
        found.next
    );
    found.stops.into_iter().map(|row| row.code).collect()
}

#[test]
fn a_hard_stop_leaves_no_next_block() {
    for flag in [
        "CI_FRAC",
        "CI_NWB",
        "CI_SYN@FETL_D",
        "GS_WOUND",
        "GS_UNSTABLE",
        "GS_FROG",
        "GS_PROX",
        "GN_ACUTE",
        "RF1",
    ] {
        let found = reason(json!({"limb": "LF", "flags": [flag], "blocks": [block("PDN", 8, 0)]}));
        let code = flag.split('@').next().unwrap();
        assert!(found.stops.iter().any(|row| row.code == code), "{flag}");
        assert!(found.next.is_empty(), "{flag}");
        assert!(found.imaging.iter().any(|row| row.set == "SCINT"), "{flag}");
    }
}

#[test]
fn a_limb_that_bears_no_weight_stops_by_its_grade() {
    let of =
        |scale: &str, grade: u8| stopped(json!({"limb": "LF", "lameness": {"scale": scale, "grade": grade}}));
    assert!(of("aaep_0_5", 5).contains(&"GS_SEVERE".to_owned()));
    assert!(of("uk_0_10", 8).contains(&"GS_SEVERE".to_owned()));
    assert!(of("aaep_0_5", 3).is_empty());
}

#[test]
fn ataxia_of_two_stops_blocks() {
    let of = |grade: u8| stopped(json!({"limb": "LH", "ataxia_grade": grade}));
    assert!(of(2).contains(&"CI_ATAX".to_owned()) && of(2).contains(&"GN_SIGNS".to_owned()));
    assert!(of(1).is_empty());
}

#[test]
fn crepitus_and_a_wound_at_a_joint_stop_on_this_limb_only() {
    let of = |finding: &str, limb: &str| {
        let row = json!({"region": "FETL_D", "side": "L", "limb": limb, "finding": finding, "present": true});
        stopped(json!({"limb": "LF", "findings": [row]}))
    };
    assert!(of("CREP", "LF").contains(&"GS_UNSTABLE".to_owned()));
    assert!(of("WOND", "LF").contains(&"GS_WOUND".to_owned()));
    assert!(of("WOND", "RH").is_empty());
}

#[test]
fn sore_skin_takes_away_the_blocks_that_go_through_it() {
    let found = reason(json!({"limb": "LF", "flags": ["CI_SKIN@FT_HEELB"]}));
    assert_eq!(found.stops[0].code, "CI_SKIN");
    assert!(!next_codes(&found).contains(&"PDN") && next_codes(&found).contains(&"DIPJ"));
    assert!(next_codes(&blocks("LF", &[])).contains(&"PDN"));
}

#[test]
fn too_slight_a_lameness_is_said_and_stops_nothing() {
    let found =
        reason(json!({"limb": "LF", "lameness": {"scale": "aaep_0_5", "grade": 1}, "flags": ["CI_TMPR"]}));
    assert!(has_caveat(&found, "CI_BASE") && has_caveat(&found, "CI_TMPR"));
    assert!(found.stops.is_empty() && !found.next.is_empty());
}

#[test]
fn a_block_whose_skin_was_not_numb_changes_nothing_but_is_said_and_offered_again() {
    let without = blocks("LF", &[block("L4P", 15, 10)]);
    let mut failed = block("PDN", 8, 0);
    failed["skin_numb"] = json!(false);
    let with = blocks("LF", &[failed, block("L4P", 15, 10)]);
    assert_eq!(with.candidates, without.candidates);
    assert!(has_caveat(&with, "SKIN_FAILED"));
    let mut alone = block("PDN", 8, 0);
    alone["skin_numb"] = json!(false);
    let again = blocks("LF", &[alone]);
    assert_eq!(again.next[0].block, "PDN");
    assert!(again.next[0].why.contains("did not count"), "{}", again.next[0].why);
}

#[test]
fn a_no_with_untested_skin_is_said() {
    let mut untested = block("PDN", 8, 0);
    untested["skin_numb"] = json!(null);
    assert!(has_caveat(&blocks("LF", &[untested]), "SKIN_UNTESTED"));
}

#[test]
fn a_stop_that_somebody_went_on_over_with_a_reason_lets_blocks_be_suggested_again() {
    let lame = json!({"scale": "aaep_0_5", "grade": 5});
    let held = reason(json!({"limb": "LF", "lameness": lame, "flags": ["CI_FRAC"]}));
    assert!(!held.stops.is_empty() && held.next.is_empty());
    let passed = reason(json!({"limb": "LF", "lameness": lame, "flags": ["CI_FRAC"],
                               "passed": ["CI_FRAC", "CI_NWB", "GS_SEVERE"]}));
    assert!(passed.stops.is_empty() && next_codes(&passed).len() >= 3, "{:?}", passed.stops);
    let one = reason(json!({"limb": "LF", "lameness": lame, "passed": ["CI_NWB"]}));
    assert!(!one.stops.is_empty(), "each goes by its own reason");
}

#[test]
fn a_wound_at_the_needle_takes_away_that_block_as_sore_skin_does() {
    let wound = json!([{"region": "FT_CART", "side": "L", "limb": "LF", "finding": "WOND", "present": true}]);
    let found = reason(json!({"limb": "LF", "findings": wound}));
    assert_eq!(found.stops[0].code, "CI_SKIN");
    assert!(found.stops[0].text.contains("cartilage"), "{}", found.stops[0].text);
    assert!(!next_codes(&found).contains(&"PDN") && next_codes(&found).contains(&"DIPJ"));
    let elsewhere = json!({"limb": "RF", "findings": wound});
    assert!(next_codes(&reason(elsewhere)).contains(&"PDN"));
}
