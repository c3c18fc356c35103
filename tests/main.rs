//! Tests.
mod cli;
mod oracle;
mod syntax;
