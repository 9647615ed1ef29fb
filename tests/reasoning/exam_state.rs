//! What the standing entries of a visit come to, place by place: three states, and who said what.

use limbledger::{
    body,
    catalogue::{Limb, Place, Section, sweep_places},
    clock::At,
    exam::state::{ExamState, Status},
    ids::{EntryId, StaffId, SweepId, VisitId},
    record::{Body, Entry, Kind},
};

/// The entries of a visit as they stand, in order of receipt.
#[derive(Default)]
struct Visit {
    entries: Vec<Entry>,
}

impl Visit {
    fn say(&mut self, by: StaffId, body: Body) -> EntryId {
        let (id, seq) = (EntryId::new(), i64::try_from(self.entries.len()).unwrap() + 1);
        self.entries.push(Entry {
            seq,
            id,
            visit_id: VisitId::new(),
            body: Some(body),
            supersedes: None,
            seen_by: by,
            entered_by: by,
            seen_at: At(seq * 1000),
            received_at: At(seq * 1000),
            offset_ms: 0,
            late: false,
        });
        id
    }

    /// A sweep of a section over what nobody spoke of, as the exam records it.
    fn sweep(&mut self, by: StaffId, section: Section) -> SweepId {
        let (sweep, known) = (SweepId::new(), self.state());
        for place in sweep_places(section).into_iter().filter(|place| !known.at(*place).is_recorded()) {
            let mut body = nothing(place);
            body.sweep = Some(sweep);
            self.say(by, body);
        }
        sweep
    }

    /// What a withdrawal or a correction leaves: the entry no longer stands.
    fn gone(&mut self, id: EntryId) {
        self.entries.retain(|entry| entry.id != id);
    }

    fn state(&self) -> ExamState {
        ExamState::fold(&self.entries)
    }
}

fn at(kind: Kind, place: Place) -> Body {
    let mut body = Body::new(kind);
    body.region = Some(place.region().code.clone());
    body.side = Some(place.side().code().to_owned());
    body.limb = place.limb().map(|limb| limb.code().to_owned());
    body
}

fn nothing(place: Place) -> Body {
    let mut body = at(Kind::Place, place);
    body.present = Some(false);
    body
}

fn effusion(place: Place, grade: f64) -> Body {
    let mut body = at(Kind::Finding, place);
    body.code = Some("EFF".to_owned());
    body.grade = Some(grade);
    body.present = Some(grade > 0.0);
    body
}

fn barred(place: Place) -> Body {
    let mut body = at(Kind::Place, place);
    body.text = Some("bandage".to_owned());
    body
}

fn place(key: &str) -> Place {
    key.parse().unwrap()
}

#[test]
fn a_place_nobody_spoke_of_is_not_examined() {
    let state = Visit::default().state();
    let known = state.at(place("CARP_D.L"));
    assert_eq!(known.status(), Status::NotExamined);
    assert!(!known.is_recorded() && known.lines().is_empty());
}

#[test]
fn a_finding_after_a_sweep_stands_beside_the_rest_of_the_sweep() {
    let (mut visit, vet, carpus) = (Visit::default(), StaffId::new(), place("CARP_D.L"));
    let sweep = visit.sweep(vet, Section::Limb(Limb::LF));
    let all = sweep_places(Section::Limb(Limb::LF)).len();
    // The finding takes the place of the sweep's word there, as the form does.
    let word = visit.state().at(carpus).clear[0].entry;
    visit.gone(word);
    visit.say(vet, effusion(carpus, 2.0));
    let state = visit.state();
    assert_eq!(state.at(carpus).status(), Status::Abnormal { grade: Some(2.0) });
    assert_eq!(state.at(place("FETL_D.L")).status(), Status::NothingFound);
    let standing = &state.sweeps[0];
    assert_eq!((state.sweeps.len(), standing.id, standing.places.len()), (1, sweep, all - 1));
    assert!(!standing.places.contains(&carpus));
}

#[test]
fn a_sweep_covers_only_what_nobody_spoke_of() {
    let (mut visit, vet, carpus) = (Visit::default(), StaffId::new(), place("CARP_D.L"));
    visit.say(vet, effusion(carpus, 1.0));
    visit.sweep(vet, Section::Limb(Limb::LF));
    let state = visit.state();
    assert_eq!(state.at(carpus).status(), Status::Abnormal { grade: Some(1.0) });
    assert!(state.at(carpus).clear.is_empty());
    let count = state.count(sweep_places(Section::Limb(Limb::LF)).into_iter());
    assert_eq!((count.all - count.recorded, count.abnormal), (0, 1));
}

#[test]
fn what_two_people_say_of_one_place_stands_side_by_side() {
    let (mut visit, vet, other, carpus) =
        (Visit::default(), StaffId::new(), StaffId::new(), place("CARP_D.L"));
    visit.say(vet, effusion(carpus, 1.0));
    visit.say(other, effusion(carpus, 3.0));
    visit.say(other, nothing(carpus));
    let state = visit.state();
    let known = state.at(carpus);
    let said: Vec<StaffId> = known.lines().iter().map(|line| line.seen_by).collect();
    assert_eq!(said, [vet, other, other], "all of it, in order of receipt");
    assert_eq!(known.status(), Status::Abnormal { grade: Some(3.0) }, "a sign outweighs that none was found");
    assert_eq!((known.signs.len(), known.clear.len()), (2, 1));
}

#[test]
fn a_finding_taken_back_leaves_what_stood_before_or_nothing() {
    let (mut visit, vet, carpus) = (Visit::default(), StaffId::new(), place("CARP_D.L"));
    let first = visit.say(vet, effusion(carpus, 2.0));
    let second = visit.say(vet, effusion(carpus, 0.0));
    visit.gone(first);
    assert_eq!(visit.state().at(carpus).status(), Status::NothingFound, "looked for, and not there");
    visit.gone(second);
    assert_eq!(visit.state().at(carpus).status(), Status::NotExamined);
}

#[test]
fn a_place_that_could_not_be_examined_is_recorded_but_not_clean() {
    let (mut visit, vet, carpus) = (Visit::default(), StaffId::new(), place("CARP_D.L"));
    visit.say(vet, barred(carpus));
    let state = visit.state();
    let known = state.at(carpus);
    assert_eq!(known.status(), Status::NotPossible);
    assert!(known.is_recorded() && !known.is_abnormal());
    assert_eq!(known.mark().state, body::State::NotExamined, "the mark does not claim that it was looked at");
    visit.say(vet, nothing(carpus));
    assert_eq!(visit.state().at(carpus).status(), Status::NothingFound, "it was examined after all");
}

#[test]
fn undoing_one_sweep_leaves_the_other_and_what_was_said_by_hand() {
    let (mut visit, vet) = (Visit::default(), StaffId::new());
    visit.say(vet, nothing(place("SHLD.L")));
    let left = visit.sweep(vet, Section::Limb(Limb::LF));
    let right = visit.sweep(vet, Section::Limb(Limb::RF));
    visit.entries.retain(|entry| entry.body.as_ref().unwrap().sweep != Some(left));
    let state = visit.state();
    assert_eq!(state.sweeps.iter().map(|sweep| sweep.id).collect::<Vec<_>>(), [right]);
    assert_eq!(state.at(place("SHLD.L")).status(), Status::NothingFound);
    assert_eq!(state.at(place("CARP_D.L")).status(), Status::NotExamined);
    assert_eq!(state.at(place("CARP_D.R")).status(), Status::NothingFound);
}

#[test]
fn erased_words_and_other_kinds_say_nothing_of_a_place() {
    let (mut visit, vet, carpus) = (Visit::default(), StaffId::new(), place("CARP_D.L"));
    visit.say(vet, effusion(carpus, 2.0));
    visit.entries[0].body = None;
    let mut gait = at(Kind::Gait, carpus);
    gait.grade = Some(3.0);
    visit.say(vet, gait);
    assert_eq!(visit.state().at(carpus).status(), Status::NotExamined);
}

#[test]
fn a_tester_site_stands_under_the_testers_of_its_foot() {
    let (mut visit, vet) = (Visit::default(), StaffId::new());
    let mut body = Body::new(Kind::Finding);
    body.region = Some("HT_TOE".to_owned());
    body.limb = Some("LF".to_owned());
    body.code = Some("HTST".to_owned());
    body.grade = Some(2.0);
    body.present = Some(true);
    visit.say(vet, body);
    assert_eq!(visit.state().at(place("FT_HT.LF")).status(), Status::Abnormal { grade: Some(2.0) });
}
