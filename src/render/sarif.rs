//! SARIF 2.1.0, for services that show findings beside the text. One run; results as the designs come, the tool and its
//! rules after them, so that a fleet never stands in memory as a whole.

use std::collections::BTreeMap;
use std::io::{Error, Result, Write};

use serde::Serialize;
use serde_sarif::sarif::{
    ArtifactLocation, Invocation, Location, LogicalLocation, Message, MultiformatMessageString, Notification,
    NotificationLevel, PhysicalLocation, PropertyBag, Region, ReportingConfiguration, ReportingDescriptor,
    Result as Outcome, ResultBaselineState, ResultColumnKind, ResultLevel, Suppression, SupressionKind,
    SupressionStatus, Tool, ToolComponent,
};

use super::entries::{FindingEntry, Level, SpanEntry, ValueEntry};
use super::{DesignEntry, HouseEntry, Lost, Output, Published, Tally, uri};
use crate::check::Judgement;
use crate::findings::Severity;
use crate::rules::{ALL, MISTAKES, Mistake, Rule};

/// Where the schema is published.
const SCHEMA: &str = "https://json.schemastore.org/sarif-2.1.0.json";
/// The name of our fingerprint: a change of how it is made gets another number.
const FINGERPRINT: &str = "ohmward/v1";

/// One SARIF log with one run.
#[derive(Debug, Clone, Copy)]
pub struct Sarif {
    /// From which severity on a run fails; never, if there is none.
    pub fail_at: Option<Severity>,
    /// Whether the run was held against a list of what is known: then every result says how it stands to it.
    pub baseline: bool,
}

impl Output for Sarif {
    fn begin(&self, out: &mut dyn Write) -> Result<()> {
        write!(
            out,
            "{{\n  \"$schema\": \"{SCHEMA}\",\n  \"version\": \"2.1.0\",\n  \"runs\": [\n    {{\n      \"results\": ["
        )
    }

    fn design(&self, judgement: &Judgement, out: &mut dyn Write) -> Result<()> {
        self.entry(&DesignEntry::of(judgement), out)
    }

    fn separator(&self) -> &'static str {
        ","
    }

    fn end(&self, tally: &Tally, out: &mut dyn Write) -> Result<()> {
        write!(out, "\n      ],\n      \"columnKind\": ")?;
        // Our columns count characters.
        pretty(out, 6, &ResultColumnKind::UnicodeCodePoints)?;
        write!(out, ",\n      \"invocations\": ")?;
        pretty(out, 6, &[self.invocation(tally)])?;
        write!(out, ",\n      \"tool\": ")?;
        pretty(out, 6, &tool(&tally.house))?;
        write!(out, "\n    }}\n  ]\n}}\n")
    }
}

impl Published for Sarif {
    fn entry(&self, design: &DesignEntry<'_>, out: &mut dyn Write) -> Result<()> {
        for (index, finding) in design.findings.iter().enumerate() {
            write!(out, "{}\n        ", if index == 0 { "" } else { "," })?;
            pretty(out, 8, &self.result(design, finding)?)?;
        }
        Ok(())
    }
}

impl Sarif {
    fn result(&self, design: &DesignEntry<'_>, finding: &FindingEntry<'_>) -> Result<Outcome> {
        let mut result = Outcome::builder()
            .rule_id(finding.rule.as_ref())
            .level(level(finding.severity))
            .message(says(finding))
            .locations(vec![place(design, finding)])
            .partial_fingerprints(BTreeMap::from([(FINGERPRINT.to_owned(), finding.fingerprint.to_string())]))
            .properties(figures(finding)?)
            .build();
        result.rule_index = index_of(&finding.rule);
        if !finding.related.is_empty() {
            result.related_locations = Some(related(finding));
        }
        // Without a suppression in it the list says that somebody looked and found none.
        result.suppressions = Some(suppressions(finding));
        if self.baseline {
            let state = if finding.known { ResultBaselineState::Unchanged } else { ResultBaselineState::New };
            result.baseline_state = Some(word(state));
        }
        Ok(result)
    }

    fn invocation(&self, tally: &Tally) -> Invocation {
        let code = tally.exit_code(self.fail_at);
        let says = match code {
            0 => "no finding at or above the failing level",
            1 => "a finding at or above the failing level",
            _ => "something could not be judged",
        };
        let mut invocation = Invocation::builder()
            .execution_successful(code < 2)
            .exit_code(i64::from(code))
            .exit_code_description(says)
            .build();
        let lost = tally.lost.iter().map(unreadable);
        let problems =
            tally.problems.iter().map(|problem| notification(problem.as_str(), NotificationLevel::Error));
        let told: Vec<Notification> = lost.chain(problems).collect();
        if !told.is_empty() {
            invocation.tool_execution_notifications = Some(told);
        }
        let gone =
            |entry| notification(&format!("known, and no longer found: {entry}"), NotificationLevel::Note);
        let mut stale: Vec<_> = tally.stale.iter().flatten().collect();
        stale.sort();
        stale.dedup();
        if !stale.is_empty() {
            invocation.tool_configuration_notifications = Some(stale.into_iter().map(gone).collect());
        }
        invocation
    }
}

/// Writes a value as it stands in the document, set in by so many blanks.
fn pretty(out: &mut dyn Write, indent: usize, value: &impl Serialize) -> Result<()> {
    let text = serde_json::to_string_pretty(value).map_err(Error::other)?;
    for (index, line) in text.lines().enumerate() {
        let before = if index == 0 { String::new() } else { format!("\n{}", " ".repeat(indent)) };
        write!(out, "{before}{line}")?;
    }
    Ok(())
}

/// A word of the format, as the crate's enumerations spell it.
fn word(value: impl ToString) -> serde_json::Value {
    serde_json::Value::String(value.to_string())
}

fn level(level: Level) -> ResultLevel {
    match level {
        Level::Error => ResultLevel::Error,
        Level::Warning => ResultLevel::Warning,
        Level::Advice => ResultLevel::Note,
    }
}

/// What is so, and what would make it right: services show little else.
fn says(finding: &FindingEntry<'_>) -> Message {
    let text = match finding.help.is_empty() {
        true => finding.message.to_string(),
        false => format!("{}. To do: {}", finding.message, finding.to_do()),
    };
    Message::builder().text(text).build()
}

fn place(design: &DesignEntry<'_>, finding: &FindingEntry<'_>) -> Location {
    let full = format!("{}.{}", design.design.as_deref().unwrap_or(&design.file), finding.subject);
    let element =
        LogicalLocation::builder().name(finding.subject.as_ref()).fully_qualified_name(full).build();
    Location::builder().physical_location(physical(&finding.span)).logical_locations(vec![element]).build()
}

fn related(finding: &FindingEntry<'_>) -> Vec<Location> {
    let location = |(id, related): (i64, &super::entries::RelatedEntry<'_>)| {
        let note = format!("{}: {}", related.subject, related.note);
        Location::builder().id(id).physical_location(physical(&related.span)).message(note.as_str()).build()
    };
    (1..).zip(&finding.related).map(location).collect()
}

fn physical(span: &SpanEntry<'_>) -> PhysicalLocation {
    let region = Region::builder()
        .start_line(i64::from(span.line))
        .start_column(i64::from(span.column))
        .end_line(i64::from(span.end_line))
        .end_column(i64::from(span.end_column))
        .build();
    PhysicalLocation::builder().artifact_location(artifact(&span.file)).region(region).build()
}

fn artifact(path: &str) -> ArtifactLocation {
    ArtifactLocation::builder().uri(uri::of_path(path)).build()
}

fn suppressions(finding: &FindingEntry<'_>) -> Vec<Suppression> {
    let accepted = |kind: SupressionKind, why: &str| {
        Suppression::builder()
            .kind(word(kind))
            .status(word(SupressionStatus::Accepted))
            .justification(why)
            .build()
    };
    let waived = finding.waived.as_ref().map(|waived| {
        let mut suppression = accepted(SupressionKind::InSource, &waived.why);
        suppression.properties = Some(bag([("until", waived.until.as_ref().into())]));
        suppression
    });
    let known = finding.known.then(|| accepted(SupressionKind::External, "on the list of known findings"));
    waived.into_iter().chain(known).collect()
}

/// The figures that decided, for programs.
fn figures(finding: &FindingEntry<'_>) -> Result<PropertyBag> {
    let mut figures = serde_json::Map::new();
    for (key, value) in &finding.values {
        figures.insert(key.to_string(), figure(value)?);
    }
    Ok(bag([("subject", finding.subject.as_ref().into()), ("values", figures.into())]))
}

fn figure(value: &ValueEntry<'_>) -> Result<serde_json::Value> {
    serde_json::to_value(value).map_err(Error::other)
}

fn bag<const N: usize>(rows: [(&str, serde_json::Value); N]) -> PropertyBag {
    let rows = rows.map(|(key, value)| (key.to_owned(), value));
    PropertyBag::builder().additional_properties(BTreeMap::from(rows)).build()
}

fn notification(text: &str, level: NotificationLevel) -> Notification {
    Notification::builder().message(text).level(word(level)).build()
}

fn unreadable(lost: &Lost) -> Notification {
    let place = PhysicalLocation::builder().artifact_location(artifact(&lost.path)).build();
    let mut told = notification(&format!("not judged: {}", lost.why), NotificationLevel::Error);
    told.locations = Some(vec![Location::builder().physical_location(place).build()]);
    told
}

/// The place of a rule in the tool's list; a book's own rules stand at its end, and are found by id.
fn index_of(id: &str) -> Option<i64> {
    let judged = ALL.iter().position(|rule| rule.id == id);
    let mistake = || MISTAKES.iter().position(|mistake| mistake.id == id).map(|at| ALL.len() + at);
    judged.or_else(mistake).and_then(|at| i64::try_from(at).ok())
}

/// The tool, with everything that it judges by and the rules of books' own.
fn tool(house: &[HouseEntry]) -> Tool {
    let mut own: Vec<&HouseEntry> = house.iter().collect();
    own.sort();
    own.dedup_by(|a, b| a.id == b.id);
    let judged = ALL.iter().map(|rule| of_rule(rule));
    let own = own.into_iter().map(of_house);
    let rules: Vec<ReportingDescriptor> = judged.chain(MISTAKES.iter().map(of_mistake)).chain(own).collect();
    ToolComponent::builder()
        .name(env!("CARGO_PKG_NAME"))
        .version(env!("CARGO_PKG_VERSION"))
        .semantic_version(env!("CARGO_PKG_VERSION"))
        .short_description(told(env!("CARGO_PKG_DESCRIPTION")))
        .rules(rules)
        .build()
        .into()
}

fn told(text: &str) -> MultiformatMessageString {
    MultiformatMessageString::builder().text(text).build()
}

fn descriptor(
    id: &str,
    severity: Severity,
    short: &str,
    full: &str,
    help: MultiformatMessageString,
) -> ReportingDescriptor {
    let usual = ReportingConfiguration::builder().level(word(level(Level::of(severity)))).build();
    ReportingDescriptor::builder()
        .id(id)
        .short_description(told(short))
        .full_description(told(full))
        .help(help)
        .default_configuration(usual)
        .build()
}

fn of_rule(rule: &Rule) -> ReportingDescriptor {
    let mut parts = vec![rule.claim.to_owned(), rule.why.into(), format!("How it is judged: {}", rule.how)];
    if !rule.limits.is_empty() {
        parts.push(format!("Limits of the book that it reads: {}.", rule.limits.join(", ")));
    }
    descriptor(rule.id, rule.severity, rule.claim, rule.why, help(rule.id, &parts, rule.bad, rule.good))
}

fn of_mistake(mistake: &Mistake) -> ReportingDescriptor {
    let says = format!("{}.", mistake.says);
    let help = help(mistake.id, std::slice::from_ref(&says), mistake.bad, mistake.good);
    descriptor(mistake.id, Severity::Error, &says, &says, help)
}

/// The help, as plain text and in Markdown with the examples.
fn help(id: &str, parts: &[String], bad: &str, good: &str) -> MultiformatMessageString {
    let more = format!("`ohmward rules {id}` tells it whole.");
    let text = format!("{}\n\n{more}", parts.join("\n\n"));
    let code = |text: &str| format!("```\n{}\n```", text.replace("\r\n", "\n").trim_end());
    let markdown = format!(
        "{}\n\nBreaks it:\n\n{}\n\nMended:\n\n{}\n\n{more}",
        parts.join("\n\n"),
        code(bad),
        code(good)
    );
    MultiformatMessageString::builder().text(text).markdown(markdown).build()
}

fn of_house(rule: &HouseEntry) -> ReportingDescriptor {
    let condition = rule.when.as_ref().map_or_else(String::new, |when| format!(" where {when}"));
    let says = format!("A rule of the book's own, for every {}{condition}: {}", rule.element, rule.demand);
    let help = told(&format!("{says}\n\n{}\n\nFrom: {}", rule.why, rule.source));
    descriptor(&rule.id, rule.severity.severity(), &says, &rule.why, help)
}
