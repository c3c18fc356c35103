//! What every rule is given, and the words that several share.

use std::borrow::Cow;

use crate::book::{Book, Confidence, CurrentLimit, Figure, Limit, ShareLimit};
use crate::check::{Flow, Role};
use crate::circuit::{Circuit, CutTerm, EdgeKind, Hit, Source, Steady, UNLIMITED, current};
use crate::design::{
    Body, Chemistry, ComponentId, Date, Design, Feed, FuseType, Kind, Place, TerminalRole, WireId,
};
use crate::findings::{Finding, Severity};
use crate::study::{Faults, Guards, ModeStudy, Peak, Study};
use crate::text::Span;
use crate::units::{Current, Voltage};

use super::{Rule, Unstated, Without};

/// What every rule is given.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Context<'c> {
    pub(crate) design: &'c Design,
    pub(crate) book: &'c Book,
    pub(crate) circuit: &'c Circuit<'c>,
    /// The circuit with nothing set aside, where something was.
    pub(crate) whole: Option<&'c Circuit<'c>>,
    pub(crate) today: Date,
    /// What flows in each mode, once a rule asks; `None` where faults were set aside, as what flows then is another design's.
    pub(crate) study: Option<&'c std::cell::OnceCell<Study>>,
    /// What faults draw, once a rule asks; `None` likewise.
    pub(crate) faults: Option<&'c std::cell::OnceCell<FaultStudy>>,
    /// What came of the book's own rules, once they are judged.
    pub(crate) house: &'c std::cell::OnceCell<super::house::Judged>,
}

impl<'c> Context<'c> {
    /// The same, on another circuit of the design.
    pub(crate) fn on(&self, circuit: &'c Circuit<'c>) -> Self {
        Self { circuit, whole: None, study: None, faults: None, ..*self }
    }

    pub(crate) fn name(&self, id: ComponentId) -> &'c str {
        &self.design.components[id].name
    }

    pub(crate) fn wire_name(&self, id: WireId) -> &'c str {
        &self.design.wires[id].name
    }

    /// Names in a list, `A, B and C`.
    pub(crate) fn list(names: &[String]) -> String {
        match names {
            [] => "nothing".into(),
            [one] => one.clone(),
            [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
        }
    }

    /// A finding on a wire.
    pub(crate) fn on_wire(&self, rule: &Rule, id: WireId) -> Finding {
        let wire = &self.design.wires[id];
        self.at(rule, &wire.name, wire.place)
    }

    /// A finding on a component.
    pub(crate) fn on_component(&self, rule: &Rule, id: ComponentId) -> Finding {
        let component = &self.design.components[id];
        self.at(rule, &component.name, component.place)
    }

    /// A finding at a place; the fits that led there are told after it.
    pub(crate) fn at(&self, rule: &Rule, name: &str, place: Place) -> Finding {
        let severity = self.book.rule(rule.id).severity.unwrap_or(rule.severity);
        self.place(rule.id.into(), severity, name, place)
    }

    /// The same by the rule's id and severity.
    pub(super) fn place(
        &self,
        rule: Cow<'static, str>,
        severity: Severity,
        name: &str,
        place: Place,
    ) -> Finding {
        let mut finding = Finding::new(rule, severity, name, place.span);
        let mut fit = place.fit;
        while let Some(id) = fit {
            let row = &self.design.fits[id];
            finding = finding.related(
                row.name.clone(),
                row.span,
                format!("kit {} is fitted here as {}", row.kit, row.name),
            );
            fit = row.parent;
        }
        finding
    }

    pub(crate) fn span(&self, id: ComponentId) -> Span {
        self.design.components[id].place.span
    }

    pub(crate) fn wire_span(&self, id: WireId) -> Span {
        self.design.wires[id].place.span
    }

    /// How a source's positive is written; a string's is its last battery's.
    pub(crate) fn source_terminal(&self, id: ComponentId) -> String {
        let component = &self.design.components[id];
        let roles = [TerminalRole::Plus, TerminalRole::OutPlus, TerminalRole::OutPlusNumber(1)];
        roles
            .into_iter()
            .find_map(|role| component.terminal(self.design, role))
            .map_or_else(|| component.name.clone(), |terminal| self.design.terminal_name(terminal))
    }

    /// What a source can push into a fault, in words.
    pub(crate) fn push(&self, id: ComponentId) -> String {
        let limit = self.circuit.source_of(id).map(|source| source.limit).filter(|limit| *limit < UNLIMITED);
        if let Some(limit) = limit {
            return format!("gives up to {}", current(limit));
        }
        match self.fault(id) {
            Some(fault) => format!("can push {fault} into a fault"),
            None => "can push an unlimited current into a fault".into(),
        }
    }

    /// The declared prospective current of an unlimited source, else the book's figure for its chemistry.
    pub(crate) fn fault(&self, id: ComponentId) -> Option<Current> {
        match &self.design.components[id].body {
            Body::Battery(battery) => self.book.fault_of(battery),
            Body::Supply(supply) => supply.fault,
            _ => None,
        }
    }

    /// The study of the circuit.
    pub(crate) fn study(&self) -> Option<&'c Study> {
        self.study.map(|study| study.get_or_init(|| Study::new(self.circuit, None, None)))
    }

    /// What faults draw, and which devices their currents pass.
    pub(crate) fn faults(&self) -> Option<&'c FaultStudy> {
        let new = || FaultStudy { drawn: Faults::new(self.circuit), guards: Guards::new(self.circuit) };
        self.faults.map(|faults| faults.get_or_init(new))
    }

    /// The batteries whose prospective current is the book's, or not known.
    pub(super) fn unstated_fault(&self, out: &mut Unstated) {
        for (id, component) in self.design.components.entries() {
            let Body::Battery(battery) = &component.body else { continue };
            if battery.resistance.is_some() || battery.fault.is_some() {
                continue;
            }
            match (battery.chemistry, battery.capacity) {
                (Some(chemistry), Some(capacity)) => {
                    let fault = self.book.fault_current(chemistry, capacity);
                    let value = format!("{fault}, the book's for {} of {capacity}", chemistry.word());
                    out.add("fault", Without::Assumed(value), id);
                }
                _ => out.add("fault", Without::NotJudged, id),
            }
        }
    }

    /// What flows through an edge for good: in a design that states modes the most of them, as computed; in one without, the
    /// ratings of all that is there.
    pub(crate) fn steady(&self, edge: u32) -> Option<Carried<'c>> {
        if self.design.modes.is_empty() {
            let steady = self.circuit.steady(edge)?;
            return Some(Carried { current: current(steady.amount), by: By::Ratings(steady) });
        }
        use crate::design::Id;
        let study = self.study()?;
        let peak = match self.circuit.metal.edges[edge as usize].component() {
            Some(id) => study.peaks.component[id.index()],
            None => *self
                .circuit
                .wires(edge)
                .iter()
                .filter_map(|wire| study.peaks.branch.get(study.network.wire(*wire)?))
                .max_by(|a, b| a.current.as_amps().total_cmp(&b.current.as_amps()))?,
        };
        let mode = study.modes.get(peak.mode)?;
        (0.0 < peak.current.as_amps()).then_some(Carried { current: peak.current, by: By::Mode(mode) })
    }

    /// Where a mode stands; the design's name for the one that stands in where there is none.
    pub(crate) fn mode_span(&self, mode: &ModeStudy) -> Option<Span> {
        mode.mode.map(|id| self.design.modes[id].place.span)
    }

    /// A mode in words, after what happens: ` in mode driving`, ` with everything on`.
    pub(crate) fn in_mode(&self, mode: &ModeStudy) -> String {
        match mode.mode {
            Some(_) => format!("in mode {}", mode.name),
            None => "with everything on".into(),
        }
    }

    /// Tells in which mode a current flows.
    pub(crate) fn tell_mode(&self, finding: Finding, mode: &ModeStudy, amount: String) -> Finding {
        let finding = match self.mode_span(mode) {
            Some(span) => finding.related(&*mode.name, span, format!("{amount} in this mode")),
            None => finding,
        };
        let finding =
            finding.text("mode", &*mode.name).figure(amount, format!("computed {}", self.in_mode(mode)));
        self.limit_figure(finding, "conductor.operating")
    }

    /// A mode's largest current through a wire or what is judged like it.
    pub(crate) fn peak_mode(&self, peak: Peak) -> Option<&'c ModeStudy> {
        self.study()?.modes.get(peak.mode)
    }

    pub(crate) fn is_blade(&self, id: ComponentId) -> bool {
        matches!(&self.design.components[id].body, Body::Fuse(fuse) if fuse.kind == Some(FuseType::Blade))
    }

    pub(crate) fn is_alternator(&self, id: ComponentId) -> bool {
        self.design.components[id].kind == Kind::Alternator
    }

    /// The book's efficiency on which a component's current rests, where it states none.
    pub(crate) fn efficiency_assumed(&self, id: ComponentId) -> Option<ShareLimit> {
        match &self.design.components[id].body {
            Body::Inverter(inverter) if inverter.efficiency.is_none() => Some(ShareLimit::InverterEfficiency),
            Body::Charger(charger) => {
                (charger.efficiency.is_none() && charger.input_current.is_none() && charger.feed == Feed::Dc)
                    .then_some(ShareLimit::ChargerEfficiency)
            }
            _ => None,
        }
    }

    fn assumed_efficiency(&self, id: ComponentId) -> String {
        self.efficiency_assumed(id).map_or_else(String::new, |limit| {
            format!(", at {} efficiency ({} of the book)", self.book.share(limit), limit.name())
        })
    }

    /// Tells those that bound what flows for good, each with its part, or the mode in which it flows.
    pub(crate) fn tell_steady(
        &self,
        mut finding: Finding,
        carried: &Carried<'_>,
        terms: &[(ComponentId, Current)],
    ) -> Finding {
        const SHOWN: usize = 6;
        let steady = match carried.by {
            By::Ratings(steady) => steady,
            By::Mode(mode) => return self.tell_mode(finding, mode, carried.current.to_string()),
        };
        let verb = if steady.pushed { "gives" } else { "takes" };
        for (id, amount) in terms.iter().take(SHOWN) {
            let name = self.name(*id);
            let meaning = format!("what {name} {verb} by its ratings{}", self.assumed_efficiency(*id));
            finding = finding
                .related(name, self.span(*id), format!("{verb} {amount}"))
                .figure(amount.to_string(), meaning);
        }
        if SHOWN < terms.len() {
            let rest: Current = terms.iter().skip(SHOWN).map(|row| row.1).sum();
            finding = finding.figure(rest.to_string(), format!("what {} more {verb}", terms.len() - SHOWN));
        }
        finding
    }

    /// Those that bound what an edge carries by its ratings; none where a mode tells it.
    pub(crate) fn steady_terms(&self, edge: u32, carried: &Carried<'_>) -> Vec<(ComponentId, Current)> {
        match &carried.by {
            By::Ratings(steady) => self.circuit.steady_terms(edge, steady),
            By::Mode(_) => Vec::new(),
        }
    }

    /// The same for an edge.
    pub(crate) fn with_steady(&self, finding: Finding, edge: u32) -> Finding {
        match self.steady(edge) {
            Some(carried) => self.tell_steady(finding, &carried, &self.steady_terms(edge, &carried)),
            None => finding,
        }
    }

    /// The next standard rating that stands a current for good in place of a device, in words: of its own type, or where
    /// that does not do, of another, which is named.
    pub(crate) fn device_for(
        &self,
        id: ComponentId,
        part: u32,
        carried: Current,
    ) -> Option<(Current, String)> {
        let kind = match &self.design.components[id].body {
            Body::Fuse(fuse) => Some(fuse.kind),
            _ => None,
        };
        let next = |kind: Option<FuseType>| {
            let least = carried / self.book.continuous(kind == Some(FuseType::Blade));
            self.book.ratings(kind).iter().copied().find(|rating| least.within(*rating))
        };
        let too_hot = !carried.within(self.book.current(CurrentLimit::TypeBlade));
        let own = match kind {
            None => next(None),
            Some(Some(FuseType::Blade)) if too_hot => None,
            Some(Some(kind)) => next(Some(kind)),
            Some(None) => None,
        };
        if let Some(rating) = own {
            return Some((rating, rating.to_string()));
        }
        let others = self.suitable_types(None, part, carried).into_iter();
        others
            .filter(|row| !(too_hot && row.0 == FuseType::Blade))
            .find_map(|(kind, words, _)| Some((next(Some(kind))?, words)))
            .map(|(rating, words)| (rating, format!("a {words} fuse of {rating}")))
    }

    /// A new device for a current for good, in words: the plainest type that suits the source and the voltage.
    pub(crate) fn new_device(&self, source: Option<ComponentId>, part: u32, carried: Current) -> String {
        let too_hot = !carried.within(self.book.current(CurrentLimit::TypeBlade));
        let rating = |(kind, words, _): (FuseType, &str, Current)| {
            let least = carried / self.book.continuous(kind == FuseType::Blade);
            let rating = self.book.ratings(Some(kind)).iter().find(|rating| least.within(**rating))?;
            (!(too_hot && kind == FuseType::Blade)).then(|| format!("a {words} fuse of {rating}"))
        };
        let mut types = self.suitable_types(source, part, carried).into_iter();
        types.find_map(rating).unwrap_or_else(|| "a device of its own".into())
    }

    /// What is fed through an edge by its ratings, seen from the given nodes.
    pub(crate) fn demand_beyond(&self, edge: u32, from: &[u32]) -> Current {
        let circuit = self.circuit;
        if !circuit.may_look() {
            return Current::default();
        }
        let (nodes, near) = circuit.metal.graph.spread(from, |other, _| other != edge);
        circuit.look(nodes.len() + circuit.ports.len());
        let (a, b) = circuit.metal.graph.ends(edge);
        let splits = near.contains(a) != near.contains(b);
        let part = circuit.part[a as usize];
        circuit
            .ports
            .iter()
            .filter(|port| !port.source)
            .filter(|port| {
                port.plus.iter().any(|plus| {
                    let node = circuit.metal.node(*plus);
                    circuit.part[node as usize] == part && !(splits && near.contains(node))
                })
            })
            .filter_map(|port| circuit.demand_of(port.component))
            .sum()
    }

    /// The highest voltage that a live part can reach, and the source that gives it.
    pub(crate) fn highest_voltage(&self, part: u32) -> Option<(Voltage, ComponentId)> {
        let of = |source: &Source| -> Option<Voltage> {
            let member = |id: ComponentId| match &self.design.components[id].body {
                Body::Battery(battery) => self.book.full_of(battery),
                Body::Alternator(alternator) => Some(alternator.nominal? * 1.18),
                Body::Supply(supply) => supply.nominal,
                Body::Solar(solar) => Some(solar.voc? * self.book.voc_factor()),
                Body::Charger(charger) => charger.output,
                _ => None,
            };
            source.members.iter().map(|id| member(*id)).sum::<Option<Voltage>>()
        };
        self.circuit
            .sources_on(part)
            .filter_map(|source| Some((of(source)?, source.component)))
            .reduce(|best, next| if best.0 < next.0 { next } else { best })
    }

    /// Standard ratings that suit a conductor: at most `ceiling`, and where it can be, enough for `demand` at the book's
    /// continuous share; with the device's type in words.
    pub(crate) fn fitting(
        &self,
        source: Option<ComponentId>,
        part: u32,
        ceiling: Current,
        demand: Current,
    ) -> Fitting {
        let suitable = |(kind, words, most): (FuseType, &'static str, Current)| {
            let least = demand / self.book.continuous(kind == FuseType::Blade);
            let all = self.book.ratings(Some(kind)).iter().copied();
            let (all, over): (Vec<Current>, Vec<Current>) =
                all.filter(|rating| rating.within(ceiling)).partition(|rating| rating.within(most));
            let ratings = all.iter().copied().filter(|rating| least.within(*rating)).collect();
            Fitting { ratings, largest: all.last().copied(), capped: !over.is_empty(), kind, words }
        };
        let mut all = self.suitable_types(source, part, ceiling).into_iter().map(suitable);
        let first = all.next();
        match first {
            Some(fitting) if !fitting.ratings.is_empty() => fitting,
            first => {
                let other = all.find(|fitting| !fitting.ratings.is_empty());
                let none = Fitting {
                    ratings: Vec::new(),
                    largest: None,
                    capped: false,
                    kind: FuseType::ClassT,
                    words: "class T",
                };
                other.or(first).unwrap_or(none)
            }
        }
    }

    /// Fuse types by what the source can push and by the voltage, the plainest first, each with the largest rating to offer.
    fn suitable_types(
        &self,
        source: Option<ComponentId>,
        part: u32,
        ceiling: Current,
    ) -> Vec<(FuseType, &'static str, Current)> {
        // Breaking capacities at 32 V: blade types 1 kA (ISO 8820-3:2015), bolt-in types 2 kA (ISO 8820-5:2015).
        const BLADE_BREAKS: Current = Current::amps(1000.0);
        const BOLT_IN_BREAKS: Current = Current::amps(2000.0);
        const LOW: Voltage = Voltage::volts(32.0);
        let lithium = source.is_some_and(|id| match &self.design.components[id].body {
            Body::Battery(battery) => battery.chemistry.is_some_and(Chemistry::is_lithium),
            _ => false,
        });
        let fault = source.and_then(|id| self.fault(id));
        let high = lithium || self.highest_voltage(part).is_some_and(|row| LOW < row.0);
        let breaks = |most: Current| !high && fault.is_none_or(|fault| fault.within(most));
        // A blade fuse carries the book's limit for good; a larger cable is not protected by one.
        let blade = self.book.current(CurrentLimit::TypeBlade) / self.book.continuous(true);
        let mut types = Vec::new();
        if breaks(BLADE_BREAKS) && ceiling.within(blade * 2.0) {
            types.push((FuseType::Blade, "blade", blade));
        }
        if breaks(BOLT_IN_BREAKS) {
            types.push((FuseType::BoltIn, "bolt-in", ceiling));
        }
        types.push((FuseType::ClassT, "class T", ceiling));
        types
    }

    /// The terms of a cut as `F1 60 A and F2 60 A, together 120 A`.
    pub(crate) fn tell_cut(&self, cut: &[CutTerm]) -> String {
        const SHOWN: usize = 12;
        let mut terms: Vec<String> = cut
            .iter()
            .take(SHOWN)
            .map(|term| format!("{} {}", self.name(term.component), current(term.amount)))
            .collect();
        if SHOWN < cut.len() {
            terms.push(format!("{} more", cut.len() - SHOWN));
        }
        let sum: u64 = cut.iter().map(|term| term.amount).sum();
        match terms.as_slice() {
            [one] => one.clone(),
            several => format!("{}, together {}", Self::list(several), current(sum)),
        }
    }

    /// What a wire may be protected at: the book's ratio times its ampacity.
    pub(crate) fn permitted(&self, wire: WireId) -> Current {
        use crate::design::Id;
        self.circuit.ampacity[wire.index()] * self.book.share(self.ratio_limit(wire)).as_ratio()
    }

    /// Which limit of the book a wire's protection ratio is.
    pub(crate) fn ratio_limit(&self, wire: WireId) -> ShareLimit {
        self.book.ratio_limit(self.circuit.nominal(wire))
    }

    pub(crate) fn ampacity(&self, wire: WireId) -> Current {
        use crate::design::Id;
        self.circuit.ampacity[wire.index()]
    }

    /// What can flow through a wire for good before anything opens: on a stretch what follows it, else what can arrive
    /// at a live wire or circulate through another. `None` where the circuit has no figure for it.
    pub(crate) fn bears(&self, wire: WireId) -> Option<Flow> {
        let circuit = self.circuit;
        let edge = circuit.edge(wire)?;
        let amount = if circuit.role(wire) != Role::Live {
            circuit.circulation(edge)?
        } else if circuit.hits(edge).any(|hit| !hit.followed) {
            UNLIMITED
        } else {
            let burden = circuit.hits(edge).map(Circuit::burden).max();
            burden.unwrap_or_else(|| circuit.let_through(wire))
        };
        Some(circuit.share_of(wire, amount))
    }

    /// How a wire is made, for the figures: `10 mm2, 105 C insulation, 60 C ambient`.
    pub(crate) fn made(&self, wire: WireId) -> String {
        let conductor = crate::circuit::conductor(self.design, self.book, &self.circuit.bundled, wire);
        let mut words =
            format!("{}, {} insulation, {} ambient", conductor.size, conductor.insulation, conductor.ambient);
        if self.design.wires[wire].insulation.or(self.design.assume.insulation).is_none() {
            words += " (insulation not stated: the lowest class is assumed)";
        }
        if 1 < conductor.bundled {
            words += &format!(", bundle of {}", conductor.bundled);
        }
        if 1 < conductor.count {
            words += &format!(", {} conductors", conductor.count);
        }
        if self.book.ampacity_from_memory(&conductor) {
            words += "; from memory, to be confirmed";
        }
        words
    }

    /// The wires whose insulation class is assumed.
    pub(super) fn unstated_insulation(cx: &Context<'_>, out: &mut Unstated) {
        if cx.design.assume.insulation.is_some() {
            return;
        }
        let value = format!("{}, the lowest class", cx.book.insulation_assumed());
        let wires = cx.design.wires.entries().filter(|(_, wire)| wire.insulation.is_none());
        out.add_all("insulation", Without::Assumed(value), wires.map(|row| row.0));
    }

    /// What takes nothing in any mode because no figure says how much.
    pub(super) fn unstated_demand(&self, out: &mut Unstated) {
        let Some(study) = self.study() else { return };
        let stated: rustc_hash::FxHashSet<_> = study
            .modes
            .iter()
            .flat_map(|mode| mode.elements.takers.iter().map(|taker| taker.component))
            .collect();
        let silent = self.design.components.entries().filter_map(|(id, component)| {
            let open = match &component.body {
                Body::Load(load) => load.demand.is_none(),
                Body::Inverter(inverter) => inverter.power.is_none(),
                Body::Hub(hub) => hub.power.is_none(),
                _ => false,
            };
            (open && !stated.contains(&id)).then_some(id)
        });
        out.add_all("W", Without::NotJudged, silent);
    }

    /// A battery that does not state how high it is charged.
    pub(super) fn unstated_full(&self, id: ComponentId, out: &mut Unstated) {
        let Body::Battery(battery) = &self.design.components[id].body else { return };
        match (battery.full, battery.chemistry) {
            (Some(_), _) => {}
            (None, Some(chemistry)) => {
                let full = self.book.full_voltage(chemistry, battery.nominal);
                let value = format!("{full}, the book's for {} of {}", chemistry.word(), battery.nominal);
                out.add("full", Without::Assumed(value), id);
            }
            (None, None) => out.add("full", Without::NotJudged, id),
        }
    }

    /// Where a stretch starts, in words.
    pub(crate) fn origin_words(&self, hit: &Hit) -> String {
        let origin = &self.circuit.origins[hit.origin as usize];
        if origin.cranking {
            self.circuit.node_name(self.nearest_origin_node(hit))
        } else {
            self.source_terminal(origin.component)
        }
    }

    fn nearest_origin_node(&self, hit: &Hit) -> u32 {
        let origin = &self.circuit.origins[hit.origin as usize];
        if hit.edge == crate::circuit::NONE {
            return origin.nodes[0];
        }
        let (a, b) = self.circuit.metal.graph.ends(hit.edge);
        origin.nodes.iter().copied().find(|node| *node == a || *node == b).unwrap_or(origin.nodes[0])
    }

    /// A figure for the book's limit of this name, with its source and, where the design changed it, why.
    pub(crate) fn limit_figure(&self, finding: Finding, name: &str) -> Finding {
        let Some(figure) = self.book.figure(name) else { return finding };
        let from = self.figure_from(name, &figure);
        finding.figure(figure.value_text, from)
    }

    /// When a device opens, with the book's gates of its type and rating as the source.
    pub(crate) fn gates_figure(
        &self,
        finding: Finding,
        value: String,
        what: &str,
        kind: Option<FuseType>,
        rating: Current,
    ) -> Finding {
        let Some(figure) = self.book.gates_figure(kind, rating) else { return finding };
        let name = format!("opening.{}", kind.map_or("breaker", FuseType::word));
        let from = self.figure_from(&name, &figure);
        finding.figure(value, format!("{what}: {from}"))
    }

    /// A figure that was read from the book's table of this name, with the table's source.
    pub(crate) fn table_figure(&self, finding: Finding, value: String, what: &str, name: &str) -> Finding {
        let Some(figure) = self.book.figure(name) else { return finding };
        let from = self.figure_from(name, &figure);
        finding.figure(value, format!("{what}: {from}"))
    }

    fn figure_from(&self, name: &str, figure: &Figure) -> String {
        match &figure.changed_because {
            Some(why) => format!("{name}, set by this design because {why}"),
            None => {
                let taken = if figure.book == self.book.name() {
                    String::new()
                } else {
                    format!(", taken from {}", figure.book)
                };
                let caution = figure.confidence.caution();
                format!("{name} in book {}{taken} ({}{caution})", self.book.name(), figure.source)
            }
        }
    }

    /// A figure for a limit that decided without standing in the text, where it is from memory.
    pub(crate) fn memory_figure(&self, finding: Finding, name: &str) -> Finding {
        let known = self.book.figure(name).map(|figure| figure.confidence);
        if known == Some(Confidence::Memory) { self.limit_figure(finding, name) } else { finding }
    }

    /// The limits behind a name (one, or one for each chemistry) that the design replaced.
    pub(crate) fn changed(&self, name: &str) -> Vec<String> {
        let limits = Limit::named(name).into_iter().filter(|limit| {
            self.book.limit_figure(*limit).is_some_and(|figure| figure.changed_because.is_some())
        });
        limits.map(|limit| limit.name().into_owned()).collect()
    }

    /// Tells the first edges of a way in a finding: wires, data leads, and what else the way runs by.
    pub(crate) fn along(
        &self,
        mut finding: Finding,
        way: &[u32],
        wire_note: &str,
        other_note: impl Fn(u32) -> String,
    ) -> Finding {
        for edge in way.iter().take(8) {
            for wire in self.circuit.wires(*edge) {
                finding = finding.related(self.wire_name(*wire), self.wire_span(*wire), wire_note);
            }
            let kind = self.circuit.metal.edges[*edge as usize];
            if let EdgeKind::Data(id) = kind {
                let lead = &self.design.data[id];
                finding =
                    finding.related(lead.name.clone(), lead.place.span, "this data lead joins two negatives");
            } else if let Some(id) = kind.component() {
                finding = finding.related(self.name(id), self.span(id), other_note(*edge));
            }
        }
        finding
    }

    /// A chain of edges as names.
    pub(crate) fn chain(&self, edges: &[u32]) -> Vec<String> {
        Self::first_few(edges.iter().map(|edge| self.circuit.edge_name(*edge)))
    }

    /// The names of components.
    pub(crate) fn names(&self, ids: impl ExactSizeIterator<Item = ComponentId>) -> Vec<String> {
        Self::first_few(ids.map(|id| self.name(id).to_owned()))
    }

    /// All names of a list that somebody can read; of a longer one the first, and how many more.
    fn first_few(mut names: impl ExactSizeIterator<Item = String>) -> Vec<String> {
        const SHOWN: usize = 48;
        let mut shown: Vec<String> = names.by_ref().take(SHOWN).collect();
        if 0 < names.len() {
            shown.push(format!("{} more", names.len()));
        }
        shown
    }

    /// The last wire of some edges in the order of statements.
    pub(crate) fn last_wire(&self, edges: &[u32]) -> Option<WireId> {
        edges
            .iter()
            .flat_map(|edge| self.circuit.wires(*edge))
            .copied()
            .max_by_key(|wire| self.design.wires[*wire].place.order)
    }

    /// The last component of some edges in the order of statements.
    pub(crate) fn last_component(&self, edges: &[u32]) -> Option<ComponentId> {
        edges
            .iter()
            .filter_map(|edge| match self.circuit.metal.edges[*edge as usize] {
                EdgeKind::Data(id) => Some(self.design.terminals[self.design.data[id].to.terminal].component),
                kind => kind.component(),
            })
            .max_by_key(|id| self.design.components[*id].place.order)
    }
}

/// What faults draw.
#[derive(Debug)]
pub(crate) struct FaultStudy {
    /// By terminal, and how it comes in.
    pub(crate) drawn: Faults,
    /// Which devices it passes.
    pub(crate) guards: Guards,
}

/// What flows through an edge for good.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Carried<'c> {
    /// How much.
    pub(crate) current: Current,
    by: By<'c>,
}

/// What tells how much flows.
#[derive(Debug, Clone, Copy)]
enum By<'c> {
    Ratings(Steady),
    Mode(&'c ModeStudy),
}

impl Carried<'_> {
    /// Sources push it through by their ratings.
    pub(crate) fn is_pushed(&self) -> bool {
        matches!(self.by, By::Ratings(steady) if steady.pushed)
    }
}

/// Device ratings that would do.
#[derive(Debug, Clone)]
pub(crate) struct Fitting {
    /// Those that suit, the largest last.
    pub(crate) ratings: Vec<Current>,
    /// The largest standard rating under the ceiling, enough or not.
    pub(crate) largest: Option<Current>,
    /// Larger ratings would suit the wire, and the type stands no more for good.
    pub(crate) capped: bool,
    /// The type.
    pub(crate) kind: FuseType,
    /// The same in words.
    pub(crate) words: &'static str,
}

impl Fitting {
    /// `a fuse of 100 A or 125 A, class T`; `None` where no rating suits.
    pub(crate) fn tell(&self) -> Option<String> {
        let ratings = match self.ratings.as_slice() {
            [] => return None,
            [one] => one.to_string(),
            [one, two] => format!("{one} or {two}"),
            [least, .., most] => format!("{least} to {most}"),
        };
        Some(format!("a fuse of {ratings}, {}", self.words))
    }
}

impl<'c> Context<'c> {
    /// Every port whose positive is on one of these live parts.
    pub(crate) fn mates(&self, parts: &[u32]) -> impl Iterator<Item = &'c crate::circuit::Port> {
        let circuit = self.circuit;
        let parts = parts.to_vec();
        circuit.ports.iter().filter(move |port| {
            port.plus.iter().any(|plus| parts.contains(&circuit.part[circuit.metal.node(*plus) as usize]))
        })
    }

    /// The largest standard rating of the type of a cut's largest device (bolt-in or blade without one) that is at most `room`.
    pub(crate) fn largest_rating(&self, cut: &[CutTerm], part: u32, room: Current) -> Option<Current> {
        let device = cut
            .iter()
            .filter(|term| self.design.components[term.component].kind.is_protective())
            .max_by_key(|term| term.amount);
        let kind = match device.map(|term| &self.design.components[term.component].body) {
            Some(Body::Fuse(fuse)) => fuse.kind.or(Some(FuseType::BoltIn)),
            Some(_) => None,
            None => self.suitable_types(None, part, room).first().map(|row| row.0),
        };
        self.book.ratings(kind).iter().copied().rfind(|rating| rating.within(room))
    }

    /// The smallest size of the wire's own series that may be protected at a current, as the wire is laid.
    pub(crate) fn size_for(&self, wire: WireId, carried: Current) -> Option<crate::units::Size> {
        let ratio = self.book.share(self.ratio_limit(wire)).as_ratio();
        self.size_where(wire, |ampacity| carried.within(ampacity * ratio))
    }

    /// The smallest size of the wire's own series whose ampacity does, as the wire is laid.
    pub(crate) fn size_where(
        &self,
        wire: WireId,
        does: impl Fn(Current) -> bool,
    ) -> Option<crate::units::Size> {
        let mut conductor = crate::circuit::conductor(self.design, self.book, &self.circuit.bundled, wire);
        crate::units::Size::series(conductor.size).find(|size| {
            conductor.size = *size;
            does(self.book.ampacity(&conductor))
        })
    }

    /// What helps a wire beside unequal ones, which takes its share by conductance.
    pub(crate) fn unequal_beside(&self, wire: WireId) -> Option<String> {
        let wires = self.circuit.wires(self.circuit.edge(wire)?);
        let equal = (self.circuit.share(wire) * wires.len() as f64 - 1.0).abs() < 1e-9;
        if equal {
            return None;
        }
        let names: Vec<String> = wires.iter().map(|wire| self.wire_name(*wire).into()).collect();
        Some(format!(
            "make {}, side by side, equal in size and length: each then carries {} of the current",
            Self::list(&names),
            crate::units::Share::ratio(1.0 / wires.len() as f64)
        ))
    }
}

/// Poles that one handle works: those joined by `pair`.
#[derive(Debug)]
pub(crate) struct Handles {
    root: rustc_hash::FxHashMap<ComponentId, ComponentId>,
}

impl Handles {
    pub(crate) fn of(design: &Design) -> Self {
        use crate::design::Id;
        let pairs: Vec<(ComponentId, ComponentId)> = design
            .components
            .entries()
            .filter_map(|(id, component)| match &component.body {
                Body::Breaker(breaker) => Some((id, breaker.pair?)),
                Body::Switch(switch) => Some((id, switch.pair?)),
                _ => None,
            })
            .collect();
        let mut root = rustc_hash::FxHashMap::default();
        if !pairs.is_empty() {
            let mut joined: petgraph::unionfind::UnionFind<u32> =
                petgraph::unionfind::UnionFind::new(design.components.len());
            for (a, b) in &pairs {
                joined.union(a.index() as u32, b.index() as u32);
            }
            let mut first: rustc_hash::FxHashMap<u32, ComponentId> = rustc_hash::FxHashMap::default();
            let mut poles: Vec<ComponentId> = pairs.iter().flat_map(|(a, b)| [*a, *b]).collect();
            poles.sort_unstable();
            for pole in poles {
                let of = joined.find_mut(pole.index() as u32);
                root.insert(pole, *first.entry(of).or_insert(pole));
            }
        }
        Self { root }
    }

    /// The first pole of the handle that works a component; itself, where it stands alone.
    pub(crate) fn root(&self, id: ComponentId) -> ComponentId {
        self.root.get(&id).copied().unwrap_or(id)
    }
}
