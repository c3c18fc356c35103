//! Rules of the user's own, as data in a book: for each element of a kind a condition and a demand, as expressions over
//! what is declared and computed. Nothing of the expressions' library is seen outside this folder.

mod expression;
mod fields;
mod parse;
mod read;
mod template;
mod value;

use std::sync::Arc;

pub(crate) use expression::{Evaluator, Expression, Undecided};
pub(crate) use fields::Field;
pub use fields::{Element, FIELDS, FieldRow, FieldType};
pub(crate) use read::House;
pub(crate) use template::Template;
pub(crate) use value::{Device, Row, Value};

use crate::findings::Severity;
use crate::text::Span;

/// Most steps that one rule may take on one design.
pub(crate) const MOST_STEPS: u64 = 20_000_000;

/// A rule of the user's own.
#[derive(Debug)]
pub struct HouseRule {
    /// Its id, `house.NAME`.
    pub id: String,
    /// How much a finding of it matters.
    pub severity: Severity,
    /// What it is about.
    pub element: Element,
    /// Why it is asked for.
    pub why: String,
    /// Where it is from.
    pub source: String,
    /// A design, or statements of one, that breaks it.
    pub fails: Example,
    /// The same for one that keeps it.
    pub passes: Example,
    /// Where its demand stands in the book.
    pub(crate) at: Span,
    pub(crate) when: Option<Expression>,
    pub(crate) demand: Expression,
    pub(crate) message: Template,
    pub(crate) help: Option<Template>,
    pub(crate) fields: Vec<&'static FieldRow>,
}

impl HouseRule {
    /// The condition as it is written.
    #[must_use]
    pub fn when(&self) -> Option<&str> {
        self.when.as_ref().map(|when| when.text.as_str())
    }

    /// Where its demand stands in the book.
    #[must_use]
    pub fn demand_span(&self) -> Span {
        self.at
    }

    /// The demand as it is written.
    #[must_use]
    pub fn demand(&self) -> &str {
        &self.demand.text
    }
}

/// The design of an example, with its place in the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example {
    /// The text as it stands in the book.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}

impl Example {
    /// The design: statements without a `design` line of their own get one, and how many lines that added.
    #[must_use]
    pub fn design(&self) -> (String, u32) {
        let whole = self.text.lines().any(|line| line.split_whitespace().next() == Some("design"));
        if whole {
            (self.text.clone(), 0)
        } else {
            (format!("design example \"Invented\"\n{}", self.text), 1)
        }
    }
}

impl super::Book {
    /// The book's own rules, sorted by id.
    #[must_use]
    pub fn house_rules(&self) -> &[Arc<HouseRule>] {
        &self.0.house.rules
    }

    /// The house rule with this id.
    #[must_use]
    pub fn house_rule(&self, id: &str) -> Option<&HouseRule> {
        self.house_rules().iter().find(|rule| rule.id == id).map(Arc::as_ref)
    }

    /// What is wrong with house rules that cannot be judged: the rule's id, and where in the book.
    pub fn house_problems(&self) -> &[(String, crate::findings::Finding)] {
        &self.0.house.broken
    }

    /// Whether the book has a house rule of this id, broken or not.
    #[must_use]
    pub fn knows_house_rule(&self, id: &str) -> bool {
        self.house_rule(id).is_some() || self.house_problems().iter().any(|row| row.0 == id)
    }
}
