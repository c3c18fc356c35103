//! `ohmward rules`: the list of rules, or one rule whole.

use ohmward::check::DEFAULT_BOOK;
use ohmward::render::{rule_list, rule_page};
use ohmward::syntax::words::RULE_IDS;

use super::names::nearest;
use super::pages::{Shape, book, show};
use super::{Outcome, complain};

/// Lists the rules, or tells one whole
///
/// Without an id: every rule with its severity and claim. With the first part of ids (protection): that group. With an
/// id: claim, reason, limits with their sources, a bad example with what is said of it, and the same example mended.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// A rule's id, or the first part of some
    #[arg(value_name = "ID")]
    id: Option<String>,

    /// The book whose severities and limits are told: a name, or the path of your own
    #[arg(long, value_name = "NAME", default_value = DEFAULT_BOOK)]
    book: String,

    #[command(flatten)]
    shape: Shape,
}

/// Runs the command.
pub(super) fn run(arguments: &Arguments) -> Outcome {
    page(arguments).unwrap_or_else(|outcome| outcome)
}

fn page(arguments: &Arguments) -> Result<Outcome, Outcome> {
    let shelf = arguments.shape.shelf()?;
    let book = book(&arguments.book, &shelf)?;
    let document = match &arguments.id {
        None => rule_list(&book, None),
        Some(id) => rule_page(&book, id).or_else(|| rule_list(&book, Some(id.trim_end_matches('.')))),
    };
    Ok(match (document, &arguments.id) {
        (Some(document), _) => show(&document, &arguments.shape, &shelf),
        (None, id) => {
            let id = id.as_deref().unwrap_or_default();
            let near = match nearest(id, RULE_IDS).as_slice() {
                [] => "`ohmward rules` lists them all".into(),
                [one] => format!("the nearest is {one}"),
                several => format!("the nearest are {}", several.join(", ")),
            };
            complain(&format!("there is no rule {id}; {near}"));
            Outcome::Unjudged
        }
    })
}
