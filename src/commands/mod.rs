//! The command line: arguments in, exit code out. One file a command.

mod book;
mod cache;
mod check;
mod compare;
mod disk;
mod editor;
mod extras;
mod failsafe;
mod find;
mod git;
mod given;
mod join;
mod known;
mod names;
mod output;
mod pages;
mod progress;
mod replaced;
mod rules;
mod share;
mod study;
mod terminal;
mod tidy;
mod try_rules;

use std::io::Write;
use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{Parser, Subcommand};
use ohmward::design::Date;
use ohmward::render::clean;

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
    Rules(rules::Arguments),
    Study(study::Arguments),
    Compare(compare::Arguments),
    Book(book::Arguments),
    #[command(hide = true)]
    Extras(extras::Arguments),
    Editor(editor::Arguments),
    Tidy(tidy::Arguments),
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
        Err(error) => return tell_usage(&error).into(),
    };
    let outcome = match &arguments.command {
        Command::Check(arguments) => check::run(arguments),
        Command::Rules(arguments) => rules::run(arguments),
        Command::Study(arguments) => study::run(arguments),
        Command::Compare(arguments) => compare::run(arguments),
        Command::Book(arguments) => book::run(arguments),
        Command::Extras(arguments) => extras::run(arguments),
        Command::Editor(arguments) => editor::run(arguments),
        Command::Tidy(arguments) => tidy::run(arguments),
    };
    outcome.into()
}

/// Tells what is asked for, or what is wrong with the arguments.
fn tell_usage(error: &clap::Error) -> Outcome {
    if !error.use_stderr() {
        return match error.print().and_then(|()| std::io::stdout().flush()) {
            Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
                unjudged(&format!("standard output cannot be written: {}", output::worded(&error)))
            }
            _ => Outcome::Passed,
        };
    }
    // Where this fails there is nobody left to tell.
    match error.kind() {
        ErrorKind::InvalidValue | ErrorKind::ValueValidation => {
            // In the manner of the other messages, which say what is so.
            let text = error.render().to_string().replacen("invalid value", "no such value", 1);
            drop(write!(std::io::stderr().lock(), "{text}"));
        }
        _ => drop(error.print()),
    }
    Outcome::Unjudged
}

/// The day that it is.
fn today() -> Date {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    Date::from_days(since.map_or(0, |since| since.as_secs() / 86_400))
}

/// A folder that is there, as an argument.
fn folder(text: &str) -> Result<std::path::PathBuf, String> {
    let path = std::path::PathBuf::from(text);
    if path.is_dir() { Ok(path) } else { Err("there is no such folder".into()) }
}

/// Tells what stands in the way of the whole run.
fn unjudged(text: &str) -> Outcome {
    complain(text);
    Outcome::Unjudged
}

/// Tells on standard error what is worth knowing and changes nothing.
fn note(text: &str) {
    drop(writeln!(std::io::stderr().lock(), "note: {}", clean(text)));
}

/// Tells on standard error what stands in the way.
fn complain(text: &str) {
    drop(writeln!(std::io::stderr().lock(), "error: {}", clean(text)));
}
