//! Days and routes, held against trying everything.

use jiff::tz::TimeZone;
use limbledger::{
    catalogue::catalogue,
    clock::{At, Day},
    reasoning::road::{
        Asked, Course, Drive, Duty, Place, Roads, Rules, Shift, Spot, Start, Stop, Visit, as_booked, best,
        carries_on, minutes, reach, road_km, starts, straight_km,
    },
};
use proptest::prelude::*;

fn roads() -> Roads {
    Roads::new(Rules::shipped(), &[])
}

/// A yard so many kilometres of road north and east of nowhere in particular.
fn yard(name: &str, north_km: f64, east_km: f64) -> Place {
    let degree = 111.195 * Rules::shipped().circuity;
    let spot =
        Spot { lat: 46.0 + north_km / degree, lon: -30.0 + east_km / degree / 46f64.to_radians().cos() };
    Place::new(name, name, Some(spot))
}

fn day() -> Day {
    "2026-03-11".parse().unwrap()
}

fn at(hour: i8, minute: i8) -> At {
    day().at(hour, minute, &TimeZone::UTC)
}

fn utc(day: Day, hour: i8) -> At {
    day.at(hour, 0, &TimeZone::UTC)
}

fn shift(stops: Vec<Stop>) -> Shift {
    let base = yard("practice", 0.0, 0.0);
    let (from, until) = (at(8, 0), at(18, 0));
    Shift { vet: 0, day: day(), from, until, base, clinic: false, equipment: vec![], stops }
}

fn stop(place: &Place, who: &str, from: At, minutes: i64) -> Stop {
    Stop { place: place.clone(), who: who.into(), from, until: from.plus_minutes(minutes), last: false }
}

fn asked(place: &Place, minutes: i64) -> Asked<'_> {
    Asked { place, in_clinic: false, minutes, needs: &[], now: at(0, 0), wait_min: 4, last_on: &[] }
}

#[test]
fn a_straight_line_becomes_road_and_minutes() {
    // One degree of a meridian is 111.195 km on this sphere.
    let (a, b) = (Spot { lat: 0.0, lon: 0.0 }, Spot { lat: 1.0, lon: 0.0 });
    assert!((straight_km(a, b) - 111.195).abs() < 5e-4);
    // The reference's example: 35.13 km, 45.7 km of road, 50 min at 55 km/h.
    let road = road_km(35.13, 1.3).unwrap();
    assert!((road - 45.7).abs() < 0.05 && (minutes(road, 55.0).unwrap() - 50.0).abs() < 0.2);
    assert_eq!(road_km(1.0, 0.9).unwrap_err().name, "circuity");
    assert_eq!(minutes(1.0, 0.0).unwrap_err().name, "speed_kmh");
    assert_eq!(Spot { lat: f64::NAN, lon: 0.0 }.checked("from").unwrap_err().name, "from.lat");
    assert!(
        (straight_km(Spot { lat: 90.0, lon: 0.0 }, Spot { lat: -90.0, lon: 9.0 }) - 20_015.1).abs() < 0.1
    );
}

#[test]
fn a_leg_is_learned_from_its_fifth_drive_on() {
    let (here, there) = (yard("here", 0.0, 0.0), yard("there", 0.0, 21.9));
    let drive = |from: &str, to: &str, minutes| Drive { from: from.into(), to: to.into(), minutes };
    let mut driven = vec![
        drive("here", "there", 40),
        drive("there", "here", 30),
        drive("here", "there", 35),
        drive("here", "there", 90),
    ];
    let leg = |driven: &[Drive]| Roads::new(Rules::shipped(), driven).leg(&here, &there);
    assert_eq!((leg(&driven).minutes, leg(&driven).learned), (24, false), "21.9 km at 55 km/h");
    driven.push(drive("there", "here", 31));
    assert_eq!((leg(&driven).minutes, leg(&driven).learned), (35, true), "the median, whichever way");
    driven.push(drive("there", "here", 36));
    assert_eq!(leg(&driven).minutes, 36, "between 35 and 36, rounded up");
    let lost = Place::new("lost", "lost", None);
    assert_eq!(roads().leg(&here, &lost).km, None);
    assert_eq!(roads().leg(&here, &lost).minutes, Rules::shipped().unknown_min);
}

#[test]
fn a_horse_of_the_same_yard_is_put_next_to_the_one_that_is_booked_there() {
    let (hill, brook) = (yard("Hill Yard", 0.0, 21.9), yard("Brook Farm", 21.9, 0.0));
    let day = shift(vec![stop(&hill, "Briar", at(10, 0), 45), stop(&brook, "Tansy", at(14, 0), 45)]);
    let found = starts(&roads(), &[day], &asked(&hill, 30), utc, 5);
    assert_eq!(found[0].why(), "same yard as Briar: no driving more");
    assert_eq!((found[0].from, found[0].adds_min), (at(9, 30), 0), "before it, without a minute between");
    assert_eq!(found[1].from, at(10, 45), "or after it");
    let far: Vec<&Start> = found.iter().filter(|start| start.adds_min > 0).collect();
    assert!(far.iter().all(|start| start.why().contains("min more driving")), "{far:?}");
}

#[test]
fn hours_clinic_days_and_what_the_vehicle_carries_are_kept() {
    let hill = yard("Hill Yard", 0.0, 21.9);
    let needs = ["xray".to_owned()];
    let with =
        |shift: &Shift, asked: &Asked<'_>| starts(&roads(), std::slice::from_ref(shift), asked, utc, 5);
    let empty = shift(vec![]);
    let open = with(&empty, &asked(&hill, 60));
    // 24 min of road, 10 of slack and 10 to set up: 8:44, offered on the quarter.
    assert_eq!(open.iter().map(|s| s.from).collect::<Vec<_>>(), [at(8, 45), at(13, 0)]);
    assert!(with(&Shift { clinic: true, ..empty.clone() }, &asked(&hill, 60)).is_empty());
    let imaging = Asked { needs: &needs, ..asked(&hill, 60) };
    assert!(with(&empty, &imaging).is_empty());
    assert_eq!(with(&Shift { equipment: needs.to_vec(), ..empty.clone() }, &imaging).len(), 2);
    let base = empty.base.clone();
    let clinic = Asked { in_clinic: true, needs: &needs, ..asked(&base, 60) };
    assert_eq!(with(&Shift { clinic: true, ..empty.clone() }, &clinic)[0].from, at(8, 0));
    // Back by six: 24 min home and an hour there.
    let last = Asked { now: at(15, 46), ..asked(&hill, 60) };
    assert_eq!(with(&empty, &last)[0].from, at(16, 30));
    assert!(with(&empty, &Asked { now: at(16, 2), ..last }).is_empty());
}

#[test]
fn the_days_on_which_the_clocks_change_are_as_long_as_they_are() {
    // Summer time in the European Union begins on 29 March 2026 and ends on 25 October (Directive 2000/84/EC).
    let berlin = TimeZone::get("Europe/Berlin").unwrap();
    let night = |day: &str| {
        let day: Day = day.parse().unwrap();
        let (from, until) = (day.at(0, 0, &berlin), day.at(8, 0, &berlin));
        Shift { day, from, until, ..shift(vec![]) }
    };
    let fits = |day: &str, minutes| {
        let (night, base) = (night(day), yard("practice", 0.0, 0.0));
        let asked = Asked { now: night.from, in_clinic: true, ..asked(&base, minutes) };
        starts(&roads(), &[night], &asked, |day, hour| day.at(hour, 0, &berlin), 5)
    };
    assert_eq!(fits("2026-03-29", 300)[0].until.hm(&berlin), "06:00");
    assert!(fits("2026-03-29", 421).is_empty() && !fits("2026-03-29", 420).is_empty());
    assert!(fits("2026-10-25", 541).is_empty() && !fits("2026-10-25", 540).is_empty());
}

#[test]
fn an_emergency_goes_to_whoever_is_there_first_and_says_what_moves() {
    let (hill, brook) = (yard("Hill Yard", 0.0, 21.9), yard("Brook Farm", 21.9, 0.0));
    let near = shift(vec![stop(&hill, "Briar", at(9, 30), 60), stop(&brook, "Tansy", at(11, 0), 45)]);
    let free = Shift { vet: 1, ..shift(vec![]) };
    let off = Shift { vet: 2, base: hill.clone(), ..shift(vec![]) };
    let duties = [(&near, true), (&free, true), (&off, false)].map(|(shift, on_duty)| Duty {
        vet: shift.vet,
        shift,
        on_duty,
        turn: u8::from(!on_duty),
    });
    let found = reach(&roads(), &duties, Some(&hill), 90, at(10, 0));
    assert_eq!(found.iter().map(|r| r.vet).collect::<Vec<_>>(), [1, 0, 2], "off duty comes last");
    assert_eq!((found[0].there, found[0].drive_min), (at(10, 24), Some(24)));
    assert_eq!((found[1].there, found[1].busy.unwrap().who.as_str()), (at(10, 30), "Briar"));
    assert_eq!(found[1].moves.iter().map(|stop| stop.who.as_str()).collect::<Vec<_>>(), ["Tansy"]);
    let anywhere = reach(&roads(), &duties, None, 90, at(10, 0));
    assert_eq!((anywhere[0].vet, anywhere[0].drive_min), (1, None));
}

#[test]
fn what_others_are_kept_safe_from_comes_last_however_far_the_way_round() {
    let (near, far) = (yard("Near Yard", 5.0, 0.0), yard("Far Yard", 30.0, 0.0));
    let visit = |place: &Place, last| Visit { place: place.clone(), minutes: 30, at: None, last };
    let found = best(&roads(), &course(), &[visit(&near, true), visit(&far, false)]).unwrap().unwrap();
    assert_eq!(found.order, [1, 0], "past the marked yard, and to it on the way back");
    let promised = Visit { at: Some(at(8, 30)), ..visit(&near, true) };
    let after = Visit { at: Some(at(11, 0)), ..visit(&far, false) };
    assert_eq!(best(&roads(), &course(), &[promised, after]).unwrap(), None, "no order keeps both");

    let marked = Stop { last: true, ..stop(&near, "Briar", at(11, 0), 30) };
    let day = shift(vec![stop(&far, "Tansy", at(9, 30), 30), marked]);
    let on = |asked: &Asked<'_>| -> Vec<At> {
        starts(&roads(), std::slice::from_ref(&day), asked, utc, 9).iter().map(|start| start.from).collect()
    };
    assert!(on(&asked(&far, 20)).iter().all(|from| *from < at(11, 0)));
    let last = Asked { last_on: &[day.day], ..asked(&far, 20) };
    assert!(!on(&last).is_empty() && on(&last).iter().all(|from| *from > at(9, 30)));
    let duty = [Duty { vet: 0, shift: &day, on_duty: true, turn: 0 }];
    assert!(reach(&roads(), &duty, Some(&far), 60, at(11, 5))[0].carries_on);
    assert!(!reach(&roads(), &duty, Some(&far), 60, at(10, 5))[0].carries_on);
}

#[test]
fn a_figure_of_the_practice_stands_in_for_the_shipped_one() {
    let slow = Roads::new(Rules::with(vec![("speed_kmh".into(), 27.5)]), &[]);
    let (here, there) = (yard("here", 0.0, 0.0), yard("there", 0.0, 21.9));
    assert_eq!(slow.leg(&here, &there).minutes, 48);
    assert!(
        catalogue()
            .road
            .figures
            .iter()
            .all(|row| (Rules::shipped().get(&row.code) - row.value).abs() < 1e-12)
    );
}

#[test]
fn ten_stops_are_refused_by_their_name() {
    let visit = Visit { place: yard("a", 1.0, 1.0), minutes: 10, at: None, last: false };
    let refused = best(&roads(), &course(), &vec![visit; 10]).unwrap_err();
    assert_eq!(refused.to_string(), "stops must be 9 at most, not 10");
}

fn course() -> Course {
    let home = yard("practice", 0.0, 0.0);
    Course { from: at(8, 0), until: at(18, 0), start: home.clone(), end: home }
}

/// Up to four yards, so that some stops share one.
fn somewhere() -> impl Strategy<Value = Place> {
    (0..5_u8).prop_map(|n| yard(&format!("yard {n}"), f64::from(n * 7 % 5) * 6.0, f64::from(n * 3 % 5) * 9.0))
}

prop_compose! {
    fn some_day()(
        stops in prop::collection::vec((somewhere(), 0..40_i64, 15..70_i64, prop::bool::weighted(0.2)), 0..6)
    ) -> Shift {
        let mut free = at(8, 0);
        let mut day = shift(vec![]);
        for (number, (place, gap, minutes, marked)) in stops.into_iter().enumerate() {
            let last = day.stops.last().map_or(&day.base, |stop: &Stop| &stop.place);
            let from = free.plus_minutes(roads().change(last, &place) + gap * 3);
            free = from.plus_minutes(minutes);
            let one = stop(&place, &format!("horse {number}"), from, minutes);
            day.stops.push(Stop { last: marked, ..one });
        }
        day
    }
}

/// The driving of a day, and whether every stop is reached in time and the vet is home in time; by going through it.
fn drive_through(day: &Shift) -> (i64, bool) {
    let roads = roads();
    let (mut here, mut free, mut driven, mut kept) = (&day.base, day.from, 0, true);
    for stop in &day.stops {
        driven += roads.leg(here, &stop.place).minutes;
        kept &= free.plus_minutes(roads.change(here, &stop.place)) <= stop.from;
        (here, free) = (&stop.place, stop.until);
    }
    let home = roads.leg(here, &day.base).minutes;
    (driven + home, kept && free.plus_minutes(home) <= day.until)
}

/// What a visit at this minute adds, if the day can still be kept with it and nothing is carried from a marked stop on.
fn tried(day: &Shift, place: &Place, from: At, (minutes, last): (i64, bool)) -> Option<i64> {
    let mut with = day.clone();
    let new = Stop { last, ..stop(place, "new", from, minutes) };
    let carried = |one: &Stop| if last { one.from > from && !one.last } else { one.from < from && one.last };
    if with.stops.iter().any(carried) {
        return None;
    }
    if with.stops.iter().any(|stop| stop.from < new.until && new.from < stop.until) {
        return None;
    }
    with.stops.push(new);
    with.stops.sort_by_key(|stop| stop.from);
    let (driven, kept) = drive_through(&with);
    kept.then_some(driven - drive_through(day).0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_minute_of_a_day_is_better_than_the_first_start(
        day in some_day(), place in somewhere(), minutes in 15..90_i64, last in prop::bool::weighted(0.3)
    ) {
        prop_assume!(drive_through(&day).1);
        let last_on: &[Day] = if last { &[day.day] } else { &[] };
        let asked = Asked { last_on, ..asked(&place, minutes) };
        let found = starts(&roads(), std::slice::from_ref(&day), &asked, utc, 50);
        for start in &found {
            prop_assert_eq!(tried(&day, &place, start.from, (minutes, last)), Some(start.adds_min), "{:?}", start);
        }
        let all = |step: i64| {
            let minutes_of_day = (0..600 / step).map(|n| at(8, 0).plus_minutes(n * step));
            minutes_of_day.filter_map(|from| tried(&day, &place, from, (minutes, last))).min()
        };
        let (any, on_grid) = (all(1), all(15));
        let first = found.first().map(|start| start.adds_min);
        prop_assert!(on_grid.is_none() || first.is_some_and(|first| first <= on_grid.unwrap()));
        prop_assert!(first.is_none() || first >= any);
    }

    #[test]
    fn no_order_of_a_day_is_better_than_the_best(stops in stops_of_a_day()) {
        let found = best(&roads(), &course(), &stops).unwrap();
        let tried = permutations(stops.len()).into_iter().filter_map(|order| in_order(&stops, &order)).min();
        prop_assert_eq!(found.as_ref().map(|plan| (plan.drive_min, plan.back)), tried);
        if let Some(plan) = found {
            prop_assert_eq!(in_order(&stops, &plan.order), Some((plan.drive_min, plan.back)));
            let kept = plan.order.iter().zip(&plan.starts).all(|(n, at)| stops[*n].at.is_none_or(|fixed| fixed == *at));
            prop_assert!(kept, "a promised time was moved");
            let ordered: Vec<Visit> = plan.order.iter().map(|n| stops[*n].clone()).collect();
            prop_assert!(!carries_on(&ordered), "the others come first");
            let booked = as_booked(&roads(), &course(), &ordered, &plan.starts);
            prop_assert_eq!((booked.drive_min, booked.back), (plan.drive_min, plan.back));
        }
    }
}

fn stops_of_a_day() -> impl Strategy<Value = Vec<Visit>> {
    let promised = prop::option::weighted(0.3, (0..32_i64).prop_map(|n| at(9, 0).plus_minutes(n * 15)));
    let one = (somewhere(), 15..60_i64, promised, prop::bool::weighted(0.3))
        .prop_map(|(place, minutes, at, last)| Visit { place, minutes, at, last });
    prop::collection::vec(one, 1..7)
}

/// The driving of one order and when it is over, if it keeps what was promised.
fn in_order(stops: &[Visit], order: &[usize]) -> Option<(i64, At)> {
    if order.windows(2).any(|pair| stops[pair[0]].last && !stops[pair[1]].last) {
        return None;
    }
    let (roads, course) = (roads(), course());
    let (mut here, mut free, mut driven) = (&course.start, course.from, 0);
    for n in order {
        let stop = &stops[*n];
        driven += roads.leg(here, &stop.place).minutes;
        let ready = free.plus_minutes(roads.change(here, &stop.place));
        let fives = |at: At| At((at.0 + 299_999) / 300_000 * 300_000);
        let begun = stop.at.unwrap_or_else(|| fives(ready));
        if begun < ready {
            return None;
        }
        (here, free) = (&stop.place, begun.plus_minutes(stop.minutes));
    }
    let home = roads.leg(here, &course.end).minutes;
    let back = free.plus_minutes(home);
    (back <= course.until).then_some((driven + home, back))
}

fn permutations(count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![vec![]];
    }
    let shorter = permutations(count - 1);
    let longer = |order: &Vec<usize>| {
        (0..count).map(|at| [&order[..at], &[count - 1], &order[at..]].concat()).collect::<Vec<_>>()
    };
    shorter.iter().flat_map(longer).collect()
}
