//! New names: valid, free wherever the old one can be seen, and written in every file that uses it.

use std::collections::{BTreeMap, HashMap};

use lsp_types::{
    DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier, PrepareRenameResponse, RenameParams,
    TextDocumentEdit, TextDocumentPositionParams, TextEdit, WorkspaceEdit,
};

use crate::design::{NameClass, Outline};
use crate::syntax::words;
use crate::text::FileId;

use super::navigate::{Spot, used, users, uses};
use super::server::{Refusal, Server};

/// Whether there is a name at a place, and which.
pub(super) fn prepare(
    server: &mut Server,
    params: &TextDocumentPositionParams,
) -> Result<Option<PrepareRenameResponse>, Refusal> {
    let (_, outline, offset) = server.place(&params.text_document.uri, params.position);
    let Some(used) = outline.at(FileId(0), offset) else { return Ok(None) };
    let range = server.text(&outline, FileId(0)).range(used.span);
    let placeholder = outline.sources.slice(used.span).to_owned();
    Ok(Some(PrepareRenameResponse::RangeWithPlaceholder { range, placeholder }))
}

/// The edits that give the name at a place another.
pub(super) fn rename(server: &mut Server, params: &RenameParams) -> Result<Option<WorkspaceEdit>, Refusal> {
    let at = &params.text_document_position;
    let (_, outline, offset) = server.place(&at.text_document.uri, at.position);
    if outline.at(FileId(0), offset).is_none() && used(&outline, offset).is_some() {
        return Err(Refusal::new(
            "a terminal has the name that its kind gives it; place the cursor on the name before the point",
        ));
    }
    let Some(used) = outline.at(FileId(0), offset).copied() else {
        return Err(Refusal::new("no name stands here"));
    };
    let Some(named) = outline.names.get(used.name) else { return Ok(None) };
    let new = params.new_name.strip_prefix('$').unwrap_or(&params.new_name);
    suits(new)?;
    if new == named.name {
        return Ok(Some(WorkspaceEdit::default()));
    }
    is_free(&outline, used.name, new)?;
    let declared = Spot::of(&outline, named.span);
    for user in users(server, &declared.path, &named.name, named.class) {
        let other = server.outline(&user);
        let same = other
            .names
            .iter()
            .position(|one| one.span.start == declared.start && Spot::of(&other, one.span) == declared);
        if let Some(name) = same {
            is_free(&other, name, new)?;
        }
    }
    let spots = uses(server, &outline, used.name);
    Ok(Some(edit(server, spots, new)))
}

fn suits(name: &str) -> Result<(), Refusal> {
    let mut bytes = name.bytes();
    let is_name = bytes.next().is_some_and(|byte| byte.is_ascii_alphabetic())
        && bytes.all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_'));
    if !is_name {
        let why =
            format!("`{name}` is not a name: a name is a letter of a to z, then letters, digits, `-` or `_`");
        return Err(Refusal::new(why));
    }
    if words::is_reserved(name) {
        return Err(Refusal::new(format!("`{name}` is a word of the language, and so no name")));
    }
    Ok(())
}

/// Whether a name is free in every scope that can see the old one.
fn is_free(outline: &Outline, name: usize, new: &str) -> Result<(), Refusal> {
    let Some(named) = outline.names.get(name) else { return Ok(()) };
    for scope in &outline.scopes {
        let visible = match named.class {
            NameClass::Parameter => &scope.parameters,
            _ => &scope.names,
        };
        let taken = |at: &&usize| outline.names.get(**at).is_some_and(|other| other.name == new);
        if !visible.contains(&name) {
            continue;
        }
        if let Some(other) = visible.iter().find(taken).and_then(|at| outline.names.get(*at)) {
            let source = outline.sources.get(other.span.file);
            let line = source.line_column(other.span.start).line;
            let why = format!("`{new}` is taken: line {line} of {} declares it", source.path());
            return Err(Refusal::new(why));
        }
    }
    Ok(())
}

fn edit(server: &Server, spots: impl IntoIterator<Item = Spot>, new: &str) -> WorkspaceEdit {
    let mut edits: BTreeMap<String, Vec<TextEdit>> = BTreeMap::new();
    for spot in spots {
        let range = server.text_of(&spot.path).range(spot.span());
        edits.entry(spot.path).or_default().push(TextEdit { range, new_text: new.to_owned() });
    }
    workspace_edit(server, edits)
}

/// Edits by path, in the form that the client takes.
#[allow(clippy::mutable_key_type, reason = "an address hashes by its text alone")]
pub(super) fn workspace_edit(server: &Server, edits: BTreeMap<String, Vec<TextEdit>>) -> WorkspaceEdit {
    let workspace = server.client().workspace.as_ref();
    let versioned = workspace.and_then(|workspace| workspace.workspace_edit.as_ref());
    if versioned.and_then(|row| row.document_changes) == Some(true) {
        let documents = edits.into_iter().filter_map(|(path, edits)| {
            let text_document = OptionalVersionedTextDocumentIdentifier {
                uri: server.uri(&path)?,
                version: server.version(&path),
            };
            Some(TextDocumentEdit { text_document, edits: edits.into_iter().map(OneOf::Left).collect() })
        });
        let changes = DocumentChanges::Edits(documents.collect());
        return WorkspaceEdit { document_changes: Some(changes), ..WorkspaceEdit::default() };
    }
    let changes: HashMap<_, _> =
        edits.into_iter().filter_map(|(path, edits)| Some((server.uri(&path)?, edits))).collect();
    WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() }
}
