//! The days of a programme, reckoned by hand beside each test, and what must hold for every programme.

use jiff::civil::{Date, date};
use limbledger::{
    catalogue::{catalogue, programmes::GateKind},
    reasoning::programme::{Course, Event, Step},
};
use proptest::prelude::*;

fn step(days: u16, trot_min: u16, gates: &[GateKind]) -> Step {
    Step { days, walk_min: 10, trot_min, canter_min: 0, words: "walk".into(), gates: gates.to_vec() }
}

const GATE: &[GateKind] = &[GateKind::Ultrasound];

/// Two weeks, one week, then a gate and one week more.
fn three() -> Vec<Step> {
    vec![step(14, 0, &[]), step(7, 0, &[]), step(7, 5, GATE)]
}

fn course(start: Date, events: &[Event]) -> Course {
    Course::new(start, &three(), events).unwrap()
}

fn starts(course: &Course) -> Vec<(usize, Date)> {
    course.stretches.iter().map(|one| (one.step, one.from)).collect()
}

#[test]
fn steps_lie_behind_each_other_from_the_first_day() {
    let start = date(2026, 6, 1);
    let course = course(start, &[]);
    assert_eq!(starts(&course), [(0, start), (1, date(2026, 6, 15)), (2, date(2026, 6, 22))]);
    assert_eq!(course.end(), Some(date(2026, 6, 28)));
    assert_eq!(course.next_gate(), Some(2));
}

#[test]
fn neither_a_change_of_clocks_nor_a_leap_day_loses_a_day() {
    // The clocks of Europe go on 29 March 2026 and back on 25 October; 2028 has a 29 February.
    let spring = course(date(2026, 3, 20), &[]);
    assert_eq!(starts(&spring)[1].1, date(2026, 4, 3));
    let autumn = course(date(2026, 10, 20), &[]);
    assert_eq!(starts(&autumn)[1].1, date(2026, 11, 3));
    let leap = course(date(2028, 2, 20), &[]);
    assert_eq!(starts(&leap)[1].1, date(2028, 3, 5));
    let days: Vec<Date> = leap.days().map(|(day, _)| day).collect();
    assert!(days.contains(&date(2028, 2, 29)));
    assert_eq!(days.len(), 28);
}

#[test]
fn a_gate_that_nobody_has_decided_holds_the_step_before_it() {
    let mut course = course(date(2026, 6, 1), &[]);
    let late = date(2026, 6, 30);
    assert_eq!(course.stretches[course.going_on(late)].step, 1);
    course.wait_until(late);
    assert_eq!(starts(&course)[2].1, late);
    assert_eq!(course.stretches[1].days(), 15);
}

#[test]
fn a_gate_passed_late_moves_the_rest_and_one_passed_early_moves_nothing() {
    let start = date(2026, 6, 1);
    let late = course(start, &[Event::Passed { on: date(2026, 6, 25) }]);
    assert_eq!(starts(&late)[2].1, date(2026, 6, 25));
    assert_eq!(late.next_gate(), None);
    let early = course(start, &[Event::Passed { on: date(2026, 6, 20) }]);
    assert_eq!(starts(&early)[2].1, date(2026, 6, 22));
}

#[test]
fn a_gate_that_is_not_passed_is_due_again_after_so_many_days() {
    let on = date(2026, 6, 22);
    let held = course(date(2026, 6, 1), &[Event::Hold { on, days: 14 }]);
    assert_eq!(starts(&held)[2].1, date(2026, 7, 6));
    assert!(held.stretches[2].waits);
}

#[test]
fn going_back_walks_the_steps_again_and_asks_their_gates_again() {
    let events = [Event::Passed { on: date(2026, 6, 22) }, Event::Back { on: date(2026, 6, 24), steps: 1 }];
    let back = course(date(2026, 6, 1), &events);
    let again = [(1, date(2026, 6, 24)), (2, date(2026, 7, 1))];
    assert_eq!(starts(&back)[3..], again);
    assert_eq!(back.stretches[2].days(), 2);
    assert_eq!(back.next_gate(), Some(4));
    // Further back than there are steps is the first one.
    let far = course(date(2026, 6, 1), &[Event::Back { on: date(2026, 6, 16), steps: 9 }]);
    assert_eq!(starts(&far)[2], (0, date(2026, 6, 16)));
}

#[test]
fn what_does_not_fit_is_refused_by_name() {
    let start = date(2026, 6, 1);
    let refused = |steps: &[Step], event: Event| Course::new(start, steps, &[event]).unwrap_err().to_string();
    let before = refused(&three(), Event::Passed { on: date(2026, 5, 31) });
    assert!(before.starts_with("gates[0] lies before the start"), "{before}");
    let none = refused(&[step(7, 0, &[])], Event::Passed { on: start });
    assert!(none.contains("no gate"), "{none}");
    assert!(refused(&three(), Event::Hold { on: start, days: -1 }).contains("0 days"));
    assert!(refused(&three(), Event::Hold { on: start, days: 40_000 }).contains("ten years"));
    assert!(Course::new(start, &[], &[]).unwrap_err().to_string().starts_with("steps"));
    assert!(
        Course::new(start, &[step(0, 0, &[])], &[]).unwrap_err().to_string().starts_with("steps[0].days")
    );
}

#[test]
fn the_shipped_programmes_reach_trot_and_full_work_within_what_their_sources_say() {
    // Weeks to the first trot and to full work; months are taken as 4.35 weeks.
    let said = [
        ("sdft_moderate", 12, 12, 48, 48),
        ("psd_fore", 10, 12, 17, 26),
        ("psd_hind", 12, 16, 26, 39),
        ("susp_branch", 12, 16, 26, 39),
        ("alddft", 10, 12, 17, 26),
        ("ddft", 16, 24, 39, 52),
        ("bone", 8, 12, 13, 22),
    ];
    for (code, trot_from, trot_to, full_from, full_to) in said {
        let steps = Step::of(catalogue().programmes.programmes.get(code).unwrap());
        let weeks_before = |at: usize| steps[..at].iter().map(|one| u32::from(one.days)).sum::<u32>() / 7;
        let trot = steps.iter().position(|one| one.trot_min > 0).unwrap();
        assert!(
            (trot_from..=trot_to).contains(&weeks_before(trot)),
            "{code} trots from {}",
            weeks_before(trot)
        );
        assert!(!steps[trot].gates.is_empty(), "{code} trots without a gate");
        let full = weeks_before(steps.len() - 1);
        assert!((full_from..=full_to).contains(&full), "{code} is in full work from {full}");
    }
}

fn any_step() -> impl Strategy<Value = Step> {
    (1u16..30, 0u16..30, any::<bool>())
        .prop_map(|(days, trot, gate)| step(days, trot, if gate { GATE } else { &[] }))
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    prop::collection::vec(any_step(), 1..12)
}

fn day(start: Date, after: i64) -> Date {
    start.checked_add(jiff::Span::new().days(after)).unwrap()
}

proptest! {
    #[test]
    fn no_step_is_lost_and_no_day_lies_between_two(
        steps in steps(), holds in prop::collection::vec((0i64..200, 0i64..20), 0..6),
        back in prop::option::of((0i64..200, 0usize..4)),
    ) {
        let start = date(2027, 11, 5);
        let mut events: Vec<Event> = holds.iter().map(|(on, days)| Event::Hold { on: day(start, *on), days: *days }).collect();
        events.extend(back.map(|(on, steps)| Event::Back { on: day(start, on), steps }));
        let course = Course::new(start, &steps, &events).unwrap();
        prop_assert_eq!(course.stretches[0].from, start);
        for pair in course.stretches.windows(2) {
            prop_assert_eq!(pair[0].to, pair[1].from);
            prop_assert!(pair[1].step == pair[0].step + 1 || back.is_some());
        }
        prop_assert_eq!(course.stretches.last().unwrap().step, steps.len() - 1);
        let seen: std::collections::BTreeSet<usize> = course.stretches.iter().map(|one| one.step).collect();
        prop_assert!(back.is_some() || seen.len() == steps.len());
    }

    #[test]
    fn holding_twice_on_a_day_is_holding_once_for_both(steps in steps(), on in 0i64..200, a in 0i64..40, b in 0i64..40) {
        let start = date(2027, 11, 5);
        let on = day(start, on);
        let twice = [Event::Hold { on, days: a }, Event::Hold { on, days: b }];
        let once = [Event::Hold { on, days: a + b }];
        prop_assert_eq!(Course::new(start, &steps, &twice).unwrap(), Course::new(start, &steps, &once).unwrap());
    }

    #[test]
    fn every_day_has_one_step_and_what_goes_on_is_never_behind_an_undecided_gate(steps in steps(), on in 0i64..400) {
        let start = date(2027, 11, 5);
        let course = Course::new(start, &steps, &[]).unwrap();
        let now = course.going_on(day(start, on));
        prop_assert!(course.next_gate().is_none_or(|gate| now < gate));
        let days: Vec<Date> = course.days().map(|(day, _)| day).collect();
        prop_assert!(days.windows(2).all(|two| two[1] == day(two[0], 1)));
    }
}
