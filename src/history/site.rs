//! A place as the record keeps it, with its words and where it stands among the rows.
//!
//! Hoof-tester sites are places on a foot too, and a place whose region the catalogue no longer knows still has a
//! row: nothing that was found may fall off the page.

use std::cmp::Ordering;

use crate::{
    catalogue::{Limb, Row, Side, StudyKind, catalogue},
    papers::words,
};

/// The region that all hoof-tester sites of a foot belong to.
const TESTERS: &str = "FT_HT";

/// A region and where it is: a side, or the limb for what is on a foot.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Site {
    region: String,
    at: String,
}

impl Site {
    /// From the parts as they were written down; the same place with and without its limb is one place.
    pub fn new(region: &str, side: Option<&str>, limb: Option<&str>) -> Self {
        let on_foot = region.starts_with("FT_") || region.starts_with("HT_");
        let limb_side = limb.and_then(|l| l.parse().ok()).map(|l: Limb| l.side().code());
        let at = if on_foot { limb } else { side.or(limb_side) };
        Site { region: region.to_owned(), at: at.unwrap_or(Side::M.code()).to_owned() }
    }

    /// The key of pages and forms: `FETL_D.L`, `FT_SOLE.LF`, `HT_TOE.LF`.
    pub fn key(&self) -> String {
        format!("{}.{}", self.region, self.at)
    }

    /// The row of the exam that it is looked at in: tester sites stand in the testers' row.
    pub fn exam_key(&self) -> String {
        let is_site = catalogue().tester_site(&self.region).is_some();
        if is_site { format!("{TESTERS}.{}", self.at) } else { self.key() }
    }

    /// Whether `code` only says what the place is like (a shoe, a shape, how it lands), or what an image shows: hands do
    /// not look for it again.
    pub fn is_described_by(&self, code: &str) -> bool {
        let region = catalogue().region(&self.region);
        StudyKind::of(code).is_some()
            || region.and_then(|r| r.field(code)).is_some_and(|field| field.describes)
    }

    /// "left fore fetlock, dorsal"
    pub fn words(&self) -> String {
        words::place_words(Some(&self.region), Some(&self.at), self.limb().map(Limb::code))
    }

    /// The words under the heading of its part: "fetlock, dorsal", "left point of hip".
    pub fn name(&self) -> String {
        let words = self.words();
        let limb = self.limb().map_or("", Limb::name);
        words.strip_prefix(limb).unwrap_or(&words).trim_start().to_owned()
    }

    /// The limb it belongs to; none for head, neck, trunk and pelvis.
    pub fn limb(&self) -> Option<Limb> {
        if let Ok(limb) = self.at.parse() {
            return Some(limb);
        }
        let region = catalogue().region(&self.region)?;
        let side = self.at.parse::<Side>().ok()?;
        Limb::ALL.into_iter().find(|limb| limb.side() == side && region.is_on(*limb))
    }

    /// How the part of the horse is called that the row stands under.
    pub fn part(&self) -> &'static str {
        self.limb().map_or("head, neck, trunk and pelvis", Limb::name)
    }

    /// As hands go within the part; tester sites follow the testers' own row.
    fn order(&self) -> (Option<Limb>, u16, usize, &str, &str) {
        let sites = &catalogue().tester_sites;
        let site = sites.iter().position(|row| row.code() == self.region);
        let region = if site.is_some() { TESTERS } else { &self.region };
        let seq = catalogue().region(region).map_or(u16::MAX, |row| row.seq);
        (self.limb(), seq, site.map_or(0, |n| n + 1), &self.region, &self.at)
    }
}

impl Ord for Site {
    fn cmp(&self, other: &Self) -> Ordering {
        self.order().cmp(&other.order())
    }
}

impl PartialOrd for Site {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
