//! Where a tap leads: the page again, at the place it was about, in the same order and for the same examiner.

use super::{
    form::Typed,
    sections::{Part, row_id},
};
use crate::{
    catalogue::{Place, catalogue},
    ids::{EntryId, StaffId, VisitId},
};

/// What the page's address carries from tap to tap.
#[derive(Debug, Clone)]
pub(super) struct Way {
    pub visit: VisitId,
    /// An order other than the practice's own; else empty.
    pub order: String,
    /// An examiner other than the visit's own; else empty.
    pub by: String,
    /// The page without its query: an exam has hundreds of links to itself.
    page: String,
}

impl Way {
    pub(super) fn new(visit: VisitId, order: &str, by: &str) -> Self {
        let order = catalogue().order(order).map_or_else(String::new, |order| order.code.clone());
        let by = by.parse::<StaffId>().map_or_else(|_| String::new(), |id| id.to_string());
        Way { visit, order, by, page: format!("/visits/{visit}/exam") }
    }

    pub(super) fn of(visit: VisitId, typed: &Typed) -> Self {
        Way::new(visit, &typed.order, &typed.seen_by)
    }

    pub(super) fn plain(&self) -> String {
        self.address(&[], "")
    }

    /// With a section unfolded.
    pub(super) fn at_part(&self, part: Part) -> String {
        self.address(&[("at", part.id())], part.id())
    }

    /// Back from a form of a section.
    pub(super) fn at(&self, section: &str, anchor: &str) -> String {
        self.address(&[("at", section)], anchor)
    }

    /// To a section, unfolded.
    pub(super) fn to(&self, section: &str) -> String {
        self.address(&[("to", section)], section)
    }

    /// With a place opened.
    pub(super) fn open(&self, place: Place) -> String {
        self.address(&[("open", &place.key())], &row_id(place))
    }

    /// With a place opened and one of its entries to be told in more detail.
    pub(super) fn edit(&self, place: Place, entry: EntryId) -> String {
        self.address(&[("open", &place.key()), ("edit", &entry.to_string())], &row_id(place))
    }

    /// Where a form of the page is sent.
    pub(super) fn entries(&self, act: &str) -> String {
        format!("{}/entries/{act}", self.page)
    }

    fn address(&self, more: &[(&str, &str)], anchor: &str) -> String {
        let own = [("order", self.order.as_str()), ("by", self.by.as_str())];
        let mut address = self.page.clone();
        let mut before = "?";
        for (name, value) in own.iter().chain(more).filter(|(_, value)| !value.is_empty()) {
            address.extend([before, *name, "=", *value]);
            before = "&";
        }
        if !anchor.is_empty() {
            address.extend(["#", anchor]);
        }
        address
    }
}
