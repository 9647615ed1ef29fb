//! Structures that no block tells apart: known pairs once a block answered that reaches both, and candidates that the
//! matrix treats alike.

use super::{evidence::Evidence, likelihood::Setting, output::Code, score::Scored};

#[derive(Debug)]
pub(super) struct Group {
    pub(super) structures: Vec<String>,
    pub(super) caveat: Option<Code>,
}

/// None before a block made it better: until then nothing is to be told apart.
pub(super) fn groups(evidence: &Evidence<'_>, scored: &[Scored<'_>], setting: &Setting<'_>) -> Vec<Group> {
    if !evidence.pieces.iter().any(super::evidence::Piece::is_better) {
        return Vec::new();
    }
    let mut groups = known(evidence, scored, setting);
    for group in alike(scored, setting) {
        let is_told = |told: &Group| group.iter().all(|code| told.structures.contains(code));
        if !groups.iter().any(is_told) {
            groups.push(Group { structures: group, caveat: None });
        }
    }
    groups
}

fn known(evidence: &Evidence<'_>, scored: &[Scored<'_>], setting: &Setting<'_>) -> Vec<Group> {
    let stands = |code: &String| scored.iter().any(|row| row.structure.code == *code && row.stands());
    let mut groups = Vec::new();
    for row in &setting.rows.together {
        let answered = evidence.pieces.iter().any(|piece| {
            piece.is_better()
                && row.blocks.contains(&piece.block.code)
                && row.from_min.is_none_or(|from| piece.way.minutes >= from)
        });
        let structures: Vec<String> = row.structures.iter().filter(|code| stands(code)).cloned().collect();
        if answered && structures.len() > 1 {
            groups.push(Group { structures, caveat: Some(Code::new(&row.code, row.text.clone())) });
        }
    }
    groups
}

/// Candidates whose rows of the matrix are the same, published exceptions and all.
fn alike(scored: &[Scored<'_>], setting: &Setting<'_>) -> Vec<Vec<String>> {
    let matrix = setting.rows.matrix(setting.limb);
    let special = |code: &str| {
        let rows = setting.rows.overrides.iter();
        rows.filter(|row| row.structures.iter().any(|known| known == code))
            .map(|row| &row.code)
            .collect::<Vec<_>>()
    };
    let mut groups: Vec<Vec<String>> = Vec::new();
    for row in scored.iter().filter(|row| row.is_candidate()) {
        let code = &row.structure.code;
        let same = |other: &String| {
            matrix.get(other).map(|row| (&row.letters, &row.own))
                == matrix.get(code).map(|row| (&row.letters, &row.own))
                && special(other) == special(code)
        };
        match groups.iter_mut().find(|group| group.first().is_some_and(same)) {
            Some(group) => group.push(code.clone()),
            None => groups.push(vec![code.clone()]),
        }
    }
    groups.retain(|group| group.len() > 1);
    groups
}
