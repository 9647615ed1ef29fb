//! What can be ordered, held against the tables it was taken from.

use std::collections::BTreeSet;

use limbledger::catalogue::{
    Catalogue, Files, Limb, Place, Projection, Where, catalogue,
    diagnostics::{Diagnostics, Study, StudyKind},
};

fn ordered() -> &'static Diagnostics {
    &catalogue().diagnostics
}

fn study(code: &str) -> &'static Study {
    ordered().study(code).unwrap_or_else(|| unreachable!("{code} can be ordered"))
}

fn codes(studies: &[&'static Study]) -> Vec<&'static str> {
    studies.iter().map(|study| study.code.as_str()).collect()
}

#[test]
fn the_usual_views_of_each_region_are_those_of_the_textbooks() {
    // O'Brien (fetlock), A Practical Guide to Equine Radiography (2019, foot, hock, stifle); the rest common practice.
    for (code, items) in [
        ("foot_p3", "LM DPa D65Pr-PaDiO"),
        ("navicular", "LM D60Pr-PaDiO Pa45Pr-PaDiO"),
        ("fetlock", "LM D30Pr-PaDiO D45L-PaMO D45M-PaLO"),
        ("metacarpus", "LM DPa D45L-PaMO D45M-PaLO"),
        ("elbow", "ML CrCd"),
        ("shoulder", "ML Cr45M-CdLO"),
        ("stifle", "LM CdCr"),
        ("pelvis", "VD"),
        ("back_bodies_apj", "LL"),
    ] {
        assert_eq!(study(code).items.join(" "), items, "{code}");
    }
    assert_eq!(study("carpus").items.last().unwrap(), "flexed LM");
    assert!(study("back_bodies_apj").more.contains(&"Rt20V-LeDO".to_owned()));
}

#[test]
fn on_a_hindlimb_the_same_study_has_plantar_views_and_its_own_code_of_the_region() {
    let fetlock = study("fetlock");
    assert_eq!(fetlock.items_on(Some(Limb::RH)), ["LM", "D30Pr-PlDiO", "D45L-PlMO", "D45M-PlLO"]);
    assert_eq!(fetlock.items_on(Some(Limb::LF)), fetlock.items.as_slice());
    let region = |limb| ordered().anatomy_of(fetlock, Some(limb)).unwrap().body_part.as_deref();
    // DICOM PS3.16, Table L-2.
    assert_eq!((region(Limb::LF), region(Limb::LH)), (Some("FOREFETLOCK"), Some("HINDFETLOCK")));
    assert_eq!(study("hock").items_on(Some(Limb::LH))[1], "DPl");
    assert_eq!(study("us_tendons").items_on(Some(Limb::LH))[0], "US_SDFT");
}

#[test]
fn every_view_of_every_study_is_one_of_the_part_on_each_of_its_limbs() {
    let mut seen = 0;
    for study in ordered().of_kind(StudyKind::Radiograph) {
        let on = Limb::ALL.into_iter().filter(|limb| study.limbs.suit(*limb)).map(Some);
        let limbs: Vec<Option<Limb>> = if study.limbs.has_limb() { on.collect() } else { vec![None] };
        for limb in limbs {
            let part = study.part_on(limb).unwrap();
            for item in study.items_on(limb).into_iter().chain(study.more_on(limb)) {
                let projection = Projection::parse(&item).unwrap();
                assert!(projection.suits(part).is_ok(), "{} {item}", study.code);
                seen += 1;
            }
            assert!(ordered().anatomy_of(study, limb).is_some(), "{}", study.code);
        }
    }
    assert!(seen > 150, "{seen}");
}

#[test]
fn every_imaging_set_of_the_work_up_is_answered_and_a_set_may_need_several() {
    for set in &catalogue().localise.imaging {
        assert!(!ordered().answering(&set.code, None).is_empty(), "{}", set.code);
    }
    assert_eq!(codes(&ordered().answering("RX_FOOT", Some(Limb::LF))), ["foot_p3", "navicular"]);
    assert_eq!(ordered().answering("RX_BACK", None).len(), 4);
    assert_eq!(ordered().answering("RX_CARP", Some(Limb::LH)).len(), 0);
    assert_eq!(
        codes(&ordered().answering("SCINT", Some(Limb::LH))),
        ["scan_hind", "scan_trunk", "scan_whole"]
    );
}

#[test]
fn a_place_of_the_examination_proposes_what_is_done_there() {
    let at = |key: &str| codes(&ordered().at_place(key.parse::<Place>().unwrap()));
    assert!(at("FETL_D.L").starts_with(&["fetlock"]) && at("FETL_D.L").contains(&"synovial_sample"));
    assert!(at("NECK_MID.R").contains(&"neck_c3_c5") && !at("NECK_MID.R").contains(&"neck_c1_c3"));
    assert!(at("FT_HT.RH").contains(&"foot_p3") && at("FT_HT.RH").contains(&"navicular"));
    assert!(at("HIP.L").contains(&"pelvis"), "a part of the trunk is proposed from a place on a limb");
    assert!(at("HAMS.L").contains(&"muscle_biopsy"));
    assert!(ordered().at_region("FT_HT", Some(Limb::LH)).iter().all(|study| study.code != "carpus"));
}

#[test]
fn structures_are_scanned_in_the_zones_of_the_limb() {
    // Equine Clinical Medicine, Surgery and Reproduction, 2nd ed., p. 295: seven zones fore, nine hind.
    let zones = &ordered().zones;
    assert_eq!((zones.fore.len(), zones.hind.len(), zones.pastern.len()), (7, 9, 5));
    let tendon = ordered().item("US_SDFT").unwrap();
    assert_eq!((tendon.zones_on(Limb::LF).len(), tendon.zones_on(Limb::RH).len()), (7, 9));
    assert_eq!(ordered().item("US_SL_ORIG").unwrap().zones_on(Limb::LF), ["1A", "1B"]);
}

#[test]
fn the_suspicion_decides_the_muscle_and_the_laboratory_its_handling() {
    // University of Minnesota, neuromuscular laboratory page: motor neuron disease is looked for in the tail head.
    let motor = ordered().suspicions.get("emnd").unwrap();
    assert_eq!(motor.items, ["BX_SACRO"]);
    let protocols = ordered().protocols_of("BX_SACRO");
    assert!(protocols.len() >= 3 && protocols.iter().any(|row| row.steps.join(" ").contains("130 mL")));
}

#[test]
fn purchase_sets_hold_what_their_source_counts() {
    let german = ordered().purchase.get("ppe_de_2018").unwrap();
    let count: usize = german.parts.iter().map(|part| part.items.len() * part.limbs().len()).sum();
    assert_eq!((german.views, count), (Some(18), 18));
    let dutch = ordered().purchase.get("ppe_nl_study").unwrap();
    let hind: BTreeSet<&str> = dutch
        .parts
        .iter()
        .filter(|part| part.limbs().contains(&Limb::LH))
        .map(|part| part.study.as_str())
        .collect();
    assert_eq!(hind, BTreeSet::from(["fetlock", "hock", "stifle"]));
    assert!(ordered().purchase.get("ppe_generic").unwrap().parts.is_empty());
}

#[test]
fn what_radiates_or_pricks_carries_its_caution() {
    for study in &ordered().studies {
        let warned = |code: &str| study.cautions.iter().any(|caution| caution == code);
        match study.kind {
            StudyKind::Radiograph => assert!(warned("GH_XRAY") && warned("GO_BEAM"), "{}", study.code),
            StudyKind::BoneScan => assert!(warned("GO_SCAN") && warned("GO_RELEASE"), "{}", study.code),
            StudyKind::Synovial => assert!(warned("GO_SYN") && warned("GO_SEDATE")),
            StudyKind::Biopsy => assert!(warned("GO_BIOPSY")),
            StudyKind::Blood => assert!(warned("GO_NEEDLE")),
            StudyKind::Ultrasound | StudyKind::Other => {}
        }
    }
    assert!(catalogue().cautions_at(Where::Order).len() >= 8);
}

#[test]
fn the_parts_of_the_body_are_those_of_the_standard() {
    // DICOM PS3.16: 56 rows of context group 7483, and four of Table L-2 alone.
    let (of_table, of_group): (Vec<_>, Vec<_>) =
        ordered().anatomy.iter().partition(|row| row.is_of_table_only);
    assert_eq!((of_group.len(), of_table.len()), (56, 4));
    let stifle = ordered().anatomy.get("116010006").unwrap();
    assert_eq!((stifle.meaning.as_str(), stifle.body_part.as_deref()), ("Stiffle", Some("STIFLE")));
}

#[test]
fn a_row_that_names_what_does_not_exist_is_refused() {
    let broken = |file: &str, from: &str, to: &str| {
        let mut files = Files::shipped();
        let (_, text) = files.diagnostics.iter_mut().find(|(name, _)| *name == file).unwrap();
        assert!(text.contains(from), "{file} has {from}");
        *text = text.replacen(from, to, 1).into();
        Catalogue::read(&files).map(|_| ()).expect_err(to).to_string()
    };
    for (file, from, to, named) in [
        ("radiographs.toml", "D65Pr-PaDiO", "D65Px-PaDiO", "`P`"),
        ("radiographs.toml", "D65Pr-PaDiO", "D65Pr-PlDiO", "plantar"),
        ("radiographs.toml", "\"DPa\", \"D65", "\"CrCd\", \"D65", "cranial"),
        ("radiographs.toml", "FT_PULSE", "FT_NOPE", "FT_NOPE"),
        ("radiographs.toml", "RX_FOOT", "RX_NOPE", "RX_NOPE"),
        ("radiographs.toml", "sulci_packed", "nope", "nope"),
        ("radiographs.toml", "\"GH_XRAY\"", "\"CI_FRAC\"", "CI_FRAC"),
        ("radiographs.toml", "419176008", "419176009", "419176009"),
        ("radiographs.toml", "part = \"distal\"", "", "no part"),
        ("radiographs.toml", "anatomy_hind = \"416804009\"", "", "foot_p3"),
        ("radiographs.toml", "\"CARP_D\"", "\"HOCK_PT\"", "HOCK_PT"),
        ("ultrasound.toml", "US_SDFT", "US_NOPE", "US_NOPE"),
        ("ultrasound.toml", "US_SDFT", "CK", "another kind"),
        ("ultrasound.toml", "US_SI\"", "SCINT\"", "US_SI"),
        ("items.tsv", "1A 1B 2A 2B 3A 3B 3C", "1A 9Z", "9Z"),
        ("items.tsv", "\tbone\t", "\tlate\t", "late"),
        ("biopsy.toml", "BX_SEMIM", "BX_NOPE", "BX_NOPE"),
        ("purchase.toml", "Cd30L-CrMO", "Cd31L-CrMO", "stifle"),
        ("purchase.toml", "views = 18", "views = 17", "18"),
        ("views.tsv", "D35L-PaMO\t", "D35L-PamO\t", "D35L"),
        ("views.tsv", "\tCDDI_CRPRO", "\tCDDI", "CdDi-CrPrO"),
        ("profiles.toml", "metacarpus", "nowhere", "nowhere"),
        ("zones.toml", "[[fore]]", "[[foer]]", "foer"),
    ] {
        let said = broken(file, from, to);
        assert!(said.contains(named), "{file}: {to}: {said}");
    }
}
