//! Quick fixes are tried before they are offered: one that trades a finding for an error is none.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use lsp_types::{TextDocumentContentChangeEvent, TextEdit};

use crate::check::Judgement;
use crate::design::Memory;
use crate::findings::Severity;

use super::later::Moment;
use super::server::Server;

/// Most work of trying for one request, in elements: beyond it fixes are offered as they are.
const MOST_WORK: usize = 100_000;

/// Errors of a design, by rule and subject.
type Errors = BTreeSet<(String, String)>;

/// What was tried for one request.
#[derive(Default)]
pub(super) struct Tried {
    designs: BTreeMap<String, (Errors, Memory)>,
    work: usize,
}

impl Tried {
    /// Whether a design has no error after the edits of a file that it has not before.
    pub(super) fn holds(&mut self, server: &Server, design: &str, path: &str, edits: &[TextEdit]) -> bool {
        let size = server.n_elements(design).max(1);
        if MOST_WORK < self.work + size {
            return true;
        }
        self.work += size;
        let moment = server.moment(design);
        let (before, memory) = self.designs.entry(design.to_owned()).or_insert_with(|| {
            let mut memory = Memory::default();
            let (judgement, _) = moment.judge(&*server.world, false, &mut memory);
            (errors(&judgement), memory)
        });
        let mut text = (*server.text_of(path)).clone();
        let mut edits = edits.to_vec();
        // From the last on, so that the places of those before stay.
        edits.sort_by_key(|edit| edit.range.start);
        for edit in edits.into_iter().rev() {
            let change = TextDocumentContentChangeEvent {
                range: Some(edit.range),
                range_length: None,
                text: edit.new_text,
            };
            text = text.changed(change);
        }
        let mut texts = (*moment.texts).clone();
        texts.insert(path.to_owned(), Arc::new(text));
        let after = Moment { texts: Arc::new(texts), ..moment };
        let (judgement, _) = after.judge(&*server.world, false, memory);
        errors(&judgement).is_subset(before)
    }
}

fn errors(judgement: &Judgement) -> Errors {
    let all = judgement.findings.iter();
    let errors = all.filter(|finding| finding.waived.is_none() && finding.severity == Severity::Error);
    errors.map(|finding| (finding.rule.to_string(), finding.subject.clone())).collect()
}
