//! From stored bits to lightness.

use crate::made::Made;

#[test]
fn eight_bits_without_a_window_are_shown_as_they_are() {
    let shown = Made::new(2, 3).pixels(&[0, 1, 127, 128, 254, 255]).shown();
    assert_eq!((shown.rows(), shown.columns(), shown.is_colour()), (2, 3, false));
    assert_eq!(shown.pixels(), [0, 1, 127, 128, 254, 255]);
}

#[test]
fn low_values_of_monochrome1_are_white() {
    let made = Made::new(1, 3).text(0x0028_0004, "CS", "MONOCHROME1").pixels(&[0, 100, 255]);
    assert_eq!(made.shown().pixels(), [255, 155, 0]);
}

#[test]
fn signed_bytes_go_from_the_lowest_to_the_highest() {
    let made = Made::new(1, 4).signed().pixels(&[0x80, 0xFF, 0x00, 0x7F]);
    assert_eq!(made.shown().pixels(), [0, 127, 128, 255]);
}

#[test]
fn bits_outside_the_stored_ones_are_passed_over() {
    let low = Made::new(1, 3).bits(16, 12, 11).window("2048", "4096").wide_pixels(&[0xF000, 0x1FFF, 0x8800]);
    assert_eq!(low.shown().pixels(), [0, 255, 128]);
    let high = Made::new(1, 3).bits(16, 12, 15).window("2048", "4096").wide_pixels(&[0x000F, 0xFFF1, 0x8008]);
    assert_eq!(high.shown().pixels(), [0, 255, 128]);
}

#[test]
fn the_sign_is_the_highest_stored_bit() {
    let made = Made::new(1, 4).bits(16, 12, 11).signed().window("0", "4096");
    let shown = made.wide_pixels(&[0x0800, 0x0FFF, 0x0000, 0x07FF]).shown();
    assert_eq!(shown.pixels(), [0, 127, 128, 255]);
}

#[test]
fn values_are_rescaled_before_they_are_windowed() {
    // -1000 + 2 * 450 = -100, which is where this window begins; 0 is in its middle, 100 at its end.
    let made = Made::new(1, 3).bits(16, 16, 15).text(0x0028_1053, "DS", "2").text(0x0028_1052, "DS", "-1000");
    let shown = made.window("0.5", "201").wide_pixels(&[450, 500, 550]).shown();
    assert_eq!(shown.pixels(), [0, 128, 255]);
}

#[test]
fn a_table_of_values_stands_in_for_the_rescaling() {
    let table = Made::nothing().numbers(0x0028_3002, &[4, 10, 16]).words(0x0028_3006, &[0, 300, 200, 100]);
    let made = Made::new(1, 6).sequence(0x0028_3000, &table).window("150.5", "301");
    // What lies below the first mapped value has the first entry, what lies above the last one the last.
    assert_eq!(made.pixels(&[0, 10, 11, 12, 13, 200]).shown().pixels(), [0, 0, 255, 170, 85, 85]);
}

#[test]
fn a_table_of_lightness_is_shown_before_any_window() {
    let table = Made::nothing().numbers(0x0028_3002, &[3, 100, 10]).words(0x0028_3006, &[1023, 512, 0]);
    let made = Made::new(1, 5).bits(16, 12, 11).sequence(0x0028_3010, &table).window("1", "2");
    assert_eq!(made.wide_pixels(&[0, 100, 101, 102, 4000]).shown().pixels(), [255, 255, 128, 0, 0]);
}

#[test]
fn without_a_window_all_but_the_outermost_pixels_are_spread() {
    let mut values = vec![0, 0, 4095, 4095];
    values.extend([1000; 198]);
    values.extend([1500; 99]);
    values.extend([2000; 99]);
    let shown = Made::new(20, 20).bits(16, 12, 11).wide_pixels(&values).shown();
    assert_eq!(shown.pixels()[..5], [0, 0, 255, 255, 0]);
    assert_eq!((shown.pixels()[202], shown.pixels()[399]), (128, 255));
}

#[test]
fn what_stands_for_no_measurement_is_not_spread() {
    let mut values = vec![0; 200];
    values.extend([1000; 100]);
    values.extend([3000; 100]);
    let made = Made::new(20, 20).bits(16, 12, 11).wide_pixels(&values);
    assert_eq!(made.shown().pixels()[200], 85);
    let padded = made.numbers(0x0028_0120, &[0]);
    assert_eq!((padded.shown().pixels()[200], padded.shown().pixels()[399]), (0, 255));
}

#[test]
fn a_picture_of_one_value_is_shown() {
    assert_eq!(Made::new(2, 2).bits(16, 12, 11).wide_pixels(&[700; 4]).shown().pixels().len(), 4);
}

#[test]
fn frames_without_a_window_share_that_of_the_middle_one() {
    let made = Made::new(1, 2).bits(16, 12, 11).frames("3").wide_pixels(&[120, 200, 0, 1000, 500, 2000]);
    assert_eq!(made.frame(1).pixels(), [31, 51]);
    assert_eq!(made.frame(2).pixels(), [0, 255]);
    assert_eq!(made.frame(3).pixels(), [128, 255]);
}

#[test]
fn bits_of_one_frame_follow_those_of_the_last_without_a_gap() {
    // Frame 1 is 1 0 1 0 1 0 1 0 1, frame 2 its contrary, the lowest bit first.
    let made = Made::new(3, 3).bits(1, 1, 0).frames("2").pixels(&[0b0101_0101, 0b0101_0101, 0b01]);
    assert_eq!(made.frame(1).pixels(), [255, 0, 255, 0, 255, 0, 255, 0, 255]);
    assert_eq!(made.frame(2).pixels(), [0, 255, 0, 255, 0, 255, 0, 255, 0]);
}

#[test]
fn each_frame_has_the_window_and_rescaling_of_its_own_group() {
    let window = |centre: &str| {
        let values = Made::nothing().window(centre, "256");
        Made::nothing().sequence(0x0028_9132, &values)
    };
    let scale = Made::nothing().text(0x0028_1052, "DS", "100").text(0x0028_1053, "DS", "1");
    let made = Made::new(1, 2)
        .frames("2")
        .sequence(0x5200_9229, &Made::nothing().sequence(0x0028_9145, &scale))
        .sequences(0x5200_9230, &[window("228"), window("128")])
        .pixels(&[0, 50, 0, 50]);
    assert_eq!(made.frame(1).pixels(), [0, 50]);
    assert_eq!(made.frame(2).pixels(), [100, 150]);
}
