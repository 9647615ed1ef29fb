//! Three colours a pixel, and palettes.

use limbledger::imaging::picture::Unshown;

use crate::made::Made;

#[test]
fn red_green_and_blue_are_shown_as_they_are() {
    let pixels = [1, 2, 3, 4, 5, 6];
    let shown = Made::colour(1, 2, "RGB").pixels(&pixels).shown();
    assert!(shown.is_colour());
    assert_eq!(shown.pixels(), pixels);
}

#[test]
fn colours_kept_one_after_the_other_come_together() {
    let made = Made::colour(1, 2, "RGB").numbers(0x0028_0006, &[1]).frames("2");
    let made = made.pixels(&[1, 4, 2, 5, 3, 6, 10, 40, 20, 50, 30, 60]);
    assert_eq!(made.frame(1).pixels(), [1, 2, 3, 4, 5, 6]);
    assert_eq!(made.frame(2).pixels(), [10, 20, 30, 40, 50, 60]);
}

#[test]
fn colours_of_sixteen_bits_are_brought_to_eight() {
    let made = Made::colour(1, 1, "RGB").bits(16, 16, 15).wide_pixels(&[0, 0x8080, 0xFFFF]);
    assert_eq!(made.shown().pixels(), [0, 128, 255]);
}

#[test]
fn luminance_and_differences_become_colours() {
    // The primaries of ITU-R BT.601, rounded to bytes there and back.
    let made = Made::colour(1, 4, "YBR_FULL");
    let made = made.pixels(&[76, 85, 255, 150, 44, 21, 29, 255, 107, 128, 128, 128]);
    assert_eq!(made.shown().pixels(), [254, 0, 0, 0, 255, 1, 0, 0, 254, 128, 128, 128]);
}

#[test]
fn two_pixels_share_halved_differences() {
    let made = Made::colour(1, 4, "YBR_FULL_422").frames("2");
    let made = made.pixels(&[76, 0, 85, 255, 10, 20, 128, 128, 1, 2, 128, 128, 3, 4, 128, 128]);
    assert_eq!(made.frame(1).pixels(), [254, 0, 0, 178, 0, 0, 10, 10, 10, 20, 20, 20]);
    assert_eq!(made.frame(2).pixels(), [1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4]);
}

#[test]
fn halved_differences_that_are_written_whole_are_read_whole() {
    let made = Made::colour(1, 2, "YBR_FULL_422").pixels(&[10, 128, 128, 76, 85, 255]);
    assert_eq!(made.shown().pixels(), [10, 10, 10, 254, 0, 0]);
}

fn palette(descriptor: [u16; 3]) -> Made {
    let made = Made::new(1, 5).text(0x0028_0004, "CS", "PALETTE COLOR");
    (0x0028_1101..=0x0028_1103).fold(made, |made, tag| made.numbers(tag, &descriptor))
}

#[test]
fn palettes_of_sixteen_bits_give_their_upper_eight() {
    let made = palette([3, 0, 16])
        .words(0x0028_1201, &[0x0000, 0x8000, 0xFFFF])
        .words(0x0028_1202, &[0x1234, 0x5678, 0x9ABC])
        .words(0x0028_1203, &[0xFF00, 0x7F00, 0x00FF]);
    let shown = made.pixels(&[0, 1, 2, 3, 255]).shown();
    let last = [0xFF, 0x9A, 0x00];
    assert_eq!(shown.pixels(), [[0, 0x12, 0xFF], [0x80, 0x56, 0x7F], last, last, last].concat());
}

#[test]
fn palettes_of_eight_bits_begin_where_they_say() {
    let made = palette([2, 100, 8])
        .words(0x0028_1201, &[u16::from_le_bytes([10, 11])])
        .words(0x0028_1202, &[u16::from_le_bytes([20, 21])])
        .words(0x0028_1203, &[u16::from_le_bytes([30, 31])]);
    let (first, last) = ([10, 20, 30], [11, 21, 31]);
    let shown = made.pixels(&[0, 100, 101, 102, 255]).shown();
    assert_eq!(shown.pixels(), [first, first, last, last, last].concat());
}

#[test]
fn palettes_in_segments_are_drawn_out() {
    // Two entries one by one, then three steps to 0x4000; the other two colours rise in one line.
    let made = palette([5, 0, 16])
        .words(0x0028_1221, &[0, 2, 0x0000, 0x1000, 1, 3, 0x4000])
        .words(0x0028_1222, &[0, 1, 0x0000, 1, 4, 0x0400])
        .words(0x0028_1223, &[0, 1, 0xFF00, 1, 4, 0x0F00]);
    let shown = made.pixels(&[0, 1, 2, 3, 4]).shown();
    let expected = [[0, 0, 255], [16, 1, 195], [32, 2, 135], [48, 3, 75], [64, 4, 15]];
    assert_eq!(shown.pixels(), expected.concat());
}

#[test]
fn a_palette_that_is_missing_or_not_whole_is_a_reason() {
    assert_eq!(palette([3, 0, 16]).pixels(&[0; 5]).refused(), Unshown::Attribute("palette"));
    let short =
        palette([3, 0, 16]).words(0x0028_1201, &[1]).words(0x0028_1202, &[1]).words(0x0028_1203, &[1]);
    assert_eq!(short.pixels(&[0; 5]).refused(), Unshown::Attribute("palette"));
}
