//! Every word of the line finds its room: in the text of a row, in a question, among the withdrawn, or unread.

use super::{
    correct::Corrected,
    piece::{Piece, Sense},
    reading::Reading,
    scene::Scene,
    token::Token,
};
use crate::catalogue::words::Meaning;

/// Where a token went.
#[derive(Clone, Debug, PartialEq)]
enum Room {
    /// Small words and signs go with their neighbour.
    Loose,
    Rows(Vec<usize>),
    Withdrawn,
    Unread,
}

/// Puts the reading together.
pub(super) fn assemble(scene: &Scene<'_>, corrected: &Corrected<'_>) -> Reading {
    let mut rooms = vec![Room::Unread; scene.tokens.len()];
    for piece in corrected.pieces.iter().chain(&corrected.withdrawn) {
        if is_loose(piece) {
            rooms[piece.from..piece.to].fill(Room::Loose);
        }
    }
    for piece in &corrected.withdrawn {
        rooms[piece.from..piece.to].fill(Room::Withdrawn);
    }
    for (index, row) in scene.rows.iter().enumerate() {
        for room in row.of.iter().flat_map(|piece| piece.from..piece.to) {
            match &mut rooms[room] {
                Room::Rows(rows) if rows.last() == Some(&index) => {}
                Room::Rows(rows) => rows.push(index),
                other => *other = Room::Rows(vec![index]),
            }
        }
    }
    settle(&mut rooms, &scene.tokens);
    let text = |wanted: &dyn Fn(&Room) -> bool| words(scene.line, &scene.tokens, &rooms, wanted);
    let mut reading = Reading {
        line: scene.line.to_owned(),
        unread: text(&|room| *room == Room::Unread),
        withdrawn: text(&|room| *room == Room::Withdrawn),
        ..Reading::default()
    };
    let mut order: Vec<usize> = (0..scene.rows.len()).collect();
    order.sort_by_key(|&row| scene.rows[row].of.iter().map(|piece| piece.from).min());
    let mut rows: Vec<_> = scene.rows.iter().map(|row| Some(row.made.clone())).collect();
    for index in order {
        let said = text(&|room| matches!(room, Room::Rows(rows) if rows.contains(&index)));
        if let Some(made) = rows[index].take() {
            reading.push(made, said);
        }
    }
    reading
}

fn is_loose(piece: &Piece<'_>) -> bool {
    let turns = piece.is(|m| matches!(m, Meaning::But | Meaning::Fix | Meaning::GradeWord));
    turns || piece.is_filler() || piece.is_break() || piece.joins() || matches!(piece.sense, Sense::Mute)
}

/// Signs go with what stands before them, small words with what comes after, so that "the owner says" stays whole.
fn settle(rooms: &mut [Room], tokens: &[Token]) {
    let fixed = |rooms: &[Room], at: Option<usize>| {
        at.and_then(|at| rooms.get(at)).filter(|room| **room != Room::Loose).cloned()
    };
    for at in 0..rooms.len() {
        let trails = !tokens[at].is_word;
        if rooms[at] == Room::Loose
            && trails
            && let Some(room) = fixed(rooms, at.checked_sub(1))
        {
            rooms[at] = room;
        }
    }
    for at in (0..rooms.len()).rev() {
        if rooms[at] == Room::Loose
            && let Some(room) = fixed(rooms, Some(at + 1))
        {
            rooms[at] = room;
        }
    }
    for at in 0..rooms.len() {
        if rooms[at] == Room::Loose {
            rooms[at] = fixed(rooms, at.checked_sub(1)).unwrap_or(Room::Unread);
        }
    }
}

/// The words of one room as they stand in the line, gaps marked.
fn words(line: &str, tokens: &[Token], rooms: &[Room], wanted: &dyn Fn(&Room) -> bool) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    let mut open = false;
    for (token, room) in tokens.iter().zip(rooms) {
        match (wanted(room), runs.last_mut()) {
            (true, Some(run)) if open => run.1 = token.to,
            (true, _) => runs.push((token.from, token.to)),
            (false, _) => {}
        }
        open = wanted(room);
    }
    let pieces: Vec<&str> = runs.iter().filter_map(|&(from, to)| line.get(from..to)).map(str::trim).collect();
    pieces.join(" \u{2026} ")
}
