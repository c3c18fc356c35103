//! From the text of an expression to its tree, within bounds: what could nest deeper than a stack is long refused by then.

use std::ops::Range;

use cel::common::ast::{EntryExpr, Expr, IdedExpr, SourceInfo};
use cel::parser::Parser;

/// Longest text of an expression, in bytes.
const LONGEST: usize = 1_000;
/// Most words and signs.
const MOST_TOKENS: usize = 240;
/// Deepest that brackets may nest.
const DEEPEST_BRACKETS: usize = 12;
/// Deepest that the tree may be.
const DEEPEST: usize = 32;
/// Room for the parser's calls, which are many for each level.
const STACK: usize = 32 << 20;

/// What is wrong with an expression or a message, by its bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fault {
    pub(crate) at: Range<usize>,
    pub(crate) headline: String,
    pub(crate) help: String,
}

impl Fault {
    pub(super) fn new(at: Range<usize>, headline: impl Into<String>, help: impl Into<String>) -> Self {
        Self { at, headline: headline.into(), help: help.into() }
    }
}

/// The beginning of a word that may be long.
pub(super) fn clip(word: &str) -> String {
    const SHOWN: usize = 40;
    match word.char_indices().nth(SHOWN) {
        Some((at, _)) => format!("{}…", word.get(..at).unwrap_or(word)),
        None => word.into(),
    }
}

/// The tree of an expression.
pub(super) fn parse(text: &str) -> Result<(IdedExpr, SourceInfo), Fault> {
    scan(text)?;
    let owned = text.to_owned();
    // On a thread of its own, which has the room that the parser needs wherever this is called from.
    let parsed = std::thread::Builder::new().stack_size(STACK).spawn(move || {
        Parser::new().error_recovery_limit(4).parse_with_source_info(&owned).map_err(|errors| {
            let first = errors.errors.into_iter().find(|error| 0 < error.pos.0);
            first.map_or_else(|| (0, 0, String::new()), |error| (error.pos.0, error.pos.1, error.msg))
        })
    });
    let parsed = parsed.ok().and_then(|thread| thread.join().ok());
    let (tree, info) = match parsed {
        Some(Ok(parsed)) => parsed,
        Some(Err((line, column, message))) => return Err(unread(text, line, column, &message)),
        None => return Err(unread(text, 0, 0, "")),
    };
    match too_deep(&tree) {
        true => Err(Fault::new(
            0..text.len(),
            format!("the expression is more than {DEEPEST} steps deep"),
            "make two rules of it",
        )),
        false => Ok((tree, info)),
    }
}

fn unread(text: &str, line: isize, column: isize, message: &str) -> Fault {
    let (line, column) = (usize::try_from(line).unwrap_or(0), usize::try_from(column).unwrap_or(0));
    let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let rest = text.get(start..).unwrap_or("");
    let at = start + rest.char_indices().nth(column.saturating_sub(1)).map_or(rest.len(), |one| one.0);
    let told = message.trim_start_matches("Syntax error: ").split(" expecting").next().unwrap_or("");
    let headline = if message.contains("has() macro") {
        "`has` looks into a list's device: `has(device.type)`".to_owned()
    } else if text.len() <= at {
        "the expression ends too early".to_owned()
    } else {
        format!("the expression cannot be read here: {}", clip(told))
    };
    let help = "it is written in the Common Expression Language, such as `size_mm2 >= 4 && role == 'live'`; \
                `known(label)` asks whether a figure is known";
    Fault::new(at..(at + 1).min(text.len().max(at)), headline, help)
}

/// Refuses what is too long or nests too deeply for the parser, by a look at the signs alone.
fn scan(text: &str) -> Result<(), Fault> {
    if LONGEST < text.len() {
        let headline = format!("the expression has {} bytes; {LONGEST} are the most", text.len());
        return Err(Fault::new(0..text.len(), headline, "make two rules of it"));
    }
    let (mut tokens, mut depth, mut quote, mut in_word) = (0_usize, 0_usize, None, false);
    for (at, one) in text.char_indices() {
        let here = at..at + one.len_utf8();
        if matches!(one, '\\' | '`') {
            return Err(Fault::new(here, format!("`{one}` has no use here"), "leave it out"));
        }
        if one.is_control() && !matches!(one, '\n' | '\r' | '\t') {
            return Err(Fault::new(here, "there is a control character here", "leave it out"));
        }
        if quote.is_some() {
            if quote == Some(one) || one == '\n' {
                quote = None;
            }
            continue;
        }
        let word = one.is_alphanumeric() || one == '_';
        tokens += usize::from(!one.is_whitespace() && (!word || !in_word));
        in_word = word;
        match one {
            '\'' | '"' => quote = Some(one),
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth = depth.saturating_sub(1),
            _ => {}
        }
        if DEEPEST_BRACKETS < depth {
            let headline = format!("brackets nest more than {DEEPEST_BRACKETS} deep");
            return Err(Fault::new(here, headline, "make two rules of it"));
        }
        if MOST_TOKENS < tokens {
            let headline = format!("the expression has more than {MOST_TOKENS} words and signs");
            return Err(Fault::new(here, headline, "make two rules of it"));
        }
    }
    Ok(())
}

/// Whether a tree is deeper than can be walked safely.
fn too_deep(tree: &IdedExpr) -> bool {
    let mut next = vec![(tree, 1_usize)];
    while let Some((one, depth)) = next.pop() {
        if DEEPEST < depth {
            return true;
        }
        next.extend(children(&one.expr).into_iter().map(|child| (child, depth + 1)));
    }
    false
}

fn children(expr: &Expr) -> Vec<&IdedExpr> {
    match expr {
        Expr::Call(call) => call.target.as_deref().into_iter().chain(&call.args).collect(),
        Expr::Comprehension(one) => {
            vec![&one.iter_range, &one.accu_init, &one.loop_cond, &one.loop_step, &one.result]
        }
        Expr::List(list) => list.elements.iter().collect(),
        Expr::Select(select) => vec![&select.operand],
        Expr::Map(map) => entries(&map.entries),
        Expr::Struct(one) => entries(&one.entries),
        Expr::Ident(_) | Expr::Literal(_) | Expr::Unspecified => Vec::new(),
    }
}

fn entries(all: &[cel::common::ast::IdedEntryExpr]) -> Vec<&IdedExpr> {
    all.iter()
        .flat_map(|entry| match &entry.expr {
            EntryExpr::StructField(field) => vec![&field.value],
            EntryExpr::MapEntry(entry) => vec![&entry.key, &entry.value],
        })
        .collect()
}
