//! A place in the items of one line, and how a problem there is told. What can be read is in the files beside.

use crate::findings::{Finding, Severity};
use crate::text::{FileId, Source, Span};

use super::items::{Item, ItemKind};
use super::problems::{Problems, id};
use super::read::Block;
use super::tree::{Class, Parameter, ParameterKind, Reference, Value, What};
use super::words;

/// The rest of a statement cannot be read; why has been told.
#[derive(Debug)]
pub(super) struct Stop;

/// What is said of a problem: headline, label, help.
pub(super) type Said = (String, String, String);

/// The items of one line, read from left to right.
pub(super) struct Cursor<'a> {
    pub(super) file: FileId,
    source: &'a Source,
    text: &'a str,
    problems: &'a mut Problems,
    items: Vec<Item>,
    at: usize,
    line: Span,
    told: bool,
    /// The name that the statement declares, once read.
    pub(super) name: Option<Span>,
    /// What it declares.
    pub(super) class: Class,
    /// A problem of this statement has been told.
    pub(super) faulty: bool,
    /// Further problems of this line would only follow from the first.
    pub(super) mute: bool,
    /// The line ends in `{`.
    pub(super) opens: bool,
    /// The block that the statement has, even where the rest of it cannot be read.
    pub(super) block: Option<Block>,
    /// The parameters of the kit around.
    pub(super) parameters: Vec<Parameter>,
    /// The line stands in a kit.
    pub(super) in_kit: bool,
}

impl<'a> Cursor<'a> {
    pub(super) fn new(file: FileId, source: &'a Source, problems: &'a mut Problems) -> Self {
        Self {
            file,
            source,
            text: source.text(),
            problems,
            items: Vec::new(),
            at: 0,
            line: Span::new(file, 0, 0),
            told: false,
            name: None,
            class: Class::Unknown,
            faulty: false,
            mute: false,
            opens: false,
            block: None,
            parameters: Vec::new(),
            in_kit: false,
        }
    }

    /// Begins a line.
    pub(super) fn start(&mut self, line: Span) {
        self.items.clear();
        self.at = 0;
        self.line = line;
        self.name = None;
        self.class = Class::Unknown;
        self.faulty = false;
        self.mute = false;
        self.block = None;
    }

    /// Takes over the line's items.
    pub(super) fn take(&mut self, items: &mut Vec<Item>) {
        std::mem::swap(&mut self.items, items);
    }

    /// Tells a problem.
    pub(super) fn tell(
        &mut self,
        rule: &'static str,
        span: Span,
        said: impl FnOnce(&mut Problems) -> Said,
    ) -> Stop {
        self.faulty = true;
        self.told = true;
        if self.mute {
            return Stop;
        }
        let (name, source, text) = (self.name, self.source, self.text);
        self.problems.add(rule, span, |problems| {
            let (headline, label, help) = said(problems);
            let subject = match name.and_then(|name| text.get(name.start as usize..name.end as usize)) {
                Some(name) => name.to_owned(),
                None => format!("line:{}", source.line_column(span.start).line),
            };
            Finding::new(rule, Severity::Error, subject, span).headline(headline).label(label).help(help)
        });
        Stop
    }

    /// Whether no problem has been told of this file.
    pub(super) fn none_told(&self) -> bool {
        !self.told
    }

    /// Whether the file has so many problems that reading on says nothing more.
    pub(super) fn given_up(&self) -> bool {
        self.problems.given_up(self.file)
    }

    /// Takes out what begins no item, and tells of it.
    pub(super) fn complain_of_strays(&mut self) {
        let bad = |kind| matches!(kind, ItemKind::Stray | ItemKind::OpenText);
        let Some(first) = self.items.iter().position(|item| bad(item.kind)) else { return };
        let item = self.items[first];
        if item.kind == ItemKind::OpenText {
            self.tell(id::SYNTAX, item.span, |_| {
                let help = "close it with `\"` on the same line; a quote inside is written `\\\"`";
                ("a text is not closed".into(), "opens here".into(), help.into())
            });
        } else {
            let shown = self.slice(item.span);
            self.tell(id::SYNTAX, item.span, |_| {
                let help = "take it out; a `\\` joins two lines only as the last character of a line";
                (format!("a stray `{shown}`"), "begins nothing".into(), help.into())
            });
        }
        // What is missing from here on is missing because of this.
        self.items.truncate(first);
        if self.items.is_empty() {
            self.items.push(Item { kind: ItemKind::Stray, span: item.span });
        }
        self.mute = true;
    }

    /// The text under a span.
    pub(super) fn slice(&self, span: Span) -> &'a str {
        self.text.get(span.start as usize..span.end as usize).unwrap_or("")
    }

    /// The next item.
    pub(super) fn peek(&self) -> Option<Item> {
        self.items.get(self.at).copied()
    }

    /// The item after the next.
    pub(super) fn peek_second(&self) -> Option<Item> {
        self.items.get(self.at + 1).copied()
    }

    /// The next item, if it is a word.
    pub(super) fn peek_word(&self) -> Option<&'a str> {
        self.peek().filter(|item| item.kind == ItemKind::Word).map(|item| self.slice(item.span))
    }

    /// Passes over the next item.
    pub(super) fn pass(&mut self) -> Option<Item> {
        let item = self.peek();
        self.at += usize::from(item.is_some());
        item
    }

    /// Passes over the next item if it is this word.
    pub(super) fn pass_word(&mut self, word: &str) -> bool {
        let is = self.peek_word() == Some(word);
        self.at += usize::from(is);
        is
    }

    /// Passes over the next item if it is this mark.
    pub(super) fn pass_mark(&mut self, mark: u8) -> bool {
        let is = self.peek().is_some_and(|item| item.kind == ItemKind::Mark(mark));
        self.at += usize::from(is);
        is
    }

    /// Whether the next item follows the one before it without space.
    pub(super) fn glued(&self) -> bool {
        let before = self.at.checked_sub(1).and_then(|at| self.items.get(at));
        matches!((before, self.peek()), (Some(a), Some(b)) if a.span.end == b.span.start)
    }

    /// Where the next item is, or else the last one.
    pub(super) fn here(&self) -> Span {
        self.peek().or_else(|| self.items.last().copied()).map_or(self.line, |item| item.span)
    }

    /// Where the first item is.
    pub(super) fn first_span(&self) -> Span {
        self.items.first().map_or(self.line, |item| item.span)
    }

    /// Says that something is missing at this point; `form` shows the whole statement.
    pub(super) fn missing(&mut self, what: &str, form: &str) -> Stop {
        let (here, next) = (self.here(), self.peek().map(|item| self.slice(item.span)));
        self.tell(id::SYNTAX, here, |_| {
            let label = match next {
                Some(next) => format!("`{}` stands in its place", clip(next)),
                None => "the line ends here".into(),
            };
            (format!("{what} is missing"), label, format!("the form is `{form}`"))
        })
    }

    /// Passes over a word that has to stand here.
    pub(super) fn keyword(&mut self, word: &'static str, form: &str) -> Result<(), Stop> {
        if self.pass_word(word) {
            return Ok(());
        }
        if let (Some(item), Some(written)) = (self.peek(), self.peek_word())
            && self.problems.nearest(written, [word]).is_some()
        {
            self.pass();
            self.tell(id::WORD, item.span, |_| {
                let label = format!("stands where `{word}` is expected");
                (format!("`{written}` is not `{word}`"), label, format!("the nearest word is `{word}`"))
            });
            return Ok(());
        }
        Err(self.missing(&format!("`{word}`"), form))
    }

    /// Reads a text.
    pub(super) fn string(&mut self, what: &str, form: &str) -> Result<Span, Stop> {
        match self.peek() {
            Some(Item { kind: ItemKind::Text, span }) => {
                self.pass();
                self.check_escapes(span);
                Ok(span)
            }
            _ => Err(self.missing(what, form)),
        }
    }

    /// Tells of a backslash in a text that escapes neither a quote nor itself.
    pub(super) fn check_escapes(&mut self, text: Span) {
        let inner = self.slice(text);
        if !inner.contains('\\') {
            return;
        }
        let mut bytes = inner.bytes().enumerate();
        while let Some((at, byte)) = bytes.next() {
            if byte == b'\\' && !matches!(bytes.next(), Some((_, b'"' | b'\\'))) {
                let start = text.start as usize + at;
                self.tell(id::SYNTAX, Span::new(self.file, start, start + 1), |_| {
                    let help = "a backslash in a text is written `\\\\`, a quote `\\\"`";
                    ("a stray backslash in a text".into(), "escapes nothing".into(), help.into())
                });
            }
        }
    }

    /// Reads the name that the statement declares.
    pub(super) fn declare(&mut self, class: Class, form: &str) -> Result<(), Stop> {
        let next = self.peek();
        let follows = form.split(' ').nth(2).filter(|word| words::is_reserved(word));
        match next {
            Some(Item { kind: ItemKind::Word, span }) if follows != Some(self.slice(span)) => {
                self.pass();
                self.name = Some(span);
                self.class = class;
                let word = self.slice(span);
                if words::is_reserved(word) {
                    self.tell(id::NAME, span, |_| {
                        let help = format!("a name that is no word of the language, such as `{word}-1`");
                        (format!("`{word}` is a word of the language"), "stands as a name".into(), help)
                    });
                } else if !is_name(word) {
                    self.not_a_name(span);
                }
                Ok(())
            }
            Some(Item { kind: ItemKind::Number | ItemKind::Gauge, span }) if self.glued_after() => {
                self.pass();
                let end = self.pass().map_or(span, |item| item.span);
                self.name = Some(span.to(end));
                self.class = class;
                self.not_a_name(span.to(end));
                Ok(())
            }
            _ => Err(self.missing("a name", form)),
        }
    }

    fn glued_after(&self) -> bool {
        matches!((self.peek(), self.peek_second()), (Some(a), Some(b))
            if a.span.end == b.span.start && b.kind == ItemKind::Word)
    }

    fn not_a_name(&mut self, span: Span) -> Stop {
        let word = self.slice(span);
        self.tell(id::SYNTAX, span, |_| {
            let help = "a name is a letter of a to z, then letters, digits, `-` or `_`";
            (format!("`{}` is not a name", clip(word)), "stands as a name".into(), help.into())
        })
    }

    /// Reads a name that stands for something declared elsewhere, without a terminal.
    pub(super) fn named(&mut self, what: &str, form: &str) -> Result<Span, Stop> {
        match self.peek() {
            Some(Item { kind: ItemKind::Word, span }) => {
                self.pass();
                if self.slice(span).split('/').all(is_name) { Ok(span) } else { Err(self.not_a_name(span)) }
            }
            _ => Err(self.missing(what, form)),
        }
    }

    /// Reads a name, a terminal or a parameter.
    pub(super) fn reference(&mut self, what: &str, form: &str) -> Result<Reference, Stop> {
        match self.peek() {
            Some(Item { kind: ItemKind::Word, span }) => {
                let word = self.slice(span);
                if words::JOINING.contains(&word) || word == "from" {
                    return Err(self.missing(what, form));
                }
                self.pass();
                let (path, terminal) = match word.split_once('.') {
                    Some((path, terminal)) => (path, Some(terminal)),
                    None => (word, None),
                };
                if !path.split('/').all(is_name) || terminal.is_some_and(|terminal| !is_terminal(terminal)) {
                    return Err(self.not_a_reference(span));
                }
                let point = if terminal.is_some() { span.start as usize + path.len() } else { 0 };
                Ok(Reference { span, point: u32::try_from(point).unwrap_or(0), parameter: None })
            }
            Some(Item { kind: ItemKind::Parameter, span }) => {
                let parameter = self.parameter()?;
                match parameter.1 {
                    ParameterKind::Terminal | ParameterKind::Word | ParameterKind::Any => {
                        Ok(Reference { span, point: 0, parameter: Some(parameter.0) })
                    }
                    kind => Err(self.wrong_parameter(span, kind, "a terminal or a name")),
                }
            }
            _ => Err(self.missing(what, form)),
        }
    }

    fn not_a_reference(&mut self, span: Span) -> Stop {
        let word = self.slice(span);
        self.tell(id::SYNTAX, span, |_| {
            let help =
                "a terminal is written `name.terminal`, such as `house.+`; a post, a bar or a chassis `name`";
            (
                format!("`{}` is neither a name nor a terminal", clip(word)),
                "stands as one".into(),
                help.into(),
            )
        })
    }

    /// Reads a parameter of the kit around: its place in the list and its type.
    pub(super) fn parameter(&mut self) -> Result<(u16, ParameterKind), Stop> {
        let Some(item) = self.pass() else { return Err(Stop) };
        let written = self.slice(item.span);
        let name = written.strip_prefix('$').unwrap_or(written);
        let found = self.parameters.iter().position(|one| self.slice(one.name) == name);
        if let Some(at) = found {
            let kind = self.parameters.get(at).map_or(ParameterKind::Any, |one| one.kind);
            return Ok((u16::try_from(at).unwrap_or(u16::MAX), kind));
        }
        let in_kit = self.in_kit;
        let names: Vec<&str> = self.parameters.iter().map(|one| self.slice(one.name)).collect();
        Err(self.tell(id::NAME, item.span, |problems| {
            let help = match problems.nearest(name, names.iter().copied()) {
                Some(near) => format!("the nearest parameter is `${near}`"),
                None if !in_kit => "parameters stand in kits; write the value itself".into(),
                None if names.is_empty() => "the kit has no parameters".into(),
                None => format!("the kit's parameters are {}", list(&names)),
            };
            (format!("no parameter is called `{written}`"), "not known here".into(), help)
        }))
    }

    /// Tells that a parameter's type does not suit its place.
    pub(super) fn wrong_parameter(&mut self, span: Span, kind: ParameterKind, expected: &str) -> Stop {
        let written = self.slice(span);
        self.tell(id::UNIT, span, |_| {
            let label = format!("stands where {expected} is expected");
            (
                format!("`{written}` is {}", kind.phrase()),
                label,
                "give the parameter another type, or use another".into(),
            )
        })
    }

    /// Reads a whole number from 1 to `most`.
    pub(super) fn count(&mut self, word: &str, most: u32) -> Result<Value, Stop> {
        let Some(Item { kind: ItemKind::Number, span }) = self.peek() else {
            return Err(self.missing(&format!("a whole number after `{word}`"), &format!("{word} 2")));
        };
        self.pass();
        match self.slice(span).parse::<u32>() {
            Ok(number) if (1..=most).contains(&number) => Ok(Value { what: What::Number(number), span }),
            _ => {
                let written = self.slice(span);
                Err(self.tell(id::UNIT, span, |_| {
                    let headline = format!("`{}` is out of range", clip(written));
                    (
                        headline,
                        format!("the number after `{word}`"),
                        format!("a whole number from 1 to {most}"),
                    )
                }))
            }
        }
    }

    /// Tells of what the statement leaves over.
    pub(super) fn expect_end(&mut self) {
        let Some(item) = self.peek() else { return };
        let word = self.slice(item.span);
        self.tell(id::SYNTAX, item.span, |_| {
            let help = "one statement stands on a line; the rest begins a line of its own, or goes away";
            (
                format!("`{}` is left over", clip(word)),
                "the statement is complete before it".into(),
                help.into(),
            )
        });
    }

    /// The nearest of the candidates.
    pub(super) fn nearest<'c>(
        &mut self,
        word: &str,
        of: impl IntoIterator<Item = &'c str>,
    ) -> Option<&'c str> {
        self.problems.nearest(word, of)
    }

    /// Whether a first word is a misspelt `design` or `library`.
    pub(super) fn near_head(&mut self, word: &str) -> bool {
        self.problems.nearest(word, ["design", "library"]).is_some()
    }
}

/// Whether a word has the shape of a name.
pub(super) fn is_name(word: &str) -> bool {
    let mut bytes = word.bytes();
    bytes.next().is_some_and(|byte| byte.is_ascii_alphabetic())
        && bytes.all(|byte| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_')
}

fn is_terminal(word: &str) -> bool {
    let inner = word.strip_suffix('+').unwrap_or(word);
    word == "+"
        || (!inner.is_empty()
            && inner.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_'))
}

/// A word short enough for a message.
pub(crate) fn clip(word: &str) -> String {
    if word.chars().count() <= 40 {
        return word.into();
    }
    let mut short: String = word.chars().take(39).collect();
    short.push('…');
    short
}

/// Words in backquotes with commas.
pub(crate) fn list<S: AsRef<str>>(words: &[S]) -> String {
    words.iter().map(|word| format!("`{}`", word.as_ref())).collect::<Vec<_>>().join(", ")
}
