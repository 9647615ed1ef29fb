//! The examples of PS3.3 C.11.2.1.2 and C.11.2.1.3, and what a person asks for instead.

use limbledger::imaging::picture::{View, Window, first_window, frame};

use crate::made::Made;

/// Twelve signed bits, so that windows around zero can be told.
fn shown(centre: &str, width: &str, function: &str, values: &[i16]) -> Vec<u8> {
    let words: Vec<u16> = values.iter().map(|value| value.cast_unsigned() & 0x1FFF).collect();
    Made::new(1, u16::try_from(words.len()).unwrap())
        .bits(16, 13, 12)
        .signed()
        .window(centre, width)
        .text(0x0028_1056, "CS", function)
        .wide_pixels(&words)
        .shown()
        .pixels()
        .to_vec()
}

#[test]
fn linear_windows_are_as_in_the_examples_of_the_standard() {
    assert_eq!(shown("2048", "4096", "LINEAR", &[0, 1, 2047, 2048, 4095]), [0, 0, 127, 128, 255]);
    assert_eq!(shown("2048", "1", "LINEAR", &[2047, 2048]), [0, 255]);
    assert_eq!(shown("0", "100", "LINEAR", &[-50, -49, 49]), [0, 3, 255]);
    assert_eq!(shown("0", "1", "LINEAR", &[-1, 0]), [0, 255]);
}

#[test]
fn exact_windows_are_as_in_the_examples_of_the_standard() {
    assert_eq!(shown("2048", "4096", "LINEAR_EXACT", &[0, 1024, 2048, 4095]), [0, 64, 128, 255]);
    assert_eq!(shown("2048", "1", "LINEAR_EXACT", &[2047, 2048, 2049]), [0, 128, 255]);
    assert_eq!(shown("0", "100", "LINEAR_EXACT", &[-50, 0, 25, 50, 51]), [0, 128, 191, 255, 255]);
}

#[test]
fn curved_windows_follow_the_formula_of_the_standard() {
    // 255 / (1 + exp(-4 (x - c) / w)) for x - c of -w, -w/2, 0, w/2 and w.
    assert_eq!(shown("0", "100", "SIGMOID", &[-100, -50, 0, 50, 100]), [5, 30, 128, 225, 250]);
}

#[test]
fn the_first_window_that_spreads_anything_is_taken() {
    assert_eq!(shown("2048\\0", "4096\\100", "LINEAR", &[0, 4095]), [0, 255]);
    assert_eq!(shown("5\\2048", "0\\4096", "LINEAR", &[0, 4095]), [0, 255]);
}

#[test]
fn a_persons_own_window_takes_the_place_of_the_files() {
    let object = Made::new(1, 3).window("10", "5").pixels(&[100, 150, 200]).open().unwrap();
    let own = View::Own(Window::new(150.5, 101.0).unwrap());
    assert_eq!(frame(&object, 1, own).unwrap().pixels(), [0, 128, 255]);
}

#[test]
fn a_window_that_spreads_nothing_is_none() {
    for (centre, width) in [(0.0, 0.0), (0.0, -3.0), (f64::NAN, 1.0), (0.0, f64::INFINITY)] {
        assert_eq!(Window::new(centre, width), None);
    }
}

#[test]
fn the_window_to_start_from_shows_the_same_picture() {
    let values: Vec<u16> = (0..400).map(|value| value * 7 + 300).collect();
    let object = Made::new(20, 20).bits(16, 12, 11).wide_pixels(&values).open().unwrap();
    let start = first_window(&object).unwrap().unwrap();
    assert_eq!(frame(&object, 1, View::Own(start)), frame(&object, 1, View::AsKept));
    let kept = Made::new(1, 1).window("40\\50", "400\\350").pixels(&[0]).open().unwrap();
    assert_eq!(first_window(&kept).unwrap(), Window::new(40.0, 400.0));
    let colour = Made::colour(1, 1, "RGB").pixels(&[1, 2, 3]).open().unwrap();
    assert_eq!(first_window(&colour).unwrap(), None);
}
