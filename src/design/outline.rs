//! Every name of some files and every place where it is used, whatever else is wrong with them: for whoever edits them.

use rustc_hash::FxHashMap;

use crate::syntax::items::{self, Item, ItemKind};
use crate::syntax::tree::{
    ClaimWord, Class, Key, MeasuredWord, Node, ParameterKind, Reference, SetWord, Statement, Subject, Trait,
    Value, What, kind_words,
};
use crate::syntax::words::{self, KindWords};
use crate::syntax::{self, Memory, Problems};
use crate::text::{FileId, Files, Sources, Span};

use super::files::{File, read_uses};
use super::libraries::Before;
use super::names::level;

/// What a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is the statement of that name")]
pub enum NameClass {
    /// The design or library itself.
    Head,
    Component,
    Wire,
    Data,
    Bundle,
    Zone,
    Mode,
    Part,
    Kit,
    Fit,
    /// A parameter of a kit.
    Parameter,
    /// Its statement cannot be read.
    Unknown,
}

/// A name, where it is declared.
#[derive(Debug, Clone)]
pub struct Named {
    /// The name.
    pub name: String,
    /// What it stands for.
    pub class: NameClass,
    /// What its statement takes: of components, parts, wires and data leads.
    pub words: Option<&'static KindWords>,
    /// Where the name stands.
    pub span: Span,
    /// Its statement's whole logical line.
    pub statement: Span,
    /// From the statement to the end of its block, where it has one.
    pub whole: Span,
    /// The scope that it belongs to.
    pub scope: usize,
    /// Of a component the part that it is, of a fit the kit: by its place among the names.
    pub of: Option<usize>,
    /// Its title or label, as it is read.
    pub title: Option<String>,
}

/// One place where a name stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Used {
    /// The name alone, without `$`, fits before it or a terminal after it.
    pub span: Span,
    /// Which name, by its place among them.
    pub name: usize,
    /// The terminal after it.
    pub terminal: Option<Span>,
}

/// The names that can be written in one place: a file's, or a kit's.
#[derive(Debug, Clone)]
pub struct Scope {
    /// Its file.
    pub file: FileId,
    /// The kit, by its place among the names; `None` for the file itself.
    pub kit: Option<usize>,
    /// Names that are declared in it, in order, then parts and kits from elsewhere.
    pub names: Vec<usize>,
    /// Its parameters.
    pub parameters: Vec<usize>,
}

/// The names of one file and of the libraries that it uses.
#[derive(Debug, Clone, Default)]
pub struct Outline {
    /// The texts; the file itself is the first.
    pub sources: Sources,
    /// Every name, by file and place of its declaration; parameters after the names of their kit's file.
    pub names: Vec<Named>,
    /// Every use of them, declarations included, by file and place.
    pub uses: Vec<Used>,
    /// Every scope; the first file's own comes first.
    pub scopes: Vec<Scope>,
    /// The blocks: from the start of the statement that opens it to the end of the `}`.
    pub blocks: Vec<Span>,
    /// The libraries that `use` statements lead to: where the path stands, and the file.
    pub libraries: Vec<(Span, FileId)>,
    /// The first file is a library.
    pub library: bool,
}

impl Outline {
    /// The use at a byte of a file; a place right after a name counts as on it.
    #[must_use]
    pub fn at(&self, file: FileId, offset: u32) -> Option<&Used> {
        let from = self.uses.partition_point(|used| (used.span.file, used.span.end) < (file, offset));
        let mut near = self.uses.get(from..)?.iter().take(2);
        near.rfind(|used| used.span.file == file && used.span.start <= offset && offset <= used.span.end)
    }

    /// The scope that a byte of a file lies in.
    #[must_use]
    pub fn scope_at(&self, file: FileId, offset: u32) -> Option<&Scope> {
        let within = |scope: &&Scope| {
            scope.file == file
                && scope
                    .kit
                    .and_then(|kit| self.names.get(kit))
                    .is_none_or(|kit| kit.statement.end < offset && offset <= kit.whole.end)
        };
        self.scopes.iter().rev().find(within)
    }

    /// The file that has this path, as it is shown.
    #[must_use]
    pub fn file(&self, path: &str) -> Option<FileId> {
        let at = self.sources.iter().position(|source| source.path() == path)?;
        Some(FileId(u32::try_from(at).ok()?))
    }
}

/// The names of a file and of the libraries that it uses; without its text nothing.
#[must_use]
pub fn outline(path: &str, files: &dyn Files, memory: Option<&mut Memory>) -> Outline {
    let mut outline = Outline::default();
    let Ok(source) = files.text(path) else { return outline };
    let (mut problems, mut before) = (Problems::default(), memory.map_or(Before::Nothing, Before::Lines));
    let file = outline.sources.add(source);
    let tree = before.design(file, outline.sources.get(file), &mut problems);
    outline.library = tree.library;
    let all = read_uses(path, tree, files, &mut outline.sources, &mut problems, before);
    let mut collector = Collector { files: &all, outline, maps: Vec::new(), kits: FxHashMap::default() };
    collector.declare();
    collector.import();
    collector.refer();
    let mut outline = collector.outline;
    outline.uses.sort_by_key(|used| (used.span, used.name));
    outline.uses.dedup_by_key(|used| used.span);
    outline
}

struct Collector<'f> {
    files: &'f [File],
    outline: Outline,
    /// The names of each scope.
    maps: Vec<FxHashMap<String, usize>>,
    /// The scope of each kit, by its place among the names.
    kits: FxHashMap<usize, usize>,
}

impl Collector<'_> {
    fn slice(&self, span: Span) -> &str {
        self.outline.sources.slice(span)
    }

    fn declare(&mut self) {
        let files = self.files;
        // The scopes of files come first, in their order.
        for file in files {
            self.scope(file.tree.file, None);
        }
        for (scope, file) in files.iter().enumerate() {
            let all = &file.tree.statements;
            for (index, statement) in level(all, 0, all.len()) {
                let name = self.name(scope, all, index, statement);
                let (Some(kit), Node::Kit { parameters }) = (name, &statement.node) else { continue };
                let inner = self.scope(file.tree.file, Some(kit));
                self.kits.insert(kit, inner);
                for parameter in parameters {
                    let words = None;
                    let named = Named {
                        name: self.slice(parameter.name).into(),
                        class: NameClass::Parameter,
                        words,
                        span: parameter.name,
                        statement: statement.span,
                        whole: statement.span,
                        scope: inner,
                        of: None,
                        title: Some(kind_word(parameter.kind).into()),
                    };
                    let at = self.push(named);
                    self.outline.scopes[inner].parameters.push(at);
                }
                for (index, statement) in level(all, index + 1, statement.end) {
                    self.name(inner, all, index, statement);
                }
            }
            self.blocks(file);
        }
    }

    fn scope(&mut self, file: FileId, kit: Option<usize>) -> usize {
        self.outline.scopes.push(Scope { file, kit, names: Vec::new(), parameters: Vec::new() });
        self.maps.push(FxHashMap::default());
        self.maps.len() - 1
    }

    fn push(&mut self, named: Named) -> usize {
        let at = self.outline.names.len();
        self.outline.uses.push(Used { span: named.span, name: at, terminal: None });
        self.outline.names.push(named);
        at
    }

    fn name(
        &mut self,
        scope: usize,
        all: &[Statement],
        index: usize,
        statement: &Statement,
    ) -> Option<usize> {
        let span = statement.name?;
        let (class, words) = class(statement);
        let named = Named {
            name: self.slice(span).into(),
            class,
            words,
            span,
            statement: statement.span,
            whole: self.whole(all, index, statement),
            scope,
            of: None,
            title: self.title(&statement.node),
        };
        let name = named.name.clone();
        let at = self.push(named);
        if class != NameClass::Head && !self.maps[scope].contains_key(&name) {
            self.maps[scope].insert(name, at);
            self.outline.scopes[scope].names.push(at);
        }
        Some(at)
    }

    fn title(&self, node: &Node) -> Option<String> {
        let label =
            |traits: &[Trait]| traits.iter().find(|one| one.key == Key::Label).map(|one| one.value.span);
        let span = match node {
            Node::Design { title } => Some(*title),
            Node::Mode { title } => *title,
            Node::Component { traits, .. } | Node::Part { traits, .. } => label(traits),
            _ => None,
        }?;
        Some(syntax::plain(self.slice(span)))
    }

    /// A statement with its block; the `}` is looked for after the last line in it.
    fn whole(&self, all: &[Statement], index: usize, statement: &Statement) -> Span {
        let text = self.outline.sources.get(statement.span.file).text();
        let opens = text.get(statement.span.start as usize..statement.span.end as usize);
        if statement.end <= index + 1 && !opens.is_some_and(|line| line.ends_with('{')) {
            return statement.span;
        }
        let last = all.get(statement.end.max(index + 1) - 1).map_or(statement.span, |one| one.span);
        let from = last.end.max(statement.span.end) as usize;
        let next = all.get(statement.end.max(index + 1)).map_or(text.len(), |one| one.span.start as usize);
        let between = text.get(from..next).unwrap_or("");
        let mut at = from;
        for line in between.split_inclusive('\n') {
            let code = line.trim_start();
            if code.starts_with('}') {
                return Span::new(
                    statement.span.file,
                    statement.span.start as usize,
                    at + line.len() - code.len() + 1,
                );
            }
            at += line.len();
        }
        // Nothing closes it: it goes on to what follows.
        Span::new(statement.span.file, statement.span.start as usize, next)
    }

    fn blocks(&mut self, file: &File) {
        let all = &file.tree.statements;
        for (index, statement) in all.iter().enumerate() {
            let whole = self.whole(all, index, statement);
            if whole != statement.span {
                self.outline.blocks.push(whole);
            }
        }
    }

    /// Parts and kits of used libraries, in each file and, with the file's own, in its kits.
    fn import(&mut self) {
        let shared =
            |named: &Named| matches!(named.class, NameClass::Part | NameClass::Kit | NameClass::Unknown);
        for (file, row) in self.files.iter().enumerate() {
            let used = row.uses.iter();
            self.outline.libraries.extend(used.map(|(used, span)| (*span, self.files[*used].tree.file)));
            let (mut seen, mut next) = (vec![false; self.files.len()], vec![file]);
            let mut found: Vec<usize> = Vec::new();
            while let Some(used) = next.pop() {
                if std::mem::replace(&mut seen[used], true) {
                    continue;
                }
                // The scopes of files come first: what a scope had before is its own.
                let own = self.outline.scopes[used].names.iter().copied();
                let own = own.filter(|at| self.outline.names[*at].scope == used);
                found.extend(own.filter(|at| shared(&self.outline.names[*at])));
                next.extend(self.files[used].uses.iter().rev().map(|row| row.0));
            }
            let scopes = self.outline.scopes.iter().enumerate();
            let of_file: Vec<usize> =
                scopes.filter(|(_, scope)| scope.file == row.tree.file).map(|(at, _)| at).collect();
            for scope in of_file {
                for at in &found {
                    let name = &self.outline.names[*at].name;
                    if !self.maps[scope].contains_key(name) {
                        self.maps[scope].insert(name.clone(), *at);
                        self.outline.scopes[scope].names.push(*at);
                    }
                }
            }
        }
    }

    fn refer(&mut self) {
        let files = self.files;
        for (scope, file) in files.iter().enumerate() {
            let all = &file.tree.statements;
            // What a part or kit is has to be known before paths through fits are followed.
            self.of(scope, all, 0, all.len());
            let kits: Vec<(usize, usize)> = level(all, 0, all.len())
                .filter(|row| matches!(row.1.node, Node::Kit { .. }))
                .filter_map(|(index, statement)| {
                    let kit = self.declared(statement)?;
                    Some((index, *self.kits.get(&kit)?))
                })
                .collect();
            for (index, inner) in &kits {
                self.of(*inner, all, index + 1, all[*index].end);
            }
        }
        for (scope, file) in files.iter().enumerate() {
            let all = &file.tree.statements;
            for (index, statement) in level(all, 0, all.len()) {
                self.statement(scope, statement);
                let inner = match &statement.node {
                    Node::Kit { .. } => self.declared(statement).and_then(|kit| self.kits.get(&kit).copied()),
                    _ => None,
                };
                for inside in all.get(index + 1..statement.end).unwrap_or_default() {
                    self.statement(inner.unwrap_or(scope), inside);
                }
            }
        }
    }

    fn declared(&self, statement: &Statement) -> Option<usize> {
        let span = statement.name?;
        self.outline.names.iter().position(|named| named.span == span)
    }

    fn of(&mut self, scope: usize, all: &[Statement], first: usize, end: usize) {
        let rows: Vec<(Span, Span)> = level(all, first, end)
            .filter_map(|(_, statement)| match &statement.node {
                Node::Component { part: Some(of), .. } | Node::Fit { kit: of, .. } => {
                    Some((statement.name?, *of))
                }
                _ => None,
            })
            .collect();
        for (name, of) in rows {
            let target = self.maps[scope].get(self.slice(of)).copied();
            let Some(at) = self.maps[scope].get(self.slice(name)).copied() else { continue };
            if self.outline.names[at].span == name {
                self.outline.names[at].of = target;
            }
        }
    }

    fn statement(&mut self, scope: usize, statement: &Statement) {
        match &statement.node {
            Node::Component { part, traits } => {
                if let Some(part) = part {
                    self.path(scope, *part, None);
                }
                self.traits(scope, traits);
            }
            Node::Part { traits, .. } => self.traits(scope, traits),
            Node::Wire { from, to, traits } | Node::Data { from, to, traits } => {
                self.references(scope, &[*from, *to]);
                self.traits(scope, traits);
            }
            Node::Bolt { a, b } => self.references(scope, &[*a, *b]),
            Node::Bundle { wires } => self.references(scope, wires),
            Node::ModeLine { what, .. } | Node::Note { what, .. } => self.references(scope, &[*what]),
            Node::Expect { claim, mode } => {
                let (ClaimWord::Reads(what, ..)
                | ClaimWord::Carries(what, ..)
                | ClaimWord::Above(what, _)
                | ClaimWord::Below(what, _)) = claim;
                self.references(scope, &[*what]);
                self.path(scope, *mode, None);
            }
            Node::Reading { measured, mode, .. } => {
                match measured {
                    MeasuredWord::Meter(what, _) | MeasuredWord::Voltage(what, _) => {
                        self.references(scope, &[*what]);
                    }
                    MeasuredWord::Drop(from, to, _) => self.references(scope, &[*from, *to]),
                }
                self.path(scope, *mode, None);
            }
            Node::Set { what, value, .. } => {
                self.references(scope, &[*what]);
                if let SetWord::Parameter(value) = value {
                    self.value(scope, *value);
                }
            }
            Node::Stack { node, wires } => {
                self.references(scope, &[*node]);
                self.references(scope, wires);
            }
            Node::Waive { subject: Subject::Name(what), .. } => self.references(scope, &[*what]),
            Node::Zone { ambient } => self.value(scope, *ambient),
            Node::Assume { value, .. } => self.value(scope, *value),
            Node::Fit { kit, arguments } => self.fit(scope, *kit, arguments),
            Node::Broken => self.broken(scope, statement),
            Node::Design { .. }
            | Node::Library
            | Node::Use { .. }
            | Node::Book { .. }
            | Node::Limit { .. }
            | Node::Terminal { .. }
            | Node::Mode { .. }
            | Node::Waive { .. }
            | Node::Kit { .. } => {}
        }
    }

    fn fit(&mut self, scope: usize, kit: Span, arguments: &[(Span, Value, Span)]) {
        let target = self.path(scope, kit, None);
        let inner = target.and_then(|kit| self.kits.get(&kit).copied());
        for (name, value, _) in arguments {
            if let Some(at) = inner.and_then(|inner| self.parameter(inner, self.slice(*name))) {
                self.outline.uses.push(Used { span: *name, name: at, terminal: None });
            }
            self.value(scope, *value);
            // A bare word may be a name, such as that of a zone or of a post.
            if value.what == What::Word {
                self.path(scope, value.span, None);
            }
        }
    }

    fn parameter(&self, scope: usize, name: &str) -> Option<usize> {
        let all = &self.outline.scopes.get(scope)?.parameters;
        all.iter().copied().find(|at| self.outline.names[*at].name == name)
    }

    fn traits(&mut self, scope: usize, traits: &[Trait]) {
        for one in traits {
            self.value(scope, one.value);
            if let Some(second) = one.second {
                self.value(scope, second);
            }
        }
    }

    fn value(&mut self, scope: usize, value: Value) {
        match value.what {
            What::Terminal(reference) => self.references(scope, &[reference]),
            What::Parameter(_) => self.dollar(scope, value.span),
            _ => {}
        }
    }

    fn dollar(&mut self, scope: usize, span: Span) {
        let Some(name) = self.slice(span).strip_prefix('$') else { return };
        if let Some(at) = self.parameter(scope, name) {
            let span = Span { start: span.start + 1, ..span };
            self.outline.uses.push(Used { span, name: at, terminal: None });
        }
    }

    fn references(&mut self, scope: usize, all: &[Reference]) {
        for reference in all {
            match reference.parameter {
                Some(_) => self.dollar(scope, reference.span),
                None => {
                    self.path(scope, reference.path(), reference.terminal());
                }
            }
        }
    }

    /// Follows `fit/name` from a scope; each step is a use.
    fn path(&mut self, scope: usize, span: Span, terminal: Option<Span>) -> Option<usize> {
        let text = self.slice(span).to_owned();
        let (mut scope, mut start) = (Some(scope), span.start as usize);
        let mut found = None;
        for step in text.split('/') {
            let here = Span::new(span.file, start, start + step.len());
            start += step.len() + 1;
            found = self.maps.get(scope?)?.get(step).copied();
            let terminal = terminal.filter(|_| start > span.end as usize);
            self.outline.uses.push(Used { span: here, name: found?, terminal });
            scope = self.outline.names[found?].of.and_then(|kit| self.kits.get(&kit).copied());
        }
        found
    }

    /// Whatever looks like a known name in a line that cannot be read.
    fn broken(&mut self, scope: usize, statement: &Statement) {
        let span = statement.span;
        let (text, mut found) = (self.slice(span).to_owned(), Vec::new());
        items::read(span.file, &text, span.start as usize, &mut found);
        let mut before: Option<ItemKind> = None;
        for Item { kind, span } in found {
            let unit = matches!(before, Some(ItemKind::Number | ItemKind::Gauge | ItemKind::Comma));
            before = Some(kind);
            match kind {
                ItemKind::Parameter => self.dollar(scope, span),
                ItemKind::Word if !unit && Some(span) != statement.name => {
                    let word = self.slice(span);
                    let path = word.split('.').next().unwrap_or(word).len();
                    if words::is_reserved(word) {
                        continue;
                    }
                    let terminal = (path < word.len())
                        .then(|| Span::new(span.file, span.start as usize + path + 1, span.end as usize));
                    let path = Span::new(span.file, span.start as usize, span.start as usize + path);
                    self.path(scope, path, terminal);
                }
                _ => {}
            }
        }
    }
}

fn class(statement: &Statement) -> (NameClass, Option<&'static KindWords>) {
    match (&statement.node, statement.class) {
        (Node::Design { .. } | Node::Library, _) => (NameClass::Head, None),
        (Node::Part { kind, .. }, _) => (NameClass::Part, Some(kind_words(*kind))),
        (_, Class::Component(kind)) => (NameClass::Component, Some(kind_words(kind))),
        (_, Class::Wire) => (NameClass::Wire, Some(words::WIRE)),
        (_, Class::Data) => (NameClass::Data, Some(words::DATA)),
        (_, Class::Bundle) => (NameClass::Bundle, None),
        (_, Class::Zone) => (NameClass::Zone, None),
        (_, Class::Mode) => (NameClass::Mode, None),
        (_, Class::Part) => (NameClass::Part, None),
        (_, Class::Kit) => (NameClass::Kit, None),
        (_, Class::Fit) => (NameClass::Fit, None),
        (_, Class::Unknown) => (NameClass::Unknown, None),
    }
}

fn kind_word(kind: ParameterKind) -> &'static str {
    use words::Dimension;
    match kind {
        ParameterKind::Terminal => "terminal",
        ParameterKind::Quantity(Dimension::Voltage) => "voltage",
        ParameterKind::Quantity(Dimension::Current) => "current",
        ParameterKind::Quantity(Dimension::Area) => "area",
        ParameterKind::Quantity(Dimension::Length) => "length",
        ParameterKind::Quantity(_) | ParameterKind::Any => "value",
        ParameterKind::Text => "text",
        ParameterKind::Word => "word",
    }
}
