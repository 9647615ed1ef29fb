//! Weights from a measuring tape against worked numbers, and which of several weights is used.

use limbledger::{
    catalogue::catalogue,
    reasoning::weight::{Measures, Weighed, doubts, formula, ideal, reckon, used},
};
use proptest::prelude::*;

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected}");
}

fn measures(girth: f64, length: f64, height: f64, neck: f64) -> Measures {
    Measures { girth_cm: Some(girth), length_cm: Some(length), height_cm: Some(height), neck_cm: Some(neck) }
}

fn kg(code: &str, m: &Measures) -> f64 {
    reckon(formula(code).unwrap(), m).unwrap()
}

#[test]
fn two_horses_weigh_what_was_worked_out_by_hand() {
    // Reckoned by hand from the published formulas.
    let big = measures(195.0, 170.0, 167.0, 105.0);
    near(kg("hall_adult", &big), 544.0, 0.5);
    near(kg("catalano_2016_warmblood", &big), 591.0, 0.5);
    near(ideal("catalano_ideal_warmblood", &big).unwrap(), 595.0, 0.5);
    let small = measures(178.0, 155.0, 152.0, 92.0);
    near(kg("hall_adult", &small), 413.0, 0.5);
    near(kg("martinson_2014_arab", &small), 445.0, 0.5);
}

#[test]
fn inches_and_pounds_convert_as_the_reference_says() {
    // 330 in inches and pounds is 11 922 in cm and kg.
    let m = measures(190.0, 160.0, 160.0, 100.0);
    near(kg("imperial_adult", &m), 190.0 * 190.0 * 160.0 / 11_922.0, 0.05);
    // One cm more of girth is 1.05 % more at 190 cm.
    let more = Measures { girth_cm: Some(191.0), ..m };
    near(kg("hall_adult", &more) / kg("hall_adult", &m), 1.0105, 0.0001);
}

#[test]
fn what_cannot_be_reckoned_is_refused_by_its_name() {
    let m = measures(190.0, 160.0, 160.0, 100.0);
    let named = |code: &str, m: &Measures| match formula(code) {
        Ok(row) => reckon(row, m).unwrap_err().name,
        Err(refused) => refused.name,
    };
    assert_eq!(named("milner_hewitt", &m), "method", "its constant is printed two ways");
    assert_eq!(named("nobody", &m), "method");
    assert_eq!(named("hall_adult", &Measures { girth_cm: None, ..m }), "girth_cm");
    assert_eq!(named("hall_adult", &Measures { length_cm: Some(1.0), ..m }), "length_cm");
    assert_eq!(named("catalano_2016_draft", &Measures { neck_cm: None, ..m }), "neck_cm");
    assert_eq!(named("hall_adult", &Measures { girth_cm: Some(f64::NAN), ..m }), "girth_cm");
}

#[test]
fn the_better_method_is_used_unless_it_is_much_older() {
    let at = |age_days, method| Weighed { age_days, method };
    assert_eq!(used(&[]), None);
    assert_eq!(used(&[at(2, "estimate"), at(40, "scale")]), Some(1), "by eye does not beat the scale");
    assert_eq!(used(&[at(2, "tape"), at(3, "formula"), at(4, "estimate")]), Some(1));
    assert_eq!(used(&[at(2, "tape"), at(200, "scale")]), Some(0), "far older");
    assert_eq!(used(&[at(200, "tape"), at(280, "scale")]), Some(1), "near to the newest");
    assert_eq!(used(&[at(2, "scale"), at(9, "scale")]), Some(0));
    assert!(doubts(&at(90, "scale")).is_empty());
    assert_eq!(doubts(&at(91, "scale")).len(), 1);
    assert_eq!(doubts(&at(91, "estimate")).len(), 2);
    // The database has the same number of days and the same order.
    assert_eq!(catalogue().weighing.number("dose_weight_days").to_string(), "90");
    let methods: Vec<&str> = catalogue().weighing.methods.iter().map(|row| row.code.as_str()).collect();
    assert_eq!(methods, ["scale", "formula", "tape", "estimate"]);
}

proptest! {
    #[test]
    fn a_bigger_horse_never_weighs_less(girth in 60.0..300.0_f64, length in 60.0..300.0_f64, more in 0.0..40.0_f64) {
        let small = measures(girth, length, 150.0, 90.0);
        let big = Measures { girth_cm: Some(girth + more), length_cm: Some(length + more), ..small };
        for row in catalogue().weighing.formulas.iter().filter(|row| row.refused.is_none()) {
            let (less, more) = (reckon(row, &small).unwrap(), reckon(row, &big).unwrap());
            prop_assert!(less > 0.0 && more >= less, "{}", row.code);
        }
    }
}
