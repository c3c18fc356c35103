//! The files of one design: its own and the libraries that it uses, each read once, circles refused.

use std::sync::Arc;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::findings::{Finding, Severity};
use crate::syntax::tree::{Node, Tree};
use crate::syntax::{Problems, clip, id, plain};
use crate::text::{Files, Sources, Span};

use super::libraries::Before;

/// Most files that one design may use.
const MOST_FILES: usize = 1000;

/// One file with the libraries that it uses.
#[derive(Debug)]
pub(super) struct File {
    pub(super) tree: Arc<Tree>,
    /// Libraries, by their place in the list of files, with the path in the `use`.
    pub(super) uses: Vec<(usize, Span)>,
    /// It, or a library that it uses, uses one that cannot be used: what it lacks may be declared there.
    pub(super) incomplete: bool,
}

/// What a `use` leads to.
enum Used {
    File(usize),
    No(String),
}

/// Reads the libraries that a file uses, and those that they use, the first file first.
pub(super) fn read_uses(
    path: &str,
    tree: Tree,
    files: &dyn Files,
    sources: &mut Sources,
    problems: &mut Problems,
    mut before: Before<'_>,
) -> Vec<File> {
    let mut all = vec![File { tree: Arc::new(tree), uses: Vec::new(), incomplete: false }];
    let mut paths = vec![path.to_owned()];
    let mut known: FxHashMap<String, usize> = FxHashMap::default();
    known.insert(path.to_owned(), 0);
    // Breadth first, so that no depth of uses can exhaust the stack; circles are found afterwards.
    let mut at = 0;
    while at < all.len() {
        let written: Vec<Span> = all[at]
            .tree
            .statements
            .iter()
            .filter_map(|one| match one.node {
                Node::Use { path } => Some(path),
                _ => None,
            })
            .collect();
        for span in written {
            let relative = plain(sources.slice(span));
            let used = match files.locate(&paths[at], &relative) {
                Err(error) => Used::No(error.to_string()),
                Ok(found) => match known.get(&found) {
                    Some(index) => Used::File(*index),
                    None if all.len() >= MOST_FILES => {
                        Used::No(format!("a design has at most {MOST_FILES} files"))
                    }
                    None => match files.text(&found) {
                        Err(why) => Used::No(why),
                        Ok(source) => {
                            let file = sources.add(source);
                            let source = sources.get(file);
                            let tree = before.library(file, source, problems);
                            known.insert(found.clone(), all.len());
                            paths.push(found);
                            all.push(File { tree, uses: Vec::new(), incomplete: false });
                            Used::File(all.len() - 1)
                        }
                    },
                },
            };
            match used {
                Used::File(0) if at == 0 => {
                    tell(problems, sources, span, "a file uses itself", "take it out")
                }
                Used::File(index) if !all[index].tree.library && index != 0 => {
                    all[at].incomplete = true;
                    let help = "a file that is used begins with `library NAME \"title\"`";
                    tell(problems, sources, span, &format!("`{relative}` is not a library"), help);
                }
                Used::File(index) => all[at].uses.push((index, span)),
                Used::No(why) => {
                    all[at].incomplete = true;
                    let headline = format!("`{}` cannot be used: {why}", clip(&relative));
                    let help = "`use` takes the path of a library, relative to the file that it stands in";
                    tell(problems, sources, span, &headline, help);
                }
            }
        }
        at += 1;
    }
    refuse_circles(&mut all, &paths, sources, problems);
    hand_on(&mut all);
    all
}

/// What is missing from a library is missing from each file that uses it.
fn hand_on(all: &mut [File]) {
    let mut users: Vec<Vec<usize>> = vec![Vec::new(); all.len()];
    for (user, file) in all.iter().enumerate() {
        for (used, _) in &file.uses {
            users[*used].push(user);
        }
    }
    let mut next: Vec<usize> = (0..all.len()).filter(|at| all[*at].incomplete).collect();
    while let Some(at) = next.pop() {
        for user in &users[at] {
            if !std::mem::replace(&mut all[*user].incomplete, true) {
                next.push(*user);
            }
        }
    }
}

fn tell(problems: &mut Problems, sources: &Sources, span: Span, headline: &str, help: &str) {
    problems.add(id::USE, span, |_| {
        let line = sources.get(span.file).line_column(span.start).line;
        Finding::new(id::USE, Severity::Error, format!("line:{line}"), span)
            .headline(headline)
            .label("used here")
            .help(help)
    });
}

/// Takes out each `use` that closes a circle, and tells of it.
fn refuse_circles(all: &mut [File], paths: &[String], sources: &Sources, problems: &mut Problems) {
    #[derive(Clone, Copy, PartialEq)]
    enum Seen {
        No,
        Open,
        Done,
    }
    let mut seen = vec![Seen::No; all.len()];
    let mut way: Vec<(usize, usize)> = vec![(0, 0)];
    seen[0] = Seen::Open;
    let mut closing = FxHashSet::default();
    while let Some((file, next)) = way.last_mut() {
        let Some(&(used, span)) = all[*file].uses.get(*next) else {
            seen[*file] = Seen::Done;
            way.pop();
            continue;
        };
        *next += 1;
        match seen[used] {
            Seen::Done => {}
            Seen::No => {
                seen[used] = Seen::Open;
                way.push((used, 0));
            }
            Seen::Open => {
                let from = way.iter().position(|step| step.0 == used).unwrap_or(0);
                let mut chain: Vec<&str> = way[from..].iter().map(|step| paths[step.0].as_str()).collect();
                chain.push(&paths[used]);
                tell(problems, sources, span, "libraries use each other in a circle", &chain.join(" → "));
                closing.insert(span);
            }
        }
    }
    for file in all {
        let n_uses = file.uses.len();
        file.uses.retain(|row| !closing.contains(&row.1));
        file.incomplete |= file.uses.len() < n_uses;
    }
}
