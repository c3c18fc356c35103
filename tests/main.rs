//! All tests of the library and the binary, linked once.
#![allow(clippy::panic, clippy::unwrap_used, reason = "a test fails by panicking")]

mod cli;
mod docs;
mod networkx;
mod oracle;
mod rules;
mod samples;
mod syntax;
mod tidiness;
