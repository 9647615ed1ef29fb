//! Under which condition a horse moved, part by part: pace, ground, circle, side.

use super::piece::Piece;
use crate::catalogue::{
    Side,
    words::{Ground, Meaning, Move},
};

/// A condition as it is said, part by part.
#[derive(Clone, Debug, Default)]
pub(super) struct Said {
    pub(super) moves: Vec<Move>,
    pub(super) ground: Option<Ground>,
    pub(super) straight: bool,
    pub(super) side: Option<Side>,
}

impl Said {
    pub(super) fn has(&self, wanted: Move) -> bool {
        self.moves.contains(&wanted)
    }

    /// The codes it may mean; none when nothing was said.
    pub(super) fn codes(&self) -> Vec<String> {
        let one = |code: &str| vec![code.to_owned()];
        if self.has(Move::FigureOfEight) {
            return one("FIG8");
        }
        if self.has(Move::TightCircle) || (self.has(Move::Circle) && self.has(Move::Walk)) {
            return one("CIR_S");
        }
        if let Some(code) = self.ridden() {
            return code;
        }
        for (moved, code) in [
            (Move::Uphill, "INC_UP"),
            (Move::Downhill, "INC_DN"),
            (Move::Back, "BACK"),
            (Move::AfterWork, "POST_WORK"),
        ] {
            if self.has(moved) {
                return one(code);
            }
        }
        if self.has(Move::Lunge) || self.has(Move::Circle) {
            return self.lunge();
        }
        match (self.has(Move::Walk), self.ground) {
            (true, _) => one("WLK_S"),
            (false, Some(Ground::Soft)) => one("TRT_SS"),
            (false, ground) if ground.is_some() || self.straight || self.has(Move::Trot) => one("TRT_SH"),
            _ => Vec::new(),
        }
    }

    pub(super) fn ridden(&self) -> Option<Vec<String>> {
        let one = |code: &str| Some(vec![code.to_owned()]);
        if self.has(Move::Canter) {
            return one("RDN_CNT");
        }
        if self.has(Move::Sitting) {
            return one("RDN_SIT");
        }
        let rising = match self.side {
            Some(Side::L) => vec!["RDN_RISE_L"],
            Some(Side::R) => vec!["RDN_RISE_R"],
            _ => vec!["RDN_RISE_L", "RDN_RISE_R"],
        };
        let mut codes: Vec<String> = rising.into_iter().map(str::to_owned).collect();
        if self.has(Move::Rising) {
            return Some(codes);
        }
        if self.has(Move::Ridden) {
            codes.extend(["RDN_SIT", "RDN_CNT"].map(str::to_owned));
            return Some(codes);
        }
        None
    }

    pub(super) fn lunge(&self) -> Vec<String> {
        let sides: &[&str] = match self.side {
            Some(Side::L) => &["L"],
            Some(Side::R) => &["R"],
            _ => &["L", "R"],
        };
        let grounds: &[&str] = match self.ground {
            Some(Ground::Hard) => &["H"],
            Some(Ground::Soft) => &["S"],
            None => &["H", "S"],
        };
        sides
            .iter()
            .flat_map(|side| grounds.iter().map(move |ground| format!("LNG_{side}{ground}")))
            .collect()
    }

    /// "soft 1/5" after "lunge left hard 2/5" is still on the lunge.
    pub(super) fn after(mut self, before: Option<&Said>) -> Said {
        if let Some(before) = before.filter(|_| self.moves.is_empty() && !self.straight) {
            self.moves.clone_from(&before.moves);
            self.straight = before.straight;
            self.side = self.side.or(before.side);
            self.ground = self.ground.or(before.ground);
        } else if let Some(before) = before.filter(|before| before.moves.is_empty()) {
            // "straight on the grass, trotting"
            self.ground = self.ground.or(before.ground);
            self.straight |= before.straight;
        } else if let Some(before) = before.filter(|before| before.has(Move::Lunge) && self.has(Move::Lunge))
        {
            self.ground = self.ground.or(before.ground);
        }
        self
    }
}

pub(super) fn is_condition(pieces: &[Piece<'_>], at: usize) -> bool {
    let piece = &pieces[at];
    let circles = || {
        pieces.iter().any(|piece| {
            piece.is(|m| {
                matches!(
                    m,
                    Meaning::Move(Move::Lunge | Move::Circle | Move::TightCircle | Move::Rising)
                        | Meaning::Diagonal
                )
            })
        })
    };
    piece.is(|m| matches!(m, Meaning::Move(_) | Meaning::Ground(_) | Meaning::Straight | Meaning::Diagonal))
        || (piece.is(|m| matches!(m, Meaning::Side(_) | Meaning::WeakSide(_) | Meaning::BothSides))
            && circles())
}

/// The conditions of a group: one, or several joined by "and".
pub(super) fn conditions_in(pieces: &[Piece<'_>], before: Option<&Said>) -> Vec<Said> {
    let mut out: Vec<Said> = vec![Said::default()];
    let mut both = false;
    for piece in pieces {
        let Some(open) = out.last_mut() else { continue };
        if piece.joins() {
            out.push(Said::default());
        } else if let Some(moved) =
            piece.get(|m| if let Meaning::Move(moved) = m { Some(*moved) } else { None })
        {
            open.moves.push(moved);
        } else if let Some(ground) =
            piece.get(|m| if let Meaning::Ground(ground) = m { Some(*ground) } else { None })
        {
            open.ground = Some(ground);
        } else if piece.is(|m| matches!(m, Meaning::Diagonal)) {
            open.moves.push(Move::Rising);
        } else if piece.is(|m| matches!(m, Meaning::Straight)) {
            open.straight = true;
        } else if let Some(side) = piece.side() {
            open.side = Some(side);
        } else if piece.is(|m| matches!(m, Meaning::BothSides)) {
            both = true;
        }
    }
    let mut said: Vec<Said> = Vec::new();
    for part in out {
        let carried = said.last().or(before).cloned();
        said.push(part.after(carried.as_ref()));
    }
    // A surface named once, at the end, holds for all of them: "lunge left and right soft".
    let ground = said.last().and_then(|last| last.ground);
    for part in &mut said {
        part.ground = part.ground.or(ground.filter(|_| part.has(Move::Lunge)));
    }
    if both {
        said = said
            .into_iter()
            .flat_map(|part| [Side::L, Side::R].map(|side| Said { side: Some(side), ..part.clone() }))
            .collect();
    }
    said
}
