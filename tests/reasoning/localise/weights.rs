//! A practice's own values in place of shipped ones: what they change, what they do not, and what holds whatever they
//! are.

use limbledger::{
    catalogue::{
        Limb,
        localise::{Address, Figure, Localising},
    },
    reasoning::localise::{Done, Localised, Read, WorkUp, localise},
};
use proptest::prelude::*;
use serde_json::json;

use super::{
    block, of,
    props::{any_work, codes, scores, standings},
    shipped, standing, work_up,
};

const LISTS: [&str; 11] = [
    "clock", "rung", "letter", "answer", "standing", "number", "severe", "agent", "override", "support",
    "together",
];

fn at(address: &str) -> Address {
    address.parse().expect("an address")
}

fn with(own: &[(&str, f64)]) -> Localising {
    let own: Vec<_> = own.iter().map(|(address, is)| (at(address), *is)).collect();
    let (rows, refused) = shipped().with(&own);
    assert_eq!(refused, []);
    rows
}

fn left_fore(blocks: &[serde_json::Value], rows: &Localising) -> Localised {
    localise(&work_up(json!({"limb": "LF", "blocks": blocks})), rows).expect("a work-up that can be meant")
}

#[test]
fn another_chance_changes_the_standing_it_supports_and_says_so() {
    let yes = [block("PDN", 8, 90)];
    let before = left_fore(&yes, shipped());
    let after = left_fore(&yes, &with(&[("fore/NAV/PDN", 0.1)]));
    assert_eq!(standing(&before, "NAV"), "candidate");
    assert_eq!(standing(&after, "NAV"), "unlikely");
    let because = &of(&after, "NAV").because[0];
    assert!(
        because.contains("the practice's own value") && because.contains("0.1 (shipped: 0.95)"),
        "{because}"
    );
    for other in before.candidates.iter().filter(|row| row.structure != "NAV") {
        let same = of(&after, &other.structure);
        assert_eq!((same.score, &same.because), (other.score, &other.because), "{}", other.structure);
    }
    let hind = json!({"limb": "LH", "blocks": [block("PDH", 8, 90)]});
    let hind = localise(&work_up(hind), &with(&[("fore/NAV/PDN", 0.1)])).unwrap();
    assert!(hind.candidates.iter().all(|row| !row.because.concat().contains("practice's own")));
}

#[test]
fn every_kind_of_number_changes_what_rests_on_it() {
    let changed = |own: &[(&str, f64)], blocks: &[serde_json::Value], structure: &str| {
        let after = left_fore(blocks, &with(own));
        let row = of(&after, structure);
        assert!(row.because.concat().contains("the practice's own value"), "{own:?}: {:?}", row.because);
        (standing(&left_fore(blocks, shipped()), structure), row.standing.clone())
    };
    let (yes, no, late) = ([block("PDN", 8, 90)], [block("DIPJ", 8, 0)], [block("PDN", 18, 90)]);
    let pair = |before: &str, after: &str| (before.to_owned(), after.to_owned());
    // A published share, a letter, the limit of a standing, the clock, the name of an answer.
    assert_eq!(changed(&[("override/O3/chance", 0.9)], &no, "CLD"), pair("candidate", "unlikely"));
    assert_eq!(changed(&[("letter/L/chance", 0.4)], &yes, "PIP"), pair("unlikely", "possible"));
    assert_eq!(changed(&[("standing/unlikely/at_least", 0.22)], &yes, "PIP"), pair("unlikely", "excluded"));
    assert_eq!(changed(&[("clock/PDN/late_min", 20.0)], &late, "DSL"), pair("candidate", "unlikely"));
    let half = [block("PDN", 8, 60)];
    let lower = [("answer/positive/at_least_pct", 55.0)];
    assert_eq!(changed(&lower, &half, "FET"), pair("possible", "excluded"));
}

#[test]
fn a_number_goes_back_to_where_it_was() {
    for address in ["fore/NAV/PDN", "clock/PDN/late_min", "override/O3/chance", "rung/fore PDN/step"] {
        let figure = at(address);
        let before = shipped().figure(&figure).unwrap().is;
        let value = if before < 1.0 { 0.5 } else { before + 2.0 };
        let changed = shipped().also(&figure, value).unwrap();
        assert_eq!((changed.figure(&figure).unwrap().is, changed.shipped(&figure)), (value, Some(before)));
        let back = changed.without(&figure).unwrap();
        assert_eq!((back.figure(&figure).unwrap().is, back.shipped(&figure)), (before, None));
    }
}

#[test]
fn what_would_break_the_reckoning_is_refused_with_a_reason() {
    for (address, is, why) in [
        ("fore/NAV/PDN", 0.0, "0.01 to 0.99"),
        ("clock/PDN/sites", 1.5, "whole"),
        ("clock/PDN/late_min", 4.0, "follow each other"),
        ("clock/PDN/ml_most", 0.5, "more than"),
        ("standing/possible/at_least", 0.7, "candidate"),
        ("letter/U/chance", 0.3, "P at 0.5"),
        ("answer/positive/slope", 0.5, "not to be changed"),
        ("answer/partly positive/base", 0.4, "more than 1"),
        ("number/widened_to/is", 0.9, "usually numb"),
        ("clock/NOPE/late_min", 10.0, "no such number"),
        ("clock/PDN/nope", 10.0, "no such number"),
    ] {
        let said = shipped().also(&at(address), is).expect_err(address);
        assert!(said.contains(why), "{address}: {said}");
    }
    // Values that only go together are taken together; one that fits no more leaves the others.
    with(&[("clock/PDN/assess_min", 20.0), ("clock/PDN/again_min", 25.0), ("clock/PDN/late_min", 30.0)]);
    let own = [(at("clock/PDN/assess_min"), 20.0), (at("fore/NAV/PDN"), 0.5), (at("gone/X/is"), 1.0)];
    let (rows, refused) = shipped().with(&own);
    let lost: Vec<String> = refused.iter().map(|(at, _)| at.to_string()).collect();
    assert_eq!(lost, ["gone/X/is", "clock/PDN/assess_min"]);
    assert_eq!(rows.own.len(), 1);
}

#[test]
fn every_number_has_a_name_a_source_and_room_around_it() {
    let cells = codes(Limb::LF).into_iter().flat_map(|block| {
        let cells = shipped().cells(Limb::LF, &block).into_iter().map(|figure| figure.address());
        cells.collect::<Vec<_>>()
    });
    let lists = LISTS.iter().flat_map(|list| shipped().figures(list)).map(|figure| figure.address());
    let all: Vec<Address> = lists.chain(cells).collect();
    assert!(all.len() > 1000, "{}", all.len());
    for address in &all {
        let figure = shipped().figure(address).unwrap_or_else(|| panic!("{address} is there"));
        assert!(!shipped().name_of(&figure).is_empty() && !figure.row.source().is_empty(), "{address}");
        assert!(figure.bound.fixed.is_some() || figure.refuses(figure.is).is_none(), "{address}");
    }
}

/// Any values of a practice's own that go together.
fn any_rows() -> impl Strategy<Value = Localising> {
    let mut all: Vec<Address> =
        LISTS.iter().flat_map(|list| shipped().figures(list)).map(|figure| figure.address()).collect();
    for (limb, block) in codes(Limb::LF).iter().map(|block| (Limb::LF, block)) {
        all.extend(shipped().cells(limb, block).iter().map(Figure::address));
    }
    for (limb, block) in codes(Limb::RH).iter().map(|block| (Limb::RH, block)) {
        all.extend(shipped().cells(limb, block).iter().map(Figure::address));
    }
    let one = (prop::sample::select(all), 0.0..=1.0_f64);
    prop::collection::vec(one, 1..12).prop_map(|picked| {
        let mut rows = shipped().clone();
        for (address, share) in picked {
            let bound = rows.figure(&address).unwrap().bound.clone();
            let value = bound.least + share * (bound.most - bound.least);
            let value = if bound.whole { value.round() } else { value };
            if let Ok(more) = rows.also(&address, value) {
                rows = more;
            }
        }
        rows
    })
}

/// A block done cleanly and by the book, with this answer.
fn clean(code: &str, rows: &Localising, pct: f64) -> Done {
    Done {
        block: code.to_owned(),
        injected_at: None,
        read: vec![Read {
            minutes: rows.clocks.get(code).unwrap().assess_min,
            improvement_pct: Some(pct),
            switched_to: None,
        }],
        skin_numb: Some(true),
        volume_ml: None,
        site: None,
        clean_baseline: Some(true),
        agent: None,
        mg_per_ml: None,
    }
}

/// Structures that this block numbs usually, by the matrix alone.
fn covered<'a>(rows: &'a Localising, limb: Limb, block: &'a str) -> impl Iterator<Item = &'a str> {
    let published = move |structure: &str| {
        rows.overrides.iter().any(|row| {
            (row.blocks.is_empty() || row.blocks.iter().any(|code| code == block))
                && row.structures.iter().any(|code| code == structure)
        })
    };
    let usually = rows.number("numb_from");
    let chance = move |structure: &str| rows.chance(limb, structure, block).unwrap_or_default();
    let all = rows.sources(limb).map(|row| row.code.as_str());
    all.filter(move |code| chance(code) >= usually && !published(code))
}

fn plus(work: &WorkUp, done: Done) -> WorkUp {
    let mut more = work.clone();
    more.blocks.push(done);
    more
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn scores_stay_in_their_bounds_and_the_order_of_clean_blocks_does_not_matter(
        work in any_work(Some(true)),
        rows in any_rows(),
    ) {
        let found = localise(&work, &rows).unwrap();
        prop_assert_eq!(&found, &localise(&work, &rows).unwrap());
        prop_assert!(found.candidates.iter().all(|row| (0.0..=1.0).contains(&row.score)));
        prop_assert!(found.next.iter().all(|next| next.gain >= 0.0));
        let mut turned = work.clone();
        turned.blocks.reverse();
        let (a, b) = (scores(&found), scores(&localise(&turned, &rows).unwrap()));
        for (structure, score) in &a {
            prop_assert!((score - b[structure]).abs() < 0.0011, "{structure}");
        }
    }

    #[test]
    fn a_no_never_raises_and_a_yes_never_lowers_what_the_block_numbs(
        work in any_work(Some(true)),
        rows in any_rows(),
        pick in any::<prop::sample::Index>(),
    ) {
        let codes = codes(work.limb);
        let code = &codes[pick.index(codes.len())];
        let before = standings(&localise(&work, &rows).unwrap());
        let no = rows.answers.get("negative").unwrap().at_least_pct.max(-10.0);
        let after_no = standings(&localise(&plus(&work, clean(code, &rows, no)), &rows).unwrap());
        let after_yes = standings(&localise(&plus(&work, clean(code, &rows, 100.0)), &rows).unwrap());
        for structure in covered(&rows, work.limb, code) {
            prop_assert!(after_no[structure] <= before[structure], "{structure} {code}");
            prop_assert!(after_yes[structure] >= before[structure], "{structure} {code}");
        }
    }
}
