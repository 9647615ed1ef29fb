//! Places, their keys and words, and what a sweep covers.

use std::collections::{BTreeMap, BTreeSet};

use limbledger::catalogue::{
    Group, Limb, Place, Section, Side, Sides, catalogue, places, sweep_from, sweep_places,
};
use proptest::prelude::*;

/// Code, sides and group of the written protocol.
fn protocol() -> BTreeMap<&'static str, (&'static str, &'static str)> {
    let lines = include_str!("data/regions.txt").lines().filter(|line| !line.starts_with('#'));
    lines
        .map(|line| {
            let cells: Vec<&str> = line.split('\t').collect();
            (cells[0], (cells[1], cells[2]))
        })
        .collect()
}

fn sections() -> Vec<Section> {
    let limbs = Limb::ALL.into_iter();
    limbs.flat_map(|limb| [Section::Limb(limb), Section::Foot(limb)]).chain([Section::Axial]).collect()
}

fn every_place() -> Vec<Place> {
    sections().into_iter().flat_map(Section::places).collect()
}

#[test]
fn regions_are_those_of_the_protocol_both_ways_with_their_sides() {
    let known = protocol();
    assert_eq!(known.len(), 79);
    for region in &catalogue().regions {
        let (sides, group) = known.get(region.code.as_str()).copied().unwrap_or(("absent", ""));
        let ours = match (region.group, region.sides, region.aspects) {
            (Group::Foot, Sides::LeftRight, _) => "FOOT",
            (_, Sides::M, false) => "M",
            (_, Sides::LeftRight, false) => "LR",
            (_, Sides::LeftRight, true) => "LR-ML",
            (_, Sides::MidlineLeftRight, false) => "M+LR",
            _ => "unheard of",
        };
        assert_eq!(ours, sides, "{}", region.code);
        assert_eq!(format!("{:?}", region.group).to_lowercase(), group, "{}", region.code);
    }
    let ours: BTreeSet<&str> = catalogue().regions.iter().map(|region| region.code.as_str()).collect();
    assert_eq!(ours, known.into_keys().collect());
}

#[test]
fn regions_stand_in_the_order_of_the_protocol() {
    let lines = include_str!("data/regions.txt").lines().filter(|line| !line.starts_with('#'));
    let theirs: Vec<&str> = lines.filter_map(|line| line.split('\t').next()).collect();
    let ours: Vec<&str> = catalogue().regions.iter().map(|region| region.code.as_str()).collect();
    assert_eq!(ours, theirs);
}

#[test]
fn places_are_written_and_said_in_the_words_of_the_trade() {
    for (key, words) in [
        ("FETL_D.L", "left fore fetlock, dorsal"),
        ("CARP_P.R", "right fore carpus, palmar, and accessory carpal bone"),
        ("HOCK_TC.R", "right hind hock, tarsocrural joint"),
        ("FT_SOLE.LF", "left fore foot, sole"),
        ("SCAP.L", "left shoulder blade"),
        ("CREST.M", "crest of the neck"),
        ("WITH.M", "withers, T3 to T10, midline"),
    ] {
        let place: Place = key.parse().expect("a place");
        assert_eq!(place.to_string(), words);
        assert_eq!(place.key(), key);
    }
    assert_eq!(Limb::LF.name(), "left fore");
}

#[test]
fn a_place_that_the_horse_does_not_have_is_refused() {
    for key in [
        "",
        "POLL",
        "POLL.LF",
        "CREST.L",
        "FETL_D.M",
        "FETL_D.LF",
        "FT_SOLE.L",
        "FT_SOLE.M",
        "NOSE.L",
        "fetl_d.L",
        "FETL_D.L.L",
    ] {
        assert!(key.parse::<Place>().is_err(), "{key}");
    }
    assert!(Place::new("FETL_D", Side::L, Some(Limb::RF)).is_err());
    assert!(Place::new("FETL_D", Side::L, Some(Limb::LH)).is_err());
    assert!(Place::new("FT_SOLE", Side::R, Some(Limb::LF)).is_err());
    assert!(Place::new("FT_SOLE", Side::L, None).is_err());
    assert!(Place::new("POLL", Side::L, Some(Limb::LF)).is_err());
    assert_eq!(Place::new("FETL_D", Side::L, None), Place::on("FETL_D", Limb::LF));
}

#[test]
fn keys_round_trip_and_no_two_places_share_one() {
    let all = every_place();
    let keys: BTreeSet<String> = all.iter().map(|place| place.key()).collect();
    assert_eq!(keys.len(), all.len());
    for place in all {
        assert_eq!(place.key().parse(), Ok(place));
        let json = serde_json::to_string(&place).expect("a string");
        assert_eq!(serde_json::from_str::<Place>(&json).expect("a place"), place);
        assert_eq!(place.other().and_then(Place::other).unwrap_or(place), place);
    }
}

#[test]
fn each_section_holds_its_own_rows_on_its_own_limb() {
    assert_eq!(places(Group::Fore, Some(Limb::LF)).len(), 23);
    assert_eq!(places(Group::Hind, Some(Limb::RH)).len(), 18);
    assert_eq!(places(Group::Foot, Some(Limb::RH)).len(), 18);
    assert!(places(Group::Fore, Some(Limb::LH)).is_empty());
    assert!(places(Group::Axial, Some(Limb::LF)).is_empty() && places(Group::Fore, None).is_empty());
    for section in sections() {
        assert!(section.places().into_iter().all(|place| Section::of(place) == section), "{section}");
        assert_eq!(section.to_string().parse(), Ok(section));
    }
}

/// Never to be recorded by a sweep: pulse, size, landing, depths, testers, percussion, shoe, crest score.
/// Written by hand from the rule, not from the data.
const NEVER_SWEPT: [&str; 8] =
    ["FT_PULSE", "FT_SIZE", "FT_BAL", "FT_LSUL", "FT_HT", "FT_PERC", "FT_SHOE", "CREST"];

#[test]
fn a_sweep_never_covers_what_hands_did_not_feel() {
    for section in sections() {
        for place in sweep_places(section) {
            assert!(!NEVER_SWEPT.contains(&place.region().code.as_str()), "{place}");
            assert_eq!(Section::of(place), section, "{place} belongs to another section");
        }
    }
}

#[test]
fn a_sweep_covers_every_other_row_of_its_section() {
    let count = |section| sweep_places(section).len();
    assert_eq!(count(Section::Limb(Limb::LF)), 23);
    assert_eq!(count(Section::Limb(Limb::LH)), 18);
    assert_eq!(count(Section::Foot(Limb::LF)), 18 - 7);
    // Nineteen rows besides the crest: 5 with three sides, 3 on the midline, 11 with two.
    assert_eq!(count(Section::Axial), 5 * 3 + 3 + 11 * 2);
}

#[test]
fn from_here_down_starts_at_the_place_itself() {
    let from: Vec<String> =
        sweep_from("PAST_D.R".parse().expect("a place")).iter().map(|place| place.key()).collect();
    assert_eq!(from, ["PAST_D.R", "PAST_P.R", "DIP_D.R"]);
}

proptest! {
    #[test]
    fn reading_a_place_never_panics_and_a_read_key_is_the_key(text in "\\PC{0,20}|[A-Z_]{2,8}\\.[LRMFH]{1,2}") {
        if let Ok(place) = text.parse::<Place>() {
            prop_assert_eq!(place.key(), text);
        }
    }
}
