//! Codes of radiographic projections: Smallwood et al. (1985), Vet Radiol 26:2, and DICOM PS3.16 context group 7484.

use limbledger::{
    catalogue::catalogue,
    reasoning::projection::{Part, Projection, dicom_view, profile, profiled, words},
};
use proptest::prelude::*;

fn read(code: &str) -> Projection {
    Projection::parse(code).unwrap_or_else(|error| unreachable!("{error}"))
}

/// Projections that textbooks name by region.
const USUAL: &str = "LM ML LL DV VD DPa DPl CrCd CdCr D65Pr-PaDiO D60Pr-PaDiO Pa45Pr-PaDiO D30Pr-PaDiO D20Pr-PaDiO \
    D45L-PaMO D45M-PaLO D45L-PlMO D45M-PlLO Pl45L-DMO D125Di-PaPrO D85Pr-DDiO D55Pr-DDiO D35Pr-DDiO Cr45M-CdLO \
    CrPr-CrDiO Cd60L-CrMO Cd30L-CrMO";

#[test]
fn the_codes_of_the_textbooks_are_written_as_they_were_read() {
    for code in USUAL.split_whitespace() {
        assert_eq!(read(code).code(), code);
        let flexed = format!("flexed {code}");
        assert_eq!(read(&flexed).code(), flexed);
        assert_ne!(read(&flexed), read(code));
    }
}

#[test]
fn every_abbreviation_of_the_dicom_list_is_read_and_finds_its_row_again() {
    // DICOM PS3.16, CID 7484 (20090717): 80 views.
    assert_eq!(catalogue().diagnostics.views.len(), 80);
    for row in &catalogue().diagnostics.views {
        let printed = read(&row.printed);
        assert_eq!(read(&printed.code()), printed, "{}", row.printed);
        assert!(printed.code().eq_ignore_ascii_case(&row.printed), "{}", row.printed);
        assert_eq!(dicom_view(&read(&row.code)).code.map(|found| &found.dicom), Some(&row.dicom));
        assert!(row.position.len() <= 16 && dicom_view(&printed).position == row.position, "{}", row.printed);
    }
}

#[test]
fn the_misprinted_row_of_the_standard_is_found_by_what_it_means() {
    // SNOMED CT 442597009 "Dorsal 45 degree lateral-palmaromedial oblique", printed D40L-PaMO in PS3.16; dciodvfy
    // (dicom3tools) takes D40L_PAMO and warns of D45L_PAMO.
    let view = dicom_view(&read("D45L-PaMO"));
    let row = view.code.unwrap();
    assert_eq!((row.dicom.as_str(), view.position.as_str()), ("442597009", "D40L_PAMO"));
    assert!(row.meaning.contains("45 degree"));
    assert!(dicom_view(&read("D40L-PaMO")).code.is_none(), "no row means 40 degrees there");
    assert_eq!(dicom_view(&read("D45L-PlMO")).position, "D45L_PLMO");
}

#[test]
fn a_view_without_a_row_gets_its_term_by_the_grammar() {
    for (code, term) in [
        ("CrCd", "CRCD"),
        ("LL", "LL"),
        ("D60Pr-PaDiO", "D60PR_PADIO"),
        ("Cd60L-CrMO", "CD60L_CRMO"),
        ("flexed CrPr-CrDiO", "CRPR_CRDIO"),
        ("flexed LM", "LM"),
        ("Pa45Pr45L-PaDiMO", "PA45PR45L_PADIMO"),
        // 18 letters with its angles, and the standard's term holds 16.
        ("Cd45Pr45Le-CrDiRtO", "CDPRLE_CRDIRTO"),
    ] {
        assert_eq!(dicom_view(&read(code)).position, term);
    }
}

#[test]
fn a_hindlimb_has_plantar_where_the_forelimb_has_palmar() {
    for (fore, hind) in [
        ("DPa", "DPl"),
        ("D60Pr-PaDiO", "D60Pr-PlDiO"),
        ("flexed D45L-PaMO", "flexed D45L-PlMO"),
        ("L45D50Pr-MPaDiO", "L45D50Pr-MPlDiO"),
        ("LM", "LM"),
        ("CdCr", "CdCr"),
    ] {
        assert_eq!(read(fore).hind().code(), hind);
        assert_eq!(read(hind).fore().code(), fore);
    }
}

#[test]
fn each_part_of_the_body_has_its_own_words() {
    use Part::{ForeDistal, ForeProximal, Head, HindDistal, HindProximal, Trunk};
    let fits = |code: &str, part| read(code).suits(part).is_ok();
    assert!(fits("DPa", ForeDistal) && !fits("DPa", HindDistal) && !fits("DPa", ForeProximal));
    assert!(fits("D45L-PlMO", HindDistal) && !fits("D45L-PlMO", ForeDistal));
    assert!(fits("CdCr", HindProximal) && !fits("CdCr", HindDistal) && fits("Cr45M-CdLO", ForeProximal));
    assert!(fits("LL", Trunk) && !fits("LL", ForeDistal) && !fits("LM", Trunk));
    assert!(fits("VD", Trunk) && !fits("VD", HindProximal) && fits("R20V-LDO", Trunk));
    assert!(fits("R30V-CdDO", Head) && !fits("R30V-CdDO", Trunk));
    let refused = read("DPa").suits(HindDistal).unwrap_err().to_string();
    assert!(
        refused.contains("`DPa`") && refused.contains("palmar") && refused.contains("tarsus"),
        "{refused}"
    );
}

#[test]
fn another_spelling_is_the_same_projection() {
    // British texts write Ca for Cd; the standard prints Ddi and Mpa; on the trunk R and L are sides.
    for (typed, code) in [
        ("CrCa", "CrCd"),
        ("CaCr", "CdCr"),
        ("Pa75Pr-DdiO", "Pa75Pr-DDiO"),
        ("L45D50Pr-MpaDiO", "L45D50Pr-MPaDiO"),
        ("R20V-LDO", "Rt20V-LeDO"),
        ("L20V-RDO", "Le20V-RtDO"),
        (" d60pr-padio ", "D60Pr-PaDiO"),
        ("Flexed  lm", "flexed LM"),
        ("D045L-PaMO", "D45L-PaMO"),
    ] {
        assert_eq!(read(typed).code(), code);
        assert_eq!(read(typed), read(code));
    }
    // Rostral and left do not face each other, so these stay what they are.
    assert_eq!(read("R30V-CdDO").code(), "R30V-CdDO");
}

#[test]
fn the_words_are_those_of_a_person() {
    for (code, said) in [
        ("LM", "lateromedial"),
        ("flexed LM", "flexed lateromedial"),
        ("DPa", "dorsopalmar"),
        ("CdCr", "caudocranial"),
        ("LL", "laterolateral"),
        ("LeRtL", "left to right lateral"),
        ("D60Pr-PaDiO", "dorsal 60° proximal to palmarodistal, oblique"),
        ("DL-PaMO", "dorsolateral to palmaromedial, oblique"),
        ("L45D50Pr-MPaDiO", "lateral 45° dorsal 50° proximal to mediopalmarodistal, oblique"),
        ("Rt20V-LeDO", "right 20° ventral to left dorsal, oblique"),
        ("VLe-DRtO", "ventral left to dorsal right, oblique"),
    ] {
        assert_eq!(words(&read(code)), said);
    }
}

#[test]
fn an_oblique_tells_what_it_shows_in_profile() {
    // Standard anatomy: the dorsolateral-palmaromedial oblique shows the lateral splint bone (MC4, MT4).
    assert_eq!(profiled(&read("D45L-PaMO"), "metacarpus"), Some("lateral splint bone"));
    assert_eq!(profiled(&read("D45M-PlLO"), "metacarpus"), Some("medial splint bone"));
    assert_eq!(profiled(&read("D45M-PaLO"), "pastern"), Some("dorsolateral and palmaromedial"));
    assert_eq!(profile(&read("Pl45L-DMO")).unwrap().code, "D45M-PaLO", "taken in its place at the hock");
    assert!(profile(&read("LM")).is_none());
}

#[test]
fn what_is_no_projection_is_refused_with_the_reason_and_the_place() {
    for (code, at, reason) in [
        ("", None, "neither where the beam enters"),
        ("flexed ", None, "no projection"),
        ("D45X-PaMO", Some(4), "`X` is no direction"),
        ("DPaé", Some(4), "`é`"),
        ("D", None, "where the beam leaves"),
        ("DM", None, "enters dorsal does not leave medial"),
        ("D45L", None, "an angle, which only an oblique"),
        ("D45L-PaM", Some(9), "ends in O"),
        ("D45L-PaMOO", Some(10), "after the end"),
        ("DPaO", Some(4), "hyphen"),
        ("D45-PaMO", Some(4), "`-` is no direction"),
        ("D0L-PaMO", Some(2), "1 to 90"),
        ("D91L-PaMO", Some(2), "1 to 90"),
        ("D125L-PaMO", Some(2), "1 to 90"),
        ("D94Di-PaPrO", Some(2), "1 to 90"),
        ("D999L-PaMO", Some(2), "an angle that no beam has"),
        ("D45L-Pa45MO", None, "behind the hyphen"),
        ("D45L-MO", None, "one direction"),
        ("D45Pa-LMO", None, "together with itself or its opposite"),
        ("RL-LDO", None, "together with itself or its opposite"),
        ("D45L-DPrO", None, "no side that faces"),
        ("LeRt", Some(5), "the L of lateral is missing"),
        ("DLPMO", Some(3), "`P` is no direction"),
        ("extended LM", Some(1), "`e` is no direction"),
    ] {
        let error = Projection::parse(code).unwrap_err();
        assert_eq!(error.at, at, "{error}");
        assert!(error.to_string().contains(reason), "{error}");
    }
}

proptest! {
    #[test]
    fn no_text_stops_the_reader_and_what_it_reads_it_reads_again(text in "\\PC{0,24}") {
        if let Ok(projection) = Projection::parse(&text) {
            prop_assert_eq!(Projection::parse(&projection.code()), Ok(projection));
        }
    }

    #[test]
    fn whatever_the_grammar_makes_is_read_again_as_itself_and_has_a_term(
        text in "(flexed )?(D|V|Cr|Cd|Ca|R|Le|Rt|L|M|Pr|Di|Pa|Pl|d|pa)[0-9]{0,3}(D|V|Cr|Cd|R|Le|Rt|L|M|Pr|Di|Pa|Pl)?\
                ([0-9]{0,2}(D|L|Pr))?-?(D|V|Cr|Cd|R|Le|Rt|L|M|Pr|Di|Pa|Pl){0,3}O?"
    ) {
        if let Ok(projection) = Projection::parse(&text) {
            let again = Projection::parse(&projection.code());
            prop_assert_eq!(again.as_ref(), Ok(&projection));
            let term = dicom_view(&projection).position;
            prop_assert!(!term.is_empty() && term.len() <= 16, "{}", term);
            prop_assert!(term.bytes().all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit() || byte == b'_'));
            prop_assert!(!words(&projection).is_empty());
        }
    }
}
