//! The SQL of imaging.

pub mod objects;
pub mod settings;
pub(crate) mod worklist;
