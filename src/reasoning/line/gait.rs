//! How it moves: a grade for each limb under each condition.

use super::{
    condition::{Said, conditions_in, is_condition},
    piece::Piece,
    reading::{Answer, Ask, Choice, Gait, Made},
    rows::{beside, groups},
    scene::Scene,
};
use crate::catalogue::{Limb, Side, words::Meaning};

/// A row that may still wait for its condition.
struct Open<'v> {
    limbs: Vec<Limb>,
    grade: Option<f64>,
    scale: Option<&'static str>,
    said: Option<Vec<Said>>,
    of: Vec<Piece<'v>>,
}

pub(super) fn read<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>]) {
    let mut reader = Reader { open: Vec::new(), said: None, limbs: None, waiting: Vec::new() };
    for clause in pieces.split(Piece::is_break) {
        reader.clause(clause, &scene.context.limbs);
    }
    if let Some(limbs) = reader.limbs.take() {
        scene.context.limbs = limbs;
    }
    // "see the head nod": of no limb, and no grade.
    for row in reader.open.into_iter().filter(|row| row.grade.is_some() || !row.limbs.is_empty()) {
        record(scene, row);
    }
}

struct Reader<'v> {
    open: Vec<Open<'v>>,
    /// The condition and limbs that carry on.
    said: Option<Vec<Said>>,
    limbs: Option<Vec<Limb>>,
    /// Words of a limb or condition that the next row takes along.
    waiting: Vec<Piece<'v>>,
}

impl<'v> Reader<'v> {
    fn clause(&mut self, pieces: &[Piece<'v>], carried: &[Limb]) {
        let at =
            |wanted: &dyn Fn(usize) -> bool| (0..pieces.len()).filter(|&p| wanted(p)).collect::<Vec<_>>();
        let mere = |from: usize, to: usize| pieces[from..to].iter().all(|p| p.is_filler() || p.joins());
        let small = |from: usize, to: usize| {
            pieces[from..to]
                .iter()
                .all(|p| p.is_filler() || p.is(|m| matches!(m, Meaning::Grade(..) | Meaning::GradeWord)))
        };
        let numbered = (0..pieces.len()).any(|p| is_key(pieces, p) && pieces[p].number().is_some());
        let lame = |p: usize| {
            pieces[p].is(|m| matches!(m, Meaning::Lame)) && !pieces[p].is(|m| matches!(m, Meaning::Sound))
        };
        let keys = key_groups(pieces, &at(&|p| is_key(pieces, p) && !(numbered && lame(p))), small);
        let one = self.is_one_of_pair(pieces);
        let limbs = groups(&at(&|p| pieces[p].limbs().is_some() || one && p == 0), mere);
        let conditions = groups(&at(&|p| is_condition(pieces, p)), mere);
        if keys.is_empty() {
            self.without_key(pieces, &limbs, &conditions);
            return;
        }
        let (mut limb_of, condition_of) = (beside(&keys, &limbs), beside(&keys, &conditions));
        for at in 1..keys.len() {
            // "sound at the walk, right fore one out of five at the trot": nobody is sound on one limb alone.
            if limb_of[at - 1] == limb_of[at] && grade(&pieces[keys[at - 1].clone()]) == (Some(0.0), None) {
                limb_of[at - 1] = None;
            }
        }
        for (index, key) in keys.iter().enumerate() {
            let mut of: Vec<Piece<'v>> = std::mem::take(&mut self.waiting);
            of.extend(pieces[key.clone()].iter().cloned().chain(qualifiers(pieces, key.start)));
            // "lame right hind, grade three out of ten": one answer, said twice.
            let mere = |row: &Open<'_>| row.grade.is_none();
            if index == 0
                && numbered
                && let Some(open) =
                    self.open.pop_if(|row| mere(row) && (limb_of[index].is_none() || row.limbs.is_empty()))
            {
                of.extend(open.of);
            }
            if index == 0 {
                of.extend(pieces.iter().filter(|piece| piece.is(|m| matches!(m, Meaning::Lame))).cloned());
            }
            if let Some(group) = limb_of[index] {
                of.extend(pieces[limbs[group].clone()].iter().cloned());
                self.limbs = Some(self.limbs_of(&pieces[limbs[group].clone()]));
            }
            if let Some(group) = condition_of[index] {
                let until = keys.get(index + 1).map_or(pieces.len(), |next| next.start);
                let further = more_of(&conditions, &condition_of, key.end..until);
                let groups = std::iter::once(group).chain(further);
                let said = groups.flat_map(|group| pieces[conditions[group].clone()].iter().cloned());
                of.extend(self.condition(said.collect()));
            }
            let (grade, scale) = scaled(pieces, key);
            let sound = grade == Some(0.0) && scale.is_none();
            let limbs = match &self.limbs {
                Some(limbs) => limbs.clone(),
                None if sound => Vec::new(),
                None => carried.to_vec(),
            };
            self.open.push(Open { limbs, grade, scale, said: self.said.clone(), of });
        }
    }

    /// "bilateral forelimb lameness; left 2/5": the clause begins with one side of the pair before.
    fn is_one_of_pair(&self, pieces: &[Piece<'v>]) -> bool {
        let pair = |limbs: &Vec<Limb>| matches!(limbs.as_slice(), [one, other] if one.other() == *other);
        let side = pieces.first().is_some_and(|piece| side_of(piece).is_some());
        side && !is_condition(pieces, 0) && self.limbs.as_ref().is_some_and(pair)
    }

    /// Limbs as they are named, or the one of the carried pair that a side alone means.
    fn limbs_of(&self, pieces: &[Piece<'v>]) -> Vec<Limb> {
        let named = limbs_in(pieces);
        let side = pieces.iter().find_map(side_of).filter(|_| named.is_empty());
        let Some((side, carried)) = side.zip(self.limbs.as_ref()) else { return named };
        let of_side = |limb: Limb| [limb, limb.other()].into_iter().find(|one| one.side() == side);
        carried.first().copied().and_then(of_side).into_iter().collect()
    }

    /// Takes a condition; gives its words back.
    fn condition(&mut self, words: Vec<Piece<'v>>) -> Vec<Piece<'v>> {
        let before = self.said.as_ref().and_then(|said| said.last()).cloned();
        self.said = Some(conditions_in(&words, before.as_ref()));
        self.fill();
        words
    }

    /// A clause with only a limb or a condition: the condition is also that of the rows before which had none.
    fn without_key(
        &mut self,
        pieces: &[Piece<'v>],
        limbs: &[std::ops::Range<usize>],
        conditions: &[std::ops::Range<usize>],
    ) {
        for group in limbs {
            self.limbs = Some(limbs_in(&pieces[group.clone()]));
            self.waiting.extend(pieces[group.clone()].iter().cloned());
        }
        for group in conditions {
            let before = self.said.as_ref().and_then(|said| said.last()).cloned();
            let more = self.completes(&conditions_in(&pieces[group.clone()], None));
            let said = conditions_in(&pieces[group.clone()], before.as_ref());
            self.said = Some(said);
            let words = pieces[group.clone()].iter().cloned();
            if more || self.fill() {
                if let Some(last) = self.open.last_mut() {
                    last.of.extend(words);
                }
            } else {
                self.waiting.extend(words);
            }
        }
    }

    /// "trot, hard", "on the left rein, lunged on the hard": words that only say more of the last row's condition.
    fn completes(&mut self, said: &[Said]) -> bool {
        let ([more], Some(last)) = (said, self.open.last_mut().and_then(|row| row.said.as_mut())) else {
            return false;
        };
        let fits = |part: &Said| {
            let side = more.side.is_none() || part.side.is_none() || part.side == more.side;
            let ground = more.ground.is_none() || part.ground.is_none() || part.ground == more.ground;
            side && ground && more.moves.iter().all(|moved| part.has(*moved))
        };
        if !last.iter().all(fits) {
            return false;
        }
        for part in last {
            part.side = part.side.or(more.side);
            part.ground = part.ground.or(more.ground);
            part.straight |= more.straight;
        }
        true
    }

    /// Gives the open rows the condition that was named after them.
    fn fill(&mut self) -> bool {
        let mut filled = false;
        for row in self.open.iter_mut().filter(|row| row.said.is_none()) {
            row.said.clone_from(&self.said);
            filled = true;
        }
        filled
    }
}

/// "jogs 2/5 LF on the blacktop": what stands after the answer and is no other's condition says more of its own.
fn more_of(
    conditions: &[std::ops::Range<usize>],
    taken: &[Option<usize>],
    after: std::ops::Range<usize>,
) -> Vec<usize> {
    let own = |group: &usize| {
        let range = &conditions[*group];
        range.start >= after.start && range.end <= after.end && !taken.contains(&Some(*group))
    };
    (0..conditions.len()).filter(own).collect()
}

/// A grade with "lame" beside it is one answer.
fn key_groups(
    pieces: &[Piece<'_>],
    keys: &[usize],
    small: impl Fn(usize, usize) -> bool,
) -> Vec<std::ops::Range<usize>> {
    let numbered = |p: usize| pieces[p].number().is_some();
    let mut out: Vec<std::ops::Range<usize>> = Vec::new();
    for &key in keys {
        match out.last_mut() {
            Some(last) if small(last.end, key) && !(last.clone().any(numbered) && numbered(key)) => {
                last.end = key + 1;
            }
            _ => out.push(key..key + 1),
        }
    }
    out
}

/// "mild", "grade" right before an answer.
fn qualifiers<'v>(pieces: &[Piece<'v>], start: usize) -> Vec<Piece<'v>> {
    let belongs = |piece: &&Piece<'v>| {
        piece.is(|m| matches!(m, Meaning::Grade(..) | Meaning::GradeWord | Meaning::Quality))
    };
    pieces[..start].iter().rev().take_while(belongs).cloned().collect()
}

fn is_key(pieces: &[Piece<'_>], at: usize) -> bool {
    let piece = &pieces[at];
    let measured = pieces.get(at + 1).is_some_and(|unit| unit.is(|m| matches!(m, Meaning::Unit(_))));
    match piece.number() {
        Some(number) => !measured && number.value <= 10.0 && (!number.plus || number.of.is_some()),
        None => piece.is(|m| matches!(m, Meaning::Lame | Meaning::Sound | Meaning::NonWeightBearing)),
    }
}
fn limbs_in(pieces: &[Piece<'_>]) -> Vec<Limb> {
    pieces.iter().filter_map(Piece::limbs).flatten().copied().collect()
}
fn side_of(piece: &Piece<'_>) -> Option<Side> {
    piece.get(|m| if let Meaning::Side(side) = m { Some(*side) } else { None })
}
/// The grade of an answer, on the scale of its denominator or on one named beside it.
fn scaled(pieces: &[Piece<'_>], key: &std::ops::Range<usize>) -> (Option<f64>, Option<&'static str>) {
    let (grade, scale) = grade(&pieces[key.clone()]);
    let named = pieces
        .iter()
        .find_map(|piece| piece.get(|m| if let Meaning::OutOf(of) = m { Some(*of) } else { None }))
        .filter(|_| grade.is_some_and(|grade| grade > 0.0));
    (grade, scale.or(named.and_then(scale_of)))
}

/// The scale of lameness that ends there.
fn scale_of(of: f64) -> Option<&'static str> {
    match of {
        5.0 => Some("aaep_0_5"),
        10.0 => Some("uk_0_10"),
        _ => None,
    }
}

/// The grade of an answer and the scale its denominator names.
fn grade(pieces: &[Piece<'_>]) -> (Option<f64>, Option<&'static str>) {
    if let Some(number) = pieces.iter().find_map(Piece::number) {
        return (Some(number.value), number.of.and_then(scale_of));
    }
    let sound = pieces.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Sound)));
    (sound.then_some(0.0), None)
}

fn record<'v>(scene: &mut Scene<'v>, row: Open<'v>) {
    let limbs: Vec<Option<Limb>> =
        if row.limbs.is_empty() { vec![None] } else { row.limbs.iter().copied().map(Some).collect() };
    let said = row.said.unwrap_or_else(|| vec![Said::default()]);
    for condition in said {
        let codes = condition.codes();
        let gait = |limb: Option<Limb>, code: Option<&String>| Gait {
            limb: limb.map(|limb| limb.code().to_owned()),
            condition: code.cloned(),
            grade: row.grade,
            scale: row.scale.map(str::to_owned),
            text: String::new(),
        };
        if codes.len() > 1 {
            let all: Vec<(&String, Option<Limb>)> =
                codes.iter().flat_map(|code| limbs.iter().map(move |limb| (code, *limb))).collect();
            let choices = all.iter().map(|(code, limb)| Choice {
                side: limb.map(|limb| limb.side().code().to_owned()),
                limb: limb.map(|limb| limb.code().to_owned()),
                finding: Some((*code).clone()),
                ..Choice::default()
            });
            let answers = all.iter().map(|(code, limb)| Some(Answer::Gait(gait(*limb, Some(code)))));
            let (choices, answers) = (choices.collect(), answers.collect());
            let question = "Under which condition?".to_owned();
            scene.push(Made::Ask(Ask { question, choices, answers, ..Ask::default() }), row.of.clone());
            continue;
        }
        for limb in &limbs {
            scene.push(Made::Gait(gait(*limb, codes.first())), row.of.clone());
        }
    }
}
