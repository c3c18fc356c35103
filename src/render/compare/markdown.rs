//! A comparison as Markdown, for a comment in a review.

use std::io::{Result, Write};

use super::{CompareReport, Told};
use crate::render::Place;
use crate::render::human::{caution, headline};
use crate::render::wording::clean;

/// Lines that a list shows; a longer one is folded.
const SHOWN: usize = 20;

/// Markdown, the findings before the changes.
#[derive(Debug, Clone, Copy, Default)]
pub struct CompareMarkdown;

impl CompareMarkdown {
    /// Writes a comparison.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    pub fn write(&self, report: &CompareReport<'_>, out: &mut dyn Write) -> Result<()> {
        let (old, new) = (code(report.old_name), code(report.new_name));
        let name = report.new.design.as_deref().unwrap_or("");
        writeln!(out, "### Wiring of {}\n", escaped(name))?;
        if report.comparison.is_empty() {
            return writeln!(out, "Nothing has changed from {old} to {new}.");
        }
        writeln!(out, "From {old} to {new}: {}.", report.summary())?;
        for (heading, findings) in [("Findings gained", report.gained()), ("Findings lost", report.lost())] {
            let gained = heading == "Findings gained";
            let lines: Vec<String> = findings.iter().map(|told| finding(told, gained)).collect();
            list(heading, &lines, out)?;
        }
        for (heading, lines) in report.sections() {
            let lines: Vec<String> = lines.iter().map(|line| escaped(line)).collect();
            list(&capital(heading), &lines, out)?;
        }
        writeln!(out, "\n<sub>{}</sub>", escaped(&caution()))
    }
}

fn list(heading: &str, lines: &[String], out: &mut dyn Write) -> Result<()> {
    if lines.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n#### {heading}\n")?;
    let folded = SHOWN < lines.len();
    if folded {
        writeln!(out, "<details><summary>{} lines</summary>\n", lines.len())?;
    }
    lines.iter().try_for_each(|line| writeln!(out, "- {line}"))?;
    if folded { writeln!(out, "\n</details>") } else { Ok(()) }
}

fn finding(told: &Told<'_>, gained: bool) -> String {
    let finding = told.finding;
    let place = Place::of(told.judgement, finding.span).line_only();
    let mut line = format!(
        "**{}** {} {}, at {}",
        finding.severity,
        code(&finding.rule),
        escaped(headline(finding)),
        code(&place)
    );
    if let Some(waiver) = &told.waiver {
        line += &format!("; {}", escaped(waiver));
    }
    if gained && finding.waived.is_none() && !finding.help.is_empty() {
        line += &format!("  \n  To do: {}", escaped(&finding.help));
    }
    line
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A text in which nothing is read as Markdown or HTML.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in clean(text).chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '#' | '|' | '~' | '!' => safe.extend(['\\', c]),
            c => safe.push(c),
        }
    }
    safe
}

/// A text as code.
fn code(text: &str) -> String {
    format!("`{}`", clean(text).replace('`', "'"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_of_a_design_are_no_markup() {
        assert_eq!(escaped("a <b> & [c](d) *e* `f`"), "a &lt;b&gt; &amp; \\[c\\](d) \\*e\\* \\`f\\`");
        assert_eq!(code("a`b"), "`a'b`");
    }
}
