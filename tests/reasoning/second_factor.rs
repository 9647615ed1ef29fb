//! Codes by the clock, against the standard.

use limbledger::{accounts::factor::codes::step_of, clock::At};

/// RFC 6238, appendix B: the seed of its SHA-1 rows.
const SEED: &[u8; 20] = b"12345678901234567890";

/// RFC 6238, appendix B, SHA-1: seconds and code. Its codes have eight digits; of the same number six are its last six
/// (RFC 4226, section 5.3: the remainder by 10^digits).
const VECTORS: [(i64, &str); 6] = [
    (59, "94287082"),
    (1_111_111_109, "07081804"),
    (1_111_111_111, "14050471"),
    (1_234_567_890, "89005924"),
    (2_000_000_000, "69279037"),
    (20_000_000_000, "65353130"),
];

#[test]
fn the_codes_are_those_of_the_standard() {
    for (seconds, eight) in VECTORS {
        let code = &eight[2..];
        assert_eq!(step_of(SEED, code, At(seconds * 1000), 0), Some(seconds / 30), "{seconds}");
        assert_eq!(step_of(&[7; 20], code, At(seconds * 1000), 0), None, "of another secret at {seconds}");
    }
}

#[test]
fn a_code_is_good_one_step_either_way_and_no_further() {
    let (seconds, code) = (1_234_567_890, "005924");
    let step = seconds / 30;
    for (off, good) in
        [(-61, false), (-30, true), (0, true), (29, true), (59, true), (60, false), (90, false)]
    {
        let found = step_of(SEED, code, At((seconds + off) * 1000), 0);
        assert_eq!(found, good.then_some(step), "{off} s");
    }
}

#[test]
fn a_step_that_was_used_and_those_before_it_are_over() {
    let (seconds, code) = (1_234_567_890, "005924");
    let step = seconds / 30;
    for (last, good) in [(step - 1, true), (step, false), (step + 1, false)] {
        assert_eq!(step_of(SEED, code, At(seconds * 1000), last), good.then_some(step), "after {last}");
    }
}

#[test]
fn only_six_digits_are_a_code() {
    for typed in ["", "05924", "0005924", "+05924", "00592a", "٠٠٥٩٢٤", "-05924"] {
        assert_eq!(step_of(SEED, typed, At(1_234_567_890_000), 0), None, "{typed}");
    }
}
