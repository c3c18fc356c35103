//! Tests.
mod cli;
mod docs;
mod oracle;
mod rules;
mod samples;
mod syntax;
mod tidiness;
