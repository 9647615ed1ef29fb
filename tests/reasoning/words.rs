//! Entries as sentences.

use limbledger::{
    papers::words::{Units, finding, sentence},
    record::{Body, Kind},
};

fn at(kind: Kind, region: &str, side: &str) -> Body {
    Body { region: Some(region.into()), side: Some(side.into()), ..Body::new(kind) }
}

fn said(body: &Body) -> String {
    sentence(body, Units::default())
}

#[test]
fn a_finding_says_grade_place_and_qualities() {
    let mut body = at(Kind::Finding, "FETL_D", "L");
    body.code = Some("EFF".into());
    body.present = Some(true);
    (body.grade, body.scale) = (Some(2.0), Some("effusion_0_4".into()));
    body.qualities = vec!["firm".into()];
    assert_eq!(said(&body), "effusion, moderate (2 of 4), left fore fetlock, dorsal; firm");
    body.aspect = Some("medial".into());
    assert_eq!(finding(&body), "effusion, moderate (2 of 4), medial; firm");
}

#[test]
fn what_was_looked_for_and_not_there_is_a_negative_and_not_a_finding() {
    let mut body = at(Kind::Finding, "FETL_D", "L");
    body.code = Some("HEAT".into());
    body.present = Some(false);
    (body.grade, body.scale) = (Some(0.0), Some("finding_0_3".into()));
    assert_eq!(said(&body), "no heat, left fore fetlock, dorsal");
}

#[test]
fn nothing_found_and_not_examined_are_two_things() {
    let mut body = at(Kind::Place, "POLL", "M");
    body.present = Some(false);
    assert_eq!(said(&body), "poll, occiput to C2, midline: nothing found");
    body.present = None;
    body.text = Some("bandage".into());
    assert_eq!(said(&body), "poll, occiput to C2, midline: could not be examined: bandage");
}

#[test]
fn a_tester_site_is_a_place_on_a_foot() {
    let mut body = Body::new(Kind::Finding);
    body.region = Some("HT_TOE".into());
    body.limb = Some("RF".into());
    body.code = Some("HTST".into());
    body.present = Some(true);
    (body.grade, body.scale) = (Some(2.0), Some("tester_0_3".into()));
    assert_eq!(said(&body), "hoof-tester response, clear (2 of 3), right fore foot, testers: sole, toe");
}

#[test]
fn gait_flexion_and_nerves_name_their_scale_and_limb() {
    let mut gait = Body { limb: Some("RH".into()), ..Body::new(Kind::Gait) };
    gait.code = Some("TRT_SH".into());
    (gait.grade, gait.scale) = (Some(2.5), Some("aaep_0_5".into()));
    assert_eq!(said(&gait), "right hind: trot, straight, hard: 2.5 of 5");
    let mut bend = Body { limb: Some("LF".into()), number: Some(60.0), ..Body::new(Kind::Flexion) };
    bend.code = Some("FX_CA".into());
    bend.held_by = Some("Tarn".into());
    (bend.grade, bend.scale) = (Some(2.0), Some("flexion_0_4".into()));
    assert_eq!(said(&bend), "left fore: flexion, carpus: moderate (2 of 4), held 60 s, by Tarn");
    let mut circle = Body { side: Some("L".into()), present: Some(true), ..Body::new(Kind::Neuro) };
    circle.code = Some("N13".into());
    assert_eq!(said(&circle), "tight circles, left: abnormal");
}

#[test]
fn numbers_are_read_in_the_units_of_the_practice() {
    let mut body = Body { number: Some(38.1), ..Body::new(Kind::Vital) };
    body.code = Some("temp_c".into());
    assert_eq!(said(&body), "temperature 38.1 °C");
    // 38.1 × 9/5 + 32, the definition of the Fahrenheit scale
    assert_eq!(sentence(&body, Units { fahrenheit: true, pounds: false }), "temperature 100.6 °F");
    body.code = Some("bcs".into());
    body.number = Some(5.0);
    assert_eq!(said(&body), "body condition 5 of 9");
}

#[test]
fn a_code_the_catalogue_does_not_know_is_shown_as_it_was_kept() {
    let mut body = at(Kind::Finding, "GONE", "L");
    body.code = Some("OLD".into());
    body.present = Some(true);
    assert_eq!(said(&body), "OLD, GONE L");
}

#[test]
fn an_overridden_caution_keeps_its_reason() {
    let mut body =
        Body { reason: Some("owner insists, pictures are clean".into()), ..Body::new(Kind::Override) };
    body.code = Some("CI_FRAC".into());
    assert_eq!(
        said(&body),
        "went on in spite of: suspected or known fracture; because: owner insists, pictures are clean"
    );
}
