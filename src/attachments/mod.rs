//! Files that belong to the record: in the data folder, named by the SHA-256 of what is in them. The row that says what
//! a file is comes after the file is safe, and the entry that speaks of it holds its name, so that the chain covers it.

mod file;
mod store;

pub use file::{Incoming, Kept, clear_incoming, keep, path, read};
pub use store::insert;
