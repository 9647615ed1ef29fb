//! The catalogue holds exactly the codes of the written reference, and refuses a broken row.

use std::collections::BTreeSet;

use limbledger::catalogue::{
    Catalogue, Files, Limb, Plausibility, Row, Scale, Table, Urgency, Where, catalogue,
};

fn expected(kind: &str) -> BTreeSet<&'static str> {
    let line =
        include_str!("data/codes.txt").lines().find_map(|line| line.strip_prefix(&format!("{kind}\t")));
    line.expect("the kind is listed").split_whitespace().collect()
}

fn codes<T: Row>(table: &Table<T>) -> BTreeSet<&str> {
    table.iter().map(Row::code).collect()
}

#[test]
fn every_kind_holds_the_codes_of_the_reference_and_no_other() {
    let known = catalogue();
    assert_eq!(codes(&known.findings), expected("finding"));
    assert_eq!(codes(&known.tester_sites), expected("tester_site"));
    assert_eq!(codes(&known.conditions), expected("condition"));
    assert_eq!(codes(&known.flexions), expected("flexion"));
    assert_eq!(codes(&known.red_flags), expected("red_flag"));
    assert_eq!(codes(&known.neuro), expected("neuro"));
    assert_eq!(codes(&known.scales), expected("scale"));
    assert_eq!(codes(&known.vitals), expected("vital"));
    assert_eq!(codes(&known.orders), expected("order"));
    let injection: BTreeSet<&str> =
        codes(&known.cautions).into_iter().filter(|code| code.starts_with("CI_")).collect();
    assert_eq!(injection, expected("injection_caution"));
}

#[test]
fn every_breed_of_the_dicom_list_is_there_under_its_plain_name() {
    // DICOM PS3.16 context group 7480 has 442 horse breeds.
    assert_eq!(catalogue().breeds.len(), 442);
    assert!(catalogue().breeds.iter().all(|breed| !breed.name.ends_with(" horse breed")));
    let found = |text: &str| -> Vec<&str> {
        catalogue().breed_search(text).iter().map(|breed| breed.name.as_str()).collect()
    };
    assert!(found("quarter amer").contains(&"American Quarter Horse"));
    assert_eq!(found("akhal").first(), Some(&"Akhal-Teke"));
    assert!(found("").is_empty() && found("zebra crossing").is_empty());
}

fn scale(code: &str) -> &'static Scale {
    catalogue().scale(code).expect("a scale of the reference")
}

#[test]
fn published_scales_carry_their_name_and_their_range() {
    for (code, author, range) in [
        ("aaep_0_5", "American Association of Equine Practitioners", (0, 5)),
        ("obel_0_4", "Obel", (0, 4)),
        ("henneke_1_9", "Henneke", (1, 9)),
        ("ataxia_0_5", "Mayhew", (0, 5)),
        ("crest_0_5", "Carter", (0, 5)),
    ] {
        assert!(scale(code).attribution.contains(author), "{code}");
        assert_eq!(scale(code).range(), range, "{code}");
    }
}

#[test]
fn the_key_of_a_scale_tells_its_range() {
    for scale in &catalogue().scales {
        let ends: Vec<u8> =
            scale.code.rsplit('_').take(2).map(|end| end.parse().expect("a number")).collect();
        assert_eq!(scale.range(), (ends[1], ends[0]), "{}", scale.code);
    }
}

#[test]
fn half_grades_are_taken_only_where_they_are_used() {
    assert!(scale("aaep_0_5").allows(2.5) && scale("henneke_1_9").allows(5.5));
    assert!(!scale("obel_0_4").allows(2.5) && !scale("effusion_0_4").allows(0.5));
    for wrong in [-0.5, 5.5, 2.25, f64::NAN, f64::INFINITY] {
        assert!(!scale("aaep_0_5").allows(wrong), "{wrong}");
    }
    assert!(!scale("henneke_1_9").allows(0.0));
}

#[test]
fn a_slip_of_the_finger_is_refused_and_an_odd_value_is_asked_about() {
    let judge = |code: &str, value: f64| catalogue().vital(code).expect("a vital sign").judge(value);
    assert_eq!(judge("temp_c", 37.8), Plausibility::Usual);
    assert_eq!(judge("temp_c", 42.0), Plausibility::Ask);
    assert_eq!(judge("temp_c", 378.0), Plausibility::Impossible);
    assert_eq!(judge("pulse_bpm", 36.0), Plausibility::Usual);
    assert_eq!(judge("bcs", 10.0), Plausibility::Impossible);
    assert_eq!(judge("weight_kg", f64::NAN), Plausibility::Impossible);
}

#[test]
fn a_horse_that_bears_no_weight_stops_flexion_and_blocks() {
    let raised = |point: Where, scale: &str, grade: f64| -> Vec<&str> {
        let cautions = catalogue().cautions_at(point).into_iter();
        cautions.filter(|row| row.is_raised_by_grade(scale, grade)).map(|row| row.code.as_str()).collect()
    };
    assert!(raised(Where::Flexion, "aaep_0_5", 5.0).contains(&"CI_NWB"));
    assert!(raised(Where::Blocks, "aaep_0_5", 5.0).contains(&"CI_NWB"));
    assert!(raised(Where::Flexion, "uk_0_10", 8.0).contains(&"GS_SEVERE"));
    assert!(raised(Where::Flexion, "aaep_0_5", 3.0).is_empty());
    assert!(raised(Where::Blocks, "aaep_0_5", 1.5).contains(&"CI_BASE"));
    let frog = catalogue().caution("GS_FROG").expect("a caution");
    assert!(frog.is_raised_by_finding("WOND", "FT_FROG") && !frog.is_raised_by_finding("WOND", "GASK"));
}

#[test]
fn a_wound_warns_near_a_joint_and_not_on_the_belly() {
    let near = catalogue().caution("GS_WOUND").expect("a caution");
    assert!(near.is_raised_by_finding("WOND", "STIF_CR") && near.is_raised_by_finding("WOND", "FT_HEELB"));
    assert!(!near.is_raised_by_finding("WOND", "ABDM") && !near.is_raised_by_finding("SCAR", "STIF_CR"));
}

#[test]
fn each_flexion_test_belongs_to_its_own_pair_of_limbs() {
    let on = |limb| catalogue().flexions.iter().filter(|test| test.suits(limb)).count();
    // The written reference, section D: seven tests for the forelimb, nine for the hindlimb, one for both.
    assert_eq!((on(Limb::LF), on(Limb::RH)), (7 + 1, 9 + 1));
}

#[test]
fn the_short_neurological_screen_is_a_part_of_the_whole() {
    let short = catalogue().neuro.iter().filter(|item| item.short).count();
    assert!((5..catalogue().neuro.len()).contains(&short));
    // The two items on which examiners agree best (Olsen et al., 2014) are always in it.
    assert!(["N16", "N17"].iter().all(|code| catalogue().neuro(code).is_some_and(|item| item.short)));
}

#[test]
fn no_weight_wobbling_bleeding_and_a_swollen_injection_want_a_vet_now() {
    // Common practice on the phone, no single source; where sources differ the more urgent holds.
    for code in ["RF1", "RF8", "RF18", "RF19"] {
        assert_eq!(catalogue().red_flag(code).map(|row| row.urgency), Some(Urgency::Now), "{code}");
    }
}

/// Loads the shipped files with one of them changed, and returns the error's text.
fn refusal(change: impl FnOnce(&mut Files)) -> String {
    let mut files = Files::shipped();
    change(&mut files);
    Catalogue::read(&files).map(|_| ()).expect_err("a broken file must be refused").to_string()
}

fn replaced(text: &str, from: &str, to: &str) -> std::borrow::Cow<'static, str> {
    assert!(text.contains(from), "{from} stands in the file");
    text.replacen(from, to, 1).into()
}

#[test]
fn the_shipped_files_load() {
    Catalogue::load().expect("the shipped files are sound");
}

#[test]
fn a_row_without_a_source_is_refused() {
    let error = refusal(|files| {
        files.flexion = replaced(&files.flexion, "source = \"from memory\"", "source = \" \"");
    });
    assert!(error.contains("flexion.toml") && error.contains("has no source"), "{error}");
    let error = refusal(|files| {
        files.horse = replaced(&files.horse, "source = \"common practice, no single source\"\n", "");
    });
    assert!(error.contains("horse.toml") && error.contains("source"), "{error}");
}

#[test]
fn a_code_that_stands_twice_or_leads_nowhere_is_refused() {
    let twice = refusal(|files| files.regions = replaced(&files.regions, "\"POLL\"", "\"HEAD_TMJ\""));
    assert!(twice.contains("HEAD_TMJ") && twice.contains("twice"), "{twice}");
    let nowhere = refusal(|files| files.regions = replaced(&files.regions, "\"SPAS\"", "\"SPAZ\""));
    assert!(nowhere.contains("SPAZ"), "{nowhere}");
    let scale = refusal(|files| files.findings = replaced(&files.findings, "effusion_0_4", "effusion_0_5"));
    assert!(scale.contains("EFF") && scale.contains("effusion_0_5"), "{scale}");
    let flag = refusal(|files| files.complaint = replaced(&files.complaint, "RF19", "RF99"));
    assert!(flag.contains("RF99"), "{flag}");
}

#[test]
fn an_unknown_member_a_wrong_tag_and_a_cut_file_are_refused() {
    let member = refusal(|files| files.scales = replaced(&files.scales, "half = ", "halve = "));
    assert!(member.contains("halve"), "{member}");
    let tag =
        refusal(|files| files.neuro = replaced(&files.neuro, "confidence = \"M\"", "confidence = \"sure\""));
    assert!(tag.contains("sure"), "{tag}");
    let cut = refusal(|files| files.triage = files.triage[..200].to_owned().into());
    assert!(cut.contains("triage.toml"), "{cut}");
    let list =
        refusal(|files| files.conditions = replaced(&files.conditions, "[[condition]]", "[[conditoin]]"));
    assert!(list.contains("conditoin"), "{list}");
}

#[test]
fn grades_that_skip_and_ranges_that_are_inside_out_are_refused() {
    let skip = refusal(|files| files.scales = replaced(&files.scales, "value = 1,", "value = 2,"));
    assert!(skip.contains("aaep_0_5"), "{skip}");
    let range = refusal(|files| files.vitals = replaced(&files.vitals, "min = 35.0", "min = 25.0"));
    assert!(range.contains("temp_c"), "{range}");
}

#[test]
fn what_stands_beside_the_blocks_names_only_what_exists() {
    let broken = |file: &str, from: &str, to: &str| {
        let mut files = Files::shipped();
        let (_, text) = files.localise.iter_mut().find(|(name, _)| *name == file).expect("a file");
        assert!(text.contains(from), "{file} has {from}");
        *text = text.replacen(from, to, 1).into();
        Catalogue::read(&files).expect_err(to).to_string()
    };
    for (file, from, to) in [
        ("differentials.tsv", "EFF@DIP_D", "EFF@NOPE"),
        ("differentials.tsv", "EFF@DIP_D", "NOPE@DIP_D"),
        ("differentials.tsv", "+NB", "+NOPE"),
        ("differentials.tsv", "EXT_DIP", "EXT_NOPE"),
        ("structures.tsv", "FT_WALL", "FT_NOPE"),
        ("needle.toml", "\"PDH\"", "\"NOPE\""),
    ] {
        let said = broken(file, from, to);
        assert!(said.contains("NOPE"), "{said}");
    }
    assert!(catalogue().localise.differentials.len() > 60);
    assert!(catalogue().localise.structures.iter().all(|row| !row.regions.is_empty()), "each can be drawn");
}

#[test]
fn ataxia_of_fore_and_hind_fits_the_patterns_that_its_grades_are_of() {
    let of = |fore: f64, hind: f64| -> Vec<&str> {
        catalogue().neuro_patterns.iter().filter(|row| row.fits(fore, hind)).map(Row::code).collect()
    };
    assert_eq!(of(1.0, 2.0), ["NP_HIND1"]);
    assert_eq!(of(2.0, 2.0), ["NP_EQUAL"]);
    assert_eq!(of(0.0, 3.0), ["NP_HINDONLY"]);
    assert_eq!(of(3.0, 1.0), ["NP_FORE"]);
    assert_eq!(of(3.0, 0.0), ["NP_FORE", "NP_FOREONLY"]);
    assert!(of(0.0, 0.0).is_empty());
}
