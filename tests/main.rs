//! All tests of the library and the binary, linked once.
#![allow(clippy::panic, clippy::unwrap_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stdout, reason = "a test says that it was skipped")]

mod cli;
mod compare;
mod docs;
mod editor;
mod fleet;
mod house;
mod networkx;
mod oracle;
mod properties;
mod robust;
mod rules;
mod samples;
mod study;
mod syntax;
mod tidiness;
