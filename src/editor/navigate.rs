//! From a name to where it is declared and to every place where it is used.

use std::collections::BTreeSet;

use lsp_types::{GotoDefinitionParams, Location, ReferenceParams};

use crate::design::{NameClass, Outline, Used};
use crate::text::{FileId, Span};

use super::server::Server;

/// A place by its path, in bytes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Spot {
    pub(super) path: String,
    pub(super) start: u32,
    pub(super) end: u32,
}

impl Spot {
    pub(super) fn of(outline: &Outline, span: Span) -> Self {
        Self { path: outline.sources.get(span.file).path().to_owned(), start: span.start, end: span.end }
    }

    pub(super) fn span(&self) -> Span {
        Span { file: FileId(0), start: self.start, end: self.end }
    }
}

/// The use of a name at a byte of an outline's own file, its terminal included.
pub(super) fn used(outline: &Outline, offset: u32) -> Option<Used> {
    let on_terminal = |used: &&Used| {
        used.terminal.is_some_and(|span| span.file == FileId(0) && span.start <= offset && offset <= span.end)
    };
    let named = outline.at(FileId(0), offset).copied();
    named.or_else(|| outline.uses.iter().find(on_terminal).copied())
}

/// Where the name, library or book at a place is declared.
pub(super) fn definition(server: &mut Server, params: &GotoDefinitionParams) -> Option<Location> {
    let at = &params.text_document_position_params;
    let (_, outline, offset) = server.place(&at.text_document.uri, at.position);
    if let Some(used) = used(&outline, offset) {
        return location(server, &outline, outline.names.get(used.name)?.span);
    }
    let on = |row: &&(Span, FileId)| row.0.file == FileId(0) && row.0.start <= offset && offset <= row.0.end;
    let library = outline.libraries.iter().find(on)?.1;
    location(server, &outline, Span { file: library, start: 0, end: 0 })
}

fn location(server: &Server, outline: &Outline, span: Span) -> Option<Location> {
    let uri = server.uri(outline.sources.get(span.file).path())?;
    Some(Location { uri, range: server.text(outline, span.file).range(span) })
}

/// Every place where the name at a place is used.
pub(super) fn references(server: &mut Server, params: &ReferenceParams) -> Option<Vec<Location>> {
    let at = &params.text_document_position;
    let (_, outline, offset) = server.place(&at.text_document.uri, at.position);
    let used = used(&outline, offset)?;
    let declared = Spot::of(&outline, outline.names.get(used.name)?.span);
    let mut found = Vec::new();
    for spot in uses(server, &outline, used.name) {
        if spot == declared && !params.context.include_declaration {
            continue;
        }
        let uri = server.uri(&spot.path)?;
        found.push(Location { uri, range: server.text_of(&spot.path).range(spot.span()) });
    }
    Some(found)
}

/// Every use of a name: in its own file, and of a part or kit in every file that may use its library.
pub(super) fn uses(server: &mut Server, outline: &Outline, name: usize) -> BTreeSet<Spot> {
    let mut found = BTreeSet::new();
    let Some(named) = outline.names.get(name) else { return found };
    let declared = Spot::of(outline, named.span);
    collect(outline, &declared, &mut found);
    for user in users(server, &declared.path, &named.name, named.class) {
        let outline = server.outline(&user);
        collect(&outline, &declared, &mut found);
    }
    found
}

/// Files in which a name of one file may be used.
pub(super) fn users(server: &Server, path: &str, name: &str, class: NameClass) -> Vec<String> {
    // What stands in a kit is named from outside too, through its fits.
    let mut users = server.users(path);
    users.insert(path.to_owned());
    let mentions = |path: &String| {
        let text = server.text_of(path).text.clone();
        text.contains("use") && (class == NameClass::Unknown || text.contains(name))
    };
    users.into_iter().filter(|user| user != path && mentions(user)).collect()
}

fn collect(outline: &Outline, declared: &Spot, found: &mut BTreeSet<Spot>) {
    let is_it = |used: &&Used| {
        outline.names.get(used.name).is_some_and(|named| {
            named.span.start == declared.start && Spot::of(outline, named.span) == *declared
        })
    };
    found.extend(outline.uses.iter().filter(is_it).map(|used| Spot::of(outline, used.span)));
}
