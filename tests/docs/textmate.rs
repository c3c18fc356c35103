//! The grammar by which editors colour designs, in the form of TextMate: generated from the spelling table.

use ohmward::syntax::words::{self, BareForm, Form};
use serde_json::{Value, json};

use super::pages::held;

const PATH: &str = "grammar/loom.tmLanguage.json";

/// One of some words, the longest first, where no longer word is meant.
fn one_of<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    let mut words: Vec<&str> = words.into_iter().collect();
    words.sort_by(|a, b| b.len().cmp(&a.len()).then(a.cmp(b)));
    words.dedup();
    let escape = |word: &str| word.replace('.', "\\.").replace('+', "\\+");
    let words: Vec<String> = words.into_iter().map(escape).collect();
    format!("(?<![\\w./-])(?:{})(?![\\w./-])", words.join("|"))
}

fn rule(name: &str, pattern: &str) -> Value {
    json!({"name": format!("{name}.loom"), "match": pattern})
}

fn grammar() -> Value {
    let reference = words::reference();
    let kinds = || reference.kinds.iter().chain([reference.wire, reference.data]);
    let properties: Vec<&str> = kinds()
        .flat_map(|kind| kind.properties)
        .chain(reference.common)
        .map(|property| property.word)
        .collect();
    let mut fixed: Vec<&str> = Vec::new();
    for kind in kinds() {
        for bare in kind.bare {
            match bare.form {
                BareForm::Words { words, .. } => fixed.extend(words),
                BareForm::Colour => fixed.extend(words::COLOURS),
                _ => {}
            }
        }
        for property in kind.properties {
            match property.form {
                Form::Choice(words) => fixed.extend(words),
                Form::Ends => fixed.extend(words::ENDINGS),
                _ => {}
            }
        }
    }
    let lists = [
        words::HARDWARE,
        words::ASSUMPTIONS,
        words::STRANDS,
        words::COATINGS,
        words::STATES,
        words::PARAMETER_TYPES,
    ];
    fixed.extend(lists.into_iter().flatten());
    let statements: Vec<&str> = reference.statements.iter().map(|row| row.word).collect();
    let heads: Vec<&str> =
        statements.iter().copied().chain(reference.kinds.iter().map(|kind| kind.word)).collect();
    let mut units: Vec<&str> = reference.units.iter().map(|unit| unit.word).collect();
    units.sort_by(|a, b| b.len().cmp(&a.len()).then(a.cmp(b)));
    let colour = words::COLOURS.join("|");
    json!({
        "name": "loom",
        "scopeName": "source.loom",
        "fileTypes": ["loom"],
        "patterns": [
            rule("comment.line.number-sign", "#.*$"),
            {
                "name": "string.quoted.double.loom",
                "begin": "\"",
                "end": "\"|$",
                "patterns": [rule("constant.character.escape", "\\\\[\"\\\\]")],
            },
            {
                "match": format!("^\\s*({})\\s+([A-Za-z][\\w-]*)", heads.join("|")),
                "captures": {
                    "1": {"name": "keyword.control.loom"},
                    "2": {"name": "entity.name.loom"},
                },
            },
            {"match": format!("^\\s*({})(?![\\w./-])", heads.join("|")), "name": "keyword.control.loom"},
            rule("variable.parameter", "\\$[\\w-]*"),
            rule("constant.numeric.date", "(?<![\\w.])\\d{4}-\\d{2}-\\d{2}(?!\\w)"),
            {
                "match": format!("(?<![\\w./-])(-?\\d+(?:\\.\\d+)?(?:/0)?)\\s?({})?(?![\\w/])", units.join("|")),
                "captures": {
                    "1": {"name": "constant.numeric.loom"},
                    "2": {"name": "keyword.other.unit.loom"},
                },
            },
            rule("constant.other.rule", &one_of(words::RULE_IDS.iter().copied())),
            rule("constant.other.colour", &format!("(?<![\\w./-])(?:{colour})/(?:{colour})(?![\\w./-])")),
            rule("keyword.operator.word", &one_of(words::JOINING.iter().copied().chain(["from", "in", "on"]))),
            rule("support.type.property-name", &one_of(properties)),
            rule("constant.language", &one_of(fixed)),
            rule("storage.type", &one_of(reference.kinds.iter().map(|kind| kind.word))),
            rule("keyword.operator", "[=:,(){}]"),
            rule("punctuation.separator.continuation", "\\\\$"),
        ],
    })
}

#[test]
fn the_grammar_for_editors_is_of_the_spelling_table() {
    let text = serde_json::to_string_pretty(&grammar()).expect("a text") + "\n";
    held(PATH, &text);
    for word in words::reserved() {
        assert!(text.contains(word), "`{word}` has no colour");
    }
    let units = words::reference().units;
    assert!(units.iter().all(|unit| text.contains(unit.word)), "every unit has its colour");
}
