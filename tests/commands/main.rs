//! The program as a shell sees it: what it prints, what it refuses, and with which exit status.
#![expect(clippy::unwrap_used, unreachable_pub, reason = "a test fails by panicking")]

mod archive;
mod backup;
mod compute;
mod demo;
mod localise;
mod read_line;
mod serve;
mod staff;
mod support;
