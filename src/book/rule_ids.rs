//! The ids of the rules that a book can have settings for.

use std::sync::LazyLock;

use crate::syntax::words;

pub use words::is_house_rule;

/// Every rule's id but those of the language itself, sorted.
pub static RULE_IDS: LazyLock<Vec<&'static str>> =
    LazyLock::new(|| words::RULE_IDS.iter().copied().filter(|id| !id.starts_with("language.")).collect());
