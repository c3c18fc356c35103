//! Reads a whole file: logical lines, blocks and the order of statements. What one statement says is in `statements`.

use crate::text::{FileId, Source, Span};

use super::cursor::{Cursor, Stop};
use super::items::{self, Item, ItemKind};
use super::lines::{self, Line};
use super::memory::{Around, Memory};
use super::problems::{Problems, id};
use super::tree::{Class, Node, Parameter, Statement, Tree};
use super::words;

/// Longest logical line in bytes.
const LONGEST_LINE: usize = 1 << 16;

/// What the lines of a block are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Block {
    /// No block: the file itself.
    File,
    Kit,
    Mode,
    Part,
    /// The block of a statement that cannot be read.
    Skip,
}

/// A block that is open.
struct Open {
    statement: usize,
    brace: Span,
    block: Block,
    outer_parameters: Option<Vec<Parameter>>,
}

/// Reads one file. Never fails: what cannot be read is told in `problems` and stands in the tree as broken.
///
/// Lines that `memory` knows are not read again.
pub(crate) fn read(
    file: FileId,
    source: &Source,
    problems: &mut Problems,
    memory: Option<&mut Memory>,
) -> Tree {
    let text: &str = source.text();
    let mut reader = Reader {
        memory,
        kit: Span::new(file, 0, 0),
        cursor: Cursor::new(file, source, problems),
        tree: Tree { file, statements: Vec::new(), library: false },
        open: Vec::new(),
        headed: false,
    };
    let mut found = Vec::new();
    for line in lines::cut(file, text) {
        reader.line(&line, text, &mut found);
        if reader.cursor.given_up() {
            break;
        }
    }
    reader.finish(text);
    reader.tree
}

/// The text of a string item: quotes taken off, `\"` and `\\` replaced.
pub(crate) fn plain(quoted: &str) -> String {
    let inner = quoted.strip_prefix('"').unwrap_or(quoted);
    let inner = inner.strip_suffix('"').unwrap_or(inner);
    if !inner.contains('\\') {
        return inner.into();
    }
    let mut plain = String::with_capacity(inner.len());
    let mut chars = inner.chars();
    while let Some(one) = chars.next() {
        plain.extend(if one == '\\' { chars.next() } else { Some(one) });
    }
    plain
}

/// Words as they are written, with one blank where there is space between them, a `\` with its line end included.
pub(crate) fn spaced(written: &str) -> String {
    let mut spaced = String::with_capacity(written.len());
    let (mut quoted, mut blank) = (false, false);
    let mut chars = written.chars().peekable();
    while let Some(one) = chars.next() {
        let joins = one == '\\' && matches!(chars.peek(), Some('\r' | '\n'));
        if !quoted && (joins || matches!(one, ' ' | '\t' | '\r' | '\n')) {
            blank = true;
            continue;
        }
        if std::mem::take(&mut blank) && !spaced.is_empty() {
            spaced.push(' ');
        }
        spaced.push(one);
        match one {
            '"' => quoted = !quoted,
            '\\' if quoted => spaced.extend(chars.next()),
            _ => {}
        }
    }
    spaced
}

struct Reader<'a> {
    memory: Option<&'a mut Memory>,
    /// The line of the kit around.
    kit: Span,
    cursor: Cursor<'a>,
    tree: Tree,
    open: Vec<Open>,
    headed: bool,
}

impl Reader<'_> {
    fn line(&mut self, line: &Line, text: &str, found: &mut Vec<Item>) {
        self.cursor.start(line.code);
        if let Some(span) = line.control {
            self.cursor.tell(id::SYNTAX, span, |_| {
                let code =
                    text.get(span.start as usize..).and_then(|rest| rest.chars().next()).map_or(0, u32::from);
                if code == 0xa0 {
                    return (
                        "a no-break space, U+00A0, stands between words".into(),
                        "here".into(),
                        "put a plain space in its place".into(),
                    );
                }
                (
                    format!("a control character, U+{code:04X}, stands in the text"),
                    "here".into(),
                    "the text is UTF-8 with no control characters but tabs and line ends; take it out".into(),
                )
            });
            self.cursor.mute = true;
        }
        if line.code.is_empty() {
            return;
        }
        if line.code.len() > LONGEST_LINE {
            let start = Span { end: line.code.start + 1, ..line.code };
            self.cursor.tell(id::LIMIT, start, |_| {
                (
                    format!("a line of {} bytes", line.code.len()),
                    "starts here".into(),
                    format!("one line has at most {LONGEST_LINE} bytes"),
                )
            });
            return;
        }
        if self.recall(line, text) {
            return;
        }
        let start = line.code.start as usize;
        items::read(line.code.file, text.get(start..line.code.end as usize).unwrap_or(""), start, found);
        let opens = self.braces(found);
        if found.is_empty() {
            if let Some(brace) = opens {
                self.cursor.tell(id::SYNTAX, brace, |_| {
                    let help = "a block opens at the end of a `mode`, `kit` or `part` line".into();
                    ("a block without a statement".into(), "opens here".into(), help)
                });
                self.push(Statement::broken(line.code), Some((brace, Block::Skip)));
            }
            return;
        }
        self.cursor.take(found);
        self.cursor.complain_of_strays();
        self.statement(line.code, opens, text);
    }

    /// Takes over the statement of a line that was read before; whether there is one.
    fn recall(&mut self, line: &Line, text: &str) -> bool {
        let block = self.open.last().map_or(Block::File, |open| open.block);
        // The head is judged by where it stands.
        if line.control.is_some() || (block == Block::File && !self.headed) {
            return false;
        }
        let Some(memory) = &mut self.memory else { return false };
        let (code, kit) = (slice(text, line.code), kit_line(&self.cursor, text, self.kit));
        let Some((statement, opens)) =
            memory.recall(Around { block, kit }, code, line.code.file, line.code.start)
        else {
            return false;
        };
        if block == Block::File && self.tree.library && !is_shared(&statement.node) {
            return false;
        }
        self.push(statement, opens);
        true
    }

    /// Takes the braces out of a line; closes the block that a `}` ends, and gives the `{` that opens one.
    fn braces(&mut self, found: &mut Vec<Item>) -> Option<Span> {
        if let [Item { kind: ItemKind::Mark(b'}'), span }, rest @ ..] = found.as_slice() {
            let (span, next) = (*span, rest.first().map(|item| item.span));
            self.close(span);
            if let Some(next) = next {
                self.cursor.tell(id::SYNTAX, next, |_| {
                    let help = "the `}` that closes a block stands on a line of its own".into();
                    ("text after the end of a block".into(), "stands after `}`".into(), help)
                });
                self.cursor.mute = true;
            }
            found.remove(0);
        }
        let mut opens = None;
        if let Some(Item { kind: ItemKind::Mark(b'{'), span }) = found.last().copied() {
            found.pop();
            opens = Some(span);
        }
        let brace = |item: &Item| matches!(item.kind, ItemKind::Mark(b'{' | b'}'));
        if let Some(at) = found.iter().position(brace) {
            let span = found[at].span;
            let closed = matches!(found.last(), Some(Item { kind: ItemKind::Mark(b'}'), .. }));
            self.cursor.tell(id::SYNTAX, span, |_| {
                let help = "a block opens with `{` at the end of a line, has one statement a line, \
                            and closes with `}` on a line of its own";
                ("a brace in the middle of a line".into(), "stands here".into(), help.into())
            });
            if found[at].kind == ItemKind::Mark(b'{') && !closed {
                opens = opens.or(Some(span));
            }
            found.truncate(at);
        }
        opens
    }

    fn close(&mut self, brace: Span) {
        match self.open.pop() {
            Some(open) => self.shut(open),
            None => {
                self.cursor.tell(id::SYNTAX, brace, |_| {
                    let help = "take it out, or open the block at the end of the line that it belongs to";
                    ("`}` closes nothing".into(), "no block is open here".into(), help.into())
                });
            }
        }
    }

    fn shut(&mut self, open: Open) {
        let end = self.tree.statements.len();
        if let Some(statement) = self.tree.statements.get_mut(open.statement) {
            statement.end = end;
        }
        if let Some(parameters) = open.outer_parameters {
            self.cursor.parameters = parameters;
            self.cursor.in_kit = self.open.iter().any(|open| open.block == Block::Kit);
        }
    }

    fn unclosed(&mut self, open: Open) {
        self.cursor.tell(id::SYNTAX, open.brace, |_| {
            let help = "close it with `}` on a line of its own";
            ("a block is not closed".into(), "opens here".into(), help.into())
        });
        self.shut(open);
    }

    fn statement(&mut self, code: Span, opens: Option<Span>, text: &str) {
        // A word of the language cannot begin a line of a mode or part, so there the block's end was forgotten.
        let first = self.cursor.peek_word().unwrap_or("");
        while let Some(Open { block: Block::Mode | Block::Part, .. }) = self.open.last() {
            let statement = words::STATEMENTS.iter().any(|row| row.word == first)
                || words::KINDS.iter().any(|row| row.word == first);
            let Some(open) = statement.then(|| self.open.pop()).flatten() else { break };
            let keep = self.cursor.mute;
            self.unclosed(open);
            self.cursor.mute = keep;
            self.cursor.faulty = keep;
        }
        let around = self.open.last().map_or(Block::File, |open| open.block);
        if around == Block::Skip {
            if let Some(brace) = opens {
                self.push(Statement::broken(code), Some((brace, Block::Skip)));
            }
            return;
        }
        self.cursor.opens = opens.is_some();
        let keeps = around != Block::File || self.headed;
        let read = match around {
            Block::Mode => self.cursor.mode_line(),
            Block::Part => self.cursor.terminal_line(),
            Block::File | Block::Kit | Block::Skip => {
                self.headed(first, around).and_then(|()| self.cursor.any(around))
            }
        };
        let (node, block) = match read {
            Ok((node, block)) => {
                self.cursor.expect_end();
                (node, block)
            }
            // Without its parameters a kit's lines would only follow with more problems.
            Err(Stop) if self.cursor.block == Some(Block::Kit) => (Node::Broken, Some(Block::Skip)),
            Err(Stop) => (Node::Broken, self.cursor.block),
        };
        match &node {
            Node::Library => self.tree.library = true,
            node if is_shared(node) => {}
            _ if self.tree.library && around == Block::File => {
                self.cursor.tell(id::SYNTAX, self.cursor.first_span(), |_| {
                    let help =
                        "a library has `part`, `kit` and `use` statements; the others belong in a design";
                    (format!("a library holds no `{first}`"), "stands in a library".into(), help.into())
                });
            }
            _ => {}
        }
        let block = match (opens, block) {
            (Some(brace), None) => {
                self.cursor.tell(id::SYNTAX, brace, |_| {
                    let help = "blocks belong to `mode`, `kit` and `part`";
                    (format!("`{first}` has no block"), "opens a block".into(), help.into())
                });
                Some((brace, Block::Skip))
            }
            (Some(brace), Some(block)) => Some((brace, block)),
            (None, _) => None,
        };
        let statement = Statement {
            span: code,
            name: self.cursor.name,
            class: if matches!(node, Node::Broken) { Class::Unknown } else { self.cursor.class },
            faulty: self.cursor.faulty,
            end: 0,
            node,
        };
        if keeps && let Some(memory) = &mut self.memory {
            let kit = kit_line(&self.cursor, text, self.kit);
            memory.keep(Around { block: around, kit }, slice(text, code), code.start, &statement, block);
        }
        self.push(statement, block);
    }

    /// Sees to it that the file begins with `design` or `library`, and has only one of them.
    fn headed(&mut self, first: &str, around: Block) -> Result<(), Stop> {
        let head = first == "design" || first == "library";
        if around != Block::File || (self.headed && !head) {
            return Ok(());
        }
        let span = self.cursor.first_span();
        if self.headed
            && self.tree.statements.iter().any(|one| matches!(one.node, Node::Design { .. } | Node::Library))
        {
            self.cursor.tell(id::SYNTAX, span, |_| {
                let help = "a file has one, as its first statement; put the rest in a file of its own";
                (
                    format!("`{first}` stands here a second time"),
                    "the file has begun already".into(),
                    help.into(),
                )
            });
            return Err(Stop);
        }
        if !head && !self.headed && !self.cursor.near_head(first) {
            self.cursor.tell(id::SYNTAX, span, |_| {
                let help = "the first statement is `design NAME \"title\"`";
                ("the file does not begin with `design`".into(), "stands first".into(), help.into())
            });
            self.cursor.faulty = false;
        }
        self.headed = true;
        Ok(())
    }

    fn push(&mut self, mut statement: Statement, block: Option<(Span, Block)>) {
        let index = self.tree.statements.len();
        statement.end = index + 1;
        if let Some((brace, block)) = block {
            let outer_parameters = (block == Block::Kit).then(|| {
                let parameters = match &statement.node {
                    Node::Kit { parameters } => parameters.clone(),
                    _ => Vec::new(),
                };
                (self.cursor.in_kit, self.kit) = (true, statement.span);
                std::mem::replace(&mut self.cursor.parameters, parameters)
            });
            self.open.push(Open { statement: index, brace, block, outer_parameters });
        }
        self.tree.statements.push(statement);
    }

    fn finish(&mut self, text: &str) {
        let given_up = self.cursor.given_up();
        while let Some(open) = self.open.pop() {
            if given_up { self.shut(open) } else { self.unclosed(open) }
        }
        if self.tree.statements.is_empty() && self.cursor.none_told() {
            let span = Span::new(self.tree.file, 0, text.chars().next().map_or(0, char::len_utf8));
            self.cursor.tell(id::SYNTAX, span, |_| {
                let help = "the first statement is `design NAME \"title\"`";
                ("the file has no statement".into(), "nothing is written here".into(), help.into())
            });
        }
    }
}

/// Whether a statement may stand in a library.
fn is_shared(node: &Node) -> bool {
    matches!(node, Node::Part { .. } | Node::Kit { .. } | Node::Use { .. } | Node::Broken)
}

fn slice(text: &str, span: Span) -> &str {
    text.get(span.start as usize..span.end as usize).unwrap_or("")
}

/// The line of the kit around, on which depends what a parameter is.
fn kit_line<'t>(cursor: &Cursor<'_>, text: &'t str, kit: Span) -> &'t str {
    if cursor.in_kit { slice(text, kit) } else { "" }
}

impl Statement {
    fn broken(span: Span) -> Self {
        Self { span, name: None, class: Class::Unknown, faulty: true, end: 0, node: Node::Broken }
    }
}
