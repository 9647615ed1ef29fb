//! The whole practice looked over: its database, every row against its digest, both chains, every file, and the
//! high-water mark. It says what is wrong and where, and mends nothing.
//!
//! - [`watch`]: how far it has come, and whether it makes way for others.
//! - [`look`]: the look itself.
//! - [`rounds`]: by itself, at the start of the server and every night.

mod look;
mod rounds;
mod watch;

pub use look::{Found, look};
pub use rounds::keep;
pub use watch::{Progress, Watch};
