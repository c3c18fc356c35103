//! Findings for people: what is so, where, the source with labels under it, and what would make it right.

use std::io::{Result, Write};

use super::page::severity_code;
use super::snippet::{self, Look, Mark};
use super::wording::{clean, padded, plural, wrap};
use super::{Accepted, Output, Place, Tally, explain, is_library, narrate};
use crate::check::Judgement;
use crate::findings::{Figure, Finding, Severity};
use crate::rules::not_yet_topics;
use crate::text::FileId;

/// Most related places that one finding draws; the others are counted.
pub(super) const MOST_RELATED: usize = 12;
/// Widest value that a column of figures makes room for.
const WIDEST_VALUE: usize = 24;
const CAUTION: &str = "A judgement supports, and never replaces, the current edition of the standards, local codes \
                       and a licensed electrician.";

/// How findings are told to people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manner {
    /// With the source drawn and labels under it.
    Drawn {
        /// Escape sequences for colours.
        color: bool,
        /// Box characters in place of ASCII.
        unicode: bool,
    },
    /// In sentences with line numbers, for screen readers and simple terminals.
    Told,
}

/// Output for people.
#[derive(Debug, Clone, Copy)]
pub struct Human {
    /// How it is told.
    pub manner: Manner,
    /// Columns that text is wrapped to; source lines are not.
    pub width: usize,
}

impl Output for Human {
    fn begin(&self, _: &mut dyn Write) -> Result<()> {
        Ok(())
    }

    fn design(&self, judgement: &Judgement, out: &mut dyn Write) -> Result<()> {
        if is_library(judgement) {
            return Ok(());
        }
        if let Some(why) = &judgement.unreadable {
            writeln!(out, "{}: {} was not judged", self.severity(Severity::Error), clean(&judgement.path))?;
            write_wrapped(out, 2, 2, &clean(why), self.width)?;
            writeln!(out)?;
        }
        for finding in judgement.findings.iter().filter(|finding| finding.stands()) {
            match self.manner {
                Manner::Drawn { color, unicode } => {
                    let look = Look { width: self.width, color, unicode };
                    self.draw(judgement, finding, look, out)?;
                }
                Manner::Told => narrate::finding(judgement, finding, self.width, out)?,
            }
            writeln!(out)?;
        }
        match (&judgement.wires, self.manner) {
            (Some(wires), Manner::Told) => explain::told(&judgement.path, wires, self.width, out),
            (Some(wires), Manner::Drawn { .. }) => explain::table(&judgement.path, wires, out),
            (None, _) => Ok(()),
        }
    }

    fn end(&self, tally: &Tally, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "{}", summary(tally))?;
        for accepted in &tally.accepted {
            write_wrapped(out, 2, 4, &accepted_line(accepted), self.width)?;
        }
        write_wrapped(out, 0, 0, &caution(), self.width)
    }
}

impl Human {
    fn draw(&self, judgement: &Judgement, finding: &Finding, look: Look, out: &mut dyn Write) -> Result<()> {
        let rule = self.paint("2", &format!("[{}]", finding.rule));
        let headline = self.paint("1", &clean(headline(finding)));
        writeln!(out, "{}: {headline}  {rule}", self.severity(finding.severity))?;
        writeln!(out, "  at {}", Place::of(judgement, finding.span))?;
        for (file, marks) in marks_by_file(finding) {
            if file != finding.span.file
                && let Some(first) = marks.first()
            {
                writeln!(out, "  and at {}", Place::of(judgement, first.span))?;
            }
            let source = judgement.sources.get(file);
            if !source.path().is_empty() {
                out.write_all(snippet::draw(source, &marks, look).as_bytes())?;
            }
        }
        if MOST_RELATED < finding.related.len() {
            let more = plural(finding.related.len() - MOST_RELATED, "other place", "other places");
            writeln!(out, "  and {more}")?;
        }
        self.help(finding, out)
    }

    fn help(&self, finding: &Finding, out: &mut dyn Write) -> Result<()> {
        let lines = wrap(&clean(&finding.help), self.width.saturating_sub(6).max(20));
        for (index, line) in lines.iter().enumerate() {
            let lead = if index == 0 { format!("  {}: ", self.paint("36", "do")) } else { " ".repeat(6) };
            writeln!(out, "{lead}{line}")?;
        }
        self.figures(&finding.figures, out)
    }

    fn figures(&self, figures: &[Figure], out: &mut dyn Write) -> Result<()> {
        let lengths = figures.iter().map(|figure| clean(&figure.value).chars().count());
        let column = lengths.max().unwrap_or(0).min(WIDEST_VALUE);
        let indent = 6 + column + 2;
        for figure in figures {
            let meaning = wrap(&clean(&figure.meaning), self.width.saturating_sub(indent).max(24));
            let mut lines = meaning.iter().map(String::as_str);
            let first =
                format!("      {}  {}", padded(&clean(&figure.value), column), lines.next().unwrap_or(""));
            writeln!(out, "{}", first.trim_end())?;
            for line in lines {
                writeln!(out, "{}{line}", " ".repeat(indent))?;
            }
        }
        Ok(())
    }

    fn severity(&self, severity: Severity) -> String {
        self.paint(severity_code(severity), severity.word())
    }

    fn paint(&self, code: &str, text: &str) -> String {
        match self.manner {
            Manner::Drawn { color: true, .. } => format!("\x1b[{code}m{text}\x1b[0m"),
            _ => text.to_owned(),
        }
    }
}

/// What a judgement is not, and what it leaves out.
pub(super) fn caution() -> String {
    let missing = not_yet_topics();
    if missing.is_empty() {
        CAUTION.into()
    } else {
        format!("{CAUTION} Not judged yet: {}.", missing.join("; "))
    }
}

/// The headline, or what stands in for it.
pub(super) fn headline(finding: &Finding) -> &str {
    match (finding.headline.is_empty(), finding.label.is_empty()) {
        (false, _) => &finding.headline,
        (true, false) => &finding.label,
        (true, true) => &finding.subject,
    }
}

/// The subject's file first, then the others in the order of the story.
fn marks_by_file(finding: &Finding) -> Vec<(FileId, Vec<Mark>)> {
    let subject = Mark { span: finding.span, text: finding.label.clone() };
    let mut files = vec![(finding.span.file, vec![subject])];
    for related in finding.related.iter().take(MOST_RELATED) {
        let mark = Mark { span: related.span, text: related.note.clone() };
        match files.iter_mut().find(|(file, _)| *file == related.span.file) {
            Some((_, marks)) => marks.push(mark),
            None => files.push((related.span.file, vec![mark])),
        }
    }
    files
}

/// One line that says what was judged and what came of it.
fn summary(tally: &Tally) -> String {
    let found = tally.at_least(Severity::Advice);
    let mut text = plural(tally.designs, "design", "designs");
    if found == 0 && tally.lost.len() < tally.designs {
        let elements = plural(tally.elements, "element", "elements");
        text = format!("{text}, {elements} judged by {}", books(&tally.books));
    }
    text.push_str(": ");
    let mut parts = Vec::new();
    if 0 < found {
        parts.push(plural(tally.errors, "error", "errors"));
        parts.push(plural(tally.warnings, "warning", "warnings"));
        parts.push(format!("{} advice", tally.advice));
    } else if tally.lost.len() < tally.designs || tally.designs == 0 {
        parts.push(if tally.designs == 0 { "nothing to judge".into() } else { "nothing found".to_owned() });
    }
    if !tally.lost.is_empty() {
        parts.push(format!("{} not readable", tally.lost.len()));
    }
    if !tally.accepted.is_empty() {
        parts.push(format!("{} accepted by waiver", tally.accepted.len()));
    }
    if 0 < tally.known {
        parts.push(format!("{} known", tally.known));
    }
    if 0 < tally.libraries {
        parts.push(format!("{} not judged", plural(tally.libraries, "library", "libraries")));
    }
    text + &parts.join(", ")
}

fn books(books: &[String]) -> String {
    match books {
        [one] => format!("book {}", clean(one)),
        several => format!("{} books", several.len()),
    }
}

fn accepted_line(accepted: &Accepted) -> String {
    let Accepted { rule, subject, place, why, until } = accepted;
    format!("accepted until {until}: {rule} on {} at {place}, because \"{}\"", clean(subject), clean(why))
}

/// Writes a text wrapped to the width, with one indent for the first line and one for the others.
pub(super) fn write_wrapped(
    out: &mut dyn Write,
    first: usize,
    others: usize,
    text: &str,
    width: usize,
) -> Result<()> {
    for (index, line) in wrap(text, width.saturating_sub(others).max(24)).iter().enumerate() {
        writeln!(out, "{}{line}", " ".repeat(if index == 0 { first } else { others }))?;
    }
    Ok(())
}
