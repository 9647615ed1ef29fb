//! Doses against worked numbers and conversions, and rules that hold for any horse.

use limbledger::{
    catalogue::{
        catalogue,
        formulary::{Food, Group},
    },
    clock::At,
    reasoning::dose::{
        Ask, Each, Kg, Mg, MgPerKg, MgPerMl,
        checks::{Facts, Other, Risk, raised},
        reckon, row,
        sums::{Course, Part, local_sum, steroid_load},
    },
};
use proptest::prelude::*;

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected}");
}

fn ask(kg: f64, mg_per_kg: f64) -> Ask {
    let each = Some(Each::PerKg(MgPerKg(mg_per_kg)));
    Ask { weight: Kg(kg), each, strength: None, every_h: None, days: None }
}

fn checks(found: &[limbledger::reasoning::dose::Warning]) -> Vec<&'static str> {
    found.iter().map(|warning| warning.check).collect()
}

#[test]
fn pounds_convert_as_the_labels_do() {
    // 0.5, 1 and 0.045 mg/lb are 1.102, 2.205 and 0.099 mg/kg.
    for (per_lb, per_kg) in [(0.5, 1.102), (1.0, 2.205), (0.045, 0.099)] {
        near(MgPerKg::per_pound(per_lb).0, per_kg, 0.0005);
    }
}

#[test]
fn a_dose_is_milligrams_and_millilitres() {
    let flunixin = row("flunixin", "IV", None).unwrap();
    let found = reckon(flunixin, &Ask { strength: Some(MgPerMl(50.0)), ..ask(500.0, 1.1) }).unwrap();
    near(found.dose.unwrap().0, 550.0, 1e-9);
    near(found.volume.unwrap().0, 11.0, 1e-9);
    assert!(found.warnings.is_empty(), "{:?}", found.warnings);
    let detomidine = row("Detomidine", "im", Some("US")).unwrap();
    let range = reckon(detomidine, &Ask { each: None, ..ask(500.0, 1.0) }).unwrap();
    assert!(range.dose.is_none() && range.volume.is_none());
    near(range.range.0.0, 10.0, 1e-9);
    near(range.range.1.0, 20.0, 1e-9);
}

#[test]
fn a_day_in_parts_is_held_against_the_range_and_the_ceiling_of_a_day() {
    let bute = row("phenylbutazone", "IV", None).unwrap();
    let twice = Ask { every_h: Some(12.0), ..ask(500.0, 2.2) };
    let found = reckon(bute, &twice).unwrap();
    near(found.day.unwrap().0, 2200.0, 1e-9);
    assert!(found.warnings.is_empty(), "{:?}", found.warnings);
    let too_much = reckon(bute, &Ask { every_h: Some(12.0), days: Some(6), ..ask(500.0, 4.4) }).unwrap();
    assert_eq!(checks(&too_much.warnings), ["DOSE_RANGE", "DOSE_CEILING", "DOSE_DAYS"]);
    let big = reckon(row("phenylbutazone", "PO", None).unwrap(), &ask(1000.0, 4.4)).unwrap();
    assert_eq!(checks(&big.warnings), ["DOSE_CEILING"], "4.4 g a day in the biggest horse");
    let tablet = row("firocoxib", "PO tablet", None).unwrap();
    let small = Ask { each: Some(Each::Total(Mg(57.0))), ..ask(300.0, 1.0) };
    assert_eq!(checks(&reckon(tablet, &small).unwrap().warnings), ["DOSE_RANGE"], "outside 800 to 1300 lb");
}

#[test]
fn what_cannot_be_a_dose_is_refused_by_its_name() {
    let flunixin = row("flunixin", "IV", None).unwrap();
    let name = |ask: &Ask| reckon(flunixin, ask).unwrap_err().name;
    assert_eq!(name(&ask(0.0, 1.1)), "weight_kg");
    assert_eq!(name(&ask(5000.0, 1.1)), "weight_kg");
    assert_eq!(name(&ask(500.0, -1.0)), "mg_per_kg");
    assert_eq!(name(&Ask { strength: Some(MgPerMl(0.0)), ..ask(500.0, 1.1) }), "concentration_mg_per_ml");
    assert_eq!(name(&Ask { every_h: Some(0.0), ..ask(500.0, 1.1) }), "every_h");
    assert_eq!(row("aspirin", "IV", None).unwrap_err().name, "drug");
    assert_eq!(row("flunixin", "epidural", None).unwrap_err().name, "route");
    assert_eq!(row("meloxicam", "PO", Some("US")).unwrap_err().name, "route");
}

#[test]
fn joints_and_blocks_are_summed_as_shares() {
    let part = |medicine, mg| Part { medicine, mg: Mg(mg) };
    near(steroid_load([part("triamcinolone", 9.0), part("methylprednisolone", 50.0)]), 1.0, 1e-9);
    // 125 ml of mepivacaine 2 % is the ceiling at 5 mg/kg for 500 kg; 150 ml of lidocaine at 6.
    near(local_sum([part("mepivacaine", 125.0 * 20.0)], Kg(500.0)).stop, 1.0, 1e-9);
    near(local_sum([part("lidocaine", 150.0 * 20.0)], Kg(500.0)).stop, 1.0, 1e-9);
    let both = local_sum([part("mepivacaine", 1250.0), part("lidocaine", 1500.0)], Kg(500.0));
    near(both.stop, 1.0, 1e-9);
    near(both.warn, 1.375, 1e-9);
}

const NOON: At = At(1_773_200_000_000);

fn facts(medicine: &str, group: Group) -> Facts {
    Facts {
        medicine: medicine.into(),
        name: medicine.into(),
        group,
        food: Food::Label,
        confirmed: true,
        labelled_here: true,
        food_excluded: true,
        weight: Some(Kg(500.0)),
        weight_doubts: Vec::new(),
        mg: Some(Mg(10.0)),
        at: NOON,
        course: Course::new(NOON, Some(24.0), None),
        others: Vec::new(),
        blocks: Vec::new(),
        risks: Vec::new(),
        bcs: None,
        crest: None,
        obel: None,
        temp_c: None,
        foal: false,
        gait_seen: true,
    }
}

fn other(medicine: &str, group: Group, mg: f64, hours_ago: i64) -> Other {
    let at = NOON.plus_minutes(-hours_ago * 60);
    let course = Course::new(at, Some(24.0), None);
    let here = hours_ago < 6;
    Other { medicine: medicine.into(), name: medicine.into(), group, mg: Some(Mg(mg)), at, course, here }
}

#[test]
fn a_second_anti_inflammatory_is_told_until_its_wash_out_is_over() {
    let bute = |hours| Facts {
        others: vec![other("phenylbutazone", Group::Nsaid, 2000.0, hours)],
        ..facts("flunixin", Group::Nsaid)
    };
    for hours in [1, 23, 47] {
        assert_eq!(checks(&raised(&bute(hours))), ["TWO_NSAIDS"], "{hours} h");
    }
    assert!(raised(&bute(49)).is_empty(), "its day and another one are over");
    let same = Facts { medicine: "phenylbutazone".into(), ..bute(1) };
    assert!(raised(&same).is_empty(), "the same one goes on");
    let before = Facts { gait_seen: false, ..facts("flunixin", Group::Nsaid) };
    assert_eq!(checks(&raised(&before)), ["NSAID_BEFORE_GAIT"]);
    let steroid = other("triamcinolone", Group::Steroid, 6.0, 1);
    let beside = Facts { others: vec![steroid], ..facts("flunixin", Group::Nsaid) };
    assert_eq!(checks(&raised(&beside)), ["NSAID_STEROID"]);
}

#[test]
fn steroids_are_told_by_their_load_and_by_the_horse() {
    let first = other("triamcinolone", Group::Steroid, 12.0, 1);
    let more = Facts { others: vec![first], ..facts("triamcinolone", Group::Steroid) };
    assert_eq!(checks(&raised(&more)), ["STEROID_LOAD"], "12 and 10 mg are over 18");
    let fat = Facts { bcs: Some(7.0), crest: Some(3.0), ..facts("triamcinolone", Group::Steroid) };
    assert_eq!(checks(&raised(&fat)), ["STEROID_RISK", "STEROID_RISK"]);
    let lean =
        Facts { bcs: Some(6.5), crest: Some(2.5), obel: Some(0.0), ..facts("triamcinolone", Group::Steroid) };
    assert!(raised(&lean).is_empty());
    let risk = |code: &str| Risk { code: code.into(), words: code.into() };
    let foundered = Facts { risks: vec![risk("laminitis"), risk("ulcers")], ..lean };
    assert_eq!(checks(&raised(&foundered)), ["STEROID_RISK"], "ulcers are no matter of a steroid");
    let recent = other("betamethasone", Group::Steroid, 9.0, 13 * 24);
    let again = Facts { others: vec![recent], ..facts("triamcinolone", Group::Steroid) };
    assert_eq!(checks(&raised(&again)), ["STEROID_RISK"]);
}

#[test]
fn blocks_of_the_last_hours_count_with_what_is_given_now() {
    let block = |mg, hours: i64| ("mepivacaine".to_owned(), Mg(mg), NOON.plus_minutes(-hours * 60));
    let given = |mg, blocks| Facts { mg: Some(Mg(mg)), blocks, ..facts("mepivacaine", Group::Local) };
    assert!(raised(&given(100.0, vec![block(1000.0, 1)])).is_empty());
    assert_eq!(checks(&raised(&given(200.0, vec![block(1800.0, 1)]))), ["LOCAL_SUM"]);
    assert_eq!(checks(&raised(&given(300.0, vec![block(2200.0, 1)]))), ["LOCAL_STOP"]);
    assert!(raised(&given(300.0, vec![block(2200.0, 5)])).is_empty(), "five hours ago");
}

#[test]
fn food_and_confirmation_stop_and_the_hardest_stands_first() {
    let eaten =
        Facts { food: Food::Prohibited, food_excluded: false, ..facts("phenylbutazone", Group::Nsaid) };
    assert_eq!(checks(&raised(&eaten)), ["FOOD_STOP"]);
    let unread = Facts { confirmed: false, labelled_here: false, gait_seen: false, ..eaten };
    assert_eq!(checks(&raised(&unread)), ["DOSE_UNCONFIRMED", "FOOD_STOP", "OFF_LABEL", "NSAID_BEFORE_GAIT"]);
    let essential =
        Facts { food: Food::Essential, food_excluded: false, ..facts("triamcinolone", Group::Steroid) };
    assert_eq!(checks(&raised(&essential)), ["FOOD_ESSENTIAL"]);
    let hot = Facts { temp_c: Some(39.0), ..facts("xylazine", Group::Alpha2) };
    assert_eq!(checks(&raised(&hot)), ["ALPHA2_RISK", "SEDATED_GAIT"]);
}

#[test]
fn every_check_that_is_raised_has_its_row() {
    for code in [
        "DOSE_WEIGHT",
        "DOSE_RANGE",
        "DOSE_CEILING",
        "DOSE_DAYS",
        "DOSE_UNCONFIRMED",
        "OFF_LABEL",
        "TWO_NSAIDS",
        "NSAID_STEROID",
        "NSAID_FRAIL",
        "NSAID_BEFORE_GAIT",
        "STEROID_LOAD",
        "STEROID_RISK",
        "LOCAL_SUM",
        "LOCAL_STOP",
        "SEDATED_GAIT",
        "ALPHA2_RISK",
        "REACTED",
        "FOOD_STOP",
        "FOOD_LABEL",
        "FOOD_ESSENTIAL",
    ] {
        assert!(catalogue().care.checks.get(code).is_some(), "{code}");
    }
    assert_eq!(catalogue().care.checks.len(), 20);
}

proptest! {
    #[test]
    fn a_dose_is_positive_grows_with_the_horse_and_never_passes_a_ceiling_in_silence(
        place in 0..catalogue().formulary.doses.len(),
        kg in 30.0..1200.0_f64,
        more in 1.0..700.0_f64,
        share in 0.1..5.0_f64,
        strength in 0.5..500.0_f64,
    ) {
        let row = &catalogue().formulary.doses[place];
        let asked = |kg: f64| Ask { strength: Some(MgPerMl(strength)), ..ask(kg, row.high * share) };
        let (small, big) = (reckon(row, &asked(kg)).unwrap(), reckon(row, &asked(kg + more)).unwrap());
        for found in [&small, &big] {
            let (dose, day) = (found.dose.unwrap(), found.day.unwrap());
            prop_assert!(dose.0 > 0.0 && day.0 >= dose.0 && found.volume.unwrap().0 > 0.0);
            if row.max_mg_per_day.is_some_and(|most| day.0 > most) {
                prop_assert!(checks(&found.warnings).contains(&"DOSE_CEILING"));
            }
        }
        prop_assert!(big.dose.unwrap().0 > small.dose.unwrap().0);
        prop_assert!(big.range.1.0 >= small.range.1.0 && small.range.0.0 <= small.range.1.0);
    }
}
