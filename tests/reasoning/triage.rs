//! How soon, from the answers of a call.

use std::collections::BTreeSet;

use limbledger::{
    catalogue::{Urgency, catalogue},
    reasoning::triage::{Verdict, triage},
};
use proptest::prelude::*;

fn weigh(yes: &[&str], no: &[&str]) -> Verdict {
    triage(yes, no).unwrap()
}

fn codes(of: Urgency) -> Vec<&'static str> {
    let flags = catalogue().red_flags.iter().filter(|flag| flag.urgency == of);
    flags.map(|flag| flag.code.as_str()).collect()
}

#[test]
fn what_was_not_asked_is_no_no() {
    let (now, same_day) = (codes(Urgency::Now), codes(Urgency::SameDay));
    assert_eq!(weigh(&[], &[]).class, Urgency::SameDay);
    assert_eq!(weigh(&["RF21"], &[]).class, Urgency::SameDay, "weeks of it exclude no emergency");
    assert_eq!(weigh(&[], &now[1..]).class, Urgency::SameDay, "one is enough");
    assert_eq!(weigh(&[], &now).class, Urgency::Days, "an abscess is not asked for yet");
    let asked = [now, same_day].concat();
    assert_eq!(weigh(&[], &asked).class, Urgency::Routine);
    assert!(weigh(&[], &asked).reasons().is_empty(), "nothing holds it");
    assert_eq!(weigh(&["RF20"], &asked).class, Urgency::Days);
    assert_eq!(weigh(&["RF21"], &asked).class, Urgency::Routine);
    assert_eq!(weigh(&["RF1"], &[]).class, Urgency::Now);
    let open = weigh(&["RF20"], &asked[1..]);
    assert!(open.held && open.reasons().last().unwrap().starts_with("1 question of an emergency"));
}

#[test]
fn the_most_urgent_question_is_asked_first_and_every_question_once() {
    let flags = &catalogue().red_flags;
    assert!(
        flags.windows(2).all(|pair| pair[0].urgency <= pair[1].urgency),
        "no slower question goes before"
    );
    let places: Vec<u32> = flags.iter().map(|flag| flag.seq).collect();
    assert_eq!(places, (1..=u32::try_from(flags.len()).unwrap()).collect::<Vec<_>>());
    assert_eq!(flags[0].code, "RF1", "weight on the leg hides most emergencies of a lame horse");
}

#[test]
fn advice_keeps_its_conditions() {
    let advice = |code: &str| catalogue().red_flag(code).unwrap().advice.clone();
    assert!(advice("RF4").contains("unless it is being driven deeper"));
    for class in [Urgency::Now, Urgency::SameDay, Urgency::Days] {
        let sayings = &catalogue().sayings;
        let said = sayings.iter().find(|saying| saying.urgency.contains(&class)).unwrap();
        assert!(said.advice.contains("unless the vet says so") && said.advice.contains("in distress"));
    }
    assert!(advice("RF11").contains("farrier"));
}

#[test]
fn an_unknown_code_is_refused_by_its_list() {
    assert_eq!(triage(&["RF1"], &["RF99"]).unwrap_err().name, "no");
}

proptest! {
    #[test]
    fn no_answer_ever_hides_a_yes(yes in subset(), no in subset(), more_no in subset(), more_yes in subset()) {
        let list = |set: &BTreeSet<&'static str>| set.iter().copied().collect::<Vec<_>>();
        let before = weigh(&list(&yes), &list(&no));
        let later = weigh(&list(&(&yes | &more_yes)), &list(&(&no | &more_no)));
        let said = |verdict: &Verdict| verdict.because.iter().map(|flag| flag.code.clone()).collect::<BTreeSet<_>>();
        prop_assert!(said(&before).is_subset(&said(&later)));
        let worst = yes.iter().filter_map(|code| catalogue().red_flag(code)).map(|flag| flag.urgency).min();
        if let Some(worst) = worst {
            prop_assert!(before.class <= worst && later.class <= worst);
        }
        prop_assert!(later.because.is_sorted_by_key(|flag| flag.urgency));
    }
}

fn subset() -> impl Strategy<Value = BTreeSet<&'static str>> {
    let codes: Vec<&str> = catalogue().red_flags.iter().map(|flag| flag.code.as_str()).collect();
    let most = codes.len();
    proptest::sample::subsequence(codes, 0..=most).prop_map(|codes| codes.into_iter().collect())
}
