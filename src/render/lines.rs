//! One finding a line: `path:line:column: severity: rule: headline (label)`.

use std::io::{Result, Write};

use super::wording::{clean, message};
use super::{Output, Place, Tally};
use crate::check::Judgement;

/// One finding a line, for logs and for programs that jump to places. What a waiver accepts is left out.
#[derive(Debug, Clone, Copy, Default)]
pub struct Lines;

impl Output for Lines {
    fn begin(&self, _: &mut dyn Write) -> Result<()> {
        Ok(())
    }

    fn design(&self, judgement: &Judgement, out: &mut dyn Write) -> Result<()> {
        if let Some(why) = &judgement.unreadable {
            writeln!(out, "{}: error: {}", clean(&judgement.path), clean(why))?;
        }
        for finding in judgement.findings.iter().filter(|finding| finding.waived.is_none()) {
            let place = Place::of(judgement, finding.span);
            writeln!(out, "{place}: {}: {}: {}", finding.severity, finding.rule, clean(&message(finding)))?;
        }
        Ok(())
    }

    fn end(&self, _: &Tally, _: &mut dyn Write) -> Result<()> {
        Ok(())
    }
}
