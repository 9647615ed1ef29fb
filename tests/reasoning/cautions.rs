//! Which cautions a visit raises. The rules are those of the practice's written reference, E.10, G.2, G.3 and H.3
//! (hard stops from Equine Clinical Medicine, Surgery and Reproduction, 2020; laminitis from BMC Veterinary
//! Research 17:16, 2021; the rest common practice or working rules, as each row of the data says).

use limbledger::{
    catalogue::{Limb, Pair, Severity, Where},
    reasoning::cautions::{Facts, Raise, Sign, advice, raised},
};

fn codes(facts: &Facts) -> Vec<&'static str> {
    raised(facts).iter().map(|raise| raise.code).collect()
}

fn of(signs: Vec<Sign>) -> Vec<&'static str> {
    codes(&Facts { signs, ..Facts::default() })
}

fn grade<'a>(scale: &'a str, grade: f64, gait: Option<&'a str>) -> Sign<'a> {
    Sign::Grade { scale, grade, gait, limb: Some(Limb::LF), pair: None }
}

fn ataxia(grade: f64, pair: Pair) -> Sign<'static> {
    Sign::Grade { scale: "ataxia_0_5", grade, gait: None, limb: None, pair: Some(pair) }
}

fn found<'a>(code: &'a str, region: &'a str) -> Sign<'a> {
    Sign::Finding { code, region, at: "there" }
}

#[test]
fn a_sound_horse_of_which_nothing_is_known_raises_nothing() {
    assert!(codes(&Facts::default()).is_empty());
    assert!(of(vec![grade("aaep_0_5", 0.0, Some("walk")), grade("uk_0_10", 0.0, Some("trot"))]).is_empty());
    let told = Facts {
        weight_bearing: vec!["full", "not_seen", ""],
        medicines: vec!["none", ""],
        ..Facts::default()
    };
    assert!(codes(&told).is_empty());
}

#[test]
fn no_weight_on_a_limb_is_a_hard_stop_for_flexion_and_blocks() {
    for answer in ["none", "toe"] {
        let facts = Facts { weight_bearing: vec![answer], ..Facts::default() };
        let all = raised(&facts);
        let stop = all.iter().find(|raise| raise.code == "CI_NWB").unwrap();
        assert_eq!(stop.severity, Severity::HardStop, "{answer}");
        assert!(stop.shown_at.contains(&Where::Flexion) && stop.shown_at.contains(&Where::Blocks));
        assert!(stop.because[0].starts_with("the caller says it "), "{:?}", stop.because);
    }
    let five = of(vec![grade("aaep_0_5", 5.0, Some("trot"))]);
    assert!(five.contains(&"CI_NWB") && five.contains(&"GS_SEVERE"), "{five:?}");
    assert!(!of(vec![grade("aaep_0_5", 4.5, Some("walk"))]).contains(&"GS_SEVERE"));
}

#[test]
fn eight_of_ten_stops_at_walk_only() {
    assert!(of(vec![grade("uk_0_10", 8.0, Some("walk"))]).contains(&"GS_SEVERE"));
    assert!(!of(vec![grade("uk_0_10", 7.5, Some("walk"))]).contains(&"GS_SEVERE"));
    assert!(!of(vec![grade("uk_0_10", 8.0, Some("trot"))]).contains(&"GS_SEVERE"));
}

#[test]
fn crepitus_and_instability_are_a_fracture_until_pictures_say_otherwise() {
    for sign in ["CREP", "INST"] {
        let raised = of(vec![found(sign, "CARP_D")]);
        assert!(raised.contains(&"CI_FRAC") && raised.contains(&"GS_UNSTABLE"), "{sign}: {raised:?}");
    }
}

#[test]
fn a_wound_warns_near_a_joint_and_asks_about_tetanus_anywhere() {
    let near = of(vec![found("WOND", "HOCK_TC")]);
    assert!(near.contains(&"GS_WOUND") && near.contains(&"GS_TETANUS"));
    let far = of(vec![found("WOND", "TLB_T")]);
    assert!(!far.contains(&"GS_WOUND") && far.contains(&"GS_TETANUS"));
    assert!(of(vec![found("WOND", "FT_FROG")]).contains(&"GS_FROG"));
}

#[test]
fn laminitis_of_three_is_neither_trotted_nor_circled() {
    let raise = |value| of(vec![grade("obel_0_4", value, None)]);
    assert!(raise(3.0).contains(&"GS_LAMI") && raise(3.0).contains(&"CI_LAMI"));
    assert!(!raise(2.0).contains(&"GS_LAMI") && raise(2.0).contains(&"CI_LAMI"));
    assert!(raise(0.0).is_empty());
}

#[test]
fn ataxia_asks_for_an_opinion_at_two_and_spares_the_handler_at_three() {
    let two = of(vec![ataxia(2.0, Pair::Fore)]);
    assert!(two.contains(&"GN_SIGNS") && two.contains(&"CI_ATAX") && !two.contains(&"GS_ATAXIA"), "{two:?}");
    let one = of(vec![ataxia(1.5, Pair::Hind)]);
    assert!(one.is_empty(), "{one:?}");
    assert!(of(vec![ataxia(3.0, Pair::Hind)]).contains(&"GS_ATAXIA"));
    for item in ["N16", "N17"] {
        assert_eq!(of(vec![Sign::Item { code: item }]), ["GN_SIGNS"], "{item}");
    }
    assert_eq!(of(vec![Sign::Item { code: "N6" }]), ["GN_CAUDA"]);
    assert!(of(vec![Sign::Item { code: "N13" }]).is_empty());
}

#[test]
fn ataxia_is_an_emergency_when_it_is_sudden_and_behind() {
    let acute = |onset, pair| {
        let facts = Facts { onsets: vec![onset], signs: vec![ataxia(3.0, pair)], ..Facts::default() };
        codes(&facts).contains(&"GN_ACUTE")
    };
    assert!(acute("sudden", Pair::Hind) && acute("overnight", Pair::Hind));
    assert!(!acute("gradual", Pair::Hind) && !acute("sudden", Pair::Fore));
}

#[test]
fn too_slight_a_lameness_is_judged_by_the_worst_limb() {
    let slight = of(vec![grade("aaep_0_5", 1.0, Some("trot")), grade("aaep_0_5", 0.0, Some("trot"))]);
    assert_eq!(slight, ["CI_BASE"]);
    assert!(of(vec![grade("aaep_0_5", 1.0, Some("walk")), grade("aaep_0_5", 3.0, Some("trot"))]).is_empty());
}

#[test]
fn fever_wants_bloods_first_in_an_adult() {
    let fever = |number, foal| {
        let signs = vec![Sign::Vital { code: "temp_c", number }];
        codes(&Facts { signs, foal, ..Facts::default() }).contains(&"GS_FEVER")
    };
    assert!(fever(39.4, false) && !fever(38.5, false) && !fever(39.0, true));
    assert!(of(vec![Sign::Vital { code: "pulse_bpm", number: 64.0 }]).contains(&"GS_FEVER"));
}

#[test]
fn what_is_known_of_the_horse_stands_where_hands_go_near_it() {
    let facts = Facts { temperament: vec!["KICKS_LIFT", "STALLION", "GONE"], foal: true, ..Facts::default() };
    let all = raised(&facts);
    let kicks = all.iter().find(|raise| raise.code == "KICKS_LIFT").unwrap();
    assert!(kicks.shown_at.contains(&Where::HandsOn) && kicks.shown_at.contains(&Where::Flexion));
    let codes: Vec<_> = all.iter().map(|raise| raise.code).collect();
    assert_eq!(codes, ["CI_TMPR", "CI_FOAL", "GH_RISK", "KICKS_LIFT", "STALLION"]);
}

#[test]
fn medicines_before_the_visit_spoil_the_baseline() {
    let facts = |words| Facts { medicines: vec![words], ..Facts::default() };
    assert_eq!(codes(&facts("painkiller this morning")), ["CI_DRUG"]);
    for none in ["none", "No.", " - ", ""] {
        assert!(codes(&facts(none)).is_empty(), "{none}");
    }
}

#[test]
fn the_hardest_stands_first_and_every_one_says_why() {
    let facts = Facts {
        weight_bearing: vec!["none"],
        temperament: vec!["NEEDLE"],
        medicines: vec!["a sedative"],
        signs: vec![found("CREP", "FETL_D"), grade("obel_0_4", 3.0, None), ataxia(3.0, Pair::Hind)],
        ..Facts::default()
    };
    let all = raised(&facts);
    assert!(all.is_sorted_by_key(|raise: &Raise| raise.severity));
    assert!(all.iter().all(|raise| !raise.because.is_empty() && !raise.words.is_empty()));
}

#[test]
fn standing_advice_is_there_for_every_horse() {
    let codes = |at| advice(at).iter().map(|row| row.code.as_str()).collect::<Vec<_>>();
    assert_eq!(codes(Where::Trot), ["GH_GROUND"]);
    assert_eq!(codes(Where::Neuro), ["GH_STAND"]);
}
