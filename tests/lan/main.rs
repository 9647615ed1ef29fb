//! How the server is reached, tried from outside over real sockets of this machine, loopback range only.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a failed step is a failed test")]

mod hosts;
mod loopback;
mod malformed;
mod messages;
mod own;
mod patience;
mod practice;
mod support;
mod tls;
mod trust;
