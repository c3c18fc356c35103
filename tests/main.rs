//! Tests.
mod cli;
mod syntax;
