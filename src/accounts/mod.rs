//! Who works here: accounts, signing in, sessions, and the one table of who may do what.

mod browser;
pub mod confirm;
pub mod factor;
pub mod form;
mod guard;
pub mod keeping;
mod pages;
mod password;
mod rights;
mod session;
pub mod store;
mod throttle;
mod token;

pub use confirm::{confirm, pin_is};
pub use guard::{Can, User, guard};
pub use pages::{public, router};
pub use password::{Hasher, weakness};
pub use rights::{Act, Role, act};
pub use throttle::Throttle;
pub use token::{Token, one_time_code};
