//! Papers: what leaves the house in words. An entry as a sentence, and the report of a visit.

pub mod words;
