//! A finding in sentences with line numbers, for screen readers and for terminals that draw nothing.

use std::io::{Result, Write};

use super::Place;
use super::human::{MOST_RELATED, headline, write_wrapped};
use super::wording::{clean, plural, sentence};
use crate::check::Judgement;
use crate::findings::Finding;

/// Tells one finding: a head line, the places, then what would make it right and the figures behind that.
pub(super) fn finding(
    judgement: &Judgement,
    finding: &Finding,
    width: usize,
    out: &mut dyn Write,
) -> Result<()> {
    let at = Place::of(judgement, finding.span);
    writeln!(out, "{}: {}", finding.severity, clean(headline(finding)))?;
    writeln!(out, "  rule {}, at {at}", finding.rule)?;
    if !finding.headline.is_empty() && !finding.label.is_empty() {
        // A place without a name has its line for a subject, which need not be told twice.
        let subject = match finding.subject.starts_with("line:") {
            true => String::new(),
            false => format!(", {}", clean(&finding.subject)),
        };
        let text = format!("line {}{subject}: {}", at.line, sentence(&finding.label));
        write_wrapped(out, 2, 4, &text, width)?;
    }
    for related in finding.related.iter().take(MOST_RELATED) {
        let place = Place::of(judgement, related.span);
        let file = if related.span.file == finding.span.file {
            String::new()
        } else {
            format!("{}, ", clean(place.path))
        };
        let note =
            if related.note.is_empty() { String::new() } else { format!(": {}", sentence(&related.note)) };
        write_wrapped(
            out,
            2,
            4,
            &format!("{file}line {}, {}{note}", place.line, clean(&related.subject)),
            width,
        )?;
    }
    if MOST_RELATED < finding.related.len() {
        let more = plural(finding.related.len() - MOST_RELATED, "other place", "other places");
        writeln!(out, "  and {more}")?;
    }
    if !finding.help.is_empty() {
        write_wrapped(out, 2, 4, &format!("do: {}", sentence(&finding.help)), width)?;
    }
    for figure in &finding.figures {
        write_wrapped(out, 4, 6, &format!("{}: {}", clean(&figure.value), sentence(&figure.meaning)), width)?;
    }
    Ok(())
}
