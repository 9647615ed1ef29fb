//! Muscle enzymes of an exercise test, by hand.

use limbledger::{
    catalogue::catalogue,
    reasoning::enzymes::{Activity, Drawn, NoRise, ck_fold_rise},
};

fn drawn(ck_u_per_l: f64, at_min: f64) -> Drawn<'static> {
    Drawn { ck_u_per_l, at_min, laboratory: "Harbour Lab" }
}

#[test]
fn a_rise_is_the_later_over_the_earlier() {
    let found = ck_fold_rise(drawn(220.0, 0.0), drawn(770.0, 300.0)).unwrap();
    assert!((found - 3.5).abs() < 1e-12, "{found}");
    let fell = ck_fold_rise(drawn(300.0, 10.0), drawn(150.0, 310.0)).unwrap();
    assert!((fell - 0.5).abs() < 1e-12, "{fell}");
}

#[test]
fn four_and_six_hours_count_and_a_minute_beyond_does_not() {
    // Second sample 4 to 6 h after the first (reviews of exercise tests for muscle disease).
    for minutes in [240.0, 300.0, 360.0] {
        assert!(ck_fold_rise(drawn(200.0, 0.0), drawn(600.0, minutes)).is_ok(), "{minutes}");
    }
    for (minutes, said) in [
        (239.0, "the samples are 3 h 59 min apart, not 4 to 6 h"),
        (361.0, "the samples are 6 h 1 min apart, not 4 to 6 h"),
        (0.0, "the samples are 0 h 0 min apart, not 4 to 6 h"),
        (-300.0, "the sample after was taken before the other"),
    ] {
        let refused = ck_fold_rise(drawn(200.0, 0.0), drawn(600.0, minutes)).unwrap_err();
        assert_eq!(refused.to_string(), said);
    }
}

#[test]
fn two_laboratories_have_no_rise_between_them() {
    let at = |laboratory, ck_u_per_l, at_min| Drawn { ck_u_per_l, at_min, laboratory };
    let two = ck_fold_rise(at("Harbour Lab", 200.0, 0.0), at("Hill Lab", 600.0, 300.0)).unwrap_err();
    assert_eq!(two.to_string(), "the samples went to two laboratories, Harbour Lab and Hill Lab");
    let unknown = ck_fold_rise(at("Harbour Lab", 200.0, 0.0), at(" ", 600.0, 300.0)).unwrap_err();
    assert_eq!(unknown, NoRise::LaboratoryUnknown("the sample after"));
    assert!(ck_fold_rise(at("harbour lab ", 200.0, 0.0), at("Harbour Lab", 600.0, 300.0)).is_ok());
}

#[test]
fn an_activity_that_cannot_be_is_refused_by_its_name() {
    for (before, after, name) in [
        (0.0, 600.0, "ck_before_u_per_l"),
        (f64::NAN, 600.0, "ck_before_u_per_l"),
        (200.0, -1.0, "ck_after_u_per_l"),
        (f64::MIN_POSITIVE, f64::MAX, "ck_fold_rise"),
    ] {
        let NoRise::Refused(refused) = ck_fold_rise(drawn(before, 0.0), drawn(after, 300.0)).unwrap_err()
        else {
            unreachable!("{name} is refused as a number");
        };
        assert_eq!(refused.name, name);
    }
}

#[test]
fn a_microkatal_is_sixty_units() {
    // The SI brochure's katal (mol/s) against the unit of 1964 (µmol/min): 1 µkat/L is 60 U/L.
    assert!((Activity::of("µkat/L").unwrap().u_per_l(3.5) - 210.0).abs() < 1e-9);
    assert!((Activity::of("U/L").unwrap().u_per_l(210.0) - 210.0).abs() < f64::EPSILON);
    assert_eq!(Activity::of("mg"), None);
}

#[test]
fn the_ranges_of_standardbreds_are_those_of_the_study() {
    // Stucchi et al., 194 Standardbreds: 25 to 394 U/L at rest, 44 to 735 U/L 6 h after maximal exercise.
    let row = |code| catalogue().diagnostics.figures.references.get(code).unwrap();
    assert_eq!(
        (row("ck_standardbred_rest").low, row("ck_standardbred_rest").high),
        (Some(25.0), Some(394.0))
    );
    assert_eq!(
        (row("ck_standardbred_work").low, row("ck_standardbred_work").high),
        (Some(44.0), Some(735.0))
    );
    assert_eq!(row("ck_fold").low, Some(3.0));
}

#[test]
fn the_classes_of_a_report_are_eleven_and_each_says_what_it_usually_means() {
    let classes = &catalogue().diagnostics.samples.result_classes;
    assert_eq!(classes.len(), 11);
    assert!(classes.iter().all(|row| !row.usual.is_empty() && row.confidence.to_string() == "M"));
    assert!(classes.get("polysaccharide_resistant").unwrap().usual.contains("GYS1"));
}
