//! The practice, or the record of one horse, as one file that a stranger can read in twenty years with nothing but a zip
//! reader, a JSON reader and SHA-256, and out of which this program makes the practice again.
//!
//! Which tables and columns there are is asked of the database ([`schema`]), what they mean stands in `tables.tsv`
//! ([`words`]). [`write`] makes the file, piece by piece; [`found`] looks at one that comes from anywhere and [`make`]
//! makes a practice of it.

mod attached;
mod found;
mod horse;
mod make;
mod making;
mod manifest;
mod plain;
mod readme;
mod row;
mod schema;
mod stream;
mod table;
mod words;
mod write;

pub use found::{Checked, Found};
pub use make::{Made, make, try_out};
pub use making::Sender;
pub use manifest::Manifest;
pub use stream::body;
pub use words::{Kind, Meaning, meaning_of};
pub use write::{Asked, Told, Whose, write};

/// The name of the format, as every manifest says it.
const FORMAT: &str = "limbledger archive";
/// Its version. A reader refuses a higher one, and reads every lower one.
const FORMAT_VERSION: u32 = 1;
/// Media type of the file.
pub const MEDIA_TYPE: &str = "application/zip";
