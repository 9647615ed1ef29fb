//! Flexion tests: which, on which limb, for how long, and what came of it.

use std::ops::Range;

use super::{
    graded::Grading,
    heard::{Heard, names_limb},
    piece::Piece,
    reading::{Answer, Ask, Choice, Flexion, Made},
    rows::{beside, groups, own},
    scene::{Row, Scene},
};
use crate::catalogue::{
    Limb, Pair, catalogue,
    words::{Meaning, Outcome, Unit},
};

/// A test as it is said: its code on a fore and on a hind. Neither: "flexion" alone.
#[derive(Clone, Debug, Default, PartialEq)]
struct Test {
    fore: Option<String>,
    hind: Option<String>,
}

impl Test {
    fn on(&self, limb: Limb) -> Option<&String> {
        if limb.is_fore() { self.fore.as_ref() } else { self.hind.as_ref() }
    }

    fn limbs(&self) -> Vec<Limb> {
        Limb::ALL.into_iter().filter(|limb| self.on(*limb).is_some()).collect()
    }
}

pub(super) fn read<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>]) {
    let mut reader = Reader {
        limbs: None,
        tests: Vec::new(),
        hold: None,
        held: None,
        last: None,
        waiting: Vec::new(),
        scene,
    };
    for clause in pieces.split(Piece::is_break) {
        reader.clause(clause);
    }
}

/// Where a time is told for which a test was held.
fn holds(pieces: &[Piece<'_>]) -> Vec<Range<usize>> {
    let times = (0..pieces.len()).filter(|&at| seconds(pieces, at).is_some());
    times.map(|at| at..at + 1 + usize::from(pieces[at].number().is_some())).collect()
}

/// "sixty seconds each", "each for sixty seconds"
fn is_of_each(pieces: &[Piece<'_>], hold: &Range<usize>) -> bool {
    let each = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::PerSite | Meaning::BothSides));
    [hold.start.checked_sub(1), hold.start.checked_sub(2), Some(hold.end), Some(hold.end + 1)]
        .into_iter()
        .any(|beside| beside.and_then(|at| pieces.get(at)).is_some_and(each))
}

struct Reader<'s, 'v> {
    scene: &'s mut Scene<'v>,
    /// What carries on from clause to clause.
    limbs: Option<Heard>,
    tests: Vec<Test>,
    hold: Option<f64>,
    /// How long the test was held that is answered next.
    held: Option<f64>,
    /// The last answer, for "the same".
    last: Option<f64>,
    waiting: Vec<Piece<'v>>,
}

impl<'v> Reader<'_, 'v> {
    fn clause(&mut self, pieces: &[Piece<'v>]) {
        let at =
            |wanted: &dyn Fn(usize) -> bool| (0..pieces.len()).filter(|&p| wanted(p)).collect::<Vec<_>>();
        let mere = |from: usize, to: usize| pieces[from..to].iter().all(|p| p.is_filler() || p.joins());
        let small = |from: usize, to: usize| {
            pieces[from..to].iter().all(|p| p.is_filler() || p.is(|m| matches!(m, Meaning::GradeWord)))
        };
        let mut keys = groups(&at(&|p| is_answer(pieces, p)), small);
        let limbs = groups(&at(&|p| names_limb(pieces, p)), mere);
        let tests = groups(&at(&|p| is_test(&pieces[p])), mere);
        let holds = holds(pieces);
        if limbs.len() < 2 && tests.len() < 2 && is_said_twice(pieces, &keys) {
            // "right hind positive to upper limb flexion 3/4"
            self.waiting.extend(pieces[keys.remove(0)].iter().cloned());
        }
        if keys.is_empty() {
            self.without_answer(pieces, &limbs, &tests, &holds);
            return;
        }
        if let ([key], [], []) = (keys.as_slice(), limbs.as_slice(), tests.as_slice())
            && self.grades_last(&pieces[key.clone()])
        {
            return;
        }
        let (limb_of, test_of, hold_of) = (beside(&keys, &limbs), beside(&keys, &tests), own(&keys, &holds));
        for (index, key) in keys.iter().enumerate() {
            let mut hold = self.held.take().or(self.hold);
            let mut of = std::mem::take(&mut self.waiting);
            of.extend(pieces[key.clone()].iter().cloned());
            if index == 0 {
                let word = |piece: &&Piece<'v>| piece.is(|m| matches!(m, Meaning::FlexionWord));
                of.extend(pieces.iter().filter(word).cloned());
            }
            if let ([_], [_, _, ..]) = (keys.as_slice(), limbs.as_slice()) {
                // "hindlimb full flexion right": both say which.
                let said: Vec<Piece<'v>> =
                    limbs.iter().flat_map(|group| pieces[group.clone()].iter().cloned()).collect();
                self.limbs = Some(Heard::of(&said));
                of.extend(said);
            } else if let Some(group) = limb_of[index] {
                of.extend(pieces[limbs[group].clone()].iter().cloned());
                self.limbs = Some(Heard::of(&pieces[limbs[group].clone()]).within(self.limbs.as_ref()));
            }
            if let Some(group) = test_of[index] {
                of.extend(pieces[tests[group].clone()].iter().cloned());
                self.take_test(&pieces[tests[group].clone()]);
            }
            if let Some(group) = hold_of[index] {
                of.extend(pieces[holds[group].clone()].iter().cloned());
                hold = seconds(pieces, holds[group].start);
            }
            let same = pieces[key.clone()].iter().any(|piece| piece.is(|m| matches!(m, Meaning::Same)));
            let grade = if same { self.last } else { answer(&pieces[key.clone()]) };
            self.last = grade;
            self.record(grade, hold, &of);
        }
        if let [hold] = holds.as_slice()
            && is_of_each(pieces, hold)
        {
            self.held_all(seconds(pieces, hold.start), &[]);
        }
    }

    /// "left two, right one, sixty seconds each": of every test so far that was not told its time.
    fn held_all(&mut self, hold: Option<f64>, of: &[Piece<'v>]) {
        for row in &mut self.scene.rows {
            let Made::Flexion(flexion) = &mut row.made else { continue };
            flexion.hold_s = flexion.hold_s.or(hold);
            row.of.extend(of.iter().cloned());
        }
    }

    /// A heading: "flexions:", "60 s each".
    fn without_answer(
        &mut self,
        pieces: &[Piece<'v>],
        limbs: &[Range<usize>],
        tests: &[Range<usize>],
        holds: &[Range<usize>],
    ) {
        for group in limbs {
            self.limbs = Some(Heard::of(&pieces[group.clone()]).within(self.limbs.as_ref()));
        }
        for group in tests {
            self.take_test(&pieces[group.clone()]);
        }
        let each = pieces.iter().any(|piece| piece.is(|m| matches!(m, Meaning::PerSite)));
        for group in holds {
            let hold = seconds(pieces, group.start);
            if limbs.is_empty() && tests.is_empty() {
                self.held_all(hold, &pieces[group.clone()]);
            }
            // After its limb it is that of one test, in a heading that of all.
            if self.limbs.as_ref().is_some_and(Heard::is_one) && !each {
                self.held = hold;
            } else {
                self.hold = hold;
            }
        }
        for group in limbs.iter().chain(tests).chain(holds) {
            self.waiting.extend(pieces[group.clone()].iter().cloned());
        }
    }

    /// "spavin test positive, 2/4": the grade of the answer before.
    fn grades_last(&mut self, key: &[Piece<'v>]) -> bool {
        let Some(grade) = answer(key).filter(|grade| *grade > 0.0) else { return false };
        let open = |row: &&mut Row<'v>| matches!(&row.made, Made::Flexion(row) if row.grade.is_none());
        let mut graded = false;
        for row in self
            .scene
            .rows
            .iter_mut()
            .rev()
            .take_while(|row| matches!(row.made, Made::Flexion(_)))
            .take_while(open)
        {
            if let Made::Flexion(flexion) = &mut row.made {
                flexion.grade = Some(grade);
            }
            row.of.extend(key.iter().cloned());
            graded = true;
        }
        self.last = if graded { Some(grade) } else { self.last };
        graded
    }

    fn take_test(&mut self, pieces: &[Piece<'v>]) {
        // "distal and upper flexions"
        let tests: Vec<Test> = pieces.split(Piece::joins).filter_map(test_in).collect();
        if !tests.is_empty() {
            self.tests = tests;
        }
    }

    fn record(&mut self, grade: Option<f64>, hold: Option<f64>, of: &[Piece<'v>]) {
        let tests = if self.tests.is_empty() { vec![Test::default()] } else { self.tests.clone() };
        for test in tests {
            self.record_test(&test, grade, hold, of.to_vec());
        }
    }

    fn record_test(&mut self, test: &Test, grade: Option<f64>, hold: Option<f64>, of: Vec<Piece<'v>>) {
        let known = *test != Test::default();
        let suits = |limb: Limb| !known || test.on(limb).is_some();
        let heard = self.limbs.clone().unwrap_or_default();
        let possible = heard.on(&suits, &self.scene.context.limbs);
        let row = |limb: Limb, code: &String| Flexion {
            limb: Some(limb.code().to_owned()),
            flexion: code.clone(),
            grade,
            hold_s: hold,
            text: String::new(),
        };
        let ask = |question: &str, choices: Vec<Choice>| {
            let answer = |choice: &Choice| {
                let limb = choice.limb.as_deref()?.parse().ok()?;
                Some(Answer::Flexion(row(limb, choice.finding.as_ref()?)))
            };
            let answers = choices.iter().map(answer).collect();
            Made::Ask(Ask { question: question.to_owned(), choices, answers, ..Ask::default() })
        };
        if possible.open || possible.limbs.is_empty() {
            let all = || if known { test.limbs() } else { Limb::ALL.to_vec() };
            let open = if possible.limbs.is_empty() { all() } else { possible.limbs };
            let choices = open.into_iter().map(|limb| choice(limb, test.on(limb).cloned())).collect();
            self.scene.push(ask("Which limb?", choices), of);
            return;
        }
        for limb in possible.limbs {
            let made = match test.on(limb) {
                Some(code) => Made::Flexion(row(limb, code)),
                None => ask("Which flexion test?", tests_of(limb)),
            };
            self.scene.push(made, of.clone());
        }
    }
}

fn choice(limb: Limb, finding: Option<String>) -> Choice {
    Choice {
        side: Some(limb.side().code().to_owned()),
        limb: Some(limb.code().to_owned()),
        finding,
        ..Choice::default()
    }
}

/// The tests that a bare "flexion" may mean.
fn tests_of(limb: Limb) -> Vec<Choice> {
    let tests = catalogue().flexions.iter().filter(|test| test.suits(limb) && test.code.starts_with("FX_"));
    tests.map(|test| choice(limb, Some(test.code.clone()))).collect()
}

fn is_test(piece: &Piece<'_>) -> bool {
    piece.is(|m| {
        matches!(m, Meaning::FlexionWord | Meaning::Flexion { .. } | Meaning::FlexionLevel { .. })
            || matches!(m, Meaning::Spot { spot, .. } if spot.flexion.fore.is_some() || spot.flexion.hind.is_some())
    })
}

fn test_in(pieces: &[Piece<'_>]) -> Option<Test> {
    let named = pieces.iter().find_map(|piece| {
        piece.get(|m| match m {
            Meaning::Flexion { fore, hind } => Some(Test { fore: fore.clone(), hind: hind.clone() }),
            _ => None,
        })
    });
    let by_spot = || {
        pieces.iter().find_map(|piece| {
            piece.get(|m| match m {
                Meaning::Spot { spot, .. } => {
                    let on = |pair| spot.flexion_on(pair).map(str::to_owned);
                    Some(Test { fore: on(Pair::Fore), hind: on(Pair::Hind) })
                        .filter(|test| *test != Test::default())
                }
                _ => None,
            })
        })
    };
    let by_level = || {
        pieces.iter().find_map(|piece| {
            piece.get(|m| match m {
                Meaning::FlexionLevel { fore, hind } => Some(Test { fore: fore.clone(), hind: hind.clone() }),
                _ => None,
            })
        })
    };
    named.or_else(by_spot).or_else(by_level)
}

fn is_answer(pieces: &[Piece<'_>], at: usize) -> bool {
    let piece = &pieces[at];
    let measured = pieces.get(at + 1).is_some_and(|unit| unit.is(|m| matches!(m, Meaning::Unit(_))));
    (piece.number().is_some() && !measured)
        || piece.is(|m| {
            matches!(
                m,
                Meaning::Outcome(_) | Meaning::Grade(..) | Meaning::Absent | Meaning::Nad | Meaning::Same
            )
        })
}

/// "positive", and after it the number.
fn is_said_twice(pieces: &[Piece<'_>], keys: &[Range<usize>]) -> bool {
    let [first, second] = keys else { return false };
    let positive = matches!(&pieces[first.clone()], [piece] if piece.is(|m| matches!(m, Meaning::Outcome(Outcome::Positive))));
    positive && pieces[second.start].number().is_some()
}

/// Negative is 0, positive without more has no grade.
fn answer(pieces: &[Piece<'_>]) -> Option<f64> {
    let outcome = pieces.iter().find_map(|piece| {
        piece.get(|m| match m {
            Meaning::Outcome(outcome) => Some(*outcome),
            Meaning::Absent | Meaning::Nad => Some(Outcome::Negative),
            _ => None,
        })
    });
    if outcome == Some(Outcome::Negative) {
        return Some(0.0);
    }
    let start = pieces
        .iter()
        .position(|piece| piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Grade(..))))?;
    // A grade out of five or ten is one of lameness.
    let (grading, _) = Grading::read(pieces, start)?;
    grading.of_number.is_none_or(|of| of < 5.0).then(|| grading.value())
}

/// Seconds it was held, when a number with its unit stands here.
fn seconds(pieces: &[Piece<'_>], at: usize) -> Option<f64> {
    let piece = pieces.get(at)?;
    let Some(number) = piece.number().map(|number| number.value) else {
        return piece.get(|m| if let Meaning::Hold(seconds) = m { Some(*seconds) } else { None });
    };
    pieces.get(at + 1)?.get(|m| match m {
        Meaning::Unit(Unit::Seconds) => Some(number),
        Meaning::Unit(Unit::Minutes) => Some(number * 60.0),
        _ => None,
    })
}
