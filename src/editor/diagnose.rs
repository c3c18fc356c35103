//! Judgements as editors take them: findings by file, in lines and columns.

use std::collections::BTreeMap;

use lsp_types::{
    Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, Location, NumberOrString, Range, Uri,
};
use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use crate::check::Judgement;
use crate::findings::{Finding, Severity};
use crate::text::{FileId, Sources, Span};

use super::files;
use super::text::{Encoding, Text};

/// What was found in one design, for an editor.
#[derive(Debug, Default)]
pub(super) struct Judged {
    /// What is shown, by the path of its file.
    pub(super) shown: BTreeMap<String, Vec<Diagnostic>>,
    /// Findings that nothing accepts, with the path and range of each.
    pub(super) findings: Vec<(String, Range, Finding)>,
    /// Every file that was read.
    pub(super) files: Vec<String>,
    /// Elements of the design.
    pub(super) n_elements: usize,
}

/// Files of a judgement with their lines, made when they are asked for.
struct Places<'j> {
    sources: &'j Sources,
    encoding: Encoding,
    texts: BTreeMap<FileId, Text>,
    uris: BTreeMap<String, Uri>,
}

impl Places<'_> {
    fn path(&self, file: FileId) -> String {
        self.sources.get(file).path().to_owned()
    }

    fn range(&mut self, span: Span) -> Range {
        let source = self.sources.get(span.file);
        let text =
            self.texts.entry(span.file).or_insert_with(|| Text::new(source.text().clone(), self.encoding));
        text.range(span)
    }

    fn uri(&mut self, file: FileId) -> Option<Uri> {
        let path = self.path(file);
        if !self.uris.contains_key(&path) {
            self.uris.insert(path.clone(), files::uri(&path)?);
        }
        self.uris.get(&path).cloned()
    }
}

/// Converts a judgement; `uris` are the addresses of open files, by path.
pub(super) fn judged(judgement: Judgement, encoding: Encoding, uris: BTreeMap<String, Uri>) -> Judged {
    let mut places = Places { sources: &judgement.sources, encoding, texts: BTreeMap::new(), uris };
    let mut judged = Judged { n_elements: judgement.n_elements, ..Judged::default() };
    judged.files = judgement.sources.iter().map(|source| source.path().to_owned()).collect();
    if let Some(why) = &judgement.unreadable {
        let diagnostic = Diagnostic {
            severity: Some(DiagnosticSeverity::ERROR),
            source: Some("ohmward".into()),
            message: format!("it cannot be judged: {why}"),
            ..Diagnostic::default()
        };
        judged.shown.entry(judgement.path.clone()).or_default().push(diagnostic);
    }
    for finding in judgement.findings.into_iter().filter(|finding| finding.waived.is_none()) {
        let path = places.path(finding.span.file);
        let diagnostic = diagnostic(&finding, &mut places);
        judged.findings.push((path.clone(), diagnostic.range, finding));
        judged.shown.entry(path).or_default().push(diagnostic);
    }
    judged
}

/// Each of them once, in their order: what is wrong with a library's words, it and each design that uses it say alike.
pub(super) fn each_once<'d>(all: impl Iterator<Item = &'d Diagnostic>) -> Vec<Diagnostic> {
    let mut found: Vec<Diagnostic> = Vec::new();
    let mut by_place: FxHashMap<[u32; 4], SmallVec<[usize; 1]>> = FxHashMap::default();
    for diagnostic in all {
        let Range { start, end } = diagnostic.range;
        let there = by_place.entry([start.line, start.character, end.line, end.character]).or_default();
        if !there.iter().any(|at| found.get(*at) == Some(diagnostic)) {
            there.push(found.len());
            found.push(diagnostic.clone());
        }
    }
    found
}

/// The headline stands alone in the first line, as many editors show no more.
fn diagnostic(finding: &Finding, places: &mut Places<'_>) -> Diagnostic {
    let mut message = finding.headline.clone();
    for (before, more) in [("", &finding.label), ("do: ", &finding.help)] {
        if !more.is_empty() {
            message.extend(["\n", before, more]);
        }
    }
    // The help ends with a colon where the figures are what it tells.
    if finding.help.ends_with(':') {
        for figure in &finding.figures {
            message.extend(["\n- ", &figure.value, " ", &figure.meaning]);
        }
    }
    let mut related = Vec::new();
    for row in &finding.related {
        if let Some(uri) = places.uri(row.span.file) {
            let location = Location { uri, range: places.range(row.span) };
            let message = format!("{}: {}", row.subject, row.note);
            related.push(DiagnosticRelatedInformation { location, message });
        }
    }
    Diagnostic {
        range: places.range(finding.span),
        severity: Some(match finding.severity {
            Severity::Error => DiagnosticSeverity::ERROR,
            Severity::Warning => DiagnosticSeverity::WARNING,
            Severity::Advice => DiagnosticSeverity::INFORMATION,
        }),
        code: Some(NumberOrString::String(finding.rule.clone().into_owned())),
        code_description: None,
        source: Some("ohmward".into()),
        message,
        related_information: (!related.is_empty()).then_some(related),
        tags: None,
        data: None,
    }
}
