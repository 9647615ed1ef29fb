//! The corpora, and how well they must be read. The seen and the opened ones are for looking at; of the unseen one
//! only the totals are ever printed.

use super::{READER, corpus, score::Score};

/// Share of each field that must be right, both of what is read and of what is there.
const TARGETS: [(&str, f64); 5] =
    [("place", 0.99), ("side", 0.99), ("finding", 0.98), ("grade", 0.97), ("negation", 0.99)];

fn check(score: &Score) {
    for (field, target) in TARGETS {
        let count = score.fields[field];
        assert!(
            count.precision() >= target,
            "{field}: precision {:.3}\n{}",
            count.precision(),
            score.table()
        );
        assert!(count.recall() >= target, "{field}: recall {:.3}\n{}", count.recall(), score.table());
    }
    assert_eq!(score.invented, 0, "invented findings\n{}", score.table());
    assert_eq!(score.lost, 0, "lines that lose a word\n{}", score.table());
}

#[test]
fn the_seen_lines_are_read_as_they_are_meant() {
    let cases = corpus::read(include_str!("seen.txt"));
    assert!(cases.len() >= 420, "only {} lines", cases.len());
    let score = Score::of(&READER, &cases);
    println!("{}\n{}", score.details, score.table());
    check(&score);
}

/// Lines by other authors, each set measured once before anybody looked at it: 522 lines gave places at 97 % precision
/// and 93 % recall, the next 495 at 97 % and 90 %, 465 more at 99.8 % and 97 %, three sets of 500 at 98 % and
/// 92, 89 and 86 %, 450 at 99 % and 96 %, 394 at 99.5 and 95 %; then, by authors with quite other voices, 520 at
/// 96 and 93 %, 1,046 at 94 and 90 %, 405 at 95 and 92 %, 1,042 at 98 and 95 %, 783 at 96 and 96 %, 520 at
/// 98.7 and 97.8 %, 260 at 96 and 91 %, and six sets of 260 at a recall of 94.8, 97.3, 94.3, 91.2, 89.5 and 97.8 %.
/// They were looked at since, and hold the reader to what it can; what their authors meant is not always what a
/// colleague would read.
#[test]
fn the_opened_lines_are_read_no_worse_than_they_were() {
    let score = Score::of(&READER, &corpus::read(include_str!("opened.txt")));
    println!("{}\n{}", score.details, score.table());
    check_least(&score, 10_300, 0.97);
}

/// Lines whose authors went over the differences themselves. Before they were looked at, between 4 and 12 % of each of
/// the earlier sets of 300 and between 2 and 9 % of the later ones of 200 were not read as they were meant.
#[test]
fn the_spoken_lines_are_read_no_worse_than_they_were() {
    let score = Score::of(&READER, &corpus::read(include_str!("spoken.txt")));
    println!("{}\n{}", score.details, score.table());
    check_least(&score, 4_900, 0.98);
}

/// Lines that were written to be misread.
#[test]
fn the_hunted_lines_are_read_no_worse_than_they_were() {
    let score = Score::of(&READER, &corpus::read(include_str!("hunted.txt")));
    println!("{}\n{}", score.details, score.table());
    check_least(&score, 830, 0.75);
}

/// Whether so many lines were read, and no field worse than `least`.
fn check_least(score: &Score, lines: usize, least: f64) {
    assert!(score.lines >= lines, "only {} lines", score.lines);
    for (field, _) in TARGETS {
        let count = score.fields[field];
        assert!(count.precision() >= least && count.recall() >= least, "{field}\n{}", score.table());
    }
    assert_eq!(score.lost, 0, "lines that lose a word\n{}", score.table());
}

/// Lines that whoever writes the reader does not look at, so only totals are printed. At first they gave places at 98.2 %
/// precision and 95.4 % recall, findings at 98.6 and 95.8 %, grades at 98.0 and 95.1 %; mended by other lines since,
/// places and findings at 98.5 and 97.9 %, grades at 98.3 and 97.6 %, and nine findings that no author meant. A second
/// annotator, blind to the first and to the reader, found 98 % of what the authors wrote, and agreed on all of it in 617
/// of the 628 lines. The targets of the seen lines are not reached here.
#[test]
fn the_unseen_lines_are_read_no_worse_than_they_were() {
    const PRECISION: f64 = 0.98;
    const RECALL: f64 = 0.97;
    let score = Score::of(&READER, &corpus::read(include_str!("unseen.txt")));
    println!("{}", score.table());
    for (field, _) in TARGETS {
        let count = score.fields[field];
        assert!(count.precision() >= PRECISION && count.recall() >= RECALL, "{field}\n{}", score.table());
    }
    assert!(score.invented <= 9, "invented findings\n{}", score.table());
    assert_eq!(score.lost, 0, "lines that lose a word\n{}", score.table());
}
