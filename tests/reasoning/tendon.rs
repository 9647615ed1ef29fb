//! Areas of tendons on ultrasound, against worked examples.

use limbledger::{
    catalogue::catalogue,
    reasoning::tendon::{
        Traced, asymmetry_pct, crosses_itself, csa_change_pct, ellipse_area_mm2, lesion_volume_mm3,
        polygon_area_mm2, scores, severity, zone_at,
    },
};
use proptest::prelude::*;

const ZONES: [&str; 7] = ["1A", "1B", "2A", "2B", "3A", "3B", "3C"];

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected}");
}

fn traced<'a>(zones: &[&'a str], total: &[f64], lesion: &[f64]) -> Vec<Traced<'a>> {
    let areas = total.iter().zip(lesion);
    zones.iter().zip(areas).map(|(zone, (t, l))| Traced { zone, total_mm2: *t, lesion_mm2: *l }).collect()
}

#[test]
fn the_worked_example_is_a_mild_lesion_worst_in_2b() {
    // Seven zones at 40 mm: 9.05 % in all, 33.3 % in 2B, 2,480 mm3.
    let total = [107.0, 97.0, 77.0, 90.0, 95.0, 86.0, 133.0];
    let lesion = [0.0, 0.0, 12.0, 30.0, 20.0, 0.0, 0.0];
    let found = severity(&traced(&ZONES, &total, &lesion)).unwrap();
    near(found.total_pct, 9.05, 0.005);
    assert_eq!((found.class, found.worst), ("mild", Some(3)));
    near(found.lesion_pct[3], 33.3, 0.05);
    near(lesion_volume_mm3(&lesion, 40.0).unwrap(), 2480.0, 1e-9);
}

#[test]
fn the_limit_of_a_class_belongs_to_the_milder_one() {
    // Mild up to 15 %, moderate up to 25 %, severe above (consensus score, two textbooks).
    let class = |lesion: f64| severity(&traced(&["2A"], &[100.0], &[lesion])).unwrap().class;
    let expected = [(0.0, "none"), (0.1, "mild"), (15.0, "mild"), (15.1, "moderate"), (25.0, "moderate")];
    for (lesion, name) in expected.into_iter().chain([(25.1, "severe"), (100.0, "severe")]) {
        assert_eq!(class(lesion), name, "{lesion}");
    }
    let found = severity(&traced(&["2A", "2B"], &[80.0, 80.0], &[0.0, 0.0])).unwrap();
    assert_eq!(found.worst, None);
    let even = severity(&traced(&["2A", "2B"], &[80.0, 80.0], &[8.0, 8.0])).unwrap();
    assert_eq!(even.worst, Some(0), "the first of equals");
}

#[test]
fn areas_that_cannot_be_are_refused_by_their_name() {
    for (zones, total, lesion, named) in [
        (vec![], vec![], vec![], "zones is empty"),
        (vec!["1A"], vec![0.0], vec![0.0], "zones[0].total_mm2"),
        (vec!["1A"], vec![f64::NAN], vec![0.0], "zones[0].total_mm2"),
        (vec!["1A", "1B"], vec![90.0, 90.0], vec![0.0, -1.0], "zones[1].lesion_mm2"),
        (vec!["1A"], vec![90.0], vec![91.0], "zones[0].lesion_mm2 is more than"),
        (vec!["1D"], vec![90.0], vec![1.0], "zones[0].zone `1D` is no zone"),
        (vec!["1A", "1A"], vec![90.0, 90.0], vec![0.0, 0.0], "zones[1].zone `1A` stands twice"),
        (vec!["2A", "1B"], vec![90.0, 90.0], vec![0.0, 0.0], "zones[1].zone `1B` lies above"),
    ] {
        let said = severity(&traced(&zones, &total, &lesion)).unwrap_err().to_string();
        assert!(said.starts_with(named), "{said}");
    }
    assert_eq!(lesion_volume_mm3(&[1.0, 2.0], 0.0).unwrap_err().name, "spacing_mm");
    assert_eq!(csa_change_pct(1.0, 0.0).unwrap_err().name, "before_mm2");
    assert_eq!(polygon_area_mm2(&[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]]).unwrap_err().name, "corners");
    assert_eq!(ellipse_area_mm2(-1.0, 2.0).unwrap_err().name, "long_mm");
    assert_eq!(scores(&[]).unwrap_err().name, "score");
}

#[test]
fn zones_sort_by_their_code_as_they_lie() {
    let zones = &catalogue().diagnostics.zones;
    for scheme in [&zones.fore, &zones.hind, &zones.pastern, &zones.pastern_thirds] {
        let codes: Vec<&str> = scheme.iter().map(|zone| zone.code.as_str()).collect();
        assert!(codes.is_sorted(), "{codes:?}");
    }
}

#[test]
fn a_distance_falls_into_a_sixth_of_the_cannon() {
    // Nominal zones of 4 cm in a horse of about 500 kg; 3C from the annular ligament on.
    for (cm, zone) in
        [(0.0, "1A"), (3.99, "1A"), (4.0, "1B"), (9.0, "2A"), (23.9, "3B"), (24.0, "3C"), (30.0, "3C")]
    {
        assert_eq!(zone_at(cm, 24.0).unwrap().code, zone, "{cm}");
    }
    assert_eq!(zone_at(12.0, 22.8).unwrap().code, "2B");
    assert_eq!(zone_at(-1.0, 24.0).unwrap_err().name, "distance_cm");
    assert_eq!(zone_at(1.0, 0.0).unwrap_err().name, "length_cm");
}

#[test]
fn outlines_changes_and_scores_are_as_by_hand() {
    near(polygon_area_mm2(&[[0.0, 0.0], [10.0, 0.0], [10.0, 8.0], [0.0, 8.0]]).unwrap(), 80.0, 1e-12);
    near(polygon_area_mm2(&[[0.0, 8.0], [10.0, 8.0], [10.0, 0.0], [0.0, 0.0]]).unwrap(), 80.0, 1e-12);
    near(ellipse_area_mm2(14.0, 9.0).unwrap(), 98.960_168, 1e-6);
    near(csa_change_pct(99.0, 90.0).unwrap(), 10.0, 1e-12);
    near(asymmetry_pct(90.0, 100.0).unwrap(), -10.0, 1e-12);
    assert_eq!(scores(&[0.0, 2.0, 3.0, 1.0]).unwrap(), (6.0, 1.5));
}

proptest! {
    #[test]
    fn the_whole_is_never_worse_than_its_worst_zone(areas in prop::collection::vec((50.0..150.0f64, 0.0..1.0f64), 1..7)) {
        let total: Vec<f64> = areas.iter().map(|(total, _)| *total).collect();
        let lesion: Vec<f64> = areas.iter().map(|(total, share)| total * share).collect();
        let found = severity(&traced(&ZONES, &total, &lesion)).unwrap();
        let worst = found.lesion_pct.iter().copied().fold(0.0, f64::max);
        let best = found.lesion_pct.iter().copied().fold(100.0, f64::min);
        prop_assert!(found.total_pct <= worst + 1e-9 && found.total_pct >= best - 1e-9);
    }
}

#[test]
fn an_outline_that_crosses_itself_is_told_from_one_that_goes_round_once() {
    let round = [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [2.0, 1.0], [0.0, 3.0]];
    let bow = [[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]];
    let touches = [[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [2.0, 0.0], [0.0, 4.0]];
    let folded =
        [[0.0, 0.0], [4.0, 0.0], [4.0, 2.0], [1.0, 2.0], [1.0, 0.0], [3.0, 0.0], [3.0, 3.0], [0.0, 3.0]];
    assert!(!crosses_itself(&round));
    for outline in [&bow[..], &touches, &folded] {
        assert!(crosses_itself(outline), "{outline:?}");
    }
    assert!(!crosses_itself(&[]) && !crosses_itself(&round[..2]) && !crosses_itself(&round[..3]));
}
