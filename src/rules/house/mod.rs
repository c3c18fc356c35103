//! The book's own rules, judged: each element's fields are computed as far as a rule reads them.

mod beyond;
mod components;
mod sheet;
mod wires;

use std::borrow::Cow;

use crate::book::{Element, Evaluator, HouseRule, MOST_STEPS, Row, Undecided, Value};
use crate::design::{ComponentId, Place, WireId};
use crate::findings::{self, Finding, Severity};

use super::Context;
use super::unstated::Subject;
use sheet::Sheet;

/// What came of a book's own rules on one design.
#[derive(Debug, Default)]
pub(crate) struct Judged {
    findings: Vec<Finding>,
    undecided: Vec<(String, &'static str, Subject)>,
}

impl Judged {
    /// Figures that were not known where a rule needed them: the rule, the field, the element.
    pub(super) fn undecided(&self) -> impl Iterator<Item = (&String, &'static str, Subject)> {
        self.undecided.iter().map(|row| (&row.0, row.1, row.2))
    }
}

impl<'c> Context<'c> {
    /// What came of the book's own rules; they are judged when it is first asked for.
    pub(super) fn house(&self) -> &'c Judged {
        self.house.get_or_init(|| judged(self))
    }
}

/// Adds the findings of the book's own rules, and what is wrong with those that cannot be judged.
pub(super) fn judge(cx: &Context<'_>, wanted: &dyn Fn(&str) -> bool, found: &mut Vec<Finding>) {
    let judged = |id: &str| wanted(id) && cx.book.rule(id).applies;
    for (id, problem) in cx.book.house_problems() {
        if judged(id) {
            found.push(problem.clone());
        }
    }
    if !cx.book.house_rules().iter().any(|rule| judged(&rule.id)) {
        return;
    }
    let of = |finding: &&Finding| match finding.values.get("house_rule") {
        Some(findings::Value::Text(id)) => judged(id),
        _ => judged(&finding.rule),
    };
    found.extend(cx.house().findings.iter().filter(of).cloned());
}

fn judged(cx: &Context<'_>) -> Judged {
    let mut out = Judged::default();
    if cx.book.house_rules().iter().all(|rule| !cx.book.rule(&rule.id).applies) {
        return out;
    }
    let sheet = Sheet::new(cx);
    let evaluator = Evaluator::new();
    for rule in cx.book.house_rules().iter().filter(|rule| cx.book.rule(&rule.id).applies) {
        let mut run =
            Run { sheet: &sheet, rule, evaluator: &evaluator, steps: 0, faulty: false, out: &mut out };
        match rule.element {
            Element::Wire => run.over(cx.design.wires.ids().map(Subject::Wire)),
            element => run.over(
                cx.design
                    .components
                    .ids()
                    .filter(|id| element.includes(cx.design.components[*id].kind))
                    .map(Subject::Component),
            ),
        }
    }
    out
}

/// One rule on one design.
struct Run<'r, 'c> {
    sheet: &'r Sheet<'c>,
    rule: &'r HouseRule,
    evaluator: &'r Evaluator,
    steps: u64,
    /// A fault of the rule itself has been told.
    faulty: bool,
    out: &'r mut Judged,
}

impl<'c> Run<'_, 'c> {
    fn over(&mut self, subjects: impl Iterator<Item = Subject>) {
        let mut row = Row::default();
        for (at, subject) in subjects.enumerate() {
            row.clear();
            match self.breaks(subject, &mut row) {
                Ok(true) => {
                    let finding = self.finding(subject, &mut row);
                    self.out.findings.push(finding);
                }
                Ok(false) => {}
                Err(Trouble::Undecided(Undecided::Unknown(fields))) => {
                    let id = &self.rule.id;
                    self.out.undecided.extend(fields.into_iter().map(|field| (id.clone(), field, subject)));
                }
                Err(Trouble::Undecided(Undecided::Fault(why))) if !self.faulty => {
                    self.faulty = true;
                    let name = subject.name(&self.sheet.cx);
                    let headline = format!("{} cannot be judged on {name}: {why}", self.rule.id);
                    self.problem(
                        headline,
                        "write the demand so that it comes to true or false for every element",
                    );
                }
                Err(Trouble::Undecided(Undecided::Fault(_))) => {}
                Err(Trouble::Spent) => {
                    let millions = MOST_STEPS / 1_000_000;
                    let headline = format!(
                        "{} takes more than {millions} million steps on this design: {at} elements were judged, the others were not",
                        self.rule.id
                    );
                    self.problem(headline, "walk no list inside a list, or leave out elements by `when`");
                    return;
                }
            }
        }
    }

    fn breaks(&mut self, subject: Subject, row: &mut Row<'c>) -> Result<bool, Trouble> {
        for (expression, wanted) in [(self.rule.when.as_ref(), true), (Some(&self.rule.demand), false)] {
            let Some(expression) = expression else { continue };
            self.sheet.read(subject, expression.fields(), row);
            self.steps = self.steps.saturating_add(expression.cost(row));
            if MOST_STEPS < self.steps {
                return Err(Trouble::Spent);
            }
            if expression.holds(self.evaluator, row).map_err(Trouble::Undecided)? != wanted {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn finding(&self, subject: Subject, row: &mut Row<'c>) -> Finding {
        let (cx, rule) = (&self.sheet.cx, self.rule);
        self.sheet.read(subject, &rule.fields, row);
        let (name, place) = match subject {
            Subject::Wire(id) => of_wire(cx, id),
            Subject::Component(id) => of_component(cx, id),
            Subject::Terminal(id) => of_component(cx, cx.design.terminals[id].component),
        };
        let decided: Vec<String> = rule
            .demand
            .fields()
            .iter()
            .filter_map(|field| row.get(field.name))
            .map(|(field, value)| format!("{} {}", field.name, value.tell(field)))
            .collect();
        let severity = cx.book.rule(&rule.id).severity.unwrap_or(rule.severity);
        let mut finding = cx
            .place(Cow::Owned(rule.id.clone()), severity, name, place)
            .headline(rule.message.fill(row))
            .label(decided.join(", "))
            .help(rule.help.as_ref().map_or_else(|| rule.why.clone(), |help| help.fill(row)))
            .figure(format!("book {}", cx.book.name()), rule.source.clone());
        for (field, value) in &row.0 {
            finding = match value {
                Value::Number(number) if number.is_finite() => finding.number(field.name, *number),
                Value::Text(text) => finding.text(field.name, text.as_ref()),
                Value::Texts(texts) => {
                    finding.texts(field.name, texts.iter().map(|text| text.to_string()).collect())
                }
                Value::Devices(devices) => {
                    finding.texts(field.name, devices.iter().map(|device| device.name.into()).collect())
                }
                Value::Number(_) | Value::Flag(_) | Value::Unknown => finding,
            };
        }
        finding
    }

    /// What keeps a rule from being judged, where its demand stands in the book.
    fn problem(&mut self, headline: String, help: &str) {
        let finding = Finding::new("language.use", Severity::Error, self.rule.id.as_str(), self.rule.at)
            .headline(headline)
            .label("this demand")
            .text("house_rule", self.rule.id.as_str())
            .help(help);
        self.out.findings.push(finding);
    }
}

enum Trouble {
    Undecided(Undecided),
    /// The rule has taken all its steps.
    Spent,
}

fn of_wire<'c>(cx: &Context<'c>, id: WireId) -> (&'c str, Place) {
    let wire = &cx.design.wires[id];
    (&wire.name, wire.place)
}

fn of_component<'c>(cx: &Context<'c>, id: ComponentId) -> (&'c str, Place) {
    let component = &cx.design.components[id];
    (&component.name, component.place)
}
