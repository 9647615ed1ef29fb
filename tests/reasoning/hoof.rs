//! Measures of the foot on radiographs, against points whose angles and distances are known beforehand.

use std::collections::BTreeMap;

use limbledger::{
    catalogue::{Pair, catalogue},
    reasoning::hoof::{
        HoofView, Points,
        calibrate::{Spacing, by_header, by_marker, magnification},
        measures,
    },
};
use proptest::prelude::*;

const FORE: HoofView = HoofView::Lateral(Pair::Fore);

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
}

fn points(rows: &[(&str, f64, f64)]) -> Points {
    rows.iter().map(|(name, x, y)| ((*name).to_owned(), [*x, *y])).collect()
}

/// From a point up and back at an angle with the ground behind.
fn up(x: f64, y: f64, degrees: f64, mm: f64) -> (f64, f64) {
    let (sin, cos) = degrees.to_radians().sin_cos();
    (x - mm * cos, y + mm * sin)
}

/// A foot whose sole rises 5 degrees, wall 52, coffin bone 50, short pastern 47, long pastern 54 degrees.
fn foot() -> Points {
    let mut all = points(&[
        ("G1", -80.0, 0.0),
        ("G2", 20.0, 0.0),
        ("T", 0.0, 15.0),
        ("Q", -60.0, 15.0 + 60.0 * 5f64.to_radians().tan()),
        ("E", -40.0, 70.0),
        ("C", -45.0, 74.0),
        ("W2", 20.0, 0.0),
        ("A2", 0.0, 16.0),
        ("S2", -40.0, 75.0),
        ("F2", -60.0, 110.0),
        ("R", -30.0, 60.0),
        ("B", 15.0, 0.0),
        ("H", -90.0, 0.0),
        ("N", -45.0, 35.0),
    ]);
    for (name, (x, y)) in [
        ("W1", up(20.0, 0.0, 52.0, 80.0)),
        ("A1", up(0.0, 16.0, 50.0, 40.0)),
        ("S1", up(-40.0, 75.0, 47.0, 30.0)),
        ("F1", up(-60.0, 110.0, 54.0, 60.0)),
    ] {
        all.insert(name.to_owned(), [x, y]);
    }
    all
}

#[test]
fn the_worked_example_gives_5_degrees_of_sole_and_52_of_wall() {
    let (x, y) = (20.0 - 80.0 * 52f64.to_radians().cos(), 80.0 * 52f64.to_radians().sin());
    let rise = 15.0 + 60.0 * 5f64.to_radians().tan();
    let level = points(&[("T", 0.0, 15.0), ("Q", -60.0, rise), ("W2", 20.0, 0.0), ("W1", x, y)]);
    let found = measures(FORE, &level).unwrap();
    near(found["palmar_angle_deg"], 5.0);
    near(found["dorsal_hoof_wall_angle_deg"], 52.0);
    assert!(!found.contains_key("sole_depth_mm"), "no ground line was marked, so there is no depth");
}

#[test]
fn every_measure_of_a_foot_is_what_it_was_drawn_with() {
    let found = measures(FORE, &foot()).unwrap();
    for (key, value) in [
        ("palmar_angle_deg", 5.0),
        ("dorsal_hoof_wall_angle_deg", 52.0),
        ("p3_dorsal_angle_deg", 50.0),
        ("capsular_rotation_deg", -2.0),
        ("phalangeal_rotation_deg", 3.0),
        ("hoof_pastern_axis", -2.0),
        ("sole_depth_mm", 15.0),
        ("sole_depth_wing_mm", 15.0 + 60.0 * 5f64.to_radians().tan()),
        ("founder_distance_mm", 4.0),
        ("p3_tip_to_breakover_mm", 15.0),
        ("cor_dorsal_palmar_ratio", 45.0 / 60.0),
        ("hdpd_ratio", found["hdpd_mm"] / 45f64.hypot(20.0)),
    ] {
        near(found[key], value);
    }
    // The wall's line through (20, 0) at 52 degrees, from the middle of the cortex.
    let (x, y) = up(0.0, 16.0, 50.0, 20.0);
    near(found["hdpd_mm"], (52f64.to_radians().sin() * (20.0 - x) - 52f64.to_radians().cos() * y).abs());
    let keys = catalogue().diagnostics.figures.hoof_measures.iter().filter(|row| row.view == "LM");
    assert_eq!(found.len(), keys.count() - 1, "all but the hindlimb's angle of the sole");
}

#[test]
fn a_hindlimb_has_a_plantar_angle_and_the_front_view_its_balance() {
    let found = measures(HoofView::Lateral(Pair::Hind), &foot()).unwrap();
    near(found["plantar_angle_deg"], 5.0);
    assert!(!found.contains_key("palmar_angle_deg"));
    let front = points(&[("JM", -20.0, 40.0), ("JL", 20.0, 41.0), ("PM", -25.0, 20.0), ("PL", 25.0, 22.5)]);
    let found = measures(HoofView::Front, &front).unwrap();
    near(found["dip_joint_ml_tilt_deg"], (1f64 / 40.0).atan().to_degrees());
    near(found["p3_ml_balance_mm"], 2.5);
    assert_eq!(found.len(), 2);
}

#[test]
fn a_point_that_cannot_be_is_refused_by_its_name() {
    let changed = |changes: &[(&str, Option<[f64; 2]>)]| {
        let mut all = foot();
        for (name, at) in changes {
            match at {
                Some(at) => all.insert((*name).to_owned(), *at),
                None => all.remove(*name),
            };
        }
        measures(FORE, &all).unwrap_err().to_string()
    };
    for (changes, named) in [
        (vec![("X", Some([0.0, 0.0]))], "points.X is no point"),
        (vec![("JM", Some([0.0, 0.0]))], "points.JM is a point of the view DPa"),
        (vec![("T", Some([f64::NAN, 0.0]))], "points.T"),
        (vec![("G2", None)], "points.G2 is missing"),
        (vec![("G1", None)], "points.G1 is missing"),
        (vec![("G2", Some([-80.0, 0.0]))], "points.G2 must lie"),
        (vec![("G2", Some([-90.0, 0.0]))], "points.G2 must lie"),
        (vec![("T", Some([-60.0, 15.0]))], "points.T must lie nearer the toe"),
        (vec![("T", Some([0.0, -3.0]))], "points.T lies below"),
        (vec![("W1", Some([20.0, 0.0]))], "points.W1 must lie above W2"),
        (vec![("R", Some([15.0, 60.0]))], "points.R must lie between"),
        (vec![("N", Some([0.0, 15.0]))], "points.T is the same as N"),
        (
            vec![("B", Some([1e308, 0.0])), ("T", Some([-1e308, 16.0])), ("Q", None), ("N", None)],
            "points are too far apart",
        ),
    ] {
        let said = changed(&changes);
        assert!(said.starts_with(named), "{said}");
    }
    assert!(measures(FORE, &Points::new()).unwrap_err().to_string().starts_with("points allow no measure"));
    let swapped = points(&[("JM", 20.0, 0.0), ("JL", -20.0, 0.0)]);
    assert!(measures(HoofView::Front, &swapped).unwrap_err().to_string().starts_with("points.JL must lie"));
}

#[test]
fn pixels_become_millimetres_by_a_marker_or_by_the_header() {
    near(by_marker(50.0, 400.0).unwrap().mm, 0.125);
    // 100 cm from source to plate, 8 cm from bone to plate: 1.087.
    let larger = magnification(100.0, 8.0).unwrap();
    assert!((larger - 1.087).abs() < 5e-4, "{larger}");
    let detector = Spacing::Detector { imager_mm: 0.15, magnification: Some(larger) };
    near(by_header(detector).unwrap().mm, 0.15 * 0.92);
    let unknown = by_header(Spacing::Detector { imager_mm: 0.15, magnification: None }).unwrap();
    assert!(unknown.is_uncorrected && !by_header(Spacing::Fiducial(0.14)).unwrap().is_uncorrected);
    near(by_header(Spacing::Geometry(0.14)).unwrap().mm, 0.14);
    assert_eq!(by_marker(0.0, 400.0).unwrap_err().name, "marker_mm");
    assert_eq!(magnification(100.0, 100.0).unwrap_err().name, "object_cm");
    assert_eq!(by_header(Spacing::Fiducial(f64::NAN)).unwrap_err().name, "pixel_spacing");
}

proptest! {
    #[test]
    fn a_picture_that_is_shifted_or_turned_measures_the_same(
        dx in -500.0..500.0f64, dy in -500.0..500.0f64, degrees in -60.0..60.0f64
    ) {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let turned: BTreeMap<String, [f64; 2]> = foot()
            .into_iter()
            .map(|(name, [x, y])| (name, [x * cos - y * sin + dx, x * sin + y * cos + dy]))
            .collect();
        let (before, after) = (measures(FORE, &foot()).unwrap(), measures(FORE, &turned).unwrap());
        prop_assert_eq!(before.len(), after.len());
        for (key, value) in before {
            prop_assert!((after[key] - value).abs() < 1e-7, "{} {} {}", key, value, after[key]);
        }
    }
}
