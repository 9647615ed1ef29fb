//! Microchip and UELN rules, with a second, independent list of ISO 3166-1 countries (crate `isocountry`).

use isocountry::CountryCode;
use limbledger::reasoning::identity::{IdentityError, microchip, ueln};
use proptest::prelude::*;

#[test]
fn spacing_does_not_matter_and_the_zero_in_front_stays() {
    for typed in ["040098100123456", " 040 098100123456 ", "040.098.100.123.456", "040-098100-123456"] {
        let chip = microchip(typed).expect("an Austrian number");
        assert_eq!((chip.value.as_str(), chip.warning), ("040098100123456", None));
    }
}

#[test]
fn what_cannot_be_a_microchip_is_refused_with_its_reason() {
    for (typed, reason) in [
        ("", IdentityError::ChipLength(0)),
        ("27609810012345", IdentityError::ChipLength(14)),
        ("2760981001234567", IdentityError::ChipLength(16)),
        ("27609810012345X", IdentityError::ChipCharacter('X')),
        ("٢٧٦٠٩٨١٠٠١٢٣٤٥٦", IdentityError::ChipCharacter('٢')),
        ("000098100123456", IdentityError::ChipZero),
        ("999098100123456", IdentityError::ChipTest),
        ("276000000000000", IdentityError::ChipNothing),
        // ISO 11784: the animal has 38 bits, so 2^38 - 1 is the last number.
        ("276274877906944", IdentityError::ChipTooLarge),
    ] {
        assert_eq!(microchip(typed), Err(reason), "{typed}");
    }
    assert!(microchip("276274877906943").is_ok());
}

#[test]
fn codes_of_makers_have_no_country_and_need_none() {
    for code in 900..=998 {
        let chip = microchip(&format!("{code}000000000001")).expect("a maker's code");
        assert_eq!(chip.warning, None, "{code}");
    }
}

#[test]
fn a_number_warns_exactly_when_no_country_has_it() {
    for code in 1..900 {
        let known = CountryCode::for_id(code).is_ok();
        let chip = microchip(&format!("{code:03}000000000001")).expect("odd, not wrong");
        assert_eq!(chip.warning.is_none(), known, "microchip {code:03}");
        let number = ueln(&format!("{code:03}001001234567")).expect("odd, not wrong");
        assert_eq!(number.warning.is_none(), known, "UELN {code:03}");
    }
}

#[test]
fn the_examples_of_the_ueln_rules_are_taken() {
    // ueln.net, rules of attribution: France and Ireland.
    for (typed, kept) in [
        ("250001 00155928M", "25000100155928M"),
        ("372414-001234567", "372414001234567"),
        ("25000100155928m", "25000100155928M"),
    ] {
        let number = ueln(typed).expect("a published example");
        assert_eq!((number.value.as_str(), number.warning), (kept, None));
    }
}

#[test]
fn what_cannot_be_a_ueln_is_refused_with_its_reason() {
    for (typed, reason) in [
        ("", IdentityError::UelnLength(0)),
        ("25000100155928", IdentityError::UelnLength(14)),
        ("25A00100155928M", IdentityError::UelnCountry),
        ("250001/0155928M", IdentityError::UelnCharacter('/')),
        ("25000100155928Ä", IdentityError::UelnCharacter('Ä')),
    ] {
        assert_eq!(ueln(typed), Err(reason), "{typed}");
    }
}

#[test]
fn refusals_are_sentences() {
    for error in [microchip("").unwrap_err(), microchip("99").unwrap_err(), ueln("x!").unwrap_err()] {
        let text = error.to_string();
        assert!(text.starts_with('A') && text.ends_with('.'), "{text}");
    }
}

proptest! {
    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,40}|[0-9 .-]{0,24}|[0-9A-Za-z]{15}") {
        if let Ok(chip) = microchip(&text) {
            prop_assert!(chip.value.len() == 15 && chip.value.bytes().all(|b| b.is_ascii_digit()));
            prop_assert_eq!(microchip(&chip.value).map(|again| again.value), Ok(chip.value.clone()));
        }
        if let Ok(number) = ueln(&text) {
            prop_assert_eq!(number.value.len(), 15);
            prop_assert_eq!(ueln(&number.value).map(|again| again.value), Ok(number.value.clone()));
        }
    }
}
