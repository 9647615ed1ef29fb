//! What a visit is charged: which price a fact has, and how much that is.

use limbledger::{
    catalogue::{
        Catalogue, CatalogueError, Files, catalogue,
        charges::{Found, Unit},
    },
    clock::Day,
    reasoning::charges::{
        Fact, ONE, Open, Rule, amount, handed_over, money, open, price_of, quantity, read_money,
        read_quantity, thousandths,
    },
};
use proptest::prelude::*;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn rule(charge: &str, of: &str) -> Rule {
    Rule {
        charge: charge.into(),
        of: of.into(),
        up_to_km: None,
        unit: Unit::Each,
        from: day("2026-01-01"),
        until: None,
    }
}

fn fact(charge: &str, of: &str) -> Fact {
    Fact {
        source: "any".into(),
        charge: charge.into(),
        of: of.into(),
        unit: Unit::Each,
        quantity: ONE,
        km: None,
    }
}

#[test]
fn every_charge_of_the_catalogue_says_how_it_is_told_and_what_is_told_has_one() {
    let known = &catalogue().charges;
    assert!(known.all().all(|row| !row.text.is_empty() && !row.units.is_empty()));
    for found in [Found::Visit, Found::CallOut, Found::Block, Found::Radiograph, Found::Medicine, Found::Copy]
    {
        assert!(known.found(found).is_some(), "{found:?}");
    }
    let mut files = Files::shipped();
    files.charges = files.charges.replacen("found = \"purchase\"", "found = \"visit\"", 1).into();
    let refused: CatalogueError = Catalogue::read(&files).unwrap_err();
    assert!(refused.to_string().contains("charges.toml"), "{refused}");
}

#[test]
fn an_amount_is_rounded_once_half_up_and_a_reversal_is_the_same_below_nothing() {
    // 2.45 a ml: 11.25 ml are 27.5625, 0.2 ml are 0.49, 0.01 ml are 0.0245; 0.05 each: half of one is 0.025.
    assert_eq!(amount(245, 11_250), 2756);
    assert_eq!(amount(245, 200), 49);
    assert_eq!(amount(245, 10), 2);
    assert_eq!(amount(5, 500), 3, "half a hundredth is rounded up");
    assert_eq!(amount(5, -500), -3);
    assert_eq!(amount(0, 9000), 0);
    assert_eq!((money(2756), money(-3), money(100_000)), ("27.56".into(), "-0.03".into(), "1000.00".into()));
    assert_eq!(
        (quantity(11_250), quantity(-500), quantity(2000)),
        ("11.25".into(), "-0.5".into(), "2".into())
    );
}

#[test]
fn money_and_quantities_are_read_as_people_type_them_and_never_guessed() {
    for (typed, minor) in
        [("12.50", 1250), ("12,5", 1250), (" 12 ", 1200), ("0", 0), ("1000000", 100_000_000)]
    {
        assert_eq!(read_money(typed), Some(minor), "{typed}");
    }
    for typed in ["", ".5", "12.505", "-1", "1e3", "1000000.01", "1.000,50", "+1", "99999999999999999999"] {
        assert_eq!(read_money(typed), None, "{typed}");
    }
    assert_eq!(read_quantity("0.125"), Some(125));
    assert_eq!(read_quantity("100000.001"), None);
    assert_eq!(handed_over("20 ml"), Some((20_000, Unit::Ml)));
    assert_eq!(handed_over("7,5ml in a bottle"), Some((7500, Unit::Ml)));
    assert_eq!(handed_over("2 syringes"), Some((2000, Unit::Each)));
    assert_eq!(handed_over("one tube"), None);
    assert_eq!(thousandths(11.2), Some(11_200));
    assert_eq!((thousandths(-1.0), thousandths(f64::NAN), thousandths(1e9)), (None, None, None));
}

#[test]
fn the_price_for_this_very_thing_goes_before_one_for_any_and_holds_only_on_its_days() {
    let old = Rule { until: Some(day("2026-03-01")), ..rule("block", "PDN") };
    let new = Rule { from: day("2026-03-01"), ..rule("block", "PDN") };
    let rules = [rule("block", ""), old.clone(), new.clone(), rule("visit", "")];
    assert_eq!(price_of(&fact("block", "PDN"), &rules, day("2026-02-28")), Some(1));
    assert_eq!(price_of(&fact("block", "PDN"), &rules, day("2026-03-01")), Some(2));
    assert_eq!(price_of(&fact("block", "ASN"), &rules, day("2026-03-01")), Some(0));
    assert_eq!(price_of(&fact("block", "PDN"), &rules, day("2025-12-31")), None);
    let millilitres = Fact { unit: Unit::Ml, ..fact("block", "PDN") };
    assert_eq!(price_of(&millilitres, &rules, day("2026-03-01")), None, "another unit is another price");
    assert!(!old.clashes(&new) && !new.clashes(&old), "one follows the other");
    assert!(new.clashes(&Rule { from: day("2027-01-01"), ..new.clone() }));
    assert!(!new.clashes(&rule("block", "")));
}

#[test]
fn a_call_out_has_the_nearest_zone_and_no_price_where_nobody_knows_how_far_it_is() {
    let zone = |km| Rule { up_to_km: km, ..rule("call_out", "") };
    let rules = [zone(None), zone(Some(30)), zone(Some(10))];
    let call = |km| Fact { km, ..fact("call_out", "") };
    let on = day("2026-03-11");
    for (km, place) in [(0.0, 2), (10.0, 2), (10.01, 1), (30.0, 1), (31.0, 0)] {
        assert_eq!(price_of(&call(Some(km)), &rules, on), Some(place), "{km} km");
    }
    assert_eq!(price_of(&call(Some(31.0)), &rules[1..], on), None, "beyond the last zone");
    assert_eq!(price_of(&call(None), &rules, on), None);
    assert_eq!(price_of(&call(None), &rules[..1], on), Some(0), "one price for any distance");
}

#[test]
fn only_what_is_new_is_open_and_what_is_gone_is_said() {
    assert_eq!(open(11_000, 0), Open::More(11_000));
    assert_eq!(open(11_000, 11_000), Open::Nothing);
    assert_eq!(open(12_500, 11_000), Open::More(1500));
    assert_eq!(open(0, 11_000), Open::Less(11_000));
}

proptest! {
    #[test]
    fn an_amount_is_never_negative_and_splits_add_up_to_a_hundredth(
        minor in 0_i64..100_000_000,
        a in 0_i64..50_000_000,
        b in 0_i64..50_000_000,
    ) {
        prop_assert!(amount(minor, a) >= 0);
        prop_assert!((amount(minor, a) + amount(minor, b) - amount(minor, a + b)).abs() <= 1);
        prop_assert_eq!(amount(minor, a) + amount(minor, -a), 0);
        // Within half a hundredth of the exact product.
        let off = (i128::from(amount(minor, a)) * 1000 - i128::from(minor) * i128::from(a)).abs();
        prop_assert!(off <= 500);
    }

    #[test]
    fn a_fact_without_a_price_has_none_whatever_else_is_kept(
        charge in "[a-c]", of in "[x-z]?", km in proptest::option::of(0.0..50.0_f64),
    ) {
        let other = [rule("d", ""), rule("d", &of)];
        let asked = Fact { km, ..fact(&charge, &of) };
        prop_assert_eq!(price_of(&asked, &other, day("2026-03-11")), None);
        let found = price_of(&asked, &[rule(&charge, "")], day("2026-03-11"));
        prop_assert_eq!(found, Some(0));
    }

    #[test]
    fn money_that_is_written_is_read_again(minor in 0_i64..100_000_000) {
        prop_assert_eq!(read_money(&money(minor)), Some(minor));
    }
}
