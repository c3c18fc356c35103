//! What can be written at a place: words valid there, names, terminals.

use std::collections::BTreeSet;

use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionList, CompletionParams, CompletionTextEdit, Range, TextEdit,
};

use crate::book::{Book, Limit};
use crate::design::{NameClass, Named, Outline, Scope};
use crate::rules::find;
use crate::syntax::items::{Item, ItemKind};
use crate::syntax::lines::cut;
use crate::syntax::words::{self, BareForm, Dimension, Form, KindWords, Named as After};
use crate::text::FileId;

use super::hover::kind_of;
use super::lines::{Line, is_number, start};
use super::server::Server;
use super::text::Text;

/// Everything that can stand at a place.
pub(super) fn complete(server: &mut Server, params: &CompletionParams) -> Option<CompletionList> {
    let at = &params.text_document_position;
    let (path, outline, offset) = server.place(&at.text_document.uri, at.position);
    let text = server.text(&outline, FileId(0));
    let mut offset = offset as usize;
    while !text.text.is_char_boundary(offset) {
        offset -= 1;
    }
    let line = Line::before(&text.text, offset);
    if line.comment {
        return None;
    }
    let here = Here { path: &path, text: &text, line: &line, offset };
    let after_quote = params.context.as_ref().and_then(|row| row.trigger_character.as_deref()) == Some("\"");
    match line.items.last().map(|item| item.kind) {
        Some(ItemKind::OpenText) => return here.in_text(server),
        // The quote ended a text: nothing is begun yet.
        _ if after_quote => return None,
        _ if here.names_book() => return Some(here.books(server, ["", ""])),
        _ if here.begins_use() => return Some(here.libraries(server, offset, ["\"", "\""])),
        _ => {}
    }
    // What is being written is the last item, if the place touches it.
    let touches = |kind| matches!(kind, ItemKind::Word | ItemKind::Parameter);
    let last = line.items.last().filter(|item| item.span.end as usize == offset && touches(item.kind));
    let written = last.map_or("", |item| line.slice(*item));
    let n_before = line.items.len() - usize::from(last.is_some());
    let scope = outline.scope_at(FileId(0), u32::try_from(offset).unwrap_or(u32::MAX));
    let mut list = List { outline: &outline, scope, found: Vec::new(), seen: BTreeSet::new() };
    // Rules and limits have points in their names.
    let pointed = n_before == 1 && matches!(line.word(0), "waive" | "limit");
    let piece = if written.starts_with('$') {
        list.parameters();
        1
    } else if let Some((path, _)) = written.split_once('.').filter(|_| !pointed) {
        list.terminals(path);
        path.len() + 1
    } else if let Some((fits, _)) = written.rsplit_once('/') {
        list.inside(fits);
        fits.len() + 1
    } else {
        let before = Before { line: &line, n: n_before, block: Block::at(&outline, &text.text, offset) };
        list.words(&before);
        0
    };
    let from = offset - written.len() + piece.min(written.len());
    let range = Range { start: text.position(from), end: text.position(offset) };
    let items = list.found.into_iter().map(|found| found.item(range)).collect();
    Some(CompletionList { is_incomplete: false, items })
}

/// Most files that are opened to see what they are; of others it is not known, and they are offered.
const MOST_OPENED: usize = 200;

/// A place that files are named at.
struct Here<'l> {
    path: &'l str,
    text: &'l Text,
    line: &'l Line<'l>,
    offset: usize,
}

impl Here<'_> {
    /// In a text that the place ends: a path, in the statements that have one.
    fn in_text(&self, server: &Server) -> Option<CompletionList> {
        let [_, text] = self.line.items.as_slice() else { return None };
        // What the editor closed by itself stays as it is.
        let rest = self.text.text.get(self.offset..).unwrap_or("").lines().next().unwrap_or("");
        let quotes = if rest.contains('"') { ["", ""] } else { ["", "\""] };
        match self.line.word(0) {
            "use" => Some(self.libraries(server, text.span.start as usize + 1, quotes)),
            "book" => Some(self.books(server, quotes)),
            _ => None,
        }
    }

    /// After `use`, where no quote is written yet.
    fn begins_use(&self) -> bool {
        let [first] = self.line.items.as_slice() else { return false };
        self.line.slice(*first) == "use" && (first.span.end as usize) < self.offset
    }

    fn libraries(&self, server: &Server, from: usize, quotes: [&str; 2]) -> CompletionList {
        let libraries = of_kind(server, self.path, "loom", |text| {
            let first = cut(FileId(0), text).find(|line| !line.code.is_empty())?.code;
            let first = text.get(first.start as usize..first.end as usize)?;
            first.starts_with("library").then(|| first.split('"').nth(1).unwrap_or("").to_owned())
        });
        self.list(from, libraries, quotes)
    }

    /// At a book's name without quotes.
    fn names_book(&self) -> bool {
        let touches = |item: &Item| item.span.end as usize == self.offset;
        match self.line.items.as_slice() {
            [first] => self.line.slice(*first) == "book" && !touches(first),
            [first, name] => {
                self.line.slice(*first) == "book" && touches(name) && name.kind != ItemKind::Text
            }
            _ => false,
        }
    }

    /// Books that ship, and those beside the design.
    fn books(&self, server: &Server, quotes: [&str; 2]) -> CompletionList {
        let title = |name| Book::shipped(name).map_or_else(String::new, |book| book.title().to_owned());
        let mut books: Vec<Found> =
            Book::shipped_names().into_iter().map(|name| Found::file(name.to_owned(), title(name))).collect();
        books.extend(of_kind(server, self.path, "toml", |text| {
            let title =
                text.lines().find_map(|line| line.strip_prefix("title")?.trim_start().strip_prefix('='))?;
            Some(title.trim().trim_matches('"').to_owned())
        }));
        let name = self.line.items.get(1);
        let quote = usize::from(name.is_some_and(|name| name.kind == ItemKind::OpenText));
        self.list(name.map_or(self.offset, |name| name.span.start as usize + quote), books, quotes)
    }

    fn list(&self, from: usize, found: Vec<Found>, [before, after]: [&str; 2]) -> CompletionList {
        let range = Range { start: self.text.position(from), end: self.text.position(self.offset) };
        let item = |found: Found| {
            let mut item = found.item(range);
            if let Some(CompletionTextEdit::Edit(edit)) = &mut item.text_edit {
                edit.new_text = format!("{before}{}{after}", edit.new_text);
            }
            item
        };
        CompletionList { is_incomplete: false, items: found.into_iter().map(item).collect() }
    }
}

/// Files that a file may name, with what is told of each; `None` leaves one out.
fn of_kind(
    server: &Server,
    path: &str,
    extension: &str,
    detail: impl Fn(&str) -> Option<String>,
) -> Vec<Found> {
    let mut found = Vec::new();
    for (n, (written, path)) in server.reachable(path, extension).into_iter().enumerate() {
        let detail = match n < MOST_OPENED {
            true => detail(&server.text_of(&path).text),
            false => Some(String::new()),
        };
        found.extend(detail.map(|detail| Found::file(written, detail)));
    }
    found
}

/// What a line stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Block {
    Design,
    Library,
    Kit,
    Mode,
    Part,
}

impl Block {
    fn at(outline: &Outline, text: &str, offset: usize) -> Self {
        let line = start(text, offset);
        let around = outline.blocks.iter().filter(|block| {
            block.file == FileId(0) && (block.start as usize) < line && line < block.end as usize
        });
        let innermost = around.max_by_key(|block| block.start).map(|block| outline.sources.slice(*block));
        match innermost.and_then(|block| block.split_whitespace().next()) {
            Some("mode") => Self::Mode,
            Some("part") => Self::Part,
            Some("kit") => Self::Kit,
            _ if outline.library => Self::Library,
            _ => Self::Design,
        }
    }
}

/// The line before what is being written.
struct Before<'l> {
    line: &'l Line<'l>,
    n: usize,
    block: Block,
}

impl<'l> Before<'l> {
    fn word(&self, at: usize) -> &'l str {
        if at < self.n { self.line.word(at) } else { "" }
    }

    /// The `n`th word from the end, 1 being the last.
    fn last(&self, n: usize) -> &'l str {
        self.n.checked_sub(n).map_or("", |at| self.word(at))
    }

    fn has(&self, word: &str) -> bool {
        (0..self.n).any(|at| self.word(at) == word)
    }

    fn after_number(&self) -> bool {
        let last = self.n.checked_sub(1).and_then(|at| self.line.items.get(at));
        last.is_some_and(|item| is_number(item.kind))
    }
}

struct Found {
    label: String,
    kind: CompletionItemKind,
    detail: String,
}

impl Found {
    fn file(label: String, detail: String) -> Self {
        Self { label, kind: CompletionItemKind::FILE, detail }
    }

    fn item(self, range: Range) -> CompletionItem {
        CompletionItem {
            text_edit: Some(CompletionTextEdit::Edit(TextEdit { range, new_text: self.label.clone() })),
            label: self.label,
            kind: Some(self.kind),
            detail: (!self.detail.is_empty()).then_some(self.detail),
            ..CompletionItem::default()
        }
    }
}

struct List<'o> {
    outline: &'o Outline,
    scope: Option<&'o Scope>,
    found: Vec<Found>,
    seen: BTreeSet<String>,
}

impl<'o> List<'o> {
    fn add(&mut self, label: impl Into<String>, kind: CompletionItemKind, detail: impl Into<String>) {
        let label = label.into();
        if self.seen.insert(label.clone()) {
            self.found.push(Found { label, kind, detail: detail.into() });
        }
    }

    fn keywords(&mut self, words: &[&str]) {
        for word in words {
            self.add(*word, CompletionItemKind::KEYWORD, "");
        }
    }

    fn visible(&self) -> impl Iterator<Item = &'o Named> + use<'o> {
        let (outline, scope) = (self.outline, self.scope);
        scope.into_iter().flat_map(|scope| &scope.names).filter_map(|at| outline.names.get(*at))
    }

    fn named(&self, name: &str) -> Option<&'o Named> {
        self.visible().find(|named| named.name == name)
    }

    /// Names of some classes.
    fn names(&mut self, suits: impl Fn(&Named) -> bool) {
        for named in self.visible().filter(|named| suits(named)) {
            self.name(named);
        }
        if self.scope.is_some_and(|scope| !scope.parameters.is_empty()) {
            for parameter in self.own_parameters() {
                let (label, detail) = (format!("${}", parameter.name), parameter.title.clone());
                self.add(label, CompletionItemKind::TYPE_PARAMETER, detail.unwrap_or_default());
            }
        }
    }

    fn own_parameters(&self) -> Vec<&'o Named> {
        let all = self.scope.into_iter().flat_map(|scope| &scope.parameters);
        all.filter_map(|at| self.outline.names.get(*at)).collect()
    }

    fn name(&mut self, named: &Named) {
        let word = named.words.map_or("", |words| words.word);
        let detail = match &named.title {
            Some(title) if word.is_empty() => title.clone(),
            Some(title) => format!("{word}, {title}"),
            None => word.to_owned(),
        };
        let kind = match named.class {
            NameClass::Kit | NameClass::Part => CompletionItemKind::CLASS,
            NameClass::Fit => CompletionItemKind::MODULE,
            NameClass::Mode | NameClass::Zone => CompletionItemKind::ENUM_MEMBER,
            _ => CompletionItemKind::VARIABLE,
        };
        self.add(named.name.clone(), kind, detail);
    }

    fn parameters(&mut self) {
        for parameter in self.own_parameters() {
            let detail = parameter.title.clone().unwrap_or_default();
            self.add(parameter.name.clone(), CompletionItemKind::TYPE_PARAMETER, detail);
        }
    }

    /// What a path of fits leads to: the scope of the kit.
    fn follow(&self, fits: &str) -> Option<&'o Scope> {
        let mut scope = self.scope?;
        for fit in fits.split('/') {
            let mut names = scope.names.iter().filter_map(|at| self.outline.names.get(*at));
            let kit = names.find(|named| named.name == fit)?.of?;
            scope = self.outline.scopes.iter().find(|scope| scope.kit == Some(kit))?;
        }
        Some(scope)
    }

    /// Names inside a fit.
    fn inside(&mut self, fits: &str) {
        let Some(scope) = self.follow(fits) else { return };
        let names: Vec<&Named> = scope.names.iter().filter_map(|at| self.outline.names.get(*at)).collect();
        let own = |named: &&&Named| !matches!(named.class, NameClass::Part | NameClass::Kit);
        for named in names.iter().filter(own) {
            self.name(named);
        }
    }

    /// Terminals of what a path leads to.
    fn terminals(&mut self, path: &str) {
        let named = match path.rsplit_once('/') {
            None => self.named(path),
            Some((fits, name)) => self.follow(fits).and_then(|scope| {
                let mut names = scope.names.iter().filter_map(|at| self.outline.names.get(*at));
                names.find(|named| named.name == name)
            }),
        };
        let Some(named) = named.filter(|named| named.class == NameClass::Component) else { return };
        let Some(words) = named.words else { return };
        // A part may say how many outputs there are, too.
        let mut statements = vec![self.outline.sources.slice(named.statement)];
        let part = named.of.and_then(|of| self.outline.names.get(of));
        statements.extend(part.map(|part| self.outline.sources.slice(part.statement)));
        for terminal in terminals_of(words, &statements) {
            self.add(terminal, CompletionItemKind::FIELD, words.word);
        }
    }

    fn units(&mut self, dimensions: &[Dimension]) {
        for unit in
            words::UNITS.iter().filter(|unit| dimensions.is_empty() || dimensions.contains(&unit.dimension))
        {
            if unit.word.is_ascii() {
                self.add(unit.word, CompletionItemKind::UNIT, unit.dimension.phrase());
            }
        }
    }

    fn words(&mut self, before: &Before<'_>) {
        if before.after_number() {
            return self.units(&[]);
        }
        match before.block {
            Block::Mode => return self.mode_line(before),
            Block::Part => return self.part_line(before),
            _ => {}
        }
        if before.n == 0 {
            return self.statements(before.block);
        }
        let electrical = |named: &Named| matches!(named.class, NameClass::Component | NameClass::Fit);
        let wires = |named: &Named| matches!(named.class, NameClass::Wire | NameClass::Fit);
        let elements = |named: &Named| {
            !matches!(named.class, NameClass::Part | NameClass::Kit | NameClass::Head | NameClass::Parameter)
        };
        let modes = |named: &Named| named.class == NameClass::Mode;
        match (before.word(0), before.n) {
            ("assume", 1) => self.keywords(words::ASSUMPTIONS),
            ("assume", 2) => match before.word(1) {
                "strand" => self.keywords(words::STRANDS),
                "copper" => self.keywords(words::COATINGS),
                _ => {}
            },
            ("limit", 1) => self.limits(),
            ("limit", 2) => self.limit_words(before.word(1)),
            ("limit", _) if !before.has("because") => self.keywords(&["because"]),
            ("zone", 2) => self.keywords(&["ambient"]),
            ("part", 2) => self.keywords(&["is"]),
            ("part", 3) => self.kinds(),
            ("wire" | "data", 2) => self.keywords(&["from"]),
            ("wire" | "data", 3 | 5) => self.names(electrical),
            ("wire" | "data", 4) => self.keywords(&["to"]),
            ("bolt", 1 | 3) => self.names(electrical),
            ("bolt", 2) => self.keywords(&["to"]),
            ("bundle", 2..) | ("stack", 2..) => self.names(wires),
            ("stack" | "reading" | "note", 1) | ("expect", 1) | ("set", 1) => self.names(elements),
            ("expect", 2) => self.keywords(&["reads", "carries", "above", "below"]),
            ("expect" | "reading", _) if before.last(1) == "in" => self.names(modes),
            ("expect", _) if before.has("within") || before.has("above") || before.has("below") => {
                self.keywords(&["in"]);
            }
            ("expect", _) => self.keywords(&["within"]),
            ("reading", 2) => self.keywords(&["to"]),
            ("reading", _) => self.keywords(&["in", "on", "by"]),
            ("set", 2) => {
                for (word, dimension) in words::SETTINGS {
                    self.add(*word, CompletionItemKind::PROPERTY, dimension.phrase());
                }
            }
            ("waive", 1) => self.rules(),
            ("waive", 2) => self.keywords(&["on"]),
            ("waive", 3) => self.names(elements),
            ("waive", _) => self.keywords(&["because", "until"]),
            ("kit", _) if before.last(1) == ":" => self.keywords(words::PARAMETER_TYPES),
            ("fit", 1) => self.names(|named| named.class == NameClass::Kit),
            ("fit", 2) => self.keywords(&["as"]),
            ("fit", _) => self.arguments(before),
            (first, n) => {
                let Some(kind) = kind_of(first, before.line) else { return };
                if before.last(1) == "=" {
                    let word = kind.word;
                    return self.names(move |named| {
                        named.class == NameClass::Part && named.words.is_some_and(|words| words.word == word)
                    });
                }
                if 2 <= n {
                    self.properties(kind, before);
                }
            }
        }
    }

    fn statements(&mut self, block: Block) {
        for row in words::STATEMENTS {
            let fits = match block {
                Block::Library => row.in_library,
                Block::Kit => row.in_kit,
                _ => row.word != "library",
            };
            if fits {
                self.add(row.word, CompletionItemKind::KEYWORD, row.doc);
            }
        }
        if block != Block::Library {
            self.kinds();
        }
    }

    fn kinds(&mut self) {
        for kind in words::KINDS {
            self.add(kind.word, CompletionItemKind::KEYWORD, kind.doc);
        }
    }

    fn limits(&mut self) {
        for limit in Limit::all() {
            self.add(limit.name(), CompletionItemKind::CONSTANT, limit.doc());
        }
    }

    fn limit_words(&mut self, name: &str) {
        for limit in Limit::named(name) {
            self.keywords(limit.words());
        }
    }

    fn rules(&mut self) {
        for id in words::RULE_IDS {
            let claim = find(id).map_or("", |rule| rule.claim);
            self.add(*id, CompletionItemKind::CONSTANT, claim);
        }
    }

    fn mode_line(&mut self, before: &Before<'_>) {
        match before.n {
            0 => self.names(|named| matches!(named.class, NameClass::Component | NameClass::Fit)),
            1 => self.keywords(words::STATES),
            _ => {}
        }
    }

    fn part_line(&mut self, before: &Before<'_>) {
        if before.n == 0 {
            return self.keywords(&["terminal"]);
        }
        if (1..before.n).any(|at| words::HARDWARE.contains(&before.word(at))) {
            return self.keywords(&["to", "strip"]);
        }
        let open = self.outline.names.iter().rev().find(|named| {
            let at = before.line.items.first().map_or(0, |item| item.span.start);
            named.class == NameClass::Part
                && named.span.file == FileId(0)
                && named.whole.start <= at
                && at <= named.whole.end
        });
        if let Some(words) = open.and_then(|part| part.words) {
            let statement = open.map_or("", |part| self.outline.sources.slice(part.statement));
            for terminal in terminals_of(words, &[statement]) {
                self.add(terminal, CompletionItemKind::FIELD, "");
            }
        }
        if 1 < before.n {
            self.keywords(words::HARDWARE);
        }
    }

    fn arguments(&mut self, before: &Before<'_>) {
        if before.last(1) == "=" {
            return self.names(|named| {
                matches!(named.class, NameClass::Component | NameClass::Fit | NameClass::Zone)
            });
        }
        if before.n < 4 {
            return;
        }
        let kit = self.named(before.word(1)).map(|kit| kit.span);
        let kit = self.outline.names.iter().position(|named| Some(named.span) == kit);
        let Some(scope) = self.outline.scopes.iter().find(|scope| kit.is_some() && scope.kit == kit) else {
            return;
        };
        for at in &scope.parameters {
            let Some(parameter) = self.outline.names.get(*at) else { continue };
            if !before.has(&parameter.name) {
                let detail = parameter.title.clone().unwrap_or_default();
                self.add(parameter.name.clone(), CompletionItemKind::TYPE_PARAMETER, detail);
            }
        }
    }

    /// What may still be written after the head of an element.
    fn properties(&mut self, kind: &'static KindWords, before: &Before<'_>) {
        // What the property that was begun last goes on with.
        for back in 1..=2 {
            let Some(property) = kind.property(before.last(back)) else { continue };
            match property.form {
                Form::Choice(words) if back == 1 => return self.keywords(words),
                Form::Name(After::Zone) if back == 1 => {
                    return self.names(|named| named.class == NameClass::Zone);
                }
                Form::Name(After::Chassis) if back == 1 => return self.of_kind(&["chassis"]),
                Form::Name(After::Same) if back == 1 => return self.of_kind(&[kind.word]),
                Form::Node if back == 1 => return self.of_kind(&["post", "bar", "chassis"]),
                Form::Ends => return self.keywords(words::ENDINGS),
                Form::Names => {
                    let some = |named: &Named| matches!(named.class, NameClass::Component | NameClass::Fit);
                    self.names(some);
                }
                Form::Quantity(_) | Form::Count(_) | Form::VoltageCurrent | Form::Breaks if back == 1 => {
                    return;
                }
                _ => {}
            }
        }
        if kind.word != "wire" && kind.word != "data" {
            if before.last(3) == "breaks" {
                self.keywords(&["at"]);
            }
            for property in words::COMMON {
                self.property(property, before);
            }
        }
        for property in kind.properties {
            self.property(property, before);
        }
        for bare in kind.bare {
            match bare.form {
                BareForm::Words { words, .. } if !words.iter().any(|word| before.has(word)) => {
                    for word in words {
                        self.add(*word, CompletionItemKind::ENUM_MEMBER, bare.doc);
                    }
                }
                BareForm::Colour => {
                    for word in words::COLOURS {
                        self.add(*word, CompletionItemKind::COLOR, bare.doc);
                    }
                }
                _ => {}
            }
        }
    }

    fn property(&mut self, property: &words::Property, before: &Before<'_>) {
        if property.repeatable || !before.has(property.word) {
            self.add(property.word, CompletionItemKind::PROPERTY, property.doc);
        }
    }

    fn of_kind(&mut self, kinds: &[&str]) {
        self.names(|named| {
            named.class == NameClass::Component
                && named.words.is_some_and(|words| kinds.contains(&words.word))
        });
    }
}

/// The terminals of a kind, as its statement and that of its part have them.
fn terminals_of(kind: &KindWords, statements: &[&str]) -> Vec<String> {
    let outputs = statements.iter().find_map(|statement| {
        let mut words = statement.split_whitespace().skip_while(|word| *word != "outputs");
        words.nth(1)?.parse::<u8>().ok().filter(|n| (1..=32).contains(n))
    });
    let has = |pair: [&str; 2]| {
        statements.iter().any(|statement| {
            let words: Vec<&str> = statement.split_whitespace().collect();
            words.windows(2).any(|window| window == pair)
        })
    };
    let from_ac = has(["from", "ac"]);
    let returns =
        statements.iter().any(|statement| statement.split_whitespace().any(|word| word == "returns"));
    let mut all = Vec::new();
    for terminal in kind.terminals {
        match *terminal {
            "outN+" => all.extend((1..=outputs.unwrap_or(0)).map(|n| format!("out{n}+"))),
            "out+" if outputs.is_some() => {}
            "in+" | "in-" if from_ac => {}
            "-" if returns => {}
            other => all.push(other.to_owned()),
        }
    }
    all
}
