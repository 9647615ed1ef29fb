//! Pixels in packings, and which fragments make a frame.

use crate::made::Made;

const JPEG: &str = "1.2.840.10008.1.2.4.50";
const JPEG_2000: &str = "1.2.840.10008.1.2.4.90";
const RUN_LENGTHS: &str = "1.2.840.10008.1.2.5";

/// Made once with Pillow 13.0 (libjpeg-turbo), quality 100 and without halved colours: 8 by 8 pixels of (200, 40, 90)
/// as luminance and differences in JFIF, the same as red, green and blue behind Adobe's marker, and grey of 77.
pub const JFIF: &str = "
ffd8ffe000104a46494600010100000100010000ffdb0043000101010101010101010101010101010101010101010101
0101010101010101010101010101010101010101010101010101010101010101010101010101010101ffdb0043010101
010101010101010101010101010101010101010101010101010101010101010101010101010101010101010101010101
0101010101010101010101010101ffc00011080008000803011100021101031101ffc400140001000000000000000000
00000000000009ffc40014100100000000000000000000000000000000ffc40015010101000000000000000000000000
0000050affc40014110100000000000000000000000000000000ffda000c03010002110311003f003bc7a981ffd9";
const ADOBE: &str = "
ffd8ffee000e41646f626500640000000000ffdb00430001010101010101010101010101010101010101010101010101
010101010101010101010101010101010101010101010101010101010101010101010101010101ffc000110800080008
03521100471100421100ffc4001500010100000000000000000000000000000a09ffc400141001000000000000000000
00000000000000ffda000c03520047004200003f0048027e99efffd9";
const GREY: &str = "
ffd8ffe000104a46494600010100000100010000ffdb0043000101010101010101010101010101010101010101010101
0101010101010101010101010101010101010101010101010101010101010101010101010101010101ffc0000b080008
000801011100ffc40014000100000000000000000000000000000009ffc4001410010000000000000000000000000000
0000ffda0008010100003f0019dfffd9";
/// Made once with `OpenJPEG` 2.5, without loss: 8 by 8 of 0, 1040, 2080 and so on in 16 bits; 4 by 4 whose red is 16
/// times the pixel's number, green 200 and blue 255 less red; 32 by 32 whose columns are -2000, -1875 and so on in 12
/// signed bits.
pub const RISING: &str = "
ff4fff5100290000000000080000000800000000000000000000000800000008000000000000000000010f0101ff5200
0c00000001000004040001ff5c00044080ff640025000143726561746564206279204f70656e4a504547207665727369
6f6e20322e352e34ff90000a00000000006c0001ff93dff892d0122c42a79795b1430ed6283fdee829c548b8345612e1
790e9891854f43d1987e129bce3bc379bd7149c6853782625615b739ce75ea4a400cc02800074465d523cc53860b5c67
daeb29ab84eb8070d86c361b0d86c35f8d2fff7fffd9";
const RED_AND_BLUE: &str = "
ff4fff51002f000000000004000000040000000000000000000000040000000400000000000000000003070101070101
070101ff52000c00000001010004040001ff5c00044040ff640025000143726561746564206279204f70656e4a504547
2076657273696f6e20322e352e34ff90000a00000000003f0001ff93c7d41014005178bc00308fdf808800cb22f29be0
27264e06a7018aeae3b177df807810e2622be59a48579d5565a842742fffd9";
const SIGNED: &str = "
ff4fff5100290000000000200000002000000000000000000000002000000020000000000000000000018b0101ff5200
0c00000001000504040001ff5c00134060686870686870686870686870686870ff640025000143726561746564206279
204f70656e4a5045472076657273696f6e20322e352e32ff90000a00000000004b0001ff93c7ec04084bcff006000470
9fc7f208000d02f86ac3f60600221a105b4141c1f9858036a199c9ee8022befe52f2c07da1805fa7c733fcb3700000c0
433fffd9";

pub fn bytes(hex: &str) -> Vec<u8> {
    let digits: String = hex.split_whitespace().collect();
    (0..digits.len()).step_by(2).map(|at| u8::from_str_radix(&digits[at..at + 2], 16).unwrap()).collect()
}

/// Segments of bytes into one RLE frame (PS3.5 G.5).
pub fn run_lengths(segments: &[&[u8]]) -> Vec<u8> {
    let mut offsets = vec![u32::try_from(segments.len()).unwrap()];
    let mut at = 64;
    for segment in segments {
        offsets.push(at);
        at += u32::try_from(segment.len()).unwrap();
    }
    offsets.resize(16, 0);
    let mut frame: Vec<u8> = offsets.iter().flat_map(|offset| offset.to_le_bytes()).collect();
    frame.extend(segments.concat());
    frame
}

/// All pixels are within one step of this: the discrete cosines of two programs round differently.
fn nearly(pixels: &[u8], expected: &[u8]) {
    assert_eq!(pixels.len(), 64 * expected.len());
    for pixel in pixels.chunks(expected.len()) {
        assert!(pixel.iter().zip(expected).all(|(one, other)| one.abs_diff(*other) <= 1), "{pixel:?}");
    }
}

#[test]
fn run_lengths_are_drawn_out() {
    // Three of 7, then 1 and 2; for 16 bits the upper bytes stand first.
    let frame = run_lengths(&[&[0xFE, 7, 1, 1, 2, 0x80]]);
    let made = Made::new(1, 5).syntax(RUN_LENGTHS).fragments(&[], &[&frame]);
    assert_eq!(made.shown().pixels(), [7, 7, 7, 1, 2]);
    let wide = run_lengths(&[&[0xFF, 0x0F], &[1, 0xFF, 0x00]]);
    let made = Made::new(1, 2).bits(16, 12, 11).window("2048", "4096").syntax(RUN_LENGTHS);
    assert_eq!(made.fragments(&[], &[&wide]).shown().pixels(), [255, 239]);
}

#[test]
fn run_lengths_of_colours_come_together() {
    let frame = run_lengths(&[&[1, 10, 11], &[1, 20, 21], &[1, 30, 31]]);
    let made = Made::colour(1, 2, "RGB").syntax(RUN_LENGTHS).frames("2").fragments(&[], &[&frame, &frame]);
    assert_eq!(made.frame(2).pixels(), [10, 20, 30, 11, 21, 31]);
}

#[test]
fn deflated_objects_are_inflated() {
    assert_eq!(Made::new(1, 2).pixels(&[3, 4]).deflated().shown().pixels(), [3, 4]);
}

#[test]
fn jpeg_of_grey_is_shown() {
    let made = Made::new(8, 8).syntax(JPEG).fragments(&[], &[&bytes(GREY)]);
    nearly(made.shown().pixels(), &[77]);
}

#[test]
fn jpeg_has_the_colours_that_its_own_markers_say() {
    for photometric in ["RGB", "YBR_FULL", "YBR_FULL_422"] {
        for packed in [JFIF, ADOBE] {
            let made = Made::colour(8, 8, photometric).syntax(JPEG).fragments(&[], &[&bytes(packed)]);
            nearly(made.shown().pixels(), &[200, 40, 90]);
        }
    }
}

#[test]
fn jpeg_without_markers_has_the_colours_that_the_object_says() {
    let whole = bytes(JFIF);
    let bare = [&whole[..2], &whole[20..]].concat();
    let made = |photometric| Made::colour(8, 8, photometric).syntax(JPEG).fragments(&[], &[&bare]);
    nearly(made("YBR_FULL").shown().pixels(), &[200, 40, 90]);
    // Luminance 94 and the differences as they are.
    nearly(made("RGB").shown().pixels(), &[94, 126, 204]);
}

#[test]
fn jpeg_2000_without_loss_gives_every_value_back() {
    let made = Made::new(8, 8).bits(16, 16, 15).window("32768", "65536").syntax(JPEG_2000);
    let shown = made.fragments(&[], &[&bytes(RISING)]).shown();
    let expected: Vec<u8> =
        (0..64_u32).map(|at| u8::try_from((at * 1040 * 255 + 32_767) / 65_535).unwrap()).collect();
    assert_eq!(shown.pixels(), expected);
}

#[test]
fn jpeg_2000_gives_colours_back() {
    let expected: Vec<u8> = (0..16).flat_map(|at| [at * 16, 200, 255 - at * 16]).collect();
    for photometric in ["YBR_RCT", "RGB"] {
        let made = Made::colour(4, 4, photometric).syntax(JPEG_2000);
        assert_eq!(made.fragments(&[], &[&bytes(RED_AND_BLUE)]).shown().pixels(), expected);
    }
}

#[test]
fn jpeg_2000_gives_negative_values_back() {
    let made = Made::new(32, 32).bits(16, 12, 11).signed().window("0", "4096").syntax(JPEG_2000);
    let shown = made.fragments(&[], &[&bytes(SIGNED)]).shown();
    let expected: Vec<u8> =
        (0..32_u32).map(|at| u8::try_from(((at * 125 + 48) * 510 + 4095) / 8190).unwrap()).collect();
    assert_eq!(shown.pixels()[..32], expected);
}

#[test]
fn a_frame_in_several_fragments_is_put_together() {
    let whole = bytes(GREY);
    let (one, other) = whole.split_at(100);
    let single = Made::new(8, 8).syntax(JPEG).fragments(&[], &[one, other]);
    nearly(single.shown().pixels(), &[77]);
    let grey = |made: &Made, number| nearly(made.frame(number).pixels(), &[77]);
    let second = u32::try_from(whole.len() + 16).unwrap();
    let told = Made::new(8, 8).syntax(JPEG).frames("2").fragments(&[0, second], &[one, other, &whole]);
    let untold = Made::new(8, 8).syntax(JPEG).frames("2").fragments(&[], &[one, other, &whole]);
    for made in [told, untold] {
        grey(&made, 1);
        grey(&made, 2);
    }
}
