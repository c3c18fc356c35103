//! The names of a file as a tree, and what of it can be folded.

use lsp_types::{
    DocumentSymbol, DocumentSymbolParams, DocumentSymbolResponse, FoldingRange, FoldingRangeKind,
    FoldingRangeParams, Location, Position, SymbolInformation, SymbolKind,
};

use crate::design::{NameClass, Named};
use crate::syntax::lines::cut;
use crate::text::{FileId, Span};

use super::server::Server;
use super::text::Text;

const FILE: FileId = FileId(0);

/// The names that a file declares; those of a kit inside it.
pub(super) fn symbols(server: &mut Server, params: &DocumentSymbolParams) -> Option<DocumentSymbolResponse> {
    let uri = &params.text_document.uri;
    let (_, outline, _) = server.place(uri, Position::default());
    let text = server.text(&outline, FILE);
    let of_kit = |kit: Option<usize>| -> Vec<(usize, &Named)> {
        let own = |named: &Named| {
            let scope = outline.scopes.get(named.scope);
            named.span.file == FILE
                && named.class != NameClass::Parameter
                && scope.is_some_and(|scope| scope.kit == kit)
        };
        outline.names.iter().enumerate().filter(|row| own(row.1)).collect()
    };
    let mut all: Vec<DocumentSymbol> = Vec::new();
    for (at, named) in of_kit(None) {
        let inside: Vec<DocumentSymbol> = match named.class {
            NameClass::Kit => of_kit(Some(at)).iter().map(|row| symbol(row.1, &text, None)).collect(),
            _ => Vec::new(),
        };
        all.push(symbol(named, &text, (!inside.is_empty()).then_some(inside)));
    }
    let document = server.client().text_document.as_ref().and_then(|row| row.document_symbol.as_ref());
    if document.and_then(|row| row.hierarchical_document_symbol_support) == Some(true) {
        return Some(DocumentSymbolResponse::Nested(all));
    }
    let mut flat = Vec::new();
    for mut symbol in all {
        let inside = symbol.children.take();
        let kit = inside.is_some().then(|| symbol.name.clone());
        flat.push(information(symbol, uri, None));
        flat.extend(inside.into_iter().flatten().map(|row| information(row, uri, kit.clone())));
    }
    Some(DocumentSymbolResponse::Flat(flat))
}

#[expect(deprecated, reason = "the protocol's own type has the field")]
fn symbol(named: &Named, text: &Text, children: Option<Vec<DocumentSymbol>>) -> DocumentSymbol {
    let word = named.words.map_or("", |words| words.word);
    let detail = match (word, &named.title) {
        ("", None) => None,
        ("", Some(title)) => Some(title.clone()),
        (word, None) => Some(word.to_owned()),
        (word, Some(title)) => Some(format!("{word}: {title}")),
    };
    DocumentSymbol {
        name: named.name.clone(),
        detail,
        kind: kind(named.class),
        tags: None,
        deprecated: None,
        range: text.range(named.whole),
        selection_range: text.range(named.span),
        children,
    }
}

#[expect(deprecated, reason = "the protocol's own type has the field")]
fn information(symbol: DocumentSymbol, uri: &lsp_types::Uri, container: Option<String>) -> SymbolInformation {
    SymbolInformation {
        name: symbol.name,
        kind: symbol.kind,
        tags: None,
        deprecated: None,
        location: Location { uri: uri.clone(), range: symbol.range },
        container_name: container,
    }
}

fn kind(class: NameClass) -> SymbolKind {
    match class {
        NameClass::Head => SymbolKind::MODULE,
        NameClass::Component => SymbolKind::OBJECT,
        NameClass::Wire | NameClass::Data => SymbolKind::FIELD,
        NameClass::Bundle => SymbolKind::ARRAY,
        NameClass::Zone => SymbolKind::NAMESPACE,
        NameClass::Mode => SymbolKind::EVENT,
        NameClass::Part => SymbolKind::STRUCT,
        NameClass::Kit => SymbolKind::CLASS,
        NameClass::Fit => SymbolKind::CONSTRUCTOR,
        NameClass::Parameter => SymbolKind::TYPE_PARAMETER,
        NameClass::Unknown => SymbolKind::NULL,
    }
}

/// Blocks, and comments of several lines.
pub(super) fn folds(server: &mut Server, params: &FoldingRangeParams) -> Option<Vec<FoldingRange>> {
    let (_, outline, _) = server.place(&params.text_document.uri, Position::default());
    let text = server.text(&outline, FILE);
    let mut folds = Vec::new();
    for block in outline.blocks.iter().filter(|block| block.file == FILE) {
        // The line of the `}` stays in sight.
        let closes = text.text.get(..block.end as usize).is_some_and(|before| before.ends_with('}'));
        folds.extend(fold(&text, *block, None, u32::from(closes)));
    }
    let mut run: Option<Span> = None;
    for line in cut(FILE, &text.text) {
        match line.comment.filter(|_| line.code.is_empty()) {
            Some(comment) => run = Some(run.map_or(comment, |run| run.to(comment))),
            None => {
                folds.extend(run.take().and_then(|run| fold(&text, run, Some(FoldingRangeKind::Comment), 0)))
            }
        }
    }
    folds.extend(run.and_then(|run| fold(&text, run, Some(FoldingRangeKind::Comment), 0)));
    folds.sort_by_key(|fold| (fold.start_line, fold.end_line));
    Some(folds)
}

fn fold(text: &Text, span: Span, kind: Option<FoldingRangeKind>, less: u32) -> Option<FoldingRange> {
    let (start, end) = (text.position(span.start as usize).line, text.position(span.end as usize).line);
    let end = end.saturating_sub(less);
    (start < end).then(|| FoldingRange { start_line: start, end_line: end, kind, ..FoldingRange::default() })
}
