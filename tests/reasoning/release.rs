//! The gate after a bone scan, and uptake of regions at a common time.

use limbledger::reasoning::{
    release::{Expected, Gate, Licence, Reading, bedding_hours, earliest, in_calibration, last_of_each},
    uptake::{Area, Areas},
};
use proptest::prelude::*;

const LICENCE: Licence = Licence { min_hours: 24.0, max_usv_h: 5.0 };

fn read(point: &str, at_h: f64, usv_h: f64) -> Reading {
    Reading { point: point.into(), at_h, usv_h, calibrated: true }
}

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected}");
}

#[test]
fn the_gate_opens_when_all_is_met_and_a_limit_that_is_just_reached_is_met() {
    let gate = Gate::of(LICENCE, 24.0, &[read("elbow", 24.0, 5.0)]);
    assert_eq!(gate, Gate { hours: true, rate: true, meter: true });
    assert!(gate.is_open());
}

#[test]
fn each_condition_shuts_the_gate() {
    let good = read("elbow", 23.0, 5.0);
    let uncalibrated = Reading { calibrated: false, ..good.clone() };
    for (hours, readings) in [
        (23.999_999, vec![good.clone()]),
        (24.0, vec![]),
        (24.0, vec![read("elbow", 23.0, 5.000_001)]),
        (24.0, vec![read("elbow", 23.0, f64::NAN)]),
        (f64::NAN, vec![good.clone()]),
        (24.0, vec![uncalibrated]),
        (24.0, vec![read("elbow", -0.5, 0.1)]),
        (24.0, vec![good.clone(), read("ventrum", 3.0, 25.0)]),
    ] {
        assert!(!Gate::of(LICENCE, hours, &readings).is_open(), "{hours} {readings:?}");
    }
}

#[test]
fn of_every_point_the_last_reading_counts() {
    let all = [
        read("elbow", 20.0, 9.0),
        read("elbow", 23.0, 4.0),
        read("elbow", 21.0, 8.0),
        read("head", 22.0, 3.0),
    ];
    let last: Vec<f64> = last_of_each(&all).into_iter().map(|one| one.usv_h).collect();
    assert_eq!(last, [4.0, 3.0]);
    let again = [read("elbow", 20.0, 9.0), read("elbow", 20.0, 4.0)];
    assert_eq!(last_of_each(&again), [&again[1]], "of two at one time the later entry");
}

#[test]
fn a_meter_counts_on_the_day_it_was_calibrated_and_on_the_day_it_is_due() {
    for (day, counts) in [(9, false), (10, true), (15, true), (20, true), (21, false)] {
        assert_eq!(in_calibration(&10, &20, &day), counts, "{day}");
    }
}

#[test]
fn the_earliest_time_is_the_longer_of_hours_and_decay() {
    let licence = Licence { min_hours: 20.0, max_usv_h: 2.5 };
    // Worked by hand: 25 µSv/h at 3 h are 2.5 µSv/h at 22.95 h, with 6.0067 h.
    let found = earliest(licence, &[read("ventrum", 3.0, 25.0)], 6.0067).unwrap();
    near(found.hours, 22.95, 0.005);
    assert_eq!(found.point.as_deref(), Some("ventrum"));
    let none = Expected { hours: 20.0, point: None };
    assert_eq!(earliest(licence, &[], 6.0067).unwrap(), none);
    assert_eq!(earliest(licence, &[read("ventrum", 3.0, 2.5)], 6.0067).unwrap(), none);
    near(bedding_hours(6.0).unwrap(), 60.0, 1e-9);
    assert_eq!(earliest(LICENCE, &[read("elbow", 3.0, 25.0)], 0.0).unwrap_err().name, "half_life_h");
}

#[test]
fn regions_are_reckoned_to_the_earliest_picture() {
    let area = |counts, at_h| Some(Area { counts, pixels: 100.0, at_h });
    // After one half-life half of the counts are as good as all of them.
    let areas = Areas {
        left: area(17_700.0, 2.0),
        right: area(4850.0, 8.0),
        reference: area(10_000.0, 2.0),
        soft: area(2000.0, 2.0),
        background: 0.0,
    };
    let found = areas.reckon(6.0).unwrap();
    // Navicular bone over coffin bone, lame 1.77 and control 0.97 (1996).
    near(found.ratio_left.unwrap(), 1.77, 1e-12);
    near(found.ratio_right.unwrap(), 0.97, 1e-12);
    near(found.asymmetry_pct.unwrap(), 200.0 * 80.0 / 274.0, 1e-9);
    near(found.bone_soft_left.unwrap(), 8.85, 1e-12);
    let alone = Areas { left: areas.left, ..Areas::default() }.reckon(6.0).unwrap();
    assert_eq!((alone.ratio_left, alone.asymmetry_pct, alone.right), (None, None, None));
    near(Areas { background: 7.0, ..areas }.reckon(6.0).unwrap().left.unwrap(), 170.0, 1e-9);
    assert_eq!(Areas { background: 200.0, ..areas }.reckon(6.0).unwrap_err().name, "background");
}

proptest! {
    #[test]
    fn at_the_expected_hour_the_rate_has_come_down(rate in 0.0..1e4f64, limit in 0.01..100.0f64, at_h in 0.0..50.0f64) {
        let licence = Licence { min_hours: 0.0, max_usv_h: limit };
        let hours = earliest(licence, &[read("head", at_h, rate)], 6.0072).unwrap().hours;
        let then = rate * (-(hours - at_h) / 6.0072).exp2();
        prop_assert!(then <= limit * (1.0 + 1e-9));
    }
}
