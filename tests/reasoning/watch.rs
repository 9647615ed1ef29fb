//! Watches of the rota, from hand-over to hand-over.

use jiff::tz::TimeZone;
use limbledger::{
    clock::{At, Day},
    reasoning::watch::{HandOver, Part, monday, week_of_pattern},
};
use proptest::prelude::*;

const USUAL: HandOver = HandOver { to_day_min: 8 * 60, to_night_min: 18 * 60 };

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

#[test]
fn a_night_belongs_to_the_day_on_which_it_begins() {
    let zone = TimeZone::UTC;
    let at = |hour, minute| USUAL.at(day("2026-03-11").at(hour, minute, &zone), &zone);
    assert_eq!((at(7, 59).day, at(7, 59).part), (day("2026-03-10"), Part::Night));
    assert_eq!(
        (at(8, 0).day, at(8, 0).part),
        (day("2026-03-11"), Part::Day),
        "the later one at the hand-over"
    );
    assert_eq!((at(18, 0).day, at(18, 0).part), (day("2026-03-11"), Part::Night));
    assert_eq!(at(23, 0).until, day("2026-03-12").at(8, 0, &zone));
}

#[test]
fn on_the_days_on_which_the_clocks_change_a_night_is_an_hour_shorter_or_longer() {
    // Summer time in the European Union begins on 29 March 2026 and ends on 25 October (Directive 2000/84/EC).
    let berlin = TimeZone::get("Europe/Berlin").unwrap();
    let hours = |date: &str, part| {
        let watch = USUAL.watch(day(date), part, &berlin);
        watch.until.minutes_since(watch.from) / 60
    };
    assert_eq!([hours("2026-03-27", Part::Night), hours("2026-03-28", Part::Night)], [14, 13]);
    assert_eq!([hours("2026-10-24", Part::Night), hours("2026-10-25", Part::Night)], [15, 14]);
    assert_eq!([hours("2026-03-29", Part::Day), hours("2026-10-25", Part::Day)], [10, 10]);
    // A hand-over at half past two, an hour that this night does not have.
    let skipped = HandOver { to_day_min: 150, ..USUAL };
    let morning = skipped.watch(day("2026-03-29"), Part::Day, &berlin);
    assert_eq!(morning.from.hm(&berlin), "03:30");
    assert_eq!(skipped.watch(day("2026-03-28"), Part::Night, &berlin).until, morning.from);
}

#[test]
fn a_pattern_goes_on_over_the_end_of_a_year_and_begins_on_mondays() {
    let weeks: Vec<i64> = (0..5).map(|n| week_of_pattern(day("2025-12-22").plus_days(n * 7), 4)).collect();
    assert_eq!(weeks[4], weeks[0]);
    assert!(weeks.windows(2).all(|pair| pair[1] == pair[0] % 4 + 1), "{weeks:?}");
    assert_eq!(
        week_of_pattern(day("2026-03-15"), 4),
        week_of_pattern(day("2026-03-09"), 4),
        "Sunday and Monday"
    );
    assert_eq!(week_of_pattern(day("1999-06-01"), 1), 1);
    assert_eq!(monday(day("2026-03-15")), day("2026-03-09"));
}

proptest! {
    #[test]
    fn every_minute_has_one_watch_and_watches_meet(
        minute in 0..5_256_000_i64, to_day_min in 0..720_i64, to_night_min in 721..1440_i64
    ) {
        let zone = TimeZone::get("Europe/Berlin").unwrap();
        let hand = HandOver { to_day_min, to_night_min };
        let now = At(1_735_686_000_000).plus_minutes(minute);
        let watch = hand.at(now, &zone);
        prop_assert!(watch.from <= now && now < watch.until, "{watch:?}");
        prop_assert_eq!(hand.at(watch.until, &zone).from, watch.until);
        prop_assert_eq!(hand.at(watch.from, &zone), watch);
    }
}
