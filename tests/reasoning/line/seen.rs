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
/// 92, 89 and 86 %, and 450 at 99 % and 96 %. They were looked at since, and hold the reader to what it can.
#[test]
fn the_opened_lines_are_read_no_worse_than_they_were() {
    const LEAST: f64 = 0.97;
    let cases = corpus::read(include_str!("opened.txt"));
    assert!(cases.len() >= 3400, "only {} lines", cases.len());
    let score = Score::of(&READER, &cases);
    println!("{}\n{}", score.details, score.table());
    for (field, _) in TARGETS {
        let count = score.fields[field];
        assert!(count.precision() >= LEAST && count.recall() >= LEAST, "{field}\n{}", score.table());
    }
    assert_eq!(score.lost, 0, "lines that lose a word\n{}", score.table());
}

/// The half of several authors' lines that whoever writes the reader does not look at, so only totals are printed. They
/// gave places at 99.5 % precision and 95.4 % recall, findings at 98.9 and 94.8 %, grades at 99.1 and 94.9 %: precision
/// holds its targets; those of recall, and of no invented finding, are not reached.
#[test]
fn the_unseen_lines_are_read_no_worse_than_they_were() {
    const RECALL: f64 = 0.94;
    let score = Score::of(&READER, &corpus::read(include_str!("unseen.txt")));
    println!("{}", score.table());
    for (field, target) in TARGETS {
        let count = score.fields[field];
        assert!(count.precision() >= target && count.recall() >= RECALL, "{field}\n{}", score.table());
    }
    assert!(score.invented <= 1, "invented findings\n{}", score.table());
    assert_eq!(score.lost, 0, "lines that lose a word\n{}", score.table());
}
