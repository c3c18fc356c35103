//! What changed between two designs, in the words of the trade: elements added, removed, changed and renamed, and the
//! findings gained and lost. Plain data; how it is written down is in `render`.
//!
//! Spacing, comments, the order of statements and the unit in which a figure is written change nothing.

mod changes;
mod facts;
mod findings;
mod graph;
mod links;
mod matching;
mod spell;
mod statements;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::check::Judgement;
use crate::design::{Design, End, Fit, FitId};
use crate::text::Span;

use facts::Fact;
use graph::{Edge, Element, Graph};
use links::{Names, links};
use matching::Matching;
use statements::{Bolt, Item, bolts, items};

/// One of two designs, with what a check found in it.
#[derive(Debug, Clone, Copy)]
pub struct Side<'d> {
    /// The design.
    pub design: &'d Design,
    /// Its judgement.
    pub judgement: &'d Judgement,
}

/// What changed between two designs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Comparison {
    /// Elements and statements.
    pub elements: ElementChanges,
    /// Findings.
    pub findings: FindingChanges,
}

impl Comparison {
    /// Whether nothing has changed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// Elements that changed, those of the new design in its order of statements.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ElementChanges {
    /// Only in the new design.
    pub added: Vec<Entry>,
    /// Only in the old design, in its order.
    pub removed: Vec<Entry>,
    /// In both, and not the same.
    pub changed: Vec<Changed>,
    /// The same under another name.
    pub renamed: Vec<Renamed>,
}

/// An element or statement that only one of the designs has.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The word of its statement: `fuse`, `wire`, `bolt`, `expect`.
    pub kind: &'static str,
    /// Its full name, or what a statement without a name is about.
    pub name: String,
    /// The sentence for people, without a full stop.
    pub text: String,
    /// Where it stands in its design.
    pub span: Span,
    /// The fit that it came with.
    pub fit: Option<InFit>,
}

/// An element or statement that is in both designs.
#[derive(Debug, Clone, PartialEq)]
pub struct Changed {
    /// The word of its statement.
    pub kind: &'static str,
    /// Its name in the new design.
    pub name: String,
    /// What differs, at least one thing.
    pub changes: Vec<Change>,
    /// Where it stands in the new design.
    pub span: Span,
    /// The fit that it came with.
    pub fit: Option<InFit>,
}

/// One property that changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// The property.
    pub property: String,
    /// What it was, with its unit; `None` where it was not stated.
    pub from: Option<String>,
    /// What it is now; `None` where it is not stated.
    pub to: Option<String>,
    /// The sentence for people, without a full stop.
    pub text: String,
}

/// An element of one name in the old design and of another in the new one.
#[derive(Debug, Clone, PartialEq)]
pub struct Renamed {
    /// The word of its statement.
    pub kind: &'static str,
    /// Its name in the new design.
    pub name: String,
    /// Its name in the old design.
    pub was: String,
    /// The sentence for people, without a full stop.
    pub text: String,
    /// Where it stands in the new design.
    pub span: Span,
}

/// The fit that an element came with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InFit {
    /// The fit's full name.
    pub name: String,
    /// The kit.
    pub kit: String,
}

/// Findings that came and went.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FindingChanges {
    /// Found in the new design and not in the old one, in the order of its judgement.
    pub gained: Vec<FindingChange>,
    /// Found in the old design and not in the new one, in the order of its judgement.
    pub lost: Vec<FindingChange>,
}

/// A finding that came or went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FindingChange {
    /// Its place among the findings of its own judgement.
    pub at: usize,
    /// Both designs have it, and only one accepts it by a waiver: its place in the other judgement.
    pub other: Option<usize>,
}

/// Compares two designs.
#[must_use]
pub fn compare(old: Side<'_>, new: Side<'_>) -> Comparison {
    let (before, after) = (Graph::new(old.design), Graph::new(new.design));
    let matching = Matching::new(&before, &after);
    let elements = before.vertices().map(|a| (before.name(a), matching.new_of(a).map(|b| after.name(b))));
    let fits = old.design.fits.entries().map(|(id, fit)| {
        (fit.name.as_str(), matching.new_fit_of(id).map(|id| new.design.fits[id].name.as_str()))
    });
    let names = Names::new(elements.chain(fits));
    let mut comparing =
        Comparing { old: &before, new: &after, matching: &matching, names: &names, told: Told::default() };
    comparing.fits();
    comparing.elements();
    comparing.bolts();
    comparing.items();
    Comparison { elements: comparing.told.sorted(), findings: findings::findings(old, new, &names) }
}

/// What was found so far, each with its place in the order of statements.
#[derive(Default)]
struct Told {
    added: Vec<(u32, Entry)>,
    removed: Vec<(u32, Entry)>,
    changed: Vec<(u32, Changed)>,
    renamed: Vec<(u32, Renamed)>,
}

impl Told {
    fn sorted(self) -> ElementChanges {
        fn sorted<T>(mut rows: Vec<(u32, T)>) -> Vec<T> {
            rows.sort_by_key(|row| row.0);
            rows.into_iter().map(|row| row.1).collect()
        }
        ElementChanges {
            added: sorted(self.added),
            removed: sorted(self.removed),
            changed: sorted(self.changed),
            renamed: sorted(self.renamed),
        }
    }

    fn change(&mut self, order: u32, changed: Changed) {
        if !changed.changes.is_empty() {
            self.changed.push((order, changed));
        }
    }
}

struct Comparing<'c, 'd> {
    old: &'c Graph<'d>,
    new: &'c Graph<'d>,
    matching: &'c Matching<'c, 'd>,
    names: &'c Names<'d>,
    told: Told,
}

impl Comparing<'_, '_> {
    // Elements with names.

    fn elements(&mut self) {
        for b in self.new.vertices() {
            let element = self.new.element(b);
            let order = element.place().order;
            match self.matching.old_of(b) {
                None => self.told.added.push((order, entry(self.new.design, element, "new"))),
                Some(a) => {
                    self.name(a, b, order);
                    self.change(a, b, order);
                }
            }
        }
        for a in self.old.vertices().filter(|a| self.matching.new_of(*a).is_none()) {
            let element = self.old.element(a);
            self.told.removed.push((element.place().order, entry(self.old.design, element, "gone")));
        }
    }

    fn name(&mut self, a: u32, b: u32, order: u32) {
        if !self.matching.is_renamed(a, b) {
            return;
        }
        let [before, now] = [self.old.element(a), self.new.element(b)];
        let renamed = Renamed {
            kind: now.kind(),
            name: now.name().to_owned(),
            was: before.name().to_owned(),
            text: format!("{} is now called {}", subject(before), now.name()),
            span: now.place().span,
        };
        self.told.renamed.push((order, renamed));
    }

    fn change(&mut self, a: u32, b: u32, order: u32) {
        let [before, now] = [self.old.element(a), self.new.element(b)];
        let called = subject(now);
        let mut changes = Vec::new();
        if before.kind() != now.kind() {
            let kinds = [before, now].map(|one| match one {
                Element::Component(component) => component.kind.phrase(),
                other => other.kind().into(),
            });
            let [was, is] = kinds;
            let text = format!("{called} is now {is}, not {was}");
            let [from, to] = [before, now].map(|one| Some(one.kind().to_owned()));
            changes.push(Change { property: "kind".into(), from, to, text });
        }
        let turned = self.ends(a, b, &called, &mut changes);
        let stated = self.old.stated[a as usize] != self.new.stated[b as usize];
        let rated = self.old.rated[a as usize] != self.new.rated[b as usize];
        if stated || rated || turned {
            changes.extend(changes::changes(&called, &before.facts(turned), &now.facts(false)));
        }
        let old_links = links(self.old.design, before, self.names);
        let new_links = links(self.new.design, now, &Names::as_they_are());
        changes.extend(changes::changes(&called, &old_links, &new_links));
        let fit = in_fit(self.new.design, now.place().fit);
        let (kind, name) = (now.kind(), now.name().to_owned());
        self.told.change(order, Changed { kind, name, changes, span: now.place().span, fit });
    }

    /// Where a wire or a data lead ends; says whether its ends have changed places.
    fn ends(&self, a: u32, b: u32, called: &str, changes: &mut Vec<Change>) -> bool {
        let ([from, to, ..], [new_from, new_to, ..]) = (self.old.edges(a), self.new.edges(b)) else {
            return false;
        };
        if !self.old.has_ends(a) || !self.new.has_ends(b) {
            return false;
        }
        let same =
            |old: &Edge, new: &Edge| old.label == new.label && self.matching.new_of(old.to) == Some(new.to);
        if same(from, new_from) && same(to, new_to) {
            return false;
        }
        let turned = same(from, new_to) && same(to, new_from);
        let [was, is] =
            [ends(self.old.design, self.old.element(a)), ends(self.new.design, self.new.element(b))];
        let [was_from, was_to] = &was;
        let [is_from, is_to] = &is;
        let (property, from, to, text) = if turned {
            let text = format!("{called} is turned round: it now runs from {is_from} to {is_to}");
            ("direction", format!("{was_from} to {was_to}"), format!("{is_from} to {is_to}"), text)
        } else if same(from, new_from) {
            let text = format!("{called} now ends at {is_to}, not at {was_to}");
            ("to", was_to.clone(), is_to.clone(), text)
        } else if same(to, new_to) {
            let text = format!("{called} now starts at {is_from}, not at {was_from}");
            ("from", was_from.clone(), is_from.clone(), text)
        } else {
            let text =
                format!("{called} now runs from {is_from} to {is_to}, not from {was_from} to {was_to}");
            ("route", format!("{was_from} to {was_to}"), format!("{is_from} to {is_to}"), text)
        };
        changes.push(Change { property: property.into(), from: Some(from), to: Some(to), text });
        turned
    }

    // Fits.

    fn fits(&mut self) {
        let [old, new] = [self.old.design, self.new.design];
        let orders = [orders(self.old), orders(self.new)];
        for (id, fit) in new.fits.entries() {
            let order = orders[1][id.0 as usize];
            match self.matching.old_fit_of(id) {
                None => self.told.added.push((order, fit_entry(new, fit, "new"))),
                Some(before) => self.fit((before, id), order),
            }
        }
        for (id, fit) in old.fits.entries() {
            if self.matching.new_fit_of(id).is_none() {
                self.told.removed.push((orders[0][id.0 as usize], fit_entry(old, fit, "gone")));
            }
        }
    }

    fn fit(&mut self, (a, b): (FitId, FitId), order: u32) {
        let [before, now] = [&self.old.design.fits[a], &self.new.design.fits[b]];
        let called = match before.parent {
            Some(parent) => self.matching.called_in(&before.name, parent),
            None => before.name.as_str().into(),
        };
        if called != now.name {
            let renamed = Renamed {
                kind: "fit",
                name: now.name.clone(),
                was: before.name.clone(),
                text: format!("the fit {} is now called {}", before.name, now.name),
                span: now.span,
            };
            self.told.renamed.push((order, renamed));
        }
        let kit = |fit: &Fit| vec![Fact::main("kit", "kit", fit.kit.clone())];
        let changes = changes::changes(&format!("the kit of the fit {}", now.name), &kit(before), &kit(now));
        let fit = in_fit(self.new.design, now.parent);
        self.told
            .change(order, Changed { kind: "fit", name: now.name.clone(), changes, span: now.span, fit });
    }

    // Statements without names.

    fn bolts(&mut self) {
        let [old, new] = [self.old.design, self.new.design];
        let (before, now) = (bolts(old, self.names), bolts(new, &Names::as_they_are()));
        let key = |bolt: &Bolt| bolt.compared.join(" ");
        let Paired { mut gone, mut come, .. } = paired(&before, &now, key, key);
        let moved = moved(&gone, &come);
        let met: FxHashSet<*const Bolt> = moved
            .iter()
            .flat_map(|(was, is, _)| [std::ptr::from_ref(*was), std::ptr::from_ref(*is)])
            .collect();
        gone.retain(|bolt| !met.contains(&std::ptr::from_ref(*bolt)));
        come.retain(|bolt| !met.contains(&std::ptr::from_ref(*bolt)));
        for (was, is, kept) in moved {
            let other = |bolt: &Bolt| bolt.written[usize::from(bolt.compared[0] == kept)].clone();
            let at = is.written[usize::from(is.compared[0] != kept)].clone();
            let text = format!("{at} is now bolted to {}, not to {}", other(is), other(was));
            let change = Change { property: "to".into(), from: Some(other(was)), to: Some(other(is)), text };
            let fit = in_fit(new, is.fit);
            let changed = Changed { kind: "bolt", name: at, changes: vec![change], span: is.span, fit };
            self.told.change(is.order, changed);
        }
        let entry = |design: &Design, bolt: &Bolt, how: &str| {
            let [a, b] = bolt.ends();
            let text = format!("{a} {how} bolted to {b}");
            let fit = in_fit(design, bolt.fit);
            (bolt.order, Entry { kind: "bolt", name: format!("{a} to {b}"), text, span: bolt.span, fit })
        };
        self.told.added.extend(come.into_iter().map(|bolt| entry(new, bolt, "is now")));
        self.told.removed.extend(gone.into_iter().map(|bolt| entry(old, bolt, "is no longer")));
    }

    fn items(&mut self) {
        let [old, new] = [self.old.design, self.new.design];
        let (before, now) = (items(old, self.names), items(new, &Names::as_they_are()));
        let key = |item: &Item| format!("{} {}", item.kind, item.key);
        let whole = |item: &Item| {
            let facts: Vec<&str> = item.facts.iter().map(Fact::compared).collect();
            format!("{} {} {facts:?}", item.kind, item.key)
        };
        let paired = paired(&before, &now, whole, key);
        for (was, is) in paired.both {
            let changes = changes::changes(&is.subject, &was.facts, &is.facts);
            let fit = in_fit(new, is.fit);
            let changed = Changed { kind: is.kind, name: is.name.clone(), changes, span: is.span, fit };
            self.told.change(is.order, changed);
        }
        let entry = |design: &Design, item: &Item, come: bool| {
            let (what, subject) = (described(&item.facts), &item.subject);
            let stated = matches!(item.kind, "assume" | "book");
            let text = match (stated, come) {
                (true, true) => format!("{subject} is now stated, {what}"),
                (true, false) => format!("{subject} is no longer stated (it was {what})"),
                (false, true) => format!("{subject} is new: {what}"),
                (false, false) => format!("{subject} is gone: {what}"),
            };
            let fit = in_fit(design, item.fit);
            (item.order, Entry { kind: item.kind, name: item.name.clone(), text, span: item.span, fit })
        };
        self.told.added.extend(paired.come.into_iter().map(|item| entry(new, item, true)));
        self.told.removed.extend(paired.gone.into_iter().map(|item| entry(old, item, false)));
    }
}

/// Statements of two designs.
struct Paired<'i, T> {
    both: Vec<(&'i T, &'i T)>,
    gone: Vec<&'i T>,
    come: Vec<&'i T>,
}

/// Finds which of the old statements is which of the new: first those that are the same whole, then by what they are about.
fn paired<'i, T>(
    old: &'i [T],
    new: &'i [T],
    whole: impl Fn(&T) -> String,
    about: impl Fn(&T) -> String,
) -> Paired<'i, T> {
    let mut paired = Paired { both: Vec::new(), gone: old.iter().collect(), come: new.iter().collect() };
    for key in [&whole as &dyn Fn(&T) -> String, &about] {
        let mut waiting: FxHashMap<String, Vec<usize>> = FxHashMap::default();
        for (at, one) in paired.gone.iter().enumerate().rev() {
            waiting.entry(key(one)).or_default().push(at);
        }
        let mut met = vec![false; paired.gone.len()];
        let (gone, both) = (&paired.gone, &mut paired.both);
        paired.come.retain(|one| match waiting.get_mut(&key(one)).and_then(Vec::pop) {
            Some(at) => {
                met[at] = true;
                both.push((gone[at], one));
                false
            }
            None => true,
        });
        let mut met = met.into_iter();
        paired.gone.retain(|_| met.next() == Some(false));
    }
    paired
}

/// Bolts that hold the same terminal of a device as before to something else, with that terminal.
fn moved<'i>(gone: &[&'i Bolt], come: &[&'i Bolt]) -> Vec<(&'i Bolt, &'i Bolt, String)> {
    fn by_end<'b>(bolts: &[&'b Bolt]) -> FxHashMap<&'b str, Vec<&'b Bolt>> {
        let mut all: FxHashMap<&str, Vec<&Bolt>> = FxHashMap::default();
        for bolt in bolts {
            for end in bolt.terminals() {
                all.entry(end).or_default().push(bolt);
            }
        }
        all
    }
    let (before, now) = (by_end(gone), by_end(come));
    let mut moved: Vec<(&Bolt, &Bolt, String)> = Vec::new();
    let mut met: FxHashMap<*const Bolt, usize> = FxHashMap::default();
    for end in gone.iter().flat_map(|bolt| bolt.terminals()) {
        let [one, other] = [before.get(end), now.get(end)].map(|bolts| bolts.map_or(&[][..], Vec::as_slice));
        if let ([one], [other]) = (one, other) {
            *met.entry(std::ptr::from_ref(*one)).or_default() += 1;
            *met.entry(std::ptr::from_ref(*other)).or_default() += 1;
            moved.push((*one, *other, end.to_owned()));
        }
    }
    // Where both ends of one lead to others, none has moved more than another.
    let once = |bolt: &Bolt| met.get(&std::ptr::from_ref(bolt)) == Some(&1);
    moved.retain(|(one, other, _)| once(one) && once(other));
    moved
}

/// How a sentence about an element begins.
fn subject(element: Element<'_>) -> String {
    match element {
        Element::Component(_) | Element::Wire(_) => element.name().to_owned(),
        Element::Data(lead) => format!("data lead {}", lead.name),
        Element::Zone(_) | Element::Bundle(_) | Element::Mode(_) => {
            format!("{} {}", element.kind(), element.name())
        }
    }
}

fn entry(design: &Design, element: Element<'_>, how: &str) -> Entry {
    let facts: Vec<Fact> =
        element.facts(false).into_iter().chain(links(design, element, &Names::as_they_are())).collect();
    let what = described(&facts);
    let what = match element {
        Element::Component(component) if what.is_empty() => component.kind.phrase(),
        Element::Component(component) => format!("{}, {what}", component.kind.phrase()),
        Element::Wire(_) | Element::Data(_) => {
            let [from, to] = ends(design, element);
            format!("from {from} to {to}, {what}")
        }
        Element::Zone(_) | Element::Bundle(_) | Element::Mode(_) => what,
    };
    let colon = if what.is_empty() { "" } else { ": " };
    Entry {
        kind: element.kind(),
        name: element.name().to_owned(),
        text: format!("{} is {how}{colon}{what}", subject(element)),
        span: element.place().span,
        fit: in_fit(design, element.place().fit),
    }
}

fn fit_entry(design: &Design, fit: &Fit, how: &str) -> Entry {
    Entry {
        kind: "fit",
        name: fit.name.clone(),
        text: format!("the fit {} is {how}: kit {}", fit.name, fit.kit),
        span: fit.span,
        fit: in_fit(design, fit.parent),
    }
}

fn described(facts: &[Fact]) -> String {
    facts.iter().map(Fact::described).collect::<Vec<_>>().join(", ")
}

/// How the ends of a wire or data lead are written.
fn ends(design: &Design, element: Element<'_>) -> [String; 2] {
    let name = |end: End| design.end_name(end);
    match element {
        Element::Wire(wire) => [name(wire.from), name(wire.to)],
        Element::Data(lead) => [name(lead.from), name(lead.to)],
        _ => [String::new(), String::new()],
    }
}

fn in_fit(design: &Design, fit: Option<FitId>) -> Option<InFit> {
    let fit = &design.fits[fit?];
    Some(InFit { name: fit.name.clone(), kit: fit.kit.clone() })
}

/// Where each fit stands in the order of statements: where the first of what it holds does.
fn orders(graph: &Graph<'_>) -> Vec<u32> {
    let fits = &graph.design.fits;
    let mut orders = vec![u32::MAX; fits.len()];
    for vertex in graph.vertices() {
        let place = graph.element(vertex).place();
        let mut fit = place.fit;
        while let Some(id) = fit {
            let order = &mut orders[id.0 as usize];
            if *order <= place.order {
                break;
            }
            *order = place.order;
            fit = fits[id].parent;
        }
    }
    orders
}
