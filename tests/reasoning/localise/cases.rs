//! Whole work-ups by hand, each from the published field of its blocks.

use serde_json::json;

use super::{block, blocks, has_caveat, of, reason, standing};

/// Schumacher et al., Equine Vet Educ (2013): a palmar digital block takes the whole foot but for the dorsal wall.
#[test]
fn a_palmar_digital_block_that_helps_leaves_the_foot() {
    let found = blocks("LF", &[block("PDN", 8, 90)]);
    for structure in ["NAV", "NBU", "DIP", "SOT", "SOH", "HBU", "P3", "DDF", "CLD"] {
        assert_eq!(standing(&found, structure), "candidate", "{structure}");
    }
    for structure in ["FET", "DFS", "SOR", "MCJ", "ELB", "SHO"] {
        assert_eq!(standing(&found, structure), "excluded", "{structure}");
    }
    assert_eq!(standing(&found, "PIP"), "unlikely");
    // The middle pastern bone may be numb in part.
    assert_eq!(found.field, ["foot", "pastern"]);
    assert_eq!(found.imaging.first().map(|row| row.set.as_str()), Some("RX_FOOT"));
    let place = |set: &str| found.imaging.iter().position(|row| row.set == set);
    assert!(place("MRI") > place("RX_FOOT"), "after plain pictures gave no answer");
    assert!(!found.several_sources && found.stops.is_empty());
}

/// Seabaugh et al., JAVMA (2011) and the usual ladder: no to the foot and pastern, yes to the low four points.
#[test]
fn a_low_four_point_block_after_two_negatives_leaves_the_fetlock() {
    let found = blocks("RF", &[block("PDN", 8, 0), block("ASN", 10, 10), block("L4P", 15, 85)]);
    assert_eq!(standing(&found, "FET"), "possible");
    assert_eq!(standing(&found, "FSB"), "candidate");
    assert_eq!(standing(&found, "NAV"), "excluded");
    assert_eq!(standing(&found, "SOR"), "excluded");
    assert!(
        found.candidates[..6].iter().all(|row| {
            ["FSB", "FET", "PSB", "DFS", "ANN", "SBR", "P1P"].contains(&row.structure.as_str())
        })
    );
    assert!(found.field.contains(&"fetlock".to_owned()) && !found.field.contains(&"foot".to_owned()));
    assert_eq!(found.imaging[0].set, "RX_FETL");
    assert!(has_caveat(&found, "O16"), "contrast in the fetlock joint in 8 of 18");
}

/// The written example: lateral palmar positive 80 % at 15 min, low four points negative.
#[test]
fn a_lateral_palmar_block_after_a_negative_low_block_leaves_the_suspensory_origin() {
    let found = blocks("LF", &[block("L4P", 10, 0), block("LPN", 15, 80)]);
    assert_eq!(found.candidates[0].structure, "SOR");
    assert_eq!(standing(&found, "PMC"), "candidate");
    assert_eq!(standing(&found, "NAV"), "excluded");
    let because = &of(&found, "SOR").because;
    assert_eq!(because.len(), 2);
    assert!(because[0].contains("L4P") && because[0].contains("leaves it standing"), "{}", because[0]);
    assert!(because[1].contains("80 % better at 15 min") && because[1].contains("fits"), "{}", because[1]);
    assert!(has_caveat(&found, "O15"), "the carpus stays possible");
    assert!(found.not_separable.contains(&vec!["SOR".to_owned(), "MCJ".to_owned()]));
}

/// Gerdes et al., Front Vet Sci (2022): contrast from the joint in both heads of the suspensory in 8 of 8.
#[test]
fn a_middle_carpal_block_does_not_settle_joint_against_suspensory() {
    let found = blocks("LF", &[block("L4P", 10, 0), block("MCJ", 10, 90)]);
    assert_eq!(standing(&found, "MCJ"), "candidate");
    assert_eq!(standing(&found, "SOR"), "candidate");
    assert!(found.not_separable.contains(&vec!["SOR".to_owned(), "MCJ".to_owned()]));
    let after_lpn = blocks("LF", &[block("L4P", 10, 0), block("LPN", 10, 0), block("MCJ", 10, 90)]);
    assert_eq!(standing(&after_lpn, "SOR"), "excluded");
    assert!(!after_lpn.not_separable.iter().any(|group| group.contains(&"SOR".to_owned())));
}

/// Dyson and Romero, Equine Vet J (1993): suspensory origin and tarsometatarsal joint relieve each other.
#[test]
fn a_tarsometatarsal_block_leaves_distal_hock_and_suspensory_together() {
    let found = blocks("LH", &[block("ASH", 10, 0), block("L6H", 10, 0), block("TMTJ", 15, 75)]);
    assert_eq!(found.candidates[0].structure, "TMT");
    assert_eq!(standing(&found, "DIT"), "candidate");
    assert_eq!(standing(&found, "SOR"), "candidate");
    assert!(found.not_separable.contains(&vec!["SOR".to_owned(), "TMT".to_owned()]));
    assert!(found.imaging.iter().any(|row| row.set == "RX_TARS"));
    let separated = blocks("LH", &[block("L6H", 10, 0), block("DBL", 15, 0), block("TMTJ", 15, 75)]);
    assert_eq!(standing(&separated, "SOR"), "excluded");
}

#[test]
fn a_tibial_and_peroneal_block_without_an_answer_leaves_stifle_and_above_and_asks_for_the_nerves() {
    let found = blocks("RH", &[block("L6H", 15, 0), block("TPB", 40, 0)]);
    for structure in ["MFT", "FPJ", "HIP", "SIR"] {
        assert_eq!(standing(&found, structure), "candidate", "{structure}");
    }
    assert_eq!(standing(&found, "TCJ"), "excluded");
    assert!(has_caveat(&found, "GN_UNBLOCKED"));
    let sets: Vec<&str> = found.imaging.iter().map(|row| row.set.as_str()).collect();
    assert_eq!(sets, ["SCINT", "RX_NECK"]);
}

#[test]
fn without_a_block_nothing_is_localised() {
    let found = blocks("LF", &[]);
    assert!(found.candidates.iter().all(|row| row.standing == "candidate" && row.because.is_empty()));
    assert!(found.field.is_empty() && found.imaging.is_empty() && found.not_separable.is_empty());
    assert!(found.candidates.iter().all(|row| row.structure != "DCB"), "a check site is no source");
}

#[test]
fn several_answers_in_part_suggest_several_sources() {
    let found = blocks("LF", &[block("PDN", 8, 55), block("L4P", 12, 60)]);
    assert!(found.several_sources && has_caveat(&found, "SEVERAL"));
    let nothing_fits = blocks("LF", &[block("MCJ", 10, 90), block("MUM", 30, 0)]);
    assert!(nothing_fits.several_sources);
    assert!(!blocks("LF", &[block("PDN", 8, 55)]).several_sources);
}

#[test]
fn a_partial_answer_weighs_less_than_a_full_one() {
    let full = blocks("LF", &[block("PDN", 8, 90)]);
    let partial = blocks("LF", &[block("PDN", 8, 60)]);
    let equivocal = blocks("LF", &[block("PDN", 8, 40)]);
    let of = |found| of(found, "FET").score;
    assert!(of(&full) < of(&partial) && of(&partial) < of(&equivocal));
    assert_eq!(standing(&equivocal, "FET"), "possible");
}

#[test]
fn a_block_on_top_of_one_that_still_holds_keeps_the_earlier_field() {
    let on_top = |clean: bool| {
        let mut second = block("MCPJ", 10, 80);
        second["clean_baseline"] = json!(clean);
        blocks("LF", &[block("PDN", 8, 75), second])
    };
    assert_eq!(standing(&on_top(false), "NAV"), "candidate");
    assert_eq!(standing(&on_top(true), "NAV"), "excluded");
}

#[test]
fn a_no_while_an_earlier_yes_still_holds_excludes_nothing() {
    let mut second = block("DIPJ", 10, 0);
    second["clean_baseline"] = json!(null);
    second["injected_at"] = json!("10:30");
    let mut first = block("PDN", 8, 90);
    first["injected_at"] = json!("10:00");
    let found = blocks("LF", &[first.clone(), second.clone()]);
    assert_eq!(standing(&found, "DIP"), "candidate");
    assert!(has_caveat(&found, "NOT_CLEAN"));
    // Lameness is back 366 min after mepivacaine (Vet Surg (2017)).
    second["injected_at"] = json!("16:30");
    assert_eq!(standing(&blocks("LF", &[first, second]), "DIP"), "excluded");
}

#[test]
fn blocks_are_put_in_the_order_of_their_times() {
    let mut first = block("PDN", 8, 75);
    let mut second = block("MCPJ", 10, 80);
    first["injected_at"] = json!("2026-03-02T10:00:00Z");
    second["injected_at"] = json!("2026-03-02T11:00:00+01:00");
    second["clean_baseline"] = json!(false);
    assert_eq!(blocks("LF", &[second.clone(), first.clone()]), blocks("LF", &[second, first]));
}

#[test]
fn lameness_that_moves_to_the_other_limb_is_a_yes_and_opens_that_limb() {
    let found = reason(json!({"limb": "LF", "blocks": [
        {"block": "PDN", "read": [{"minutes": 8, "switched_to": "RF"}], "skin_numb": true}]}));
    assert_eq!(standing(&found, "NAV"), "candidate");
    assert_eq!(standing(&found, "FET"), "excluded");
    let caveat = found.caveats.iter().find(|row| row.code == "SWITCHED").expect("a caveat");
    assert!(caveat.text.contains("right fore") && caveat.text.contains("PDN"), "{}", caveat.text);
}

#[test]
fn worse_after_a_block_says_nothing_of_the_place() {
    let found = blocks("LF", &[block("PDN", 8, -40)]);
    assert!(found.candidates.iter().all(|row| row.because.is_empty()));
    assert!(has_caveat(&found, "WORSE"));
}

#[test]
fn a_no_before_the_block_can_work_is_none() {
    let found = blocks("LF", &[block("DFTS", 5, 0)]);
    assert_eq!(standing(&found, "DFS"), "candidate");
    assert!(has_caveat(&found, "TOO_EARLY"));
}

#[test]
fn a_hind_fetlock_block_may_go_by_the_name_of_the_fore() {
    assert_eq!(blocks("LH", &[block("MCPJ", 10, 80)]), blocks("LH", &[block("MTPJ", 10, 80)]));
}
