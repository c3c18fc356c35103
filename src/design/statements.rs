//! The second walk: what statements say of things that others declare.

use std::fmt::{self, Display};

use rustc_hash::FxHashSet;

use crate::syntax::tree::{
    ClaimWord, Key, LimitWord, MeasuredWord, Node, Quantity, Reference, SetWord, StateWord, Statement,
    Subject, Trait, Value, What,
};
use crate::syntax::words::{self, Dimension, EndWord, Form, Named};
use crate::syntax::{id, plain, spaced};
use crate::text::Span;

use super::bodies::{Traits, nearest_terminal, role};
use super::ids::{ComponentId, ModeId, WireId, ZoneId};
use super::model::{
    Bar, Body, Bundle, Claim, Coating, Colour, DataLead, Date, End, Ending, Expect, Joint, Kind, LimitChange,
    LimitValue, Measured, Mode, ModeLine, ModeState, Note, Place, Reading, Setting, SettingValue, Stack,
    Strand, TerminalRole, Waiver, Wire, WireColour, Zone,
};
use super::names::level;
use super::resolve::{Bound, Entity, Resolver, some};

/// Any of these kinds, in words.
struct OneOf<'k>(&'k [Kind]);

impl Display for OneOf<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.len() == Kind::ALL.len() {
            return f.write_str("a component");
        }
        for (at, kind) in self.0.iter().enumerate() {
            f.write_str(if at == 0 { "" } else { " or " })?;
            f.write_str(&kind.phrase())?;
        }
        Ok(())
    }
}

impl<'a> Resolver<'a, '_> {
    pub(super) fn zone(&mut self, at: usize, ambient: Value, statement: &Statement, place: Place) -> Entity {
        let name = self.full_name(place.fit, statement.name.map_or("", |name| self.slice(name)));
        let ambient = self.degrees(at, ambient);
        Entity::Zone(self.design.zones.push(Zone { name, place, ambient }))
    }

    /// Connects one statement; `entity` is what the first walk made of it.
    pub(super) fn statement(
        &mut self,
        at: usize,
        (index, statement): (usize, &Statement),
        entity: Entity,
        place: Place,
    ) {
        let subject = statement.name.map_or("", |name| self.slice(name));
        match &statement.node {
            Node::Component { traits, .. } => {
                if let Entity::Component(component) = entity {
                    self.component_names(at, component, statement, traits, place);
                }
            }
            Node::Wire { from, to, traits } => self.wire(at, statement, (*from, *to), traits, place),
            Node::Data { from, to, traits } => self.data(at, statement, (*from, *to), traits, place),
            Node::Bolt { a, b } => {
                let (a, b) = (self.end(at, *a, subject), self.end(at, *b, subject));
                if let (Some(a), Some(b)) = (a, b) {
                    self.design.joints.push(Joint { a, b, place, by_on: false });
                }
            }
            Node::Bundle { wires } => {
                let name = self.full_name(place.fit, subject);
                let wires = self.wires(at, wires, subject);
                self.design.bundles.push(Bundle { name, place, wires });
            }
            Node::Stack { node, wires } => {
                let end = self.node(at, *node, "stack", &[Kind::Post, Kind::Bar], subject);
                let wires = self.wires(at, wires, subject);
                if let Some(node) = end {
                    self.design.stacks.push(Stack { node, wires, place });
                }
            }
            Node::Mode { title } => self.mode(at, (index, statement), *title, place),
            Node::Expect { claim, mode } => self.expect(at, *claim, *mode, place),
            Node::Reading { measured, mode, on, by } => self.reading(at, *measured, *mode, (*on, *by), place),
            Node::Set { what, word, value } => self.set(at, *what, *word, *value, place),
            Node::Note { what, text } => {
                if let Some(name) = self.any_name(at, *what) {
                    let text = plain(self.slice(*text));
                    self.design.notes.push(Note { name, text, place });
                }
            }
            Node::Waive { rule, subject, why, until } => {
                self.waive(at, (*rule, *subject, *why, *until), place)
            }
            Node::Assume { what, value, span } => self.assume(at, what, *value, *span),
            Node::Limit { name, value, value_span, why } => self.limit((*name, *value, *value_span, *why)),
            _ => {}
        }
    }

    /// A terminal, or a node; `None` where it is not known, which has been told, or stands for anything.
    pub(super) fn end(&mut self, at: usize, reference: Reference, subject: &str) -> Option<End> {
        if let Some(parameter) = reference.parameter {
            return match self.instances[at].bound.get(usize::from(parameter)).cloned() {
                Some(Bound::Terminal(end)) => Some(End { span: reference.span, ..end }),
                Some(Bound::Word(span, outer)) => self.end(outer, pointed(self.slice(span), span), subject),
                _ => None,
            };
        }
        let component = self.find_component(at, reference.path(), subject, &"a component")?;
        self.terminal_of(component, reference, subject)
    }

    fn terminal_of(&mut self, id: ComponentId, reference: Reference, subject: &str) -> Option<End> {
        let design = &self.design;
        let component = &design.components[id];
        let (kind, first) = (component.kind, component.first_terminal);
        let name = self.slice(reference.path());
        let faulty = self.faulty.get(id.0 as usize).copied().unwrap_or(true);
        let end = |terminal, stud| Some(End { terminal, stud, span: reference.span });
        let Some(span) = reference.terminal() else {
            if kind.is_node() {
                return end(first, None);
            }
            if !faulty {
                let all = self.terminal_words(id);
                self.tell(id::NAME, reference.span, subject, |_| {
                    let forms: Vec<String> = all.iter().map(|one| format!("{name}.{one}")).collect();
                    let headline = format!("`{name}` has several terminals");
                    (
                        headline,
                        format!("a `{}` named without a terminal", kind.word()),
                        format!("one of {}", some(&forms)),
                    )
                });
            }
            return None;
        };
        let written = self.slice(span);
        if let (Kind::Bar, Body::Bar(Bar { studs, .. })) = (kind, &component.body)
            && !written.is_empty()
            && written.bytes().all(|byte| byte.is_ascii_digit())
        {
            let most = studs.unwrap_or(10_000);
            return match written.parse::<u32>() {
                Ok(stud) if (1..=most).contains(&stud) => end(first, Some(stud)),
                _ => {
                    self.tell(id::NAME, span, subject, |_| {
                        let headline = format!("`{name}` has no stud {written}");
                        (headline, "not a stud of it".into(), format!("`{name}.1` to `{name}.{most}`"))
                    });
                    None
                }
            };
        }
        let found = role(written).and_then(|role| component.terminal(design, role));
        if let Some(terminal) = found.filter(|_| !kind.is_node()) {
            return end(terminal, None);
        }
        if !faulty {
            self.no_terminal(id, span, written, subject);
        }
        None
    }

    fn no_terminal(&mut self, id: ComponentId, span: Span, written: &str, subject: &str) {
        let component = &self.design.components[id];
        let (kind, name) = (component.kind, component.name.clone());
        let all = self.terminal_words(id);
        self.tell(id::NAME, span, subject, |problems| {
            let help = if kind == Kind::Bar {
                format!("a bar is one node: write `{name}`, or a stud such as `{name}.1`")
            } else if kind.is_node() {
                format!("a {} is one node: write `{name}`", kind.word())
            } else {
                match nearest_terminal(problems, written, all.iter().map(String::as_str)) {
                    Some(near) => format!(
                        "the nearest terminal is `{name}.{near}`; a `{}` has {}",
                        kind.word(),
                        some(&all)
                    ),
                    None => format!("a `{}` has {}", kind.word(), some(&all)),
                }
            };
            (format!("`{name}` has no terminal `{written}`"), "not a terminal of it".into(), help)
        });
    }

    fn terminal_words(&self, id: ComponentId) -> Vec<String> {
        self.design.components[id]
            .terminals(&self.design)
            .map(|row| row.1.word())
            .filter(|word| !word.is_empty())
            .collect()
    }

    fn find_component(
        &mut self,
        at: usize,
        path: Span,
        subject: &str,
        expected: &dyn Display,
    ) -> Option<ComponentId> {
        match self.find(at, path, subject)? {
            Entity::Component(id) => Some(id),
            other => {
                self.wrong_kind(path, other, expected, subject);
                None
            }
        }
    }

    /// What a name leads to; tells of one that is not known.
    fn find(&mut self, at: usize, path: Span, subject: &str) -> Option<Entity> {
        let written = self.slice(path);
        match self.walk(at, written) {
            Ok((entity, _)) => Some(entity),
            Err(None) => None,
            Err(Some((name, place))) => {
                self.unknown_name(path, written, &name, place, subject);
                None
            }
        }
    }

    fn unknown_name(&mut self, span: Span, written: &str, name: &str, place: usize, subject: &str) {
        let body = &self.bodies[self.instances[place].body];
        let names: Vec<&str> =
            if self.problems.is_told(id::NAME, span) { Vec::new() } else { body.names().collect() };
        let in_kit = body.kit.is_some();
        let beyond = in_kit && self.bodies.first().is_some_and(|top| top.find(name).is_some());
        self.tell(id::NAME, span, subject, |problems| {
            let help = match problems.nearest(name, names.iter().copied()) {
                Some(near) => format!("the nearest name is `{}`", written.replacen(name, near, 1)),
                None if beyond => "a kit knows its own names only; hand it in as a parameter".into(),
                None if in_kit => format!("the names there are {}", some(&names)),
                None => "nothing in this design is called so".into(),
            };
            (format!("`{written}` is not declared"), "not known here".into(), help)
        });
    }

    fn wrong_kind(&mut self, span: Span, entity: Entity, expected: &dyn Display, subject: &str) {
        let written = self.slice(span);
        let what = match entity {
            Entity::Component(id) => self.design.components[id].kind.phrase(),
            Entity::Wire(_) => "a wire".into(),
            Entity::Data => "a data lead".into(),
            Entity::Bundle => "a bundle".into(),
            Entity::Zone(_) => "a zone".into(),
            Entity::Mode(_) => "a mode".into(),
            Entity::Part => "a part".into(),
            Entity::Kit => "a kit".into(),
            Entity::Fit(_) => "a fitted kit".into(),
            Entity::Unknown => return,
        };
        self.tell(id::NAME, span, subject, |_| {
            let expected = expected.to_string();
            let help = match what.as_str() {
                "a fitted kit" => format!("a name inside it is written `{written}/NAME`"),
                _ => format!("name {expected}"),
            };
            (format!("`{written}` is {what}, not {expected}"), format!("{expected} is expected"), help)
        });
    }

    /// A component of one of some kinds, named without a terminal; a parameter's word is a name where the kit is fitted.
    fn named(
        &mut self,
        at: usize,
        reference: Reference,
        kinds: &[Kind],
        subject: &str,
    ) -> Option<ComponentId> {
        if let Some(parameter) = reference.parameter {
            return match self.instances[at].bound.get(usize::from(parameter)).cloned() {
                Some(Bound::Word(span, outer)) => {
                    self.named(outer, pointed(self.slice(span), span), kinds, subject)
                }
                Some(Bound::Terminal(end)) => Some(self.design.terminals[end.terminal].component),
                _ => None,
            };
        }
        let phrase = OneOf(kinds);
        if let Some(point) = reference.terminal() {
            let whole = self.slice(reference.path());
            self.tell(id::NAME, point, subject, |_| {
                (
                    "a terminal where a name is expected".into(),
                    "a terminal".into(),
                    format!("write `{whole}`"),
                )
            });
            return None;
        }
        let id = self.find_component(at, reference.path(), subject, &phrase)?;
        if kinds.contains(&self.design.components[id].kind) {
            return Some(id);
        }
        self.wrong_kind(reference.path(), Entity::Component(id), &phrase, subject);
        None
    }

    /// A node of one of some kinds.
    fn node(
        &mut self,
        at: usize,
        reference: Reference,
        word: &str,
        kinds: &[Kind],
        subject: &str,
    ) -> Option<End> {
        let end = if reference.parameter.is_none() {
            let phrase = OneOf(kinds);
            let component = self.find_component(at, reference.path(), subject, &phrase)?;
            if !kinds.contains(&self.design.components[component].kind) {
                self.wrong_kind(reference.path(), Entity::Component(component), &phrase, subject);
                return None;
            }
            self.terminal_of(component, reference, subject)?
        } else {
            self.end(at, reference, subject)?
        };
        let kind = self.design.components[self.design.terminals[end.terminal].component].kind;
        if !kinds.contains(&kind) {
            let written = self.slice(reference.span);
            self.tell(id::NAME, reference.span, subject, |_| {
                let list = kinds.iter().map(|kind| kind.word()).collect::<Vec<_>>();
                (
                    format!("`{written}` is no node for `{word}`"),
                    format!("stands for a {}", kind.word()),
                    format!("hand in one of {}", some(&list)),
                )
            });
            return None;
        }
        Some(end)
    }

    fn find_zone(&mut self, at: usize, value: Value, subject: &str) -> Option<ZoneId> {
        let What::Terminal(reference) = value.what else { return None };
        let (at, reference) = match reference.parameter {
            None => (at, reference),
            Some(parameter) => match self.instances[at].bound.get(usize::from(parameter)).cloned() {
                Some(Bound::Word(span, outer)) => (outer, pointed(self.slice(span), span)),
                _ => return None,
            },
        };
        match self.find(at, reference.span, subject)? {
            Entity::Zone(id) => Some(id),
            other => {
                self.wrong_kind(reference.span, other, &"a zone", subject);
                None
            }
        }
    }

    fn find_wire(&mut self, at: usize, reference: Reference, subject: &str) -> Option<WireId> {
        let (at, reference) = match reference.parameter {
            None => (at, reference),
            Some(parameter) => match self.instances[at].bound.get(usize::from(parameter)).cloned() {
                Some(Bound::Word(span, outer)) => (outer, pointed(self.slice(span), span)),
                _ => return None,
            },
        };
        match self.find(at, reference.span, subject)? {
            Entity::Wire(id) => Some(id),
            other => {
                self.wrong_kind(reference.span, other, &"a wire", subject);
                None
            }
        }
    }

    fn wires(&mut self, at: usize, references: &[Reference], subject: &str) -> Vec<WireId> {
        let mut wires: Vec<WireId> = Vec::new();
        let mut seen = FxHashSet::default();
        for reference in references {
            let Some(wire) = self.find_wire(at, *reference, subject) else { continue };
            if seen.insert(wire) {
                wires.push(wire);
            } else {
                let written = self.slice(reference.span);
                self.tell(id::WORD, reference.span, subject, |_| {
                    (
                        format!("`{written}` is given twice"),
                        "the second time".into(),
                        "name each wire once".into(),
                    )
                });
            }
        }
        wires
    }

    fn find_mode(&mut self, at: usize, span: Span) -> Option<ModeId> {
        match self.find(at, span, "")? {
            Entity::Mode(id) => Some(id),
            other => {
                self.wrong_kind(span, other, &"a mode", "");
                None
            }
        }
    }

    /// The names in a component's traits, and in its part's.
    fn component_names(
        &mut self,
        at: usize,
        id: ComponentId,
        statement: &Statement,
        own: &[Trait],
        place: Place,
    ) {
        let subject = statement.name.map_or("", |name| self.slice(name));
        let kind = self.design.components[id].kind;
        let mut counts: Vec<ComponentId> = Vec::new();
        let mut seen = FxHashSet::default();
        for one in own {
            let Key::Property(word) = one.key else { continue };
            let Some(property) = words::KINDS[kind as usize].property(word) else { continue };
            match (property.form, one.value.what) {
                (Form::Name(Named::Zone), _) => {
                    let zone = self.find_zone(at, one.value, subject);
                    self.design.components[id].zone = zone;
                }
                (Form::Name(Named::Chassis), What::Terminal(reference)) => {
                    let chassis = self.named(at, reference, &[Kind::Chassis], subject);
                    match &mut self.design.components[id].body {
                        Body::Alternator(alternator) => alternator.returns = chassis,
                        Body::Load(load) if word == "returns" => load.returns = chassis,
                        Body::Load(load) => load.case = chassis,
                        _ => {}
                    }
                }
                (Form::Name(Named::Same), What::Terminal(reference)) => self.pair(at, id, reference, subject),
                (Form::Node, What::Terminal(reference)) => {
                    let node =
                        self.node(at, reference, "on", &[Kind::Post, Kind::Bar, Kind::Chassis], subject);
                    let line = self.design.components[id].terminal(&self.design, TerminalRole::Line);
                    if let (Some(node), Some(line)) = (node, line) {
                        let a = End { terminal: line, stud: None, span: one.span };
                        let place = Place { span: one.span.to(node.span), order: place.order + 1, ..place };
                        self.design.joints.push(Joint { a, b: node, place, by_on: true });
                    }
                }
                (Form::Names, What::Terminal(reference)) => {
                    self.counted(at, reference, (&mut counts, &mut seen), subject)
                }
                _ => {}
            }
        }
        if let Body::Meter(meter) = &mut self.design.components[id].body {
            meter.counts = counts;
        }
    }

    fn pair(&mut self, at: usize, id: ComponentId, reference: Reference, subject: &str) {
        let kind = self.design.components[id].kind;
        let Some(other) = self.named(at, reference, &[kind], subject) else { return };
        if other == id {
            self.tell(id::NAME, reference.span, subject, |_| {
                let help = format!("name the other `{}` of the same handle", kind.word());
                (format!("`{subject}` is paired with itself"), "itself".into(), help)
            });
            return;
        }
        match &mut self.design.components[id].body {
            Body::Breaker(breaker) => breaker.pair = Some(other),
            Body::Switch(switch) => switch.pair = Some(other),
            _ => {}
        }
    }

    fn counted(
        &mut self,
        at: usize,
        reference: Reference,
        (counts, seen): (&mut Vec<ComponentId>, &mut FxHashSet<ComponentId>),
        subject: &str,
    ) {
        const COUNTED: &[Kind] = &[Kind::Battery, Kind::Charger, Kind::Supply, Kind::Solar, Kind::Load];
        let Some(member) = self.named(at, reference, COUNTED, subject) else { return };
        let (name, kind) = (self.slice(reference.span), self.design.components[member].kind);
        if !seen.insert(member) {
            self.tell(id::WORD, reference.span, subject, |_| {
                (format!("`{name}` is counted twice"), "the second time".into(), "name each once".into())
            });
            return;
        }
        let first = counts.first().map(|first| self.design.components[*first].kind);
        if let Some(first) = first.filter(|first| (*first == Kind::Battery) != (kind == Kind::Battery)) {
            self.tell(id::NAME, reference.span, subject, |_| {
                let headline = format!("`{subject}` counts a {} and a {}", first.word(), kind.word());
                (headline, kind.phrase(), "a meter counts batteries, or a group of others, not both".into())
            });
            return;
        }
        counts.push(member);
    }

    fn wire(
        &mut self,
        at: usize,
        statement: &Statement,
        ends: (Reference, Reference),
        own: &[Trait],
        place: Place,
    ) {
        let subject = statement.name.map_or("", |name| self.slice(name));
        let traits = Traits::of(own, at);
        let (from, to) = (self.end(at, ends.0, subject), self.end(at, ends.1, subject));
        let size = traits.find(Key::Bare(Dimension::Area));
        let length = traits.find(Key::Bare(Dimension::Length));
        let mut missing = Vec::new();
        if size.is_none() {
            missing.push(("size", "10 mm2"));
        }
        if length.is_none() {
            missing.push(("length", "1.5 m"));
        }
        if !missing.is_empty() && !statement.faulty {
            self.missing(place.span, subject, "wire", &missing);
        }
        let mut zones = Vec::new();
        let mut seen = FxHashSet::default();
        for one in own.iter().filter(|one| one.key == Key::Property("zone")) {
            let Some(zone) = self.find_zone(at, one.value, subject) else { continue };
            if !seen.insert(zone) {
                self.tell(id::WORD, one.value.span, subject, |_| {
                    ("a zone is given twice".into(), "the second time".into(), "name each zone once".into())
                });
                continue;
            }
            zones.push(zone);
        }
        let colour = self.colour(at, traits.find(Key::Word));
        let endings = traits
            .find(Key::Property("ends"))
            .and_then(|one| Some((self.ending(at, one.value)?, self.ending(at, one.second?)?)));
        let count = match traits.find(Key::Property("count")).map(|one| one.value.what) {
            Some(What::Number(number)) => number,
            _ => 1,
        };
        let (Some(from), Some(to), Some(size), Some(length)) = (from, to, size, length) else { return };
        self.design.wires.push(Wire {
            name: self.full_name(place.fit, subject),
            place,
            from,
            to,
            size: self.size(at, size.value),
            size_span: size.span,
            length: self.metres(at, length.value),
            colour,
            insulation: traits.find(Key::Property("insulation")).map(|one| self.degrees(at, one.value)),
            sheathed: traits.has("sheathed"),
            zones,
            count,
            ends: endings,
            bond: traits.has("bond"),
            cranking: traits.has("cranking"),
            solid: traits.has("solid"),
            aluminium_clad: traits.has("aluminium-clad"),
        });
    }

    fn colour(&mut self, at: usize, word: Option<&Trait>) -> Option<WireColour> {
        let (word, span) = self.word(at, word?.value)?;
        let one = |word: &str| Colour::WORDS.iter().find(|row| row.0 == word).map(|row| row.1);
        let (base, tracer) = word.split_once('/').map_or((word, None), |(base, tracer)| (base, Some(tracer)));
        match (one(base), tracer.map(one)) {
            (Some(base), None) => Some(WireColour { base, tracer: None }),
            (Some(base), Some(Some(tracer))) => Some(WireColour { base, tracer: Some(tracer) }),
            _ => {
                self.not_a_word(span, word, "colour", words::COLOURS);
                None
            }
        }
    }

    fn ending(&mut self, at: usize, value: Value) -> Option<Ending> {
        let (word, span) = self.word(at, value)?;
        match words::ending(word) {
            Some(EndWord::Ring(thread)) => Some(Ending::Ring(thread)),
            Some(EndWord::Ferrule) => Some(Ending::Ferrule),
            Some(EndWord::Pin) => Some(Ending::Pin),
            Some(EndWord::Tab(width)) => Some(Ending::Tab(width)),
            Some(EndWord::Bare) => Some(Ending::Bare),
            None => {
                self.not_a_word(span, word, "end of a wire", words::ENDINGS);
                None
            }
        }
    }

    fn data(
        &mut self,
        at: usize,
        statement: &Statement,
        ends: (Reference, Reference),
        own: &[Trait],
        place: Place,
    ) {
        let subject = statement.name.map_or("", |name| self.slice(name));
        let traits = Traits::of(own, at);
        let (from, to) = (self.data_end(at, ends.0, subject), self.data_end(at, ends.1, subject));
        let length = traits.find(Key::Bare(Dimension::Length));
        if length.is_none() && !statement.faulty {
            self.missing(place.span, subject, "data lead", &[("length", "1.5 m")]);
        }
        let (Some(from), Some(to), Some(length)) = (from, to, length) else { return };
        self.design.data.push(DataLead {
            name: self.full_name(place.fit, subject),
            place,
            from,
            to,
            length: self.metres(at, length.value),
            size: traits.find(Key::Bare(Dimension::Area)).map(|one| self.size(at, one.value)),
            isolated: traits.has("isolated"),
        });
    }

    fn data_end(&mut self, at: usize, reference: Reference, subject: &str) -> Option<End> {
        let end = self.end(at, reference, subject)?;
        let terminal = self.design.terminals[end.terminal];
        if terminal.role == TerminalRole::Data {
            return Some(end);
        }
        let name = self.design.terminal_name(end.terminal);
        let component = &self.design.components[terminal.component];
        let data =
            component.terminal(&self.design, TerminalRole::Data).map(|_| format!("{}.data", component.name));
        let span = reference.terminal().unwrap_or(reference.span);
        self.tell(id::NAME, span, subject, |_| {
            let help = data.map_or_else(
                || "batteries, chargers, inverters, meters and hubs have a `data` terminal".into(),
                |data| format!("the nearest terminal is `{data}`"),
            );
            (format!("`{name}` is no data terminal"), "the end of a data lead".into(), help)
        });
        None
    }

    fn mode(
        &mut self,
        at: usize,
        (index, statement): (usize, &Statement),
        title: Option<Span>,
        place: Place,
    ) {
        let name = self.full_name(place.fit, statement.name.map_or("", |name| self.slice(name)));
        let file = self.bodies[self.instances[at].body].file;
        let files = self.files;
        let mut lines: Vec<ModeLine> = Vec::new();
        let mut seen = FxHashSet::default();
        for (_, line) in level(&files[file].tree.statements, index + 1, statement.end) {
            let Node::ModeLine { what, state, state_span } = &line.node else { continue };
            let Some(component) = self.named(at, *what, &Kind::ALL, "") else { continue };
            let kind = self.design.components[component].kind;
            let state_span = *state_span;
            let Some(state) = mode_state(kind, *state) else {
                let (written, name) = (self.slice(state_span), self.slice(what.span));
                self.tell(id::WORD, state_span, name, |_| {
                    let headline = format!("`{written}` sets nothing on a {}", kind.word());
                    (headline, format!("the state of `{name}`"), states_of(kind).into())
                });
                continue;
            };
            if !seen.insert(component) {
                let name = self.slice(what.span);
                self.tell(id::WORD, what.span, name, |_| {
                    (
                        format!("`{name}` is set twice in this mode"),
                        "the second time".into(),
                        "keep one of the two".into(),
                    )
                });
                continue;
            }
            lines.push(ModeLine { component, state, span: line.span });
        }
        self.design.modes.push(Mode { name, title: title.map(|span| plain(self.slice(span))), place, lines });
    }

    fn expect(&mut self, at: usize, claim: ClaimWord, mode: Span, place: Place) {
        let mode = self.find_mode(at, mode);
        let claim = match claim {
            ClaimWord::Reads(meter, current, within) => {
                self.named(at, meter, &[Kind::Meter], "").map(|meter| Claim::Reads { meter, current, within })
            }
            ClaimWord::Carries(wire, current, within) => {
                self.find_wire(at, wire, "").map(|wire| Claim::Carries { wire, current, within })
            }
            ClaimWord::Above(terminal, volts) => {
                self.end(at, terminal, "").map(|end| Claim::Above(end, volts))
            }
            ClaimWord::Below(terminal, volts) => {
                self.end(at, terminal, "").map(|end| Claim::Below(end, volts))
            }
        };
        if let (Some(claim), Some(mode)) = (claim, mode) {
            self.design.expects.push(Expect { claim, mode, place });
        }
    }

    fn reading(
        &mut self,
        at: usize,
        measured: MeasuredWord,
        mode: Span,
        (on, by): (Span, Option<Span>),
        place: Place,
    ) {
        let mode = self.find_mode(at, mode);
        let on = self.date(on);
        let measured = match measured {
            MeasuredWord::Meter(meter, current) => {
                self.named(at, meter, &[Kind::Meter], "").map(|meter| Measured::Meter(meter, current))
            }
            MeasuredWord::Voltage(terminal, volts) => {
                self.end(at, terminal, "").map(|end| Measured::Voltage(end, volts))
            }
            MeasuredWord::Drop(from, to, volts) => {
                let (from, to) = (self.end(at, from, ""), self.end(at, to, ""));
                from.zip(to).map(|(from, to)| Measured::Drop(from, to, volts))
            }
        };
        if let (Some(measured), Some(mode), Some(on)) = (measured, mode, on) {
            let by = by.map(|span| plain(self.slice(span)));
            self.design.readings.push(Reading { measured, mode, on, by, place });
        }
    }

    fn date(&mut self, span: Span) -> Option<Date> {
        let written = self.slice(span);
        let date = Date::parse(written);
        if date.is_none() {
            self.tell(id::UNIT, span, "", |_| {
                let help = "a date is year, month and day in figures, such as `2027-03-31`";
                (format!("there is no day `{written}`"), "not in the calendar".into(), help.into())
            });
        }
        date
    }

    fn set(&mut self, at: usize, what: Reference, word: Span, value: SetWord, place: Place) {
        let Some(component) = self.named(at, what, &Kind::ALL, "") else { return };
        let quantity = |quantity: Quantity, written: &str| match quantity {
            Quantity::Voltage(voltage) => SettingValue::Voltage(voltage),
            Quantity::Current(current) => SettingValue::Current(current),
            Quantity::Capacity(capacity) => SettingValue::Capacity(capacity),
            _ => SettingValue::Other(spaced(written)),
        };
        let value = match value {
            SetWord::Quantity(one, span) => quantity(one, self.slice(span)),
            SetWord::Text(span) => SettingValue::Other(plain(self.slice(span))),
            SetWord::Other(span) => SettingValue::Other(spaced(self.slice(span))),
            SetWord::Parameter(value) => {
                let What::Parameter(index) = value.what else { return };
                match self.instances[at].bound.get(usize::from(index)).cloned() {
                    Some(Bound::Quantity(one)) => match one {
                        Quantity::Length(length) => SettingValue::Other(length.to_string()),
                        Quantity::Size(size) => SettingValue::Other(size.to_string()),
                        other => quantity(other, ""),
                    },
                    Some(Bound::Text(text)) => SettingValue::Other(text),
                    Some(Bound::Word(span, _)) => SettingValue::Other(self.slice(span).to_owned()),
                    _ => return,
                }
            }
        };
        let word = self.slice(word).to_owned();
        self.design.settings.push(Setting { component, word, value, place });
    }

    /// The full name of anything that has one; the design's own name too.
    fn any_name(&mut self, at: usize, reference: Reference) -> Option<String> {
        if let Some(parameter) = reference.parameter {
            return match self.instances[at].bound.get(usize::from(parameter)).cloned() {
                Some(Bound::Word(span, outer)) => self.any_name(outer, pointed(self.slice(span), span)),
                Some(Bound::Terminal(end)) => {
                    Some(self.design.components[self.design.terminals[end.terminal].component].name.clone())
                }
                _ => None,
            };
        }
        let path = reference.path();
        let written = self.slice(path);
        let own = self.instances[at].fit.is_none() && written == self.design.name && !written.is_empty();
        if let Some(point) = reference.terminal() {
            self.tell(id::NAME, point, "", |_| {
                (
                    "a terminal where a name is expected".into(),
                    "a terminal".into(),
                    format!("write `{written}`"),
                )
            });
            return None;
        }
        if self.walk(at, written).is_err() && own {
            return Some(written.to_owned());
        }
        self.find(at, path, "")?;
        let fit = self.instances[at].fit;
        Some(self.full_name(fit, written))
    }

    fn waive(&mut self, at: usize, (rule, subject, why, until): (Span, Subject, Span, Span), place: Place) {
        let until = self.date(until);
        let (subject, span) = match subject {
            Subject::Line(span) => {
                let written: String = self.slice(span).chars().filter(|one| !one.is_whitespace()).collect();
                (Some(written), span)
            }
            Subject::Name(reference) => (self.any_name(at, reference), reference.span),
        };
        let (Some(subject), Some(until)) = (subject, until) else { return };
        self.design.waivers.push(Waiver {
            rule: self.slice(rule).to_owned(),
            rule_span: rule,
            subject,
            why: plain(self.slice(why)),
            until,
            place: Place { span, ..place },
        });
    }

    fn assume(&mut self, at: usize, what: &'static str, value: Value, span: Span) {
        let assume = self.design.assume;
        let twice = match what {
            "ambient" => assume.ambient.is_some(),
            "insulation" => assume.insulation.is_some(),
            "strand" => assume.strand.is_some(),
            "contact" => assume.contact.is_some(),
            _ => assume.copper.is_some(),
        };
        if twice {
            self.tell(id::WORD, span, "", |_| {
                (format!("`{what}` is assumed twice"), "the second time".into(), "keep one of the two".into())
            });
            return;
        }
        let written = self.slice(value.span);
        match what {
            "ambient" => self.design.assume.ambient = Some(self.degrees(at, value)),
            "insulation" => self.design.assume.insulation = Some(self.degrees(at, value)),
            "contact" => self.design.assume.contact = Some(self.ohms(at, value)),
            "strand" => {
                self.design.assume.strand =
                    Some(if written == "class-2" { Strand::Class2 } else { Strand::Class5 });
            }
            _ => {
                self.design.assume.copper =
                    Some(if written == "tinned" { Coating::Tinned } else { Coating::Plain });
            }
        }
    }

    fn limit(&mut self, (name, value, value_span, why): (Span, LimitWord, Span, Span)) {
        let written = self.slice(name);
        if !self.limits.insert(written) {
            self.tell(id::WORD, name, "", |_| {
                (
                    format!("the limit `{written}` is replaced twice"),
                    "the second time".into(),
                    "keep one of the two".into(),
                )
            });
            return;
        }
        let value = match value {
            LimitWord::Number(number) => LimitValue::Number(number),
            LimitWord::Word => LimitValue::Word(self.slice(value_span).to_owned()),
            LimitWord::Quantity(quantity) => match quantity {
                Quantity::Length(length) => LimitValue::Length(length),
                Quantity::Share(share) => LimitValue::Share(share),
                Quantity::Temperature(temperature) => LimitValue::Temperature(temperature),
                Quantity::Current(current) => LimitValue::Current(current),
                Quantity::Voltage(voltage) => LimitValue::Voltage(voltage),
                Quantity::Size(size) => LimitValue::Area(size.area()),
                Quantity::Capacity(capacity) => LimitValue::Capacity(capacity),
                Quantity::Resistance(_)
                | Quantity::Power(_)
                | Quantity::Torque(_)
                | Quantity::HeatIntegral(_) => return,
            },
        };
        let why = plain(self.slice(why));
        self.design.limits.push(LimitChange {
            name: written.to_owned(),
            name_span: name,
            value,
            value_span,
            why,
        });
    }
}

/// A word that a parameter carries, as a reference in the scope where it was written.
fn pointed(word: &str, span: Span) -> Reference {
    let point = word.find('.').map_or(0, |at| span.start + u32::try_from(at).unwrap_or(0));
    Reference { span, point, parameter: None }
}

fn mode_state(kind: Kind, state: StateWord) -> Option<ModeState> {
    use Kind as K;
    let runs =
        matches!(kind, K::Alternator | K::Supply | K::Solar | K::Charger | K::Inverter | K::Load | K::Hub);
    let opens = matches!(kind, K::Switch | K::Breaker | K::Fuse | K::Plug | K::Cutoff);
    Some(match state {
        StateWord::On if runs => ModeState::On,
        StateWord::Off if runs => ModeState::Off,
        StateWord::Open if opens => ModeState::Open,
        StateWord::Closed if opens => ModeState::Closed,
        StateWord::Quantity(Quantity::Voltage(volts))
            if matches!(kind, K::Battery | K::Alternator | K::Supply | K::Charger | K::Solar) =>
        {
            ModeState::Voltage(volts)
        }
        StateWord::Quantity(Quantity::Current(amps)) if runs && kind != K::Hub => ModeState::Current(amps),
        StateWord::Quantity(Quantity::Power(watts))
            if matches!(kind, K::Load | K::Inverter | K::Hub | K::Charger | K::Solar) =>
        {
            ModeState::Power(watts)
        }
        StateWord::Quantity(Quantity::Resistance(ohms)) if kind == K::Load => ModeState::Resistance(ohms),
        _ => return None,
    })
}

fn states_of(kind: Kind) -> &'static str {
    match kind {
        Kind::Battery => "a mode gives a battery its voltage, such as `13.1 V`",
        Kind::Load => "a mode sets a load `on` or `off`, or to a power, a current or a resistance",
        Kind::Inverter | Kind::Hub => "a mode sets it `on` or `off`, or to a power such as `200 W`",
        Kind::Alternator | Kind::Supply | Kind::Solar | Kind::Charger => {
            "a mode sets a source `on` or `off`, or to a voltage or a current"
        }
        Kind::Switch | Kind::Breaker | Kind::Fuse | Kind::Plug | Kind::Cutoff => {
            "a mode sets it `open` or `closed`"
        }
        Kind::Post | Kind::Bar | Kind::Meter | Kind::Chassis => {
            "a mode sets sources, loads and devices; take the line out"
        }
    }
}
