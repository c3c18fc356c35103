//! From trees to a design, in two walks over the statements: the first declares everything and places kits, the second
//! connects names. Kits' bodies are walked once as specimens, so that they are judged even where nothing fits them.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::findings::{Finding, Severity};
use crate::syntax::tree::{
    Class, Node, Parameter, ParameterKind, Quantity, Reference, Statement, Value, What,
};
use crate::syntax::{Problems, id, plain};
use crate::text::{Sources, Span};

use super::files::File;
use super::ids::{ComponentId, FitId, ModeId, WireId, ZoneId};
use super::kits::{DEEPEST, FitOf, Growth, growth};
use super::model::{Design, End, Fit, Place};
use super::names::{At, Body, block, body, imports, level};

/// What a problem says: headline, label, help.
pub(super) type Said = (String, String, String);

/// What a name of a body stands for, in one instance of it.
#[derive(Debug, Clone, Copy)]
pub(super) enum Entity {
    Component(ComponentId),
    Wire(WireId),
    Data,
    Bundle,
    Zone(ZoneId),
    Mode(ModeId),
    Part,
    Kit,
    /// A fit, by its instance.
    Fit(usize),
    /// Its statement could not be read, or it has no name.
    Unknown,
}

/// What a parameter stands for.
#[derive(Debug, Clone)]
pub(super) enum Bound {
    Quantity(Quantity),
    Text(String),
    /// A word, and the instance in whose scope it is a name.
    Word(Span, usize),
    /// A terminal of the instance that fits the kit, not yet looked up.
    Pending(Reference, usize),
    /// A terminal.
    Terminal(End),
    /// Anything: the kit is only looked at, or the argument is wrong and has been told.
    Any,
}

/// The design itself, or one fitted kit.
#[derive(Debug)]
pub(super) struct Instance {
    pub(super) body: usize,
    pub(super) fit: Option<FitId>,
    pub(super) bound: Vec<Bound>,
    /// By statement, from the body's first.
    entities: Vec<Entity>,
}

/// One kit.
struct Kit<'a> {
    body: usize,
    parameters: &'a [Parameter],
    growth: Growth,
}

/// All that the two walks work on.
pub(super) struct Resolver<'a, 'p> {
    pub(super) files: &'a [File],
    pub(super) sources: &'a Sources,
    pub(super) problems: &'p mut Problems,
    pub(super) design: Design,
    /// The components whose statement has a problem, by their id: nothing is said of what they lack.
    pub(super) faulty: Vec<bool>,
    pub(super) instances: Vec<Instance>,
    pub(super) bodies: Vec<Body<'a>>,
    kits: Vec<Kit<'a>>,
    kit_at: FxHashMap<At, usize>,
    imports: Vec<FxHashMap<&'a str, At>>,
    /// Fits lead to specimens, not to instances of their own.
    specimens: bool,
    order: u32,
    /// Names of limits that have been replaced.
    pub(super) limits: FxHashSet<&'a str>,
    n_wires: u32,
    n_modes: u32,
}

/// Resolves the first file with the libraries that it uses.
pub(super) fn resolve(files: &[File], sources: &Sources, most: usize, problems: &mut Problems) -> Design {
    let mut bodies: Vec<Body<'_>> = Vec::new();
    for (index, file) in files.iter().enumerate() {
        bodies.push(body(files, sources, (index, 0, file.tree.statements.len()), None, problems));
    }
    let imports: Vec<_> = (0..files.len()).map(|file| imports(files, &bodies, file, problems)).collect();
    let mut resolver = Resolver {
        files,
        sources,
        problems,
        design: Design::default(),
        faulty: Vec::new(),
        instances: Vec::new(),
        bodies,
        kits: Vec::new(),
        kit_at: FxHashMap::default(),
        imports,
        specimens: true,
        order: 0,
        limits: FxHashSet::default(),
        n_wires: 0,
        n_modes: 0,
    };
    resolver.collect_kits();
    resolver.look_at_kits();
    resolver.check_parts();
    if files.first().is_some_and(|file| file.tree.library) {
        return Design::default();
    }
    resolver.specimens = !resolver.fits_within(most);
    if files.first().is_some_and(|file| file.tree.statements.len() / 2 > most) {
        return Design::default();
    }
    if !resolver.specimens {
        resolver.start_afresh();
    }
    resolver.head();
    resolver.order = 0;
    let top = resolver.instance(0, None, Vec::new());
    resolver.declare(top);
    resolver.order = 0;
    resolver.connect(top);
    resolver.design
}

impl<'a> Resolver<'a, '_> {
    /// The text under a span.
    pub(super) fn slice(&self, span: Span) -> &'a str {
        self.sources.slice(span)
    }

    /// Tells a problem; without a subject the line is named.
    pub(super) fn tell(
        &mut self,
        rule: &'static str,
        span: Span,
        subject: &str,
        said: impl FnOnce(&mut Problems) -> Said,
    ) {
        let sources = self.sources;
        self.problems.add(rule, span, |problems| {
            let (headline, label, help) = said(problems);
            let subject = match subject {
                "" => format!("line:{}", sources.get(span.file).line_column(span.start).line),
                name => name.to_owned(),
            };
            Finding::new(rule, Severity::Error, subject, span).headline(headline).label(label).help(help)
        });
    }

    fn collect_kits(&mut self) {
        let mut own = Vec::new();
        let mut names = Vec::new();
        for file in 0..self.files.len() {
            let statements = &self.files[file].tree.statements;
            for (index, statement) in level(statements, 0, statements.len()) {
                let Node::Kit { parameters } = &statement.node else { continue };
                let (first, end) = block(index, statement);
                let body = body(self.files, self.sources, (file, first, end), Some(index), self.problems);
                self.kit_at.insert(At { file, statement: index }, self.kits.len());
                own.push(body.statements(self.files).count() as u64);
                names.push(statement.name.map_or("", |name| self.slice(name)));
                let growth = Growth { size: 0, depth: 1, endless: false };
                self.kits.push(Kit { body: self.bodies.len(), parameters, growth });
                self.bodies.push(body);
            }
        }
        let fits: Vec<Vec<FitOf>> = self.kits.iter().map(|kit| self.fits_of(kit.body)).collect();
        let growths = growth(&own, &fits, &names, self.sources, self.problems);
        for (kit, growth) in self.kits.iter_mut().zip(growths) {
            kit.growth = growth;
        }
    }

    /// The kits that a body fits.
    fn fits_of(&self, body: usize) -> Vec<FitOf> {
        let body = &self.bodies[body];
        let fit = |(_, statement): (usize, &Statement)| match statement.node {
            Node::Fit { kit, .. } => Some((self.find_kit(body.file, self.slice(kit))?, kit)),
            _ => None,
        };
        body.statements(self.files).filter_map(fit).collect()
    }

    fn find_kit(&self, file: usize, name: &str) -> Option<usize> {
        self.kit_at.get(&self.find_shared(file, name)?).copied()
    }

    /// The statement of a file, or of a library that it uses, that declares a name.
    pub(super) fn find_shared(&self, file: usize, name: &str) -> Option<At> {
        match self.bodies.get(file).and_then(|body| body.find(name)) {
            Some(statement) => Some(At { file, statement }),
            None => self.imports.get(file)?.get(name).copied(),
        }
    }

    /// The names of parts and kits that a file gets from libraries.
    pub(super) fn shared_names(&self, file: usize) -> Vec<&'a str> {
        let mut names: Vec<&'a str> =
            self.imports.get(file).map(|all| all.keys().copied().collect()).unwrap_or_default();
        names.sort_unstable();
        names
    }

    /// Walks each kit's body once, with its parameters standing for anything.
    fn look_at_kits(&mut self) {
        for kit in 0..self.kits.len() {
            let bound = vec![Bound::Any; self.kits[kit].parameters.len()];
            self.instance(self.kits[kit].body, None, bound);
        }
        for kit in 0..self.kits.len() {
            self.declare(kit);
        }
        for kit in 0..self.kits.len() {
            self.connect(kit);
        }
    }

    /// Whether all that the design fits stays within the limits; tells of the first fit that does not.
    fn fits_within(&mut self, most: usize) -> bool {
        let mut size: u64 = 0;
        let mut within = true;
        for (_, statement) in self.bodies[0].statements(self.files) {
            let (span, grown) = match statement.node {
                Node::Fit { kit, .. } => match self.find_kit(0, self.slice(kit)) {
                    Some(kit_id) => (kit, self.kits[kit_id].growth),
                    None => continue,
                },
                Node::Component { .. } | Node::Wire { .. } | Node::Bolt { .. } | Node::Data { .. } => {
                    let span = statement.name.unwrap_or(statement.span);
                    (span, Growth { size: 1, depth: 0, endless: false })
                }
                _ => continue,
            };
            let before = size;
            size = size.saturating_add(grown.size);
            let name = self.slice(statement.name.unwrap_or(span));
            if grown.endless {
                within = false;
            } else if grown.depth > DEEPEST {
                within = false;
                self.tell(id::LIMIT, span, name, |_| {
                    let headline = format!("kits stand {} deep in each other", grown.depth);
                    (
                        headline,
                        "the outermost".into(),
                        format!("at most {DEEPEST} may; fit some of them beside each other"),
                    )
                });
            } else if size > most as u64 && before <= most as u64 {
                within = false;
                self.tell(id::LIMIT, span, name, |_| {
                    let n_elements = if size == u64::MAX { "countless".into() } else { size.to_string() };
                    let headline = format!("the design grows to {n_elements} elements");
                    (
                        headline,
                        format!("passes {most} elements"),
                        format!("one design has at most {most} elements, its kits' counted"),
                    )
                });
            }
        }
        within
    }

    fn start_afresh(&mut self) {
        self.design = Design::default();
        self.faulty.clear();
        self.instances.clear();
        (self.n_wires, self.n_modes) = (0, 0);
    }

    /// The design's own name, title and book.
    fn head(&mut self) {
        let Some(file) = self.files.first() else { return };
        self.design.file = Some(file.tree.file);
        for (_, statement) in self.bodies[0].statements(self.files) {
            match &statement.node {
                Node::Design { title } if self.design.name_span.is_none() => {
                    self.design.name =
                        statement.name.map_or_else(String::new, |name| self.slice(name).to_owned());
                    self.design.name_span = statement.name;
                    self.design.title = plain(self.slice(*title));
                }
                Node::Book { name, span } if self.design.book.is_none() => {
                    self.design.book = Some((name.clone(), *span))
                }
                Node::Book { span, .. } => {
                    self.tell(id::WORD, *span, "", |_| {
                        let help = "one book judges a design; keep one of the two";
                        ("a book is named twice".into(), "the second one".into(), help.into())
                    });
                }
                _ => {}
            }
        }
    }

    fn instance(&mut self, body: usize, fit: Option<FitId>, bound: Vec<Bound>) -> usize {
        let n_statements = self.bodies[body].end - self.bodies[body].first;
        self.instances.push(Instance { body, fit, bound, entities: vec![Entity::Unknown; n_statements] });
        self.instances.len() - 1
    }

    /// The first walk: everything that has a name gets its id.
    fn declare(&mut self, at: usize) {
        let (body, fit) = (self.instances[at].body, self.instances[at].fit);
        let (file, first, end) = (self.bodies[body].file, self.bodies[body].first, self.bodies[body].end);
        let files = self.files;
        for (index, statement) in level(&files[file].tree.statements, first, end) {
            let place = self.place(statement, fit);
            let entity = match &statement.node {
                Node::Component { part, traits } => match statement.class {
                    Class::Component(kind) => self.component(at, kind, *part, traits, statement, place),
                    _ => Entity::Unknown,
                },
                Node::Wire { .. } => {
                    self.n_wires += 1;
                    Entity::Wire(WireId(self.n_wires - 1))
                }
                Node::Data { .. } => Entity::Data,
                Node::Mode { .. } => {
                    self.n_modes += 1;
                    Entity::Mode(ModeId(self.n_modes - 1))
                }
                Node::Zone { ambient } => self.zone(at, *ambient, statement, place),
                Node::Bundle { .. } => Entity::Bundle,
                Node::Part { .. } => Entity::Part,
                Node::Kit { .. } => Entity::Kit,
                Node::Fit { kit, arguments } => self.fit(at, *kit, arguments, statement),
                _ => Entity::Unknown,
            };
            self.instances[at].entities[index - first] = entity;
        }
    }

    /// Where a statement's element stands, one step further in the order of statements.
    pub(super) fn place(&mut self, statement: &Statement, fit: Option<FitId>) -> Place {
        // Odd numbers are left for what `on` adds to a statement.
        self.order = self.order.saturating_add(2);
        Place { span: statement.name.unwrap_or(statement.span), fit, order: self.order }
    }

    /// The second walk: everything that names something else.
    fn connect(&mut self, at: usize) {
        let (body, fit) = (self.instances[at].body, self.instances[at].fit);
        let (file, first, end) = (self.bodies[body].file, self.bodies[body].first, self.bodies[body].end);
        let files = self.files;
        for (index, statement) in level(&files[file].tree.statements, first, end) {
            let place = self.place(statement, fit);
            let entity = self.instances[at].entities[index - first];
            if let (Node::Fit { .. }, Entity::Fit(inner)) = (&statement.node, entity) {
                if !self.specimens {
                    self.find_terminals(inner);
                    self.connect(inner);
                } else if let Node::Fit { arguments, kit } = &statement.node {
                    self.check_arguments(at, *kit, arguments);
                }
                continue;
            }
            self.statement(at, (index, statement), entity, place);
        }
    }

    /// Looks up the terminals that a fit gives to its kit.
    fn find_terminals(&mut self, at: usize) {
        for index in 0..self.instances[at].bound.len() {
            let Bound::Pending(reference, outer) = self.instances[at].bound[index] else { continue };
            let end = self.end(outer, reference, "");
            self.instances[at].bound[index] = end.map_or(Bound::Any, Bound::Terminal);
        }
    }

    /// In a kit that is only looked at, the terminals that it gives to another.
    fn check_arguments(&mut self, at: usize, kit: Span, arguments: &[(Span, Value, Span)]) {
        let file = self.bodies[self.instances[at].body].file;
        let Some(kit) = self.find_kit(file, self.slice(kit)) else { return };
        for (name, value, _) in arguments {
            let name = self.slice(*name);
            let wanted = self.kits[kit].parameters.iter().find(|one| self.slice(one.name) == name);
            if wanted.is_some_and(|one| one.kind == ParameterKind::Terminal)
                && let Some(reference) = reference_of(*value)
            {
                self.end(at, reference, "");
            }
        }
    }

    fn fit(
        &mut self,
        at: usize,
        kit: Span,
        arguments: &[(Span, Value, Span)],
        statement: &Statement,
    ) -> Entity {
        let file = self.bodies[self.instances[at].body].file;
        let name = statement.name.map_or("", |name| self.slice(name));
        let written = self.slice(kit);
        let Some(kit_id) = self.find_kit(file, written) else {
            self.no_kit(file, kit, written, name);
            return Entity::Unknown;
        };
        let bound = self.bind(at, kit_id, kit, arguments, statement);
        if self.specimens {
            return Entity::Fit(kit_id);
        }
        let outer = self.instances[at].fit;
        let full = self.full_name(outer, name);
        let span = statement.name.unwrap_or(kit);
        let fit = self.design.fits.push(Fit { name: full, kit: written.to_owned(), span, parent: outer });
        let inner = self.instance(self.kits[kit_id].body, Some(fit), bound);
        self.declare(inner);
        Entity::Fit(inner)
    }

    fn no_kit(&mut self, file: usize, span: Span, written: &str, subject: &str) {
        let shared = self.find_shared(file, written);
        if shared.is_some_and(|at| self.files[at.file].tree.statements[at.statement].class == Class::Unknown)
        {
            return;
        }
        if shared.is_none() && self.files[file].incomplete {
            return;
        }
        let mut names: Vec<&str> = Vec::new();
        if !self.problems.is_told(id::NAME, span) {
            let all = self.bodies[file].names().chain(self.shared_names(file));
            names.extend(all.filter(|name| self.find_kit(file, name).is_some()));
        }
        self.tell(id::NAME, span, subject, |problems| {
            let headline = if shared.is_some() {
                format!("`{written}` is not a kit")
            } else {
                format!("no kit is called `{written}`")
            };
            let help = match problems.nearest(written, names.iter().copied()) {
                Some(near) => format!("the nearest kit is `{near}`"),
                None if names.is_empty() => "no kit is declared or brought in by `use`".into(),
                None => format!("the kits are {}", some(&names)),
            };
            (headline, "stands after `fit`".into(), help)
        });
    }

    /// Gives each parameter of a kit its value, and tells of arguments that do not suit.
    fn bind(
        &mut self,
        at: usize,
        kit: usize,
        span: Span,
        arguments: &[(Span, Value, Span)],
        statement: &Statement,
    ) -> Vec<Bound> {
        let parameters = self.kits[kit].parameters;
        let subject = statement.name.map_or("", |name| self.slice(name));
        let mut bound: Vec<Option<Bound>> = vec![None; parameters.len()];
        for (name, value, whole) in arguments {
            let written = self.slice(*name);
            let Some(index) = parameters.iter().position(|one| self.slice(one.name) == written) else {
                let names: Vec<&str> = parameters.iter().map(|one| self.slice(one.name)).collect();
                let kit = self.slice(span);
                self.tell(id::NAME, *name, subject, |problems| {
                    let help = match problems.nearest(written, names.iter().copied()) {
                        Some(near) => format!("the nearest parameter is `{near}`"),
                        None if names.is_empty() => format!("`{kit}` has no parameters"),
                        None => format!("the parameters of `{kit}` are {}", some(&names)),
                    };
                    (
                        format!("`{kit}` has no parameter `{written}`"),
                        "not a parameter of the kit".into(),
                        help,
                    )
                });
                continue;
            };
            if bound[index].is_some() {
                self.tell(id::WORD, *whole, subject, |_| {
                    (
                        format!("`{written}` is given twice"),
                        "the second one".into(),
                        "keep one of the two".into(),
                    )
                });
                continue;
            }
            bound[index] = Some(self.bound(at, parameters[index].kind, *value, written, subject));
        }
        let absent: Vec<&str> = parameters
            .iter()
            .zip(&bound)
            .filter(|row| row.1.is_none())
            .map(|row| self.slice(row.0.name))
            .collect();
        if !absent.is_empty() && !statement.faulty {
            let kit = self.slice(span);
            self.tell(id::MISSING, statement.name.unwrap_or(span), subject, |_| {
                let list = some(&absent);
                (
                    format!("`{subject}` gives no value for {list}"),
                    "fitted here".into(),
                    format!("`{kit}` takes {list} in the parentheses"),
                )
            });
        }
        bound.into_iter().map(|one| one.unwrap_or(Bound::Any)).collect()
    }

    fn bound(&mut self, at: usize, kind: ParameterKind, value: Value, name: &str, subject: &str) -> Bound {
        let wrong = match (kind, value.what) {
            (ParameterKind::Any, _) => return Bound::Any,
            (_, What::Parameter(index)) => {
                let own = self.parameter_kind(at, index);
                let bound = self.instances[at].bound.get(usize::from(index)).cloned().unwrap_or(Bound::Any);
                match own {
                    Some(own) if own != kind && own != ParameterKind::Any => own.phrase(),
                    _ if matches!(bound, Bound::Pending(..)) => {
                        let reference = Reference { span: value.span, point: 0, parameter: Some(index) };
                        return Bound::Pending(reference, at);
                    }
                    _ => return bound,
                }
            }
            (ParameterKind::Quantity(dimension), What::Quantity(quantity)) => {
                if quantity.dimension() == dimension {
                    return Bound::Quantity(quantity);
                }
                quantity.dimension().phrase()
            }
            (_, What::Quantity(quantity)) => quantity.dimension().phrase(),
            (ParameterKind::Text, What::Text) => return Bound::Text(plain(self.slice(value.span))),
            (ParameterKind::Word, What::Word) => return Bound::Word(value.span, at),
            // `ring-M8` and `tab-6.3` are words too; what they are is seen where they are used.
            (ParameterKind::Word, What::Terminal(_)) => return Bound::Word(value.span, at),
            (ParameterKind::Terminal, What::Word | What::Terminal(_)) => match reference_of(value) {
                Some(reference) => return Bound::Pending(reference, at),
                None => "a word",
            },
            (_, What::Text) => "a text",
            (_, What::Terminal(_)) => "a terminal",
            (_, _) => "a word",
        };
        let written = self.slice(value.span);
        self.tell(id::UNIT, value.span, subject, |_| {
            let headline = format!("`{written}` is {wrong}, not {}", kind.phrase());
            (headline, format!("the value of `{name}`"), format!("`{name}` takes {}", kind.phrase()))
        });
        Bound::Any
    }

    fn parameter_kind(&self, at: usize, index: u16) -> Option<ParameterKind> {
        let body = &self.bodies[self.instances[at].body];
        let statement = self.files.get(body.file)?.tree.statements.get(body.kit?)?;
        match &statement.node {
            Node::Kit { parameters } => parameters.get(usize::from(index)).map(|one| one.kind),
            _ => None,
        }
    }

    /// A name with the fits around it before it.
    pub(super) fn full_name(&self, fit: Option<FitId>, name: &str) -> String {
        match fit {
            None => name.to_owned(),
            Some(fit) => format!("{}/{name}", self.design.fits[fit].name),
        }
    }

    /// What a path leads to, from an instance inward; the name that is not known, with the instance where it is not.
    pub(super) fn walk(&self, at: usize, path: &str) -> Result<(Entity, At), Option<(String, usize)>> {
        let mut at = at;
        let mut names = path.split('/').peekable();
        while let Some(name) = names.next() {
            let body = &self.bodies[self.instances[at].body];
            let Some(statement) = body.find(name) else { return Err(Some((name.to_owned(), at))) };
            let entity =
                self.instances[at].entities.get(statement - body.first).copied().unwrap_or(Entity::Unknown);
            if names.peek().is_none() {
                return Ok((entity, At { file: body.file, statement }));
            }
            match entity {
                Entity::Fit(inner) => at = inner,
                Entity::Unknown => return Err(None),
                _ => return Err(Some((name.to_owned(), at))),
            }
        }
        Err(None)
    }
}

/// A value as a reference, where it has the shape of one.
fn reference_of(value: Value) -> Option<Reference> {
    match value.what {
        What::Terminal(reference) => Some(reference),
        What::Word => Some(Reference { span: value.span, point: 0, parameter: None }),
        What::Parameter(at) => Some(Reference { span: value.span, point: 0, parameter: Some(at) }),
        _ => None,
    }
}

/// The first few of some words, in backquotes.
pub(super) fn some<S: AsRef<str>>(words: &[S]) -> String {
    let mut text =
        words.iter().take(12).map(|word| format!("`{}`", word.as_ref())).collect::<Vec<_>>().join(", ");
    if words.len() > 12 {
        text.push_str(&format!(" and {} more", words.len() - 12));
    }
    text
}
