//! The command line: arguments in, exit code out. One file a command.

mod check;
mod disk;
mod failsafe;
mod find;
mod output;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Judges the wiring of low-voltage DC systems in vehicles and boats, written as plain text.
#[derive(Debug, Parser)]
#[command(name = "ohmward", version, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Check(check::Arguments),
}

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    /// Nothing at or above the failing level.
    Passed,
    /// At least one such finding.
    Failed,
    /// Something could not be judged, or written.
    Unjudged,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Passed => Self::SUCCESS,
            Outcome::Failed => Self::from(1),
            Outcome::Unjudged => Self::from(2),
        }
    }
}

/// Runs the command that the arguments name.
pub(crate) fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            let code = if error.use_stderr() { Outcome::Unjudged } else { Outcome::Passed };
            // A closed pipe is all that can go wrong here, and then there is nobody to tell.
            drop(error.print());
            return code.into();
        }
    };
    let outcome = match &arguments.command {
        Command::Check(arguments) => check::run(arguments),
    };
    outcome.into()
}

/// Tells on standard error what stands in the way.
fn complain(text: &str) {
    use std::io::Write;
    drop(writeln!(std::io::stderr().lock(), "error: {text}"));
}
