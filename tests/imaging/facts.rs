//! What stands beside a picture, and its other sizes.

use limbledger::imaging::picture::{Facts, Scale, Spacing, Window, facts};

use crate::made::Made;

const PIXEL_SPACING: u32 = 0x0028_0030;
const AT_DETECTOR: u32 = 0x0018_1164;
const MAGNIFICATION: u32 = 0x0018_1114;
const CALIBRATION: u32 = 0x0028_0A02;

fn of(made: Made) -> Facts {
    facts(&made.pixels(&[0; 12]).open().unwrap())
}

fn spacing(made: Made) -> Option<Spacing> {
    of(made).spacing
}

#[test]
fn the_measures_of_a_picture_are_told() {
    let told = of(Made::new(2, 3)
        .frames("2")
        .text(0x0020_0062, "CS", "L")
        .text(0x0018_5101, "CS", "LM")
        .text(0x0018_1063, "DS", "33.3")
        .text(0x0028_2110, "CS", "01")
        .window("40\\300", "400\\1500")
        .text(0x0028_1055, "LO", "SOFT\\BONE")
        .text(0x0028_1052, "DS", "-100")
        .text(0x0028_1053, "DS", "2"));
    assert_eq!((told.rows, told.columns, told.frames, told.bits), (2, 3, 2, 8));
    assert_eq!(told.photometric, "MONOCHROME2");
    assert_eq!(told.modality.as_deref(), Some("CR"));
    assert_eq!((told.laterality.as_deref(), told.view.as_deref()), (Some("L"), Some("LM")));
    assert_eq!((told.frame_time_ms, told.lossy), (Some(33.3), true));
    assert_eq!(told.range, Some((-100.0, 410.0)));
    let windows: Vec<_> = told.windows.iter().map(|named| (named.window, named.name.as_deref())).collect();
    let window = |centre, width| Window::new(centre, width).unwrap();
    assert_eq!(windows, [(window(40.0, 400.0), Some("SOFT")), (window(300.0, 1500.0), Some("BONE"))]);
}

#[test]
fn what_a_file_does_not_say_is_left_open() {
    let told = of(Made::colour(1, 2, "RGB"));
    assert_eq!((told.laterality, told.view, told.frame_time_ms, told.spacing), (None, None, None, None));
    assert_eq!((told.range, told.windows.len(), told.lossy, told.has_table), (None, 0, false, false));
}

#[test]
fn the_meaning_of_a_coded_view_comes_first() {
    let code = Made::nothing().text(0x0008_0104, "LO", "dorsopalmar");
    assert_eq!(of(Made::new(1, 1).sequence(0x0054_0220, &code)).view.as_deref(), Some("dorsopalmar"));
}

#[test]
fn a_rate_of_frames_stands_in_for_their_time() {
    let cine = Made::new(1, 1).frames("12").text(0x0018_0040, "IS", "25");
    assert_eq!(of(cine).frame_time_ms, Some(40.0));
    assert_eq!(of(Made::new(1, 1).text(0x0018_1063, "DS", "40")).frame_time_ms, None);
}

#[test]
fn calibrated_spacing_says_how_it_was_calibrated() {
    let made = || Made::new(1, 1).text(PIXEL_SPACING, "DS", "0.1\\0.2").text(AT_DETECTOR, "DS", "0.15\\0.15");
    let with = |scale| Some(Spacing { rows_mm: 0.1, columns_mm: 0.2, scale });
    assert_eq!(spacing(made().text(CALIBRATION, "CS", "FIDUCIAL")), with(Scale::Fiducial));
    assert_eq!(spacing(made().text(CALIBRATION, "CS", "GEOMETRY")), with(Scale::Geometry));
    assert_eq!(spacing(made()), with(Scale::Unstated));
}

#[test]
fn spacing_at_the_detector_is_divided_by_the_magnification() {
    let made = || Made::new(1, 1).text(AT_DETECTOR, "DS", "0.15\\0.15");
    let with = |mm, scale| Some(Spacing { rows_mm: mm, columns_mm: mm, scale });
    assert_eq!(spacing(made()), with(0.15, Scale::Detector));
    assert_eq!(spacing(made().text(MAGNIFICATION, "DS", "1.25")), with(0.12, Scale::Magnification));
    // A spacing that equals that of the detector was never corrected.
    assert_eq!(spacing(made().text(PIXEL_SPACING, "DS", "0.15\\0.15")), with(0.15, Scale::Detector));
    assert!(Scale::Detector.words().starts_with("uncorrected"));
}

#[test]
fn spacing_of_a_slice_lies_in_the_body() {
    let slice = Made::new(1, 1).text(0x0008_0060, "CS", "CT").text(PIXEL_SPACING, "DS", "0.5\\0.5");
    assert_eq!(spacing(slice).unwrap().scale, Scale::Plane);
    let flat = Made::new(1, 1).text(PIXEL_SPACING, "DS", "0\\0.5");
    assert_eq!(spacing(flat), None);
}

#[test]
fn the_png_has_the_same_pixels() {
    let pixels: Vec<u8> = (0..=255).collect();
    let grey = Made::new(16, 16).pixels(&pixels).shown();
    let read = image::load_from_memory(&grey.png().unwrap()).unwrap();
    assert_eq!((read.color(), read.as_bytes()), (image::ColorType::L8, pixels.as_slice()));
    let colour = Made::colour(5, 17, "RGB").pixels(&pixels[..255]).shown();
    let read = image::load_from_memory(&colour.png().unwrap()).unwrap();
    assert_eq!((read.width(), read.height(), read.as_bytes()), (17, 5, &pixels[..255]));
}

#[test]
fn a_picture_is_made_smaller_but_never_larger() {
    let plain = || Made::new(100, 40).pixels(&[90; 4000]).shown();
    let small = plain().within(50);
    assert_eq!((small.rows(), small.columns()), (50, 20));
    assert!(small.pixels().iter().all(|pixel| *pixel == 90));
    assert_eq!(plain().within(512), plain());
    // A fine grid becomes its mean instead of a pattern that is not there.
    let grid: Vec<u8> = (0..10_000).map(|at| if at % 2 == 0 { 0 } else { 200 }).collect();
    let even = Made::new(100, 100).pixels(&grid).shown().within(10);
    assert!(even.pixels().iter().all(|pixel| pixel.abs_diff(100) <= 4), "{:?}", even.pixels());
}
