//! What the trade knows and what follows from it, checked against lists and libraries that are not ours.

mod catalogue;
mod cautions;
mod history;
mod identity;
mod place;
mod words;
