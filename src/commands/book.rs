//! `ohmward book`: a rule book.

use super::{Outcome, complain, try_rules};

/// Tries the rules of a book's own
///
/// Exit code 0: every rule does on its examples what they say. 1: one does not. 2: a rule or an example could not be
/// judged, or the book not read.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// A book that ships, or the path of one
    #[arg(value_name = "NAME")]
    name: String,

    /// Tries each of the book's own rules on the examples that it gives
    #[arg(long)]
    test: bool,
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    if !arguments.test {
        complain("say what to do with the book: --test");
        return Outcome::Unjudged;
    }
    try_rules::run(&arguments.name)
}
