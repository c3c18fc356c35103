//! One finding a line: `path:line:column: severity: rule: headline (label)`.

use std::fmt::Display;
use std::io::{Result, Write};

use super::wording::{clean, message};
use super::{DesignEntry, Output, Place, Published, Tally};
use crate::check::Judgement;
use crate::findings::Severity;

/// One finding a line, for logs and for programs that jump to places. What is accepted is left out.
#[derive(Debug, Clone, Copy, Default)]
pub struct Lines;

impl Output for Lines {
    fn begin(&self, _: &mut dyn Write) -> Result<()> {
        Ok(())
    }

    fn design(&self, judgement: &Judgement, out: &mut dyn Write) -> Result<()> {
        if let Some(why) = &judgement.unreadable {
            unreadable(out, &judgement.path, why)?;
        }
        for finding in judgement.findings.iter().filter(|finding| finding.stands()) {
            let place = Place::of(judgement, finding.span);
            line(out, &place, finding.severity, &finding.rule, &message(finding))?;
        }
        Ok(())
    }

    fn end(&self, _: &Tally, _: &mut dyn Write) -> Result<()> {
        Ok(())
    }
}

impl Published for Lines {
    fn entry(&self, design: &DesignEntry<'_>, out: &mut dyn Write) -> Result<()> {
        if let Some(why) = &design.unreadable {
            unreadable(out, &design.file, why)?;
        }
        for finding in design.findings.iter().filter(|finding| finding.stands()) {
            line(out, &finding.span, finding.severity.severity(), &finding.rule, &finding.message)?;
        }
        Ok(())
    }
}

fn unreadable(out: &mut dyn Write, path: &str, why: &str) -> Result<()> {
    writeln!(out, "{}: error: {}", clean(path), clean(why))
}

fn line(out: &mut dyn Write, place: &dyn Display, severity: Severity, rule: &str, says: &str) -> Result<()> {
    writeln!(out, "{place}: {severity}: {rule}: {}", clean(says))
}
