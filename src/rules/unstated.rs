//! Figures that a design does not state, as the rules that would need them tell.

use crate::design::{ComponentId, TerminalId, WireId};

use std::borrow::Cow;

use super::Context;

/// What lacks a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Subject {
    Component(ComponentId),
    Wire(WireId),
    Terminal(TerminalId),
}

impl Subject {
    pub(super) fn name(self, cx: &Context<'_>) -> String {
        match self {
            Self::Component(id) => cx.name(id).into(),
            Self::Wire(id) => cx.wire_name(id).into(),
            Self::Terminal(id) => cx.design.terminal_name(id),
        }
    }
}

impl From<ComponentId> for Subject {
    fn from(id: ComponentId) -> Self {
        Self::Component(id)
    }
}

impl From<WireId> for Subject {
    fn from(id: WireId) -> Self {
        Self::Wire(id)
    }
}

impl From<TerminalId> for Subject {
    fn from(id: TerminalId) -> Self {
        Self::Terminal(id)
    }
}

/// What a rule does without the figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Without {
    /// It is not judged there.
    NotJudged,
    /// This is assumed: a value and where it comes from, `14.6 V, the book's for lifepo4`.
    Assumed(String),
}

/// One figure and all that lack it with the same outcome.
#[derive(Debug)]
pub(super) struct Group {
    /// The word of the language that would state it, or what it is.
    pub(super) figure: &'static str,
    pub(super) without: Without,
    /// The rules that need it, in their order.
    pub(super) rules: Vec<Cow<'static, str>>,
    pub(super) subjects: Vec<Subject>,
}

/// Collects what is not stated.
#[derive(Debug, Default)]
pub(crate) struct Unstated {
    rule: Cow<'static, str>,
    pub(super) groups: Vec<Group>,
}

impl Unstated {
    /// All that the rules which the book applies would need and do not find.
    pub(super) fn of(cx: &Context<'_>) -> Self {
        let mut out = Self::default();
        for rule in super::ALL.iter().filter(|rule| cx.book.rule(rule.id).applies) {
            if let Some(unstated) = rule.unstated {
                out.rule = rule.id.into();
                unstated(cx, &mut out);
            }
        }
        for (rule, figure, subject) in cx.house().undecided() {
            if out.rule != *rule {
                out.rule = rule.clone().into();
            }
            out.add(figure, Without::NotJudged, subject);
        }
        for group in &mut out.groups {
            group.subjects.sort_unstable();
            group.subjects.dedup();
        }
        out
    }

    /// One element lacks a figure.
    pub(crate) fn add(&mut self, figure: &'static str, without: Without, subject: impl Into<Subject>) {
        self.add_all(figure, without, [subject]);
    }

    /// Several lack the same figure with the same outcome. Cheaper than one by one.
    pub(crate) fn add_all<S: Into<Subject>>(
        &mut self,
        figure: &'static str,
        without: Without,
        subjects: impl IntoIterator<Item = S>,
    ) {
        let mut subjects = subjects.into_iter().map(Into::into).peekable();
        if subjects.peek().is_none() {
            return;
        }
        let known = self.groups.iter().position(|group| group.figure == figure && group.without == without);
        let at = known.unwrap_or_else(|| {
            self.groups.push(Group { figure, without, rules: Vec::new(), subjects: Vec::new() });
            self.groups.len() - 1
        });
        let group = &mut self.groups[at];
        if group.rules.last() != Some(&self.rule) {
            group.rules.push(self.rule.clone());
        }
        group.subjects.extend(subjects);
    }
}
