//! From when a treated horse may compete: clear days, hours over a change of clocks, margins, and what is missing.

use jiff::tz::TimeZone;
use limbledger::{
    catalogue::catalogue,
    clock::{At, Day},
    reasoning::competition::{
        Doubt, Earliest, Free, Interval, Kind, Margin, Rule, Treated, Validity, clear_days, reckon,
    },
};
use proptest::prelude::*;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn berlin() -> TimeZone {
    TimeZone::get("Europe/Berlin").unwrap()
}

const fn stand_down(interval: Interval) -> Rule {
    Rule { kind: Kind::StandDown, interval }
}

const fn detection(hours: u32) -> Rule {
    Rule { kind: Kind::Detection, interval: Interval::Hours(hours) }
}

fn free(end: At, rule: Rule, margin: Option<Margin>, zone: &TimeZone) -> Free {
    Treated { end: Some(end), rule, margin }.free(zone)
}

#[test]
fn eight_clear_days_after_monday_the_first_end_on_wednesday_the_tenth() {
    // Worked example of a racing authority's notice of 1 August 2022: treated on Monday the 1st, 8 clear days, the
    // earliest is Wednesday the 10th. 1 June 2026 is a Monday.
    let zone = berlin();
    let rule = stand_down(Interval::ClearDays(8));
    for (hour, minute) in [(0, 0), (7, 30), (23, 59)] {
        let end = day("2026-06-01").at(hour, minute, &zone);
        assert_eq!(free(end, rule, None, &zone), Free::From(day("2026-06-10")), "at {hour}:{minute}");
    }
    assert_eq!(day("2026-06-10").long(), "Wednesday 10 June");
    assert_eq!(clear_days(day("2026-06-01"), day("2026-06-10")), 8);
    assert_eq!(clear_days(day("2026-06-01"), day("2026-06-09")), 7);
    let none = stand_down(Interval::ClearDays(0));
    assert_eq!(free(day("2026-12-31").at(9, 0, &zone), none, None, &zone), Free::From(day("2027-01-01")));
}

#[test]
fn hours_are_hours_that_pass_and_days_are_days_of_the_calendar_when_the_clocks_change() {
    // Summer time in the European Union begins on 29 March 2026 and ends on 25 October (Directive 2000/84/EC): that
    // Sunday has 23 hours, this one 25.
    let zone = berlin();
    let rule = stand_down(Interval::Hours(24));
    // From half past eleven in the night, 24 hours end half an hour after the midnight that 23 hours reach.
    let spring = day("2026-03-28").at(23, 30, &zone);
    assert_eq!(free(spring, rule, None, &zone), Free::From(day("2026-03-31")));
    assert_eq!(
        free(day("2026-03-28").at(23, 0, &zone), rule, None, &zone),
        Free::From(day("2026-03-30")),
        "they end on the very midnight"
    );
    let autumn = day("2026-10-25").at(0, 30, &zone);
    assert_eq!(free(autumn, rule, None, &zone), Free::From(day("2026-10-26")), "23:30 on the same day");
    for date in ["2026-03-28", "2026-10-24"] {
        let days = free(day(date).at(12, 0, &zone), stand_down(Interval::ClearDays(1)), None, &zone);
        assert_eq!(days, Free::From(day(date).plus_days(2)), "{date}");
    }
    assert_eq!(free(spring, rule, Some(Margin::Days(2)), &zone), Free::From(day("2026-04-02")));
}

#[test]
fn a_detection_time_without_a_margin_gives_no_day_and_neither_does_a_treatment_without_an_end() {
    let zone = berlin();
    let end = day("2026-03-11").at(9, 0, &zone);
    assert_eq!(free(end, detection(48), None, &zone), Free::NoMargin);
    assert_eq!(free(end, detection(48), Some(Margin::Hours(0)), &zone), Free::NoMargin);
    // 48 hours end on the 13th at nine; 24 more on the 14th at nine: the first day that begins after is the 15th.
    assert_eq!(free(end, detection(48), Some(Margin::Hours(24)), &zone), Free::From(day("2026-03-15")));
    let no_end = Treated { end: None, rule: stand_down(Interval::ClearDays(3)), margin: None };
    assert_eq!(no_end.free(&zone), Free::NoEnd);
    let known = Treated { end: Some(end), ..no_end };
    assert_eq!(reckon(&[known, no_end], &zone).1, Earliest::Open);
    assert_eq!(reckon(&[], &zone).1, Earliest::NoRule);
    let both = [known, Treated { rule: detection(72), margin: Some(Margin::Hours(12)), ..known }];
    assert_eq!(reckon(&both, &zone).1, Earliest::From { day: day("2026-03-15"), by: 0 }, "the first of two");
    let longer = [known, Treated { rule: detection(144), margin: Some(Margin::Hours(12)), ..known }];
    assert_eq!(reckon(&longer, &zone).1, Earliest::From { day: day("2026-03-18"), by: 1 });
}

#[test]
fn a_set_is_doubted_when_it_does_not_hold_on_the_day_has_ended_or_was_not_read_for_a_year() {
    let set = Validity { from: day("2025-01-01"), to: Some(day("2026-03-31")), read_on: day("2025-03-11") };
    let months = catalogue().competition.old_after_months();
    let doubts = |event: &str, today: &str| set.doubts(day(event), day(today), months);
    assert_eq!(doubts("2026-03-31", "2026-03-11"), []);
    assert_eq!(doubts("2026-03-31", "2026-03-12"), [Doubt::Old { months: 12 }]);
    assert_eq!(doubts("2026-04-01", "2026-03-01"), [Doubt::Over]);
    assert_eq!(doubts("2024-12-31", "2025-03-12"), [Doubt::NotYet]);
    assert_eq!(doubts("2026-04-02", "2026-04-01"), [Doubt::Over, Doubt::Expired, Doubt::Old { months: 12 }]);
    assert!(Validity { to: None, ..set }.holds_on(day("2099-01-01")));
}

fn rules() -> impl Strategy<Value = Rule> {
    let interval =
        prop_oneof![(0..2000_u32).prop_map(Interval::Hours), (0..60_u32).prop_map(Interval::ClearDays)];
    let kind = prop_oneof![Just(Kind::Detection), Just(Kind::StandDown)];
    (kind, interval).prop_map(|(kind, interval)| Rule { kind, interval })
}

fn margins() -> impl Strategy<Value = Margin> {
    prop_oneof![(1..500_u32).prop_map(Margin::Hours), (1..30_u32).prop_map(Margin::Days)]
}

fn treated() -> impl Strategy<Value = Treated> {
    // Two years from 1 January 2026, to the minute.
    (0..1_051_200_i64, rules(), margins()).prop_map(|(minute, rule, margin)| Treated {
        end: Some(At(1_767_222_000_000).plus_minutes(minute)),
        rule,
        margin: Some(margin),
    })
}

fn earliest(all: &[Treated], zone: &TimeZone) -> Option<Day> {
    match reckon(all, zone).1 {
        Earliest::From { day, .. } => Some(day),
        Earliest::NoRule | Earliest::Open => None,
    }
}

proptest! {
    #[test]
    fn more_margin_is_never_earlier_and_one_more_day_is_exactly_one(one in treated(), more in 1..500_u32) {
        let zone = berlin();
        let longer = match one.margin.unwrap() {
            Margin::Hours(hours) => Margin::Hours(hours + more),
            Margin::Days(days) => Margin::Days(days + more),
        };
        let (before, after) = (earliest(&[one], &zone), earliest(&[Treated { margin: Some(longer), ..one }], &zone));
        prop_assert!(before.is_some() && after >= before, "{before:?} {after:?}");
        if let Margin::Days(_) = longer {
            prop_assert_eq!(before.unwrap().days_until(after.unwrap()), i64::from(more));
        }
    }

    #[test]
    fn one_more_treatment_is_never_earlier(all in prop::collection::vec(treated(), 1..6), more in treated()) {
        let zone = berlin();
        let before = earliest(&all, &zone);
        let with: Vec<Treated> = all.into_iter().chain([more]).collect();
        let after = earliest(&with, &zone);
        prop_assert!(before.is_some() && after >= before, "{before:?} {after:?}");
        let no_margin = Treated { rule: detection(24), margin: None, ..more };
        let open: Vec<Treated> = with.into_iter().chain([no_margin]).collect();
        prop_assert_eq!(reckon(&open, &zone).1, Earliest::Open);
    }

    #[test]
    fn clear_days_are_the_fewest_that_keep_the_rule_and_hours_are_over_when_the_day_begins(
        minute in 0..1_051_200_i64, days in 0..60_u32, hours in 0..2000_u32
    ) {
        let zone = berlin();
        let end = At(1_767_222_000_000).plus_minutes(minute);
        let on = |interval| match free(end, stand_down(interval), None, &zone) {
            Free::From(day) => day,
            other => panic!("{other:?}"),
        };
        let day = on(Interval::ClearDays(days));
        prop_assert_eq!(clear_days(end.day(&zone), day), i64::from(days));
        let day = on(Interval::Hours(hours));
        prop_assert!(day.start(&zone).minutes_since(end) >= i64::from(hours) * 60);
        prop_assert!(day.plus_days(-1).start(&zone).minutes_since(end) < i64::from(hours) * 60);
    }
}
