//! `ohmward book`: the list of books, or one with its figures; or a book's own rules, tried.

use ohmward::render::{book_list, book_page};

use super::pages::{Shape, book, show};
use super::{Outcome, try_rules};

/// Lists the rule books, tells one with every figure and its source, or tries its own rules
///
/// With --test, exit code 0: every rule does on its examples what they say. 1: one does not. 2: a rule or an example
/// could not be judged, or the book not read.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// A book that ships, or the path of your own
    #[arg(value_name = "NAME")]
    name: Option<String>,

    /// Tries each of the book's own rules on the examples that it gives
    #[arg(long, requires = "name", conflicts_with_all = ["form", "output"])]
    test: bool,

    #[command(flatten)]
    shape: Shape,
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    if let (true, Some(name)) = (arguments.test, &arguments.name) {
        return try_rules::run(name);
    }
    page(arguments).unwrap_or_else(|outcome| outcome)
}

fn page(arguments: &Arguments) -> Result<Outcome, Outcome> {
    let shelf = arguments.shape.shelf()?;
    let document = match &arguments.name {
        Some(name) => book_page(&book(name, &shelf)?, true),
        None => book_list(),
    };
    Ok(show(&document, &arguments.shape, &shelf))
}
