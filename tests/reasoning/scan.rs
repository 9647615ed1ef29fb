//! Decay and uptake of a bone scan, against published half-lives and worked numbers.

use limbledger::{
    catalogue::catalogue,
    reasoning::{decay, uptake},
};
use proptest::prelude::*;

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected}");
}

#[test]
fn what_is_left_is_as_the_tables_have_it() {
    // Fractions of each half-life, reckoned with radioactivedecay 0.6.1 for its own, by hand for the others.
    for (hours, icrp, ddep, ensdf, rounded) in [
        (2.0, 0.794_158, 0.793_905, 0.793_920, 0.793_701),
        (4.0, 0.630_687, 0.630_285, 0.630_310, 0.629_961),
        (6.0, 0.500_865, 0.500_387, 0.500_416, 0.500_000),
        (24.0, 0.062_934, 0.062_694, 0.062_708, 0.062_500),
        (60.0, 0.000_994, 0.000_984, 0.000_985, 0.000_977),
    ] {
        for (code, expected) in
            [("Tc-99m/ICRP-107", icrp), ("Tc-99m/DDEP", ddep), ("Tc-99m", ensdf), ("Tc-99m/rounded", rounded)]
        {
            let half_life = decay::half_life(code).unwrap();
            near(decay::fraction_left(half_life.hours, hours).unwrap(), expected, 5.1e-7);
        }
    }
    // ENSDF, National Nuclear Data Center (2017).
    near(decay::half_life(decay::USUAL_NUCLIDE).unwrap().hours, 6.0072, 1e-12);
}

#[test]
fn limits_effective_half_lives_and_units_are_as_worked_by_hand() {
    // 25 uSv/h at 3 h is 2.5 uSv/h at 22.95 h, with 6.0067 h.
    near(3.0 + decay::hours_until(25.0, 2.5, 6.0067).unwrap(), 22.95, 0.005);
    near(decay::hours_until(2.0, 2.5, 6.0).unwrap(), 0.0, 0.0);
    for (biological, effective) in [(6.0, 3.0), (12.0, 4.0), (24.0, 4.80), (48.0, 5.34)] {
        near(decay::effective_half_life(6.0067, biological).unwrap(), effective, 0.005);
    }
    near(decay::mbq_of_mci(135.0).unwrap(), 4995.0, 1e-9);
    near(decay::usv_per_h_of_mr_per_h(0.5).unwrap(), 5.0, 1e-12);
}

#[test]
fn what_was_given_is_the_syringe_less_its_residue_at_one_hour() {
    let full = decay::Measured { activity_mbq: 5000.0, at_h: 8.0 };
    let residue = decay::Measured { activity_mbq: 100.0, at_h: 14.0 };
    // With a half-life of 6 h: 2500 of the syringe at 14 h less 100.
    near(decay::administered(full, residue, 14.0, 6.0).unwrap(), 2400.0, 1e-9);
    near(decay::administered(full, residue, 8.0, 6.0).unwrap(), 4800.0, 1e-9);
    let empty = decay::Measured { activity_mbq: 0.0, at_h: 20.0 };
    near(decay::administered(full, empty, 8.0, 6.0).unwrap(), 5000.0, 1e-9);
    let all = decay::Measured { activity_mbq: 9000.0, at_h: 8.0 };
    assert!(decay::administered(full, all, 8.0, 6.0).unwrap_err().to_string().starts_with("residue"));
}

#[test]
fn regions_compare_as_densities() {
    near(uptake::density(9000.0, 300.0, 5.0).unwrap(), 25.0, 1e-12);
    // A lame horse's navicular bone over its coffin bone: 1.77, of a sound one 0.97 (1996).
    near(uptake::ratio(177.0, 100.0).unwrap(), 1.77, 1e-12);
    near(uptake::asymmetry_pct(110.0, 90.0).unwrap(), 20.0, 1e-12);
    near(uptake::asymmetry_pct(90.0, 110.0).unwrap(), -20.0, 1e-12);
    assert!(uptake::density(10.0, 10.0, 2.0).unwrap_err().to_string().starts_with("background"));
    assert!(uptake::asymmetry_pct(0.0, 0.0).is_err() && uptake::ratio(1.0, 0.0).is_err());
    assert!(catalogue().diagnostics.figures.references_of("navicular_p3_density_ratio").count() == 2);
}

#[test]
fn what_cannot_decay_is_refused_by_its_name() {
    for wrong in [-1.0, 0.0, f64::NAN, f64::INFINITY] {
        assert_eq!(decay::activity_after(wrong, 6.0, 1.0).unwrap_err().name, "activity_mbq");
        assert_eq!(decay::fraction_left(wrong, 1.0).unwrap_err().name, "half_life_h");
        assert_eq!(decay::hours_until(1.0, wrong, 6.0).unwrap_err().name, "limit");
    }
    for wrong in [-1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(decay::activity_after(1.0, 6.0, wrong).unwrap_err().name, "hours");
    }
    assert!(decay::half_life("Tc-98").unwrap_err().to_string().contains("Tc-99m/ICRP-107"));
    assert_eq!(decay::activity_before(1.0, 6.0, 1e9).unwrap_err().name, "hours");
}

proptest! {
    #[test]
    fn back_and_forth_is_where_it_began(activity in 0.1..1e5f64, hours in 0.0..200.0f64) {
        let after = decay::activity_after(activity, 6.0072, hours).unwrap();
        prop_assert!(after <= activity);
        let before = decay::activity_before(after, 6.0072, hours).unwrap();
        prop_assert!((before / activity - 1.0).abs() < 1e-9);
    }
}
