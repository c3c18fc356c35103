//! Limits that a design replaces.

use std::sync::Arc;

use super::limits::Limit;
use super::load::help;
use super::origin::{Confidence, Origin};
use super::{Book, Entry, quantity};
use crate::design::LimitChange;
use crate::findings::{Finding, Severity};

impl Book {
    /// This book with a design's own limits.
    ///
    /// # Errors
    /// `language.name` for a limit that there is not, `language.unit` for a value of another kind than the limit's.
    pub fn with_changes(&self, changes: &[LimitChange]) -> Result<Self, Vec<Finding>> {
        if changes.is_empty() {
            return Ok(self.clone());
        }
        let mut inner = (*self.0).clone();
        let mut problems = Vec::new();
        for change in changes {
            let limits = Limit::named(&change.name);
            if limits.is_empty() {
                problems.push(unknown(change));
            }
            for limit in limits {
                match quantity::suit(limit, &change.value) {
                    Ok(value) => {
                        let origin = Origin {
                            source: "this design".into(),
                            confidence: Confidence::Design,
                            book: inner.name.as_str().into(),
                        };
                        if let Some(entry) = inner.limits.get_mut(limit.index()) {
                            *entry = Entry { value, origin, because: Some(change.why.clone()) };
                        }
                    }
                    Err(why) => {
                        let finding =
                            Finding::new("language.unit", Severity::Error, &change.name, change.value_span);
                        let written = quantity::write(&change.value);
                        let finding =
                            finding.headline(format!("{written} does not suit the limit {}", change.name));
                        problems.push(finding.label("this value").help(help(limit, &why)));
                        break;
                    }
                }
            }
        }
        if problems.is_empty() { Ok(Self(Arc::new(inner))) } else { Err(problems) }
    }
}

fn unknown(change: &LimitChange) -> Finding {
    let help = match Limit::nearest(&change.name) {
        Some(near) => format!("the nearest limit is `{near}`"),
        None => "`ohmward book` lists the limits of a book".into(),
    };
    let finding = Finding::new("language.name", Severity::Error, &change.name, change.name_span);
    finding.headline(format!("no book has a limit {}", change.name)).label("not a limit").help(help)
}
