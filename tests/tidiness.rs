//! Which layer may import which. Reads the source, so that an edge which is not allowed fails a test.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A layer: a folder below `src/`, or a file of its own.
#[derive(Debug)]
pub(crate) struct Layer {
    /// Its name.
    pub(crate) folder: &'static str,
    /// The layers that it may import; `check: Flow` stands for that name of the layer alone.
    pub(crate) may: &'static [&'static str],
    /// What it must not know.
    pub(crate) not: &'static str,
}

/// Every layer, each after those that it builds on.
pub(crate) const LAYERS: &[Layer] = &[
    Layer { folder: "text", may: &[], not: "the language, the disk" },
    Layer { folder: "units", may: &[], not: "the language, where a figure was written" },
    Layer { folder: "findings", may: &["text"], not: "rules, how findings are written down" },
    Layer { folder: "syntax", may: &["text", "units", "findings"], not: "what a name stands for" },
    Layer {
        folder: "design",
        may: &["text", "units", "findings", "syntax"],
        not: "anything electrical, any book",
    },
    Layer {
        folder: "book",
        may: &["text", "units", "findings", "syntax: words", "design"],
        not: "circuits, rules but for their ids",
    },
    Layer {
        folder: "circuit",
        may: &["units", "design", "book", "check: Flow", "check: Role"],
        not: "the text, findings, words for people",
    },
    Layer { folder: "study", may: &["units", "design", "book", "circuit"], not: "the text, findings, rules" },
    Layer {
        folder: "rules",
        may: &[
            "text",
            "units",
            "findings",
            "design",
            "book",
            "circuit",
            "study",
            "syntax: words",
            "check: Flow",
            "check: Role",
            "check: StretchEvidence",
            "check: WireEvidence",
        ],
        not: "the tree of the syntax, any form of output",
    },
    Layer {
        folder: "check",
        may: &["text", "units", "findings", "design", "book", "circuit", "study", "rules"],
        not: "the disk, any form of output",
    },
    Layer {
        folder: "kept",
        may: &["text", "findings", "design: Date", "check"],
        not: "the disk, circuits, any form of output",
    },
    Layer {
        folder: "compare",
        may: &["text", "units", "findings", "design", "check: Judgement"],
        not: "circuits, books, rules, any form of output",
    },
    Layer {
        folder: "tidy",
        may: &["text", "findings", "syntax", "design"],
        not: "where columns stand, anything electrical, the disk",
    },
    Layer {
        folder: "trial",
        may: &["text", "findings", "design", "book", "check"],
        not: "circuits, how a rule judges",
    },
    Layer {
        folder: "render",
        may: &["text", "units", "findings", "design: Date", "book", "study", "rules", "check", "compare"],
        not: "designs, circuits, how a rule judges",
    },
    Layer {
        folder: "editor",
        may: &["text", "units", "findings", "syntax", "design", "book", "study", "rules", "check", "tidy"],
        not: "the disk, circuits, how a rule judges",
    },
    Layer {
        folder: "commands",
        may: &[
            "text", "findings", "syntax", "design", "book", "study", "check", "kept", "compare", "trial",
            "tidy", "render", "editor",
        ],
        not: "circuits, how a rule judges",
    },
];

/// The sources of a layer, without its tests.
fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder of the source") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") && !path.ends_with("tests.rs") {
            found.push(path);
        }
    }
}

/// What a source takes from the crate's layers, each with the name that is taken.
fn taken(text: &str, root: &str) -> Vec<(String, String)> {
    let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or(text);
    let code: String =
        code.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
    let mut all = Vec::new();
    for (at, _) in code.match_indices(root) {
        // `pub(crate::…)` and longer paths that only end so are none.
        let before = code[..at].chars().next_back().unwrap_or(' ');
        if before.is_alphanumeric() || before == '_' || before == ':' {
            continue;
        }
        let rest = &code[at + root.len()..];
        let word = |text: &str| {
            text.split(|one: char| !one.is_alphanumeric() && one != '_').next().unwrap_or("").to_owned()
        };
        let layer = word(rest);
        let after = rest[layer.len()..].trim_start_matches(':');
        let names = match after.strip_prefix('{') {
            Some(list) => {
                list.split('}').next().unwrap_or("").split(',').map(|one| word(one.trim())).collect()
            }
            None => vec![word(after)],
        };
        all.extend(names.into_iter().filter(|name| !name.is_empty()).map(|name| (layer.clone(), name)));
    }
    all
}

#[test]
fn layers_import_only_what_they_may() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = String::new();
    let mut edges: BTreeMap<(&str, String), usize> = BTreeMap::new();
    for layer in LAYERS {
        let (mut files, folder) = (Vec::new(), source.join(layer.folder));
        match folder.is_dir() {
            true => sources(&folder, &mut files),
            false => files.push(folder.with_extension("rs")),
        }
        // The commands are part of the binary, which sees the library from outside.
        let root = if layer.folder == "commands" { "ohmward::" } else { "crate::" };
        for file in files {
            let text = fs::read_to_string(&file).expect("a source in UTF-8").replace("\r\n", "\n");
            for (to, name) in taken(&text, root) {
                let one = format!("{to}: {name}");
                let may = to == layer.folder || layer.may.iter().any(|may| *may == to || *may == one);
                if !may {
                    wrong += &format!(
                        "{}: {root}{to}::{name}\n",
                        file.strip_prefix(&source).unwrap_or(&file).display()
                    );
                }
                *edges.entry((layer.folder, to)).or_default() += 1;
            }
        }
    }
    assert!(wrong.is_empty(), "edges between layers that are not allowed:\n{wrong}");
    for layer in LAYERS {
        for may in layer.may {
            let to = may.split(':').next().unwrap_or(may).to_owned();
            assert!(
                edges.contains_key(&(layer.folder, to)),
                "{} does not import {may}: take it off the list",
                layer.folder
            );
        }
    }
}

#[test]
fn every_folder_is_a_layer() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for entry in fs::read_dir(source).expect("the source") {
        let path = entry.expect("an entry").path();
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let known = LAYERS.iter().any(|layer| layer.folder == name) || name == "lib" || name == "main";
        assert!(known, "src/{name} is no layer in tests/tidiness.rs");
    }
}
