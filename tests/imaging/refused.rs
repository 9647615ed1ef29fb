//! Every reason not to show an object, as a sentence for a person.

use limbledger::imaging::picture::{Unshown, View, frame, open};

use crate::{
    made::{Made, opened},
    packed::{JFIF, RISING, bytes, run_lengths},
};

#[test]
fn what_is_no_object_is_not_shown() {
    assert_eq!(opened(b"").unwrap_err(), Unshown::NoObject);
    assert_eq!(opened(&[0; 500]).unwrap_err(), Unshown::NoObject);
    assert_eq!(open("no/such/file".as_ref()).unwrap_err(), Unshown::Damaged);
    let words = Unshown::NoObject.to_string();
    assert_eq!(words, "Kept, cannot be shown: the file is no DICOM object, or its head is damaged.");
}

#[test]
fn an_object_without_a_picture_is_not_shown() {
    let report = Made::nothing().text(0x0008_0060, "CS", "SR");
    assert_eq!(report.open().unwrap_err(), Unshown::NoPixels);
}

#[test]
fn packings_that_cannot_be_unpacked_are_named() {
    let packed = |syntax| Made::new(1, 1).syntax(syntax).fragments(&[], &[&[0, 0]]).refused().to_string();
    assert!(packed("1.2.840.10008.1.2.4.80").contains("JPEG-LS"));
    assert!(packed("1.2.840.10008.1.2.4.201").contains("High-Throughput JPEG 2000"));
    assert!(packed("1.2.840.10008.1.2.4.102").contains("this is a video"));
    assert!(packed("1.2.3").contains("packed as 1.2.3"));
}

#[test]
fn twelve_bits_with_loss_are_named() {
    let mut packed = bytes(JFIF);
    let frame = packed.windows(2).position(|pair| pair == [0xFF, 0xC0]).unwrap();
    packed[frame + 1] = 0xC1;
    packed[frame + 4] = 12;
    let made = Made::colour(8, 8, "RGB").syntax("1.2.840.10008.1.2.4.51").fragments(&[], &[&packed]);
    assert_eq!(made.refused(), Unshown::Packing("JPEG with 12 bits".to_owned()));
}

#[test]
fn measures_that_are_missing_or_make_no_sense_are_named() {
    let refused = |made: Made| made.pixels(&[0; 8]).open().unwrap_err();
    assert_eq!(refused(Made::new(0, 1)), Unshown::Attribute("number of rows"));
    assert_eq!(refused(Made::new(1, 0)), Unshown::Attribute("number of columns"));
    assert_eq!(refused(Made::new(1, 1).bits(32, 32, 31)), Unshown::Depth(32));
    assert_eq!(refused(Made::new(1, 1).bits(8, 9, 8)), Unshown::Attribute("number of bits"));
    assert_eq!(refused(Made::new(1, 1).bits(8, 8, 6)), Unshown::Attribute("number of bits"));
    assert_eq!(refused(Made::new(1, 1).frames("-2")), Unshown::Attribute("number of frames"));
    assert_eq!(refused(Made::new(1, 1).frames("two")), Unshown::Attribute("number of frames"));
    let four = Made::new(1, 1).numbers(0x0028_0002, &[4]);
    assert_eq!(refused(four), Unshown::Attribute("number of samples a pixel"));
    assert_eq!(refused(Made::colour(1, 1, "CMYK")), Unshown::Photometric("CMYK".to_owned()));
}

#[test]
fn what_would_fill_the_memory_is_not_unpacked() {
    let refused = |made: Made| made.pixels(&[0; 8]).open().unwrap_err().to_string();
    assert!(refused(Made::new(u16::MAX, u16::MAX)).contains("more than 50 million pixels"));
    assert!(refused(Made::new(5000, 5000).frames("100")).contains("more than 1 GiB of pixels"));
    let colours = Made::colour(7000, 7000, "RGB").syntax("1.2.840.10008.1.2.4.90").fragments(&[], &[&[0, 0]]);
    assert_eq!(colours.refused(), Unshown::TooLarge("more packed pixels than there is memory for"));
}

#[test]
fn a_picture_divided_into_single_values_is_not_unpacked() {
    let divided = |sides: u8| {
        let mut packed = bytes(RISING);
        let style = packed.windows(5).position(|bytes| bytes == [0xFF, 0x52, 0, 12, 0]).unwrap();
        packed[style + 3..style + 5].copy_from_slice(&[13, 1]);
        packed.insert(style + 14, sides);
        Made::new(8, 8).bits(16, 16, 15).syntax("1.2.840.10008.1.2.4.90").fragments(&[], &[&packed])
    };
    assert_eq!(divided(0x00).refused(), Unshown::Codec("JPEG 2000"));
    assert_eq!(divided(0xF3).refused(), Unshown::Codec("JPEG 2000"));
    assert_eq!(divided(0xFF).shown().pixels().len(), 64);
}

#[test]
fn a_packed_picture_of_another_size_is_not_unpacked() {
    let jpeg = Made::colour(8, 9, "RGB").syntax("1.2.840.10008.1.2.4.50").fragments(&[], &[&bytes(JFIF)]);
    assert_eq!(jpeg.refused(), Unshown::Mismatch("JPEG"));
    let jpeg_2000 = Made::new(9, 8).syntax("1.2.840.10008.1.2.4.90").fragments(&[], &[&bytes(RISING)]);
    assert_eq!(jpeg_2000.refused(), Unshown::Mismatch("JPEG 2000"));
    let short = run_lengths(&[&[0, 1]]);
    let runs = Made::new(2, 2).syntax("1.2.840.10008.1.2.5").fragments(&[], &[&short]);
    assert_eq!(runs.refused(), Unshown::Damaged);
}

#[test]
fn parts_within_parts_without_end_are_not_followed() {
    let mut inside = Made::nothing();
    for _ in 0..200 {
        inside = Made::nothing().sequence(0x0008_1140, &inside);
    }
    let made = Made::new(1, 1).pixels(&[0]).sequence(0x0008_1140, &inside);
    assert_eq!(made.open().unwrap_err(), Unshown::TooDeep);
    // Behind the pixels too, where nothing of the kind belongs.
    let mut file = Made::new(1, 1).pixels(&[0]).file();
    let behind = Made::nothing().sequence(0x0008_1140, &inside).file();
    file.extend(&behind[Made::nothing().file().len()..]);
    assert_eq!(opened(&file).unwrap_err(), Unshown::TooDeep);
}

#[test]
fn a_length_beyond_the_file_is_damage() {
    let mut file = Made::new(1, 1).bytes(0x0009_0010, "UN", &[1; 8]).pixels(&[0]).file();
    let at = file.windows(6).position(|head| head == [9, 0, 0x10, 0, b'U', b'N']).unwrap();
    file[at + 8..at + 12].copy_from_slice(&0xFFFF_FFF0_u32.to_le_bytes());
    assert_eq!(opened(&file).unwrap_err(), Unshown::Damaged);
}

#[test]
fn an_object_that_was_cut_off_is_not_shown_in_part() {
    let native = Made::new(4, 4).pixels(&[9; 16]).file();
    assert_eq!(opened(&native[..native.len() - 4]).unwrap_err(), Unshown::Damaged);
    let packed = Made::new(1, 5).syntax("1.2.840.10008.1.2.5");
    let packed = packed.fragments(&[], &[&run_lengths(&[&[0xFC, 7]])]).file();
    assert_eq!(opened(&packed[..packed.len() - 8]).unwrap_err(), Unshown::Damaged);
    assert_eq!(Made::new(4, 4).pixels(&[9; 14]).refused(), Unshown::Damaged);
}

#[test]
fn only_frames_that_are_there_are_shown() {
    let object = Made::new(1, 1).frames("2").pixels(&[1, 2]).open().unwrap();
    for number in [0, 3, u32::MAX] {
        assert_eq!(frame(&object, number, View::AsKept), Err(Unshown::NoFrame { number, frames: 2 }));
    }
    let packed = Made::new(8, 8).frames("3").syntax("1.2.840.10008.1.2.4.50");
    assert_eq!(packed.fragments(&[], &[&[1, 2], &[3, 4]]).refused(), Unshown::FrameLost(1));
}
