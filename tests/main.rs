//! Tests.
mod cli;
