//! Days, times and numbers as people type them: whatever it is, it is one that exists within its bounds, or it is refused
//! beside its field.

use jiff::civil::Date;
use limbledger::{clock::Day, web::Check};
use proptest::prelude::*;

/// What a person can mean by a day: from 1900 to 2199.
fn days() -> impl Strategy<Value = Date> {
    (1900..2200_i16, 1..=12_i8, 1..=31_i8)
        .prop_filter_map("a day that exists", |(year, month, day)| Date::new(year, month, day).ok())
}

fn day(typed: &str) -> Option<Day> {
    let mut check = Check::new();
    let day = check.day("day", typed);
    assert_eq!(day.is_none() && !typed.trim().is_empty(), check.errors.on("day").is_some(), "{typed:?}");
    day
}

proptest! {
    #[test]
    fn a_day_is_read_in_every_way_of_writing_it(date in days()) {
        const NAMES: [&str; 12] =
            ["Jan", "February", "mar", "APR", "May", "June", "jul", "Aug", "Sept", "oct", "Nov", "Dec"];
        let (y, m, d) = (date.year(), date.month(), date.day());
        let name = NAMES[usize::try_from(m - 1).unwrap()];
        for typed in [
            format!("{y}-{m:02}-{d:02}"),
            format!("{d}.{m}.{y}"),
            format!("{d:02}/{m:02}/{y}"),
            format!("  {d} {name} {y} "),
            format!("{d}. {m}. {y}"),
        ] {
            prop_assert_eq!(day(&typed), Some(Day(date)), "{}", typed);
        }
    }

    #[test]
    fn whatever_is_typed_for_a_day_exists_or_is_refused(typed in "\\PC{0,24}|[0-9./ -]{0,14}|[0-9]{1,30}-[0-9]{1,4}-[0-9]{1,4}") {
        if let Some(Day(date)) = day(&typed) {
            prop_assert!((1900..2200).contains(&date.year()), "{}", date);
        }
    }

    #[test]
    fn whatever_is_typed_for_a_time_stands_on_a_clock_or_is_refused(typed in "\\PC{0,12}|[0-9:.h -]{0,8}") {
        let mut check = Check::new();
        match check.time("at", &typed) {
            Some((hour, minute)) => prop_assert!((0..24).contains(&hour) && (0..60).contains(&minute)),
            None => prop_assert!(check.errors.on("at").is_some()),
        }
    }

    #[test]
    fn a_time_is_read_in_every_way_of_writing_it(hour in 0..24_i8, minute in 0..60_i8) {
        for typed in [format!("{hour}:{minute:02}"), format!("{hour:02}.{minute:02}"), format!("{hour:02}{minute:02}"), format!("{hour}h{minute:02}")] {
            prop_assert_eq!(Check::new().time("at", &typed), Some((hour, minute)), "{}", typed);
        }
    }

    #[test]
    fn a_number_lies_within_its_bounds_or_is_refused(typed in "\\PC{0,16}|[-+]?[0-9.,eE]{1,40}( kg)?|NaN|-?inf|infinity|1e999") {
        let mut check = Check::new();
        if let Some(number) = check.number("weight", &typed, 1.0..=2000.0, "kg") {
            prop_assert!((1.0..=2000.0).contains(&number), "{}", number);
        } else {
            prop_assert_eq!(check.errors.on("weight").is_none(), typed.trim().is_empty());
        }
    }

    #[test]
    fn a_line_holds_nothing_that_cannot_be_printed_and_is_no_longer_than_it_may_be(typed in any::<String>(), longest in 1..60_usize) {
        let mut check = Check::new();
        let line = check.line("name", &typed, longest);
        prop_assert!(line.chars().count() <= longest && !line.chars().any(char::is_control));
        prop_assert!(check.errors.on("name").is_some() || line == typed.trim());
        let words = Check::new().words("words", &typed, longest);
        prop_assert!(words.chars().all(|c| !c.is_control() || c == '\n' || c == '\t'));
    }
}
