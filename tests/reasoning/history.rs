//! The record of one horse folded into places by visits, and what stays open.

use std::collections::HashSet;

use limbledger::{
    body::{Mark, State, Trend},
    history::{Correction, Fact, Found, Line, Said, Site, Standing, fold},
    ids::{EntryId, VisitId},
};

/// A past told in a few words: `visits` oldest first.
struct Tale {
    visits: Vec<VisitId>,
    facts: Vec<Fact>,
    corrections: Vec<Correction>,
    adopted: HashSet<EntryId>,
}

impl Tale {
    fn new(visits: usize) -> Self {
        Tale {
            visits: (0..visits).map(|_| VisitId::new()).collect(),
            facts: Vec::new(),
            corrections: Vec::new(),
            adopted: HashSet::new(),
        }
    }

    fn say(&mut self, visit: usize, key: &str, said: Said) -> EntryId {
        let (region, at) = key.split_once('.').unwrap();
        let id = EntryId::new();
        let site = Site::new(region, Some(at), Some(at));
        self.facts.push(Fact { id, visit: self.visits[visit], late: false, site, said });
        id
    }

    fn lines(&self) -> Vec<Line> {
        fold(&self.visits, self.facts.clone(), &Standing::new(&self.corrections, self.adopted.clone()))
    }
}

fn found(code: &str, grade: f64) -> Said {
    Said::Found(Found { code: code.into(), grade: Some(grade), words: format!("{code} {grade}") })
}

fn open(line: &Line) -> Vec<(usize, &str)> {
    line.open.iter().map(|o| (o.visit, o.found.words.as_str())).collect()
}

#[test]
fn the_worst_of_several_findings_is_the_mark_and_all_are_in_the_words() {
    let mut tale = Tale::new(1);
    tale.say(0, "FETL_D.L", found("HEAT", 1.0));
    tale.say(0, "FETL_D.L", found("EFF", 3.0));
    let lines = tale.lines();
    assert_eq!(lines[0].cells[0].state, State::Abnormal { grade: Some(3.0) });
    assert_eq!(lines[0].cells[0].words(), "EFF 3; HEAT 1");
}

#[test]
fn nobody_looked_is_not_nothing_found() {
    let mut tale = Tale::new(3);
    tale.say(0, "FETL_D.L", found("EFF", 3.0));
    tale.say(2, "FETL_D.L", Said::NothingFound);
    let cells = &tale.lines()[0].cells;
    let states: Vec<State> = cells.iter().map(|c| c.state).collect();
    assert_eq!(states, [State::Abnormal { grade: Some(3.0) }, State::NotExamined, State::NothingFound]);
    assert_eq!(cells[2].trend, Some(Trend::Better), "against the last time it was examined");
}

#[test]
fn a_place_without_any_finding_has_no_row() {
    let mut tale = Tale::new(1);
    tale.say(0, "FETL_D.L", Said::NothingFound);
    tale.say(0, "FETL_D.R", Said::Absent("HEAT".into()));
    assert!(tale.lines().is_empty());
}

#[test]
fn only_that_finding_is_closed_by_its_own_negative() {
    let mut tale = Tale::new(2);
    tale.say(0, "FETL_D.L", found("EFF", 2.0));
    tale.say(0, "FETL_D.L", found("HEAT", 1.0));
    tale.say(1, "FETL_D.L", Said::Absent("HEAT".into()));
    assert_eq!(open(&tale.lines()[0]), [(0, "EFF 2")]);
}

#[test]
fn a_visit_that_did_not_examine_the_place_closes_nothing() {
    let mut tale = Tale::new(2);
    tale.say(0, "FETL_D.L", found("EFF", 2.0));
    tale.say(1, "FETL_D.L", Said::NotExamined("bandage".into()));
    tale.say(1, "FETL_D.R", Said::NothingFound);
    let lines = tale.lines();
    assert_eq!(open(&lines[0]), [(0, "EFF 2")]);
    assert_eq!(lines[0].cells[1].words(), "could not be examined: bandage");
}

#[test]
fn what_came_back_is_open_since_it_was_seen_last() {
    let mut tale = Tale::new(3);
    tale.say(0, "FETL_D.L", found("EFF", 3.0));
    tale.say(1, "FETL_D.L", Said::NothingFound);
    tale.say(2, "FETL_D.L", found("EFF", 1.0));
    let lines = tale.lines();
    assert_eq!(open(&lines[0]), [(2, "EFF 1")]);
    assert_eq!(lines[0].newest().0, Mark::abnormal(Some(1.0)).trend(Some(Trend::Worse)).look_again());
}

#[test]
fn grades_of_two_findings_are_not_compared() {
    let mut tale = Tale::new(2);
    tale.say(0, "FETL_D.L", found("EFF", 3.0));
    tale.say(1, "FETL_D.L", found("HEAT", 1.0));
    assert_eq!(tale.lines()[0].cells[1].trend, None);
}

#[test]
fn what_was_corrected_or_taken_back_is_gone_and_does_not_come_back() {
    let mut tale = Tale::new(1);
    let wrong = tale.say(0, "FETL_D.L", found("EFF", 3.0));
    let right = tale.say(0, "FETL_D.L", found("EFF", 1.0));
    tale.corrections.push(Correction { by: right, of: wrong, late: false });
    assert_eq!(open(&tale.lines()[0]), [(0, "EFF 1")]);
    tale.corrections.push(Correction { by: EntryId::new(), of: right, late: false });
    assert!(tale.lines().is_empty());
}

#[test]
fn a_late_entry_counts_and_corrects_only_once_it_is_adopted() {
    let mut tale = Tale::new(1);
    let first = tale.say(0, "FETL_D.L", found("EFF", 3.0));
    let late = tale.say(0, "FETL_D.L", found("EFF", 1.0));
    tale.facts.last_mut().unwrap().late = true;
    tale.corrections.push(Correction { by: late, of: first, late: true });
    assert_eq!(open(&tale.lines()[0]), [(0, "EFF 3")]);
    tale.adopted.insert(late);
    assert_eq!(open(&tale.lines()[0]), [(0, "EFF 1")]);
}

#[test]
fn rows_stand_by_limb_as_hands_go_and_testers_follow_their_row() {
    let mut tale = Tale::new(1);
    for key in ["HT_TOE.LF", "FETL_H.R", "FT_PERC.LF", "FETL_D.L", "POLL.M", "SHLD.R", "FT_HT.LF", "SHLD.L"] {
        tale.say(0, key, found("PAIN", 1.0));
    }
    let keys: Vec<String> = tale.lines().iter().map(|l| l.site.key()).collect();
    assert_eq!(
        keys,
        ["POLL.M", "SHLD.L", "FETL_D.L", "FT_HT.LF", "HT_TOE.LF", "FT_PERC.LF", "SHLD.R", "FETL_H.R"]
    );
    assert_eq!(tale.lines()[4].site.exam_key(), "FT_HT.LF");
}

#[test]
fn a_place_is_one_with_and_without_its_limb() {
    assert_eq!(Site::new("FETL_D", Some("L"), None), Site::new("FETL_D", Some("L"), Some("LF")));
    assert_eq!(Site::new("FT_SOLE", None, Some("LF")), Site::new("FT_SOLE", Some("L"), Some("LF")));
}
