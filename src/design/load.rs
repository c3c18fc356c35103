//! From a path to a design: the file, the libraries that it uses, and everything that is wrong with their words.

use crate::findings::Finding;
use crate::syntax::{Problems, tree::Node};
use crate::text::{Files, Source, Sources, Span};

use super::files::read_uses;
use super::libraries::Before;
use super::model::Design;
use super::resolve::resolve;

/// How a design is loaded.
#[derive(Debug, Clone)]
pub struct LoadOptions {
    /// Most elements that it may grow to by its kits.
    pub most_elements: usize,
}

impl Default for LoadOptions {
    fn default() -> Self {
        Self { most_elements: 1_000_000 }
    }
}

/// What came of loading one file.
#[derive(Debug, Clone, Default)]
pub struct Loaded {
    /// The texts that problems and places point into; the file itself is the first.
    pub sources: Sources,
    /// The design; `None` for a library, and where the language has errors.
    pub design: Option<Design>,
    /// The design's or library's name, where it could be read.
    pub name: Option<String>,
    /// The book that the design names, with its place, whatever else is wrong.
    pub book: Option<(String, Span)>,
    /// What is wrong with the language, in order of file and place.
    pub problems: Vec<Finding>,
    /// The file is a library.
    pub library: bool,
    /// Why the file could not be read as text at all.
    pub unreadable: Option<String>,
}

/// Loads one file with the libraries that it uses.
#[must_use]
pub fn load(path: &str, files: &dyn Files, options: &LoadOptions) -> Loaded {
    load_again(path, files, options, Before::Nothing)
}

/// The same; what was read before is not read again.
#[must_use]
pub fn load_again(path: &str, files: &dyn Files, options: &LoadOptions, mut before: Before<'_>) -> Loaded {
    let mut loaded = Loaded::default();
    let source = match files.text(path) {
        Ok(source) => source,
        Err(why) => {
            loaded.sources.add(Source::new(path, ""));
            loaded.unreadable = Some(why);
            return loaded;
        }
    };
    let mut problems = Problems::default();
    let file = loaded.sources.add(source);
    let tree = before.design(file, loaded.sources.get(file), &mut problems);
    for statement in &tree.statements {
        let slice = |span| loaded.sources.slice(span);
        match &statement.node {
            Node::Design { .. } | Node::Library if loaded.name.is_none() => {
                loaded.name = statement.name.map(|span| slice(span).to_owned());
            }
            Node::Book { name, span } if loaded.book.is_none() => loaded.book = Some((name.clone(), *span)),
            _ => {}
        }
    }
    loaded.library = tree.library;
    let all = read_uses(path, tree, files, &mut loaded.sources, &mut problems, before);
    // A file that was given up has not declared all its names, so nothing can be said of those that are used.
    let given_up = all.iter().any(|file| problems.given_up(file.tree.file));
    let design = if given_up {
        Design::default()
    } else {
        resolve(&all, &loaded.sources, options.most_elements, &mut problems)
    };
    if problems.is_empty() && !loaded.library {
        loaded.design = Some(design);
    }
    loaded.problems = problems.finish(&loaded.sources);
    loaded
}
