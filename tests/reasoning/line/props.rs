//! What holds for any input at all.

use limbledger::catalogue::catalogue;
use proptest::prelude::*;

use super::{READER, score::loses_words};

/// Words of the vocabulary in any order, with numbers and signs between.
fn babble() -> impl Strategy<Value = String> {
    let words: Vec<String> = catalogue().words.rows.iter().flat_map(|row| row.says.iter().cloned()).collect();
    let signs = [", ", ". ", " ", " / ", " - ", "? ", "; ", " + ", "\u{a0}"];
    let piece = (prop::sample::select(words), prop::sample::select(signs.to_vec()), any::<Option<u8>>())
        .prop_map(|(word, sign, number)| {
            format!("{word}{sign}{}", number.map_or_else(String::new, |n| format!("{n} ")))
        });
    prop::collection::vec(piece, 0..14).prop_map(|pieces| pieces.concat())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn no_character_of_any_text_is_lost(line in "\\PC{0,80}") {
        let reading = READER.read(&line);
        prop_assert!(!loses_words(&reading), "{reading:?}");
        prop_assert_eq!(reading.line, line);
    }

    #[test]
    fn no_word_of_the_trade_is_lost_in_any_order(line in babble()) {
        let reading = READER.read(&line);
        prop_assert!(!loses_words(&reading), "{reading:?}");
    }

    #[test]
    fn every_grade_lies_within_its_scale(line in babble()) {
        for row in READER.read(&line).findings {
            if let (Some(grade), Some(scale)) = (row.grade, row.scale) {
                let (low, high) = catalogue().scale(&scale).expect("a scale of the catalogue").range();
                prop_assert!((f64::from(low)..=f64::from(high)).contains(&grade), "{line}: {grade} on {scale}");
            }
        }
    }

    #[test]
    fn every_row_stands_at_a_place_of_the_catalogue(line in babble()) {
        use limbledger::catalogue::Place;
        let reading = READER.read(&line);
        for row in &reading.findings {
            let limb = row.limb.as_deref().map(|limb| limb.parse().expect("a limb"));
            let place = Place::new(&row.region, row.side.parse().expect("a side"), limb);
            prop_assert!(place.is_ok(), "{line}: {row:?}");
            prop_assert!(!row.text.is_empty());
        }
    }

    #[test]
    fn the_same_line_is_always_read_the_same(line in babble()) {
        prop_assert_eq!(READER.read(&line), READER.read(&line));
    }
}
