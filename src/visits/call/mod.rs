//! Take a call: from a ringing phone to a booked visit without leaving the page.
//!
//! Two sights of one page: first the search for the horse or its people, then the form. Buttons of the form that
//! do not book (another day, one more complaint) send it and show it again with everything that was typed.

mod ahead;
mod book;
mod check;
mod clear;
mod form;
mod pages;

pub(super) use book::send;
pub(super) use check::place;
pub(super) use form::{Fields, when_words};
pub(super) use pages::{all_yards, page};
