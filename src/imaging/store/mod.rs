//! The SQL of imaging.

pub mod decided;
pub mod objects;
pub mod pictures;
pub mod settings;
pub(crate) mod worklist;
