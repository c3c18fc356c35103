//! Tests.
mod cli;
mod oracle;
mod samples;
mod syntax;
