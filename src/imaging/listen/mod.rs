//! The DICOM listener: an address, a title, and whoever may call.
//!
//! - [`switch`]: opens and closes it while the program runs, since its settings are a page.
//! - [`desk`]: the accept loop with its caps and its bounded stop.
//! - [`line`]: one association, message by message (PS3.7, PS3.8).
//! - [`serve`]: what is done for a message: C-ECHO, C-STORE, C-FIND.

mod desk;
mod line;
mod serve;
mod switch;

pub use switch::{Listener, Overrides, State, Switch, start};
