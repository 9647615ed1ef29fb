//! Which block comes next: information, within the order of blocks.

use super::{block, blocks, next_codes, reason};
use serde_json::json;

#[test]
fn the_first_block_of_a_fore_is_the_palmar_digital_and_there_are_alternatives() {
    let found = blocks("LF", &[]);
    assert_eq!(found.next[0].block, "PDN");
    assert!(found.next.len() >= 3);
    assert!(found.next.windows(2).all(|pair| pair[0].gain >= pair[1].gain));
    for row in &found.next {
        assert!(row.why.contains("bits") && row.why.ends_with('.'), "{}", row.why);
    }
    assert!(
        next_codes(&found).iter().all(|code| ["PDN", "DIPJ", "NB"].contains(code)),
        "distal before proximal"
    );
}

#[test]
fn the_gain_is_the_entropy_taken_away() {
    // All sources of a fore stand alike. Palmar digital block by the published table, its collateral ligament figure
    // of 72 % and read at 5 min: six structures A, three U, two P, four L, the others not reached.
    let found = blocks("LF", &[]);
    let p: Vec<f64> =
        [vec![0.95; 6], vec![0.80; 3], vec![0.72; 1], vec![0.50; 2], vec![0.15; 4], vec![0.02; 24]].concat();
    let n = f64::from(u8::try_from(p.len()).unwrap());
    assert_eq!(found.candidates.len(), p.len());
    let h = |weights: &[f64]| {
        let sum: f64 = weights.iter().sum();
        weights.iter().map(|w| w / sum).map(|q| -q * q.log2()).sum::<f64>()
    };
    let yes: f64 = p.iter().sum::<f64>() / n;
    let no: Vec<f64> = p.iter().map(|p| 1.0 - p).collect();
    let gain = n.log2() - yes * h(&p) - (1.0 - yes) * h(&no);
    assert!((found.next[0].gain - gain).abs() < 0.001, "{} against {gain}", found.next[0].gain);
}

#[test]
fn a_verified_no_goes_up_one_step() {
    let after_pdn = blocks("LF", &[block("PDN", 8, 0)]);
    assert!(["PRB", "BSN"].contains(&after_pdn.next[0].block.as_str()));
    assert!(!next_codes(&after_pdn).contains(&"L4P"));
    let after_asn = blocks("LF", &[block("PDN", 8, 0), block("ASN", 8, 0)]);
    assert_eq!(after_asn.next[0].block, "L4P");
    let after_l4p = blocks("LF", &[block("PDN", 8, 0), block("ASN", 8, 0), block("L4P", 15, 0)]);
    assert!(["H2P", "LPN", "H4P"].contains(&after_l4p.next[0].block.as_str()), "{:?}", after_l4p.next);
    let foot_of_hind = blocks("RH", &[block("ASH", 8, 0)]);
    assert!(["L4H", "L6H"].contains(&foot_of_hind.next[0].block.as_str()));
}

#[test]
fn a_no_that_does_not_count_opens_nothing() {
    let mut failed = block("PDN", 8, 0);
    failed["skin_numb"] = json!(false);
    assert!(!next_codes(&blocks("LF", &[failed])).contains(&"PRB"));
}

#[test]
fn a_yes_splits_its_field_with_joints_and_never_goes_up_by_nerves() {
    let found = blocks("LF", &[block("PDN", 8, 90)]);
    assert!(["NB", "DIPJ"].contains(&found.next[0].block.as_str()));
    assert!(next_codes(&found).contains(&"NB") && next_codes(&found).contains(&"DIPJ"));
    assert!(found.next.len() >= 3);
    for code in ["PDN", "PRB", "ASN", "L4P"] {
        assert!(!next_codes(&found).contains(&code), "{code}");
    }
    assert!(found.next[0].why.contains("lameness is back"), "{}", found.next[0].why);
    let fetlock = blocks("LF", &[block("ASN", 8, 0), block("L4P", 15, 90)]);
    assert!(["MCPJ", "DFTS"].contains(&fetlock.next[0].block.as_str()), "{:?}", fetlock.next);
}

#[test]
fn after_a_middle_carpal_block_the_lateral_palmar_block_tells_joint_from_suspensory() {
    let found = blocks("LF", &[block("L4P", 15, 0), block("MCJ", 10, 90)]);
    assert!(next_codes(&found).contains(&"LPN"), "{:?}", next_codes(&found));
}

#[test]
fn a_full_fetlock_joint_lets_its_block_come_early() {
    let full =
        json!({"region": "FETL_D", "side": "L", "limb": "LF", "finding": "EFF", "present": true, "grade": 2});
    let found = reason(json!({"limb": "LF", "findings": [full]}));
    assert!(next_codes(&found).contains(&"MCPJ"));
    assert!(!next_codes(&blocks("LF", &[])).contains(&"MCPJ"));
}
