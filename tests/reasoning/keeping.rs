//! Until when a record is kept, and by when a copy of it is due.

use limbledger::{
    catalogue::catalogue,
    clock::Day,
    reasoning::keeping::{copy_due, kept_until},
};
use proptest::prelude::*;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

#[test]
fn a_record_is_kept_whole_years_and_a_leap_day_lets_nothing_go_too_soon() {
    assert_eq!(kept_until(day("2026-03-11"), 7), day("2033-03-11"));
    assert_eq!(kept_until(day("2024-02-29"), 4), day("2028-02-29"));
    assert_eq!(kept_until(day("2024-02-29"), 3), day("2027-03-01"));
    assert_eq!(catalogue().records.default_years(), 7);
}

#[test]
fn copies_are_due_after_days_or_after_working_days() {
    // California Business and Professions Code 4855: 5 days. Texas, rule on equine dental records: 15 business days.
    let rule = |code| catalogue().records.copies.get(code).unwrap();
    let due = |code, asked| copy_due(day(asked), rule(code).days, rule(code).business);
    assert_eq!(due("us_california", "2026-03-12"), day("2026-03-17"));
    // Thursday 12 March and three weeks of five working days.
    assert_eq!(due("us_texas", "2026-03-12"), day("2026-04-02"));
    assert_eq!(due("us_texas", "2026-03-14"), day("2026-04-03"), "asked on a Saturday");
}

proptest! {
    #[test]
    fn working_days_are_counted_one_by_one(start in 0..4000_i64, days in 1..60_u16) {
        let asked = day("2024-01-01").plus_days(start);
        let due = copy_due(asked, days, true);
        let working = |day: &Day| day.0.weekday().to_monday_zero_offset() < 5;
        let counted = (1..=asked.days_until(due)).map(|n| asked.plus_days(n)).filter(working).count();
        prop_assert!(working(&due));
        prop_assert_eq!(counted, usize::from(days));
        prop_assert!(copy_due(asked, days, false) <= due);
    }
}
