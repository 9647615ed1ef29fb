//! The vocabulary: its rows, a practice's own words, and slips of the pen.

use std::collections::BTreeSet;

use limbledger::{
    catalogue::{Row, catalogue},
    reasoning::line::{PracticeWord, Reader, WordError},
};

use super::READER;

/// Every single word that stands in the vocabulary, as the reader keeps it.
fn words() -> BTreeSet<String> {
    let says = catalogue().words.rows.iter().flat_map(|row| row.says.iter());
    says.flat_map(|says| says.split(|c: char| !(c.is_alphabetic() || c == '\'')))
        .map(|word| word.to_lowercase().replace('\'', ""))
        .filter(|word| !word.is_empty())
        .collect()
}

#[test]
fn every_row_has_words_and_a_source() {
    for row in &catalogue().words.rows {
        assert!(!row.source.trim().is_empty(), "{:?}", row.says);
        assert!(!row.says.is_empty());
    }
    for spot in &catalogue().words.spots {
        assert!(!spot.source().trim().is_empty());
    }
}

#[test]
fn no_word_of_the_trade_is_ever_taken_for_another() {
    for word in words() {
        assert_eq!(READER.corrected(&word), None, "{word}");
    }
}

#[test]
fn one_slip_in_a_word_of_the_trade_leads_back_to_it_or_nowhere() {
    // Changing one letter of a word may make another word of the trade: then that one is meant.
    for word in
        ["fetlock", "effusion", "suspensory", "swelling", "pastern", "carpus", "crepitus", "thickening"]
    {
        for at in 1..word.len() {
            let mut slip: Vec<char> = word.chars().collect();
            slip.remove(at);
            let slip: String = slip.into_iter().collect();
            let corrected = READER.corrected(&slip);
            assert!(
                corrected.is_none_or(|found| found == word) || READER.knows(&slip),
                "{slip}: {corrected:?}"
            );
        }
    }
}

#[test]
fn one_slip_in_a_short_word_of_every_line_is_put_right_and_plain_english_is_left_alone() {
    for (slip, word) in
        [("paim", "pain"), ("hovk", "hock"), ("lefg", "left"), ("rigt", "right"), ("heqt", "heat")]
    {
        assert_eq!(READER.corrected(slip), Some(word), "{slip}");
    }
    for word in ["paint", "hack", "lift", "food", "shove", "hat", "pin"] {
        assert_eq!(READER.corrected(word), None, "{word}");
    }
}

#[test]
fn plain_english_is_not_taken_for_trade_words() {
    for word in
        ["heal", "paint", "stable", "horse", "there", "walls", "house", "lake", "grain", "saddle", "fence"]
    {
        let reading = READER.read(&format!("LF fetlock effusion 2 {word}"));
        assert_eq!(reading.findings.len(), 1, "{word}: {reading:?}");
    }
}

#[test]
fn a_practice_adds_words_of_its_own() {
    let own = [
        PracticeWord { says: "wobble juice knee".into(), means: "carpus".into() },
        PracticeWord { says: "squidge".into(), means: "finding:EFF".into() },
    ];
    let reader = Reader::new(catalogue(), &own).expect("both can be read");
    let reading = reader.read("LF wobble juice knee squidge 2");
    assert_eq!(reading.findings.len(), 1);
    let row = &reading.findings[0];
    assert_eq!((row.region.as_str(), row.finding.as_str(), row.grade), ("CARP_D", "EFF", Some(2.0)));
    let wrong = [PracticeWord { says: "squidge".into(), means: "finding:NOPE".into() }];
    let error = Reader::new(catalogue(), &wrong).expect_err("no such finding");
    assert!(error.to_string().contains("NOPE"), "{error}");
}

#[test]
fn no_word_of_a_practice_means_two_things() {
    let refused = |says: &str, means: &str| {
        let word = PracticeWord { says: says.into(), means: means.into() };
        word.check(catalogue()).expect_err(says)
    };
    assert!(matches!(refused("Effusion", "heat"), WordError::Known { .. }));
    assert!(matches!(refused("effusion", "effusion"), WordError::Known { .. }));
    assert!(matches!(refused("house", "heat"), WordError::Everyday(_)));
    assert!(matches!(refused("7", "heat"), WordError::NoWord(_)));
    assert!(matches!(refused("squidge", "a thing nobody knows"), WordError::Unknown { .. }));
    PracticeWord { says: "squidge".into(), means: "Effusion".into() }.check(catalogue()).expect("a new word");
}

#[test]
fn the_vocabulary_says_which_row_cannot_be_read() {
    use limbledger::catalogue::{Catalogue, Files};
    let mut files = Files::shipped();
    let (name, text) =
        files.words.iter_mut().find(|(name, _)| name.ends_with("findings.tsv")).expect("a file");
    let broken = format!("{text}finding:NOPE\tnope\tfrom memory\tM\n");
    *text = broken.into();
    let name = *name;
    let error = Catalogue::read(&files).expect_err("a finding that does not exist").to_string();
    assert!(error.contains(name) && error.contains("NOPE"), "{error}");
}
