//! What holds for any work-up.

use std::{collections::BTreeMap, time::Instant};

use limbledger::{
    catalogue::{Limb, catalogue},
    reasoning::localise::{Done, Localised, Read, Site, WorkUp, localise},
};
use proptest::prelude::*;

use super::{shipped, work_up};
use serde_json::json;

pub(super) fn codes(limb: Limb) -> Vec<String> {
    let rows = &catalogue().localise;
    rows.ladder
        .iter()
        .filter(|rung| (rung.limb == limbledger::catalogue::Pair::Fore) == limb.is_fore())
        .map(|rung| rung.block.clone())
        .collect()
}

fn done(limb: Limb, clean: Option<bool>) -> impl Strategy<Value = Done> {
    let read = (0_u32..60, -50_i32..=100).prop_map(|(minutes, pct)| Read {
        minutes: f64::from(minutes),
        improvement_pct: Some(f64::from(pct)),
        switched_to: None,
    });
    let site = prop_oneof![Just(None), Just(Some(Site::Proximal)), Just(Some(Site::WeightBearing))];
    (
        prop::sample::select(codes(limb)),
        prop::collection::vec(read, 0..3),
        prop_oneof![Just(Some(true)), Just(Some(false)), Just(None)],
        prop_oneof![Just(None), (1_u32..12).prop_map(|ml| Some(f64::from(ml)))],
        site,
    )
        .prop_map(move |(block, read, skin_numb, volume_ml, site)| Done {
            block,
            injected_at: None,
            read,
            skin_numb,
            volume_ml,
            site,
            clean_baseline: clean,
            agent: None,
            mg_per_ml: None,
        })
}

fn any_limb() -> impl Strategy<Value = Limb> {
    prop::sample::select(vec![Limb::LF, Limb::RH])
}

pub(super) fn any_work(clean: Option<bool>) -> impl Strategy<Value = WorkUp> {
    any_limb().prop_flat_map(move |limb| {
        prop::collection::vec(done(limb, clean), 0..6).prop_map(move |blocks| {
            let mut work = work_up(json!({"limb": limb.code()}));
            work.blocks = blocks;
            work
        })
    })
}

pub(super) fn standings(found: &Localised) -> BTreeMap<String, usize> {
    let order = ["excluded", "unlikely", "possible", "candidate"];
    let place = |standing: &str| order.iter().position(|known| *known == standing).unwrap();
    found.candidates.iter().map(|row| (row.structure.clone(), place(&row.standing))).collect()
}

pub(super) fn scores(found: &Localised) -> BTreeMap<String, f64> {
    found.candidates.iter().map(|row| (row.structure.clone(), row.score)).collect()
}

proptest! {
    #[test]
    fn the_same_work_up_gives_the_same_answer_with_scores_in_their_bounds(work in any_work(None)) {
        let found = localise(&work, shipped()).unwrap();
        prop_assert_eq!(&found, &localise(&work, shipped()).unwrap());
        for row in &found.candidates {
            prop_assert!((0.0..=1.0).contains(&row.score));
        }
        prop_assert!(found.candidates.windows(2).all(|pair| pair[0].score >= pair[1].score));
        prop_assert!(found.next.windows(2).all(|pair| pair[0].gain >= pair[1].gain));
    }

    #[test]
    fn the_order_of_clean_blocks_does_not_matter(work in any_work(Some(true))) {
        let mut turned = work.clone();
        turned.blocks.reverse();
        let (a, b) = (scores(&localise(&work, shipped()).unwrap()), scores(&localise(&turned, shipped()).unwrap()));
        for (structure, score) in &a {
            prop_assert!((score - b[structure]).abs() < 0.0011, "{structure}");
        }
    }

    #[test]
    fn another_yes_never_lowers_a_structure_that_it_numbs(
        work in any_work(None),
        pct in 50_u32..=100,
        pick in any::<prop::sample::Index>(),
        at in any::<prop::sample::Index>(),
    ) {
        let codes = codes(work.limb);
        let code = &codes[pick.index(codes.len())];
        let clock = catalogue().localise.clocks.get(code).unwrap();
        let yes = Done {
            block: code.clone(),
            injected_at: None,
            read: vec![Read { minutes: clock.assess_min, improvement_pct: Some(f64::from(pct)), switched_to: None }],
            skin_numb: Some(true),
            volume_ml: None,
            site: None,
            clean_baseline: None,
            agent: None,
            mg_per_ml: None,
        };
        let before = standings(&localise(&work, shipped()).unwrap());
        let mut more = work.clone();
        more.blocks.insert(at.index(work.blocks.len() + 1), yes);
        let after = standings(&localise(&more, shipped()).unwrap());
        let rows = &catalogue().localise;
        for (structure, standing) in &before {
            let letter = rows.weight(work.limb, structure, code).map_or(".", |row| row.code.as_str());
            let published = rows.overrides.iter().any(|row| {
                row.chance.is_some() && row.blocks.contains(code) && row.structures.contains(structure)
            });
            if matches!(letter, "A" | "U") && !published {
                prop_assert!(after[structure] >= *standing, "{structure} {code}");
            }
        }
    }

    #[test]
    fn a_block_whose_skin_was_not_numb_never_changes_a_candidate(work in any_work(None), pct in -50_i32..=100) {
        let mut more = work.clone();
        more.blocks.insert(0, Done {
            block: codes(work.limb)[0].clone(),
            injected_at: None,
            read: vec![Read { minutes: 10.0, improvement_pct: Some(f64::from(pct)), switched_to: None }],
            skin_numb: Some(false),
            volume_ml: None,
            site: None,
            clean_baseline: None,
            agent: None,
            mg_per_ml: None,
        });
        prop_assert_eq!(localise(&work, shipped()).unwrap().candidates, localise(&more, shipped()).unwrap().candidates);
    }
}

#[test]
fn a_whole_ladder_is_reasoned_over_in_no_time() {
    let ladder = ["PDN", "PRB", "ASN", "L4P", "H2P", "MCJ", "M+U", "ELBJ"];
    let blocks: Vec<_> = ladder.iter().map(|code| super::block(code, 20, 0)).collect();
    let work = work_up(json!({"limb": "LF", "blocks": blocks}));
    assert!(!localise(&work, shipped()).unwrap().candidates.is_empty());
    let start = Instant::now();
    for _ in 0..50 {
        localise(&work, shipped()).unwrap();
    }
    let each = start.elapsed() / 50;
    println!("{each:?} each");
    // Unoptimised, on a busy machine; optimised it is well below one millisecond.
    assert!(each.as_millis() < 50, "{each:?}");
}
