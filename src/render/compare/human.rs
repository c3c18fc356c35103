//! A comparison for people, in sentences.

use std::io::{Result, Write};

use super::{CompareReport, Told};
use crate::render::Place;
use crate::render::human::{caution, headline, write_wrapped};
use crate::render::page::severity_code;
use crate::render::wording::clean;

/// Sentences, the changes before the findings.
#[derive(Debug, Clone, Copy)]
pub struct CompareHuman {
    /// Columns that text is wrapped to.
    pub width: usize,
    /// Escape sequences for colours.
    pub color: bool,
}

impl CompareHuman {
    /// Writes a comparison.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    pub fn write(&self, report: &CompareReport<'_>, out: &mut dyn Write) -> Result<()> {
        let (old, new) = (clean(report.old_name), clean(report.new_name));
        if report.comparison.is_empty() {
            return writeln!(out, "nothing has changed from {old} to {new}");
        }
        writeln!(out, "from {old} to {new}")?;
        for (heading, lines) in report.sections() {
            writeln!(out, "\n{}", self.paint("1", heading))?;
            for line in lines {
                write_wrapped(out, 2, 4, &clean(&line), self.width)?;
            }
        }
        for (heading, findings) in [("findings gained", report.gained()), ("findings lost", report.lost())] {
            if !findings.is_empty() {
                writeln!(out, "\n{}", self.paint("1", heading))?;
                let gained = heading == "findings gained";
                findings.iter().try_for_each(|told| self.finding(told, gained, out))?;
            }
        }
        writeln!(out, "\n{}", report.summary())?;
        write_wrapped(out, 0, 0, &caution(), self.width)
    }

    /// What would make it right is told of those that came.
    fn finding(&self, told: &Told<'_>, gained: bool, out: &mut dyn Write) -> Result<()> {
        let finding = told.finding;
        let severity = self.paint(severity_code(finding.severity), finding.severity.word());
        writeln!(out, "  {severity}: {}  [{}]", clean(headline(finding)), finding.rule)?;
        writeln!(out, "    at {}", Place::of(told.judgement, finding.span))?;
        if let Some(waiver) = &told.waiver {
            write_wrapped(out, 4, 6, &clean(waiver), self.width)?;
        }
        if gained && finding.waived.is_none() && !finding.help.is_empty() {
            write_wrapped(out, 4, 8, &format!("do: {}", clean(&finding.help)), self.width)?;
        }
        Ok(())
    }

    fn paint(&self, code: &str, text: &str) -> String {
        if self.color { format!("\x1b[{code}m{text}\x1b[0m") } else { text.to_owned() }
    }
}
