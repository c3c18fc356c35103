//! Which names there are: of each file with what it uses, and of each kit by itself.

use rustc_hash::FxHashMap;

use crate::findings::{Finding, Severity};
use crate::syntax::tree::{Class, Node, Statement};
use crate::syntax::{Problems, id};
use crate::text::{Sources, Span};

use super::files::File;

/// A statement of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct At {
    pub(super) file: usize,
    pub(super) statement: usize,
}

/// The statements of a file or a kit, with the names that they declare.
#[derive(Debug)]
pub(super) struct Body<'a> {
    pub(super) file: usize,
    /// First statement and the one after the last.
    pub(super) first: usize,
    pub(super) end: usize,
    /// The kit's own statement.
    pub(super) kit: Option<usize>,
    names: FxHashMap<&'a str, usize>,
    order: Vec<&'a str>,
}

impl<'a> Body<'a> {
    /// The statement that declares a name here.
    pub(super) fn find(&self, name: &str) -> Option<usize> {
        self.names.get(name).copied()
    }

    /// Every name that is declared here, in order.
    pub(super) fn names(&self) -> impl Iterator<Item = &'a str> {
        self.order.iter().copied()
    }

    /// Its statements, without those inside their blocks.
    pub(super) fn statements<'t>(
        &self,
        files: &'t [File],
    ) -> impl Iterator<Item = (usize, &'t Statement)> + use<'t> {
        let all = files.get(self.file).map_or(&[][..], |file| &file.tree.statements);
        level(all, self.first, self.end)
    }
}

/// The statements from `first` up to `end`, without those inside their blocks.
pub(super) fn level(
    all: &[Statement],
    first: usize,
    end: usize,
) -> impl Iterator<Item = (usize, &Statement)> {
    let mut at = first;
    std::iter::from_fn(move || {
        if at >= end {
            return None;
        }
        let statement = all.get(at)?;
        let index = at;
        at = statement.end.max(at + 1);
        Some((index, statement))
    })
}

/// A statement's place as a range of its block.
pub(super) fn block(index: usize, statement: &Statement) -> (usize, usize) {
    (index + 1, statement.end)
}

/// Collects the names of some statements, and tells of those that are declared twice.
pub(super) fn body<'a>(
    files: &'a [File],
    sources: &'a Sources,
    (file, first, end): (usize, usize, usize),
    kit: Option<usize>,
    problems: &mut Problems,
) -> Body<'a> {
    let mut body = Body { file, first, end, kit, names: FxHashMap::default(), order: Vec::new() };
    let all = files.get(file).map_or(&[][..], |file| &file.tree.statements);
    body.names.reserve(end - first);
    for (index, statement) in level(all, first, end) {
        let Some(span) = statement.name else { continue };
        if matches!(statement.node, Node::Design { .. } | Node::Library) {
            continue;
        }
        let name = sources.slice(span);
        if let Some(before) = body.names.get(name) {
            let first = all.get(*before).and_then(|one| one.name).unwrap_or(span);
            // A broken statement may not have meant to declare anything.
            if statement.class != Class::Unknown {
                twice(problems, name, span, first);
            }
            continue;
        }
        body.names.insert(name, index);
        body.order.push(name);
    }
    body
}

fn twice(problems: &mut Problems, name: &str, span: Span, first: Span) {
    problems.add(id::NAME, span, |_| {
        Finding::new(id::NAME, Severity::Error, name, span)
            .headline(format!("`{name}` is declared twice"))
            .label("the second time")
            .related(name, first, "the first time")
            .help("give one of them another name")
    });
}

/// The parts and kits that a file gets from the libraries that it uses, and those that they use.
pub(super) fn imports<'a>(
    files: &'a [File],
    bodies: &[Body<'a>],
    file: usize,
    problems: &mut Problems,
) -> FxHashMap<&'a str, At> {
    let mut names: FxHashMap<&'a str, At> = FxHashMap::default();
    let mut seen = vec![false; files.len()];
    seen[file] = true;
    let mut next: Vec<(usize, Span)> = files[file].uses.iter().rev().copied().collect();
    while let Some((used, by)) = next.pop() {
        if std::mem::replace(&mut seen[used], true) {
            continue;
        }
        let (Some(body), Some(tree)) = (bodies.get(used), files.get(used)) else { continue };
        for name in body.names() {
            let Some(statement) = body.find(name) else { continue };
            let Some(span) = tree.tree.statements.get(statement).and_then(|one| one.name) else { continue };
            if let Some(own) = bodies.get(file).and_then(|body| body.find(name)) {
                let own = files[file].tree.statements.get(own).and_then(|one| one.name).unwrap_or(by);
                twice(problems, name, own, span);
            } else if let Some(other) = names.get(name) {
                let first = files[other.file].tree.statements.get(other.statement).and_then(|one| one.name);
                problems.add(id::NAME, by, |_| {
                    Finding::new(id::NAME, Severity::Error, name, by)
                        .headline(format!("two libraries declare `{name}`"))
                        .label("brings in the second")
                        .related(name, first.unwrap_or(span), "the first")
                        .related(name, span, "the second")
                        .help("give one of them another name, or use one of the libraries only")
                });
            } else {
                names.insert(name, At { file: used, statement });
            }
        }
        next.extend(files[used].uses.iter().rev().map(|row| (row.0, by)));
    }
    names
}
