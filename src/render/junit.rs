//! JUnit XML, for services that show tests: a suite for each design, a case for each finding.

use std::collections::BTreeMap;
use std::io::{Error, Result, Write};

use quick_junit::{NonSuccessKind, Report, TestCase, TestCaseStatus, TestSuite};

use super::entries::FindingEntry;
use super::wording::clean;
use super::{DesignEntry, Output, Published, Tally};
use crate::check::Judgement;

/// One JUnit document. Every finding is a failed case, whatever the failing level; one that is accepted is skipped.
#[derive(Debug, Clone, Copy, Default)]
pub struct JUnit;

impl Output for JUnit {
    fn begin(&self, out: &mut dyn Write) -> Result<()> {
        write!(
            out,
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"{}\">\n",
            env!("CARGO_PKG_NAME")
        )
    }

    fn design(&self, judgement: &Judgement, out: &mut dyn Write) -> Result<()> {
        self.entry(&DesignEntry::of(judgement), out)
    }

    fn end(&self, tally: &Tally, out: &mut dyn Write) -> Result<()> {
        if !tally.problems.is_empty() {
            let mut suite = TestSuite::new(env!("CARGO_PKG_NAME"));
            for (index, problem) in tally.problems.iter().enumerate() {
                suite.add_test_case(unjudged(
                    &format!("problem {}", index + 1),
                    env!("CARGO_PKG_NAME"),
                    problem,
                ));
            }
            write_suite(suite, out)?;
        }
        writeln!(out, "</testsuites>")
    }
}

impl Published for JUnit {
    fn entry(&self, design: &DesignEntry<'_>, out: &mut dyn Write) -> Result<()> {
        let file = clean(&design.file);
        let mut suite = TestSuite::new(file.as_ref());
        if let Some(why) = &design.unreadable {
            suite.add_test_case(unjudged("is read", &file, why));
        }
        let mut names = BTreeMap::new();
        for finding in &design.findings {
            let name = format!("{}: {}", finding.rule, clean(&finding.subject));
            let count = names.entry(name.clone()).and_modify(|count| *count += 1).or_insert(1_usize);
            let name = if *count == 1 { name } else { format!("{name} ({count})") };
            let mut case = TestCase::new(name, status(finding));
            case.set_classname(file.as_ref());
            suite.add_test_case(case);
        }
        if design.findings.is_empty() && design.unreadable.is_none() {
            let mut case = TestCase::new("nothing found", TestCaseStatus::success());
            case.set_classname(file.as_ref());
            suite.add_test_case(case);
        }
        write_suite(suite, out)
    }
}

fn unjudged(name: &str, class: &str, why: &str) -> TestCase {
    let mut status = TestCaseStatus::non_success(NonSuccessKind::Error);
    status.set_type("not judged").set_message(clean(why));
    let mut case = TestCase::new(name, status);
    case.set_classname(class);
    case
}

fn status(finding: &FindingEntry<'_>) -> TestCaseStatus {
    let mut status = match (&finding.waived, finding.known) {
        (Some(waived), _) => {
            let mut status = TestCaseStatus::skipped();
            status.set_message(format!("accepted until {}: {}", clean(&waived.until), clean(&waived.why)));
            status
        }
        (None, true) => {
            let mut status = TestCaseStatus::skipped();
            status.set_message("on the list of known findings");
            status
        }
        (None, false) => {
            // What is not in the language keeps the design from being judged.
            let kind = if finding.is_language() { NonSuccessKind::Error } else { NonSuccessKind::Failure };
            let mut status = TestCaseStatus::non_success(kind);
            status.set_type(finding.severity.severity().word()).set_message(clean(&finding.message));
            status
        }
    };
    status.set_description(story(finding));
    status
}

/// Where it is, what would make it right, and the other places.
fn story(finding: &FindingEntry<'_>) -> String {
    let mut text = format!("{}: {}", finding.span, clean(&finding.message));
    if !finding.help.is_empty() {
        text += &format!("\ndo: {}", clean(&finding.help));
    }
    for figure in &finding.figures {
        text += &format!("\n    {}  {}", clean(&figure.value), clean(&figure.meaning));
    }
    for related in &finding.related {
        text += &format!("\n{}: {}: {}", related.span, clean(&related.subject), clean(&related.note));
    }
    text
}

/// Writes one suite, without the document around it: the counts of that would have to be known before the first suite,
/// and one of them is not in the published schema.
fn write_suite(suite: TestSuite, out: &mut dyn Write) -> Result<()> {
    let mut report = Report::new(env!("CARGO_PKG_NAME"));
    report.add_test_suite(suite);
    let text = report.to_string().map_err(Error::other)?;
    // In names and texts `<` is escaped.
    let from = text.find("<testsuite ").ok_or_else(|| Error::other("a suite without its element"))?;
    let to = text.rfind("</testsuites>").ok_or_else(|| Error::other("a report without its end"))?;
    let suite = text.get(from..to).unwrap_or_default().trim_end();
    writeln!(out, "    {suite}")
}
