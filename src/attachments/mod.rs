//! Files that belong to the record: in the data folder, named by the SHA-256 of what is in them. The row that says what
//! a file is comes after the file is safe, and the entry that speaks of it holds its name, so that the chain covers it.
//!
//! A file comes as a whole ([`keep`]), piece by piece through one request ([`Pipe`] into [`Incoming`], a form's by [`incoming`]), or in
//! [`Pieces`] through many; [`boxes`] tells videos and newer photos by their first bytes.

pub mod boxes;
mod field;
mod file;
mod pieces;
mod pipe;
mod store;

pub use field::{Fault, incoming, shown_name};
pub use file::{Incoming, Kept, clear_incoming, keep, names, path, read};
pub use pieces::Pieces;
pub use pipe::Pipe;
pub use store::{insert, size};
