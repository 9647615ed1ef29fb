//! Whatever a machine sends, or a disk makes of it, the answer is a picture or a reason.

use limbledger::imaging::picture::{View, facts, first_window, frame};
use proptest::prelude::*;

use crate::{
    made::{Made, opened},
    packed::{JFIF, RISING, bytes, run_lengths},
};

/// Small objects of every kind.
fn objects() -> Vec<Vec<u8>> {
    let table = Made::nothing().numbers(0x0028_3002, &[4, 0, 8]).words(0x0028_3006, &[0, 1, 2, 3]);
    let palette = Made::new(2, 2).text(0x0028_0004, "CS", "PALETTE COLOR");
    let palette = (1..=3).fold(palette, |made, colour| {
        made.numbers(0x0028_1100 + colour, &[4, 0, 16]).words(0x0028_1220 + colour, &[0, 1, 0, 1, 3, 9])
    });
    let runs = run_lengths(&[&[0xFD, 7]]);
    let made = [
        Made::new(2, 2).frames("2").window("5\\6", "7\\8").pixels(&[1; 8]),
        Made::new(2, 2).bits(16, 12, 11).signed().sequence(0x0028_3010, &table).wide_pixels(&[1, 2, 3, 4]),
        Made::new(2, 2).bits(16, 16, 15).sequence(0x0028_3000, &table).wide_pixels(&[1, 2, 3, 4]),
        Made::new(3, 3).bits(1, 1, 0).pixels(&[0xAA, 1]),
        Made::colour(2, 2, "YBR_FULL_422").pixels(&[1; 8]),
        palette.pixels(&[0, 1, 2, 3]),
        Made::new(2, 2).syntax("1.2.840.10008.1.2.5").frames("2").fragments(&[0, 82], &[&runs, &runs]),
        Made::colour(8, 8, "YBR_FULL").syntax("1.2.840.10008.1.2.4.50").fragments(&[], &[&bytes(JFIF)]),
        Made::new(8, 8).bits(16, 16, 15).syntax("1.2.840.10008.1.2.4.90").fragments(&[], &[&bytes(RISING)]),
        Made::new(2, 2).pixels(&[1; 4]).deflated(),
    ];
    made.iter().map(Made::file).collect()
}

/// A picture that is shown has all its pixels; everything else says why.
fn picture_or_reason(bytes: &[u8]) -> Result<(), TestCaseError> {
    let object = match opened(bytes) {
        Ok(object) => object,
        Err(reason) => {
            prop_assert!(reason.to_string().starts_with("Kept, cannot be shown: "));
            return Ok(());
        }
    };
    let told = facts(&object);
    let _ = first_window(&object);
    for number in [1, told.frames] {
        match frame(&object, number, View::AsKept) {
            Ok(shown) => {
                let pixels = usize::from(told.rows) * usize::from(told.columns);
                prop_assert_eq!(shown.pixels().len(), pixels * if shown.is_colour() { 3 } else { 1 });
            }
            Err(reason) => prop_assert!(reason.to_string().starts_with("Kept, cannot be shown: ")),
        }
    }
    Ok(())
}

#[test]
fn the_objects_that_get_damaged_are_whole() {
    for object in objects() {
        assert!(frame(&opened(&object).unwrap(), 1, View::AsKept).is_ok());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn objects_with_flipped_bytes_give_a_picture_or_a_reason(
        which in 0..10_usize,
        flips in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let mut bytes = objects().swap_remove(which);
        for (place, value) in flips {
            // The preamble in front of the head means nothing.
            let at = 128 + place.index(bytes.len() - 128);
            bytes[at] = value;
        }
        picture_or_reason(&bytes)?;
    }

    #[test]
    fn objects_that_were_cut_off_give_a_picture_or_a_reason(
        which in 0..10_usize,
        length in any::<prop::sample::Index>(),
    ) {
        let bytes = objects().swap_remove(which);
        picture_or_reason(&bytes[..length.index(bytes.len())])?;
    }
}
