//! From the traits of a component and of its part to what it is rated for.

use crate::syntax::tree::{Class, Key, Node, Quantity, Statement, Trait, Value, What};
use crate::syntax::words::{self, Dimension};
use crate::syntax::{id, plain};
use crate::text::Span;
use crate::units::{
    Area, Capacity, Current, HeatIntegral, Length, Power, Resistance, Share, Size, Temperature, Voltage,
};

use super::ids::TerminalId;
use super::model::{
    Alternator, Bar, Battery, Body, Breaker, Breaks, Charger, Chemistry, Component, Demand, Feed, Fuse,
    FuseType, Hardware, Hub, Inverter, Kind, Load, Meter, Place, Post, Rated, Solar, Supply, Switch,
    Terminal, TerminalRole,
};
use super::names::{At, level};
use super::resolve::{Bound, Entity, Resolver, some};

/// The traits of one component: its own, then its part's.
#[derive(Clone, Copy)]
pub(super) struct Traits<'t> {
    own: &'t [Trait],
    part: &'t [Trait],
    at: usize,
}

impl<'t> Traits<'t> {
    /// Those of a statement without a part.
    pub(super) fn of(own: &'t [Trait], at: usize) -> Self {
        Self { own, part: &[], at }
    }

    /// The trait with this key; the component's own before its part's.
    pub(super) fn find(&self, key: Key) -> Option<&'t Trait> {
        let own = self.own.iter().find(|one| one.key == key);
        own.or_else(|| self.part.iter().find(|one| one.key == key))
    }

    fn all(&self, key: Key) -> impl Iterator<Item = &'t Trait> + use<'t> {
        let from = if self.own.iter().any(|one| one.key == key) { self.own } else { self.part };
        from.iter().filter(move |one| one.key == key)
    }

    pub(super) fn has(&self, word: &'static str) -> bool {
        self.find(Key::Property(word)).is_some()
    }
}

macro_rules! quantities {
    ($($name:ident, $variant:ident, $type:ty, $placeholder:expr;)*) => {$(
        /// A value as this quantity; a placeholder where the kit is only looked at.
        pub(super) fn $name(&self, at: usize, value: Value) -> $type {
            match self.quantity(at, value) {
                Some(Quantity::$variant(quantity)) => quantity,
                _ => $placeholder,
            }
        }
    )*};
}

impl<'a> Resolver<'a, '_> {
    quantities! {
        volts, Voltage, Voltage, Voltage::volts(12.0);
        amps, Current, Current, Current::amps(1.0);
        watts, Power, Power, Power::watts(1.0);
        ohms, Resistance, Resistance, Resistance::ohms(1.0);
        heat, HeatIntegral, HeatIntegral, HeatIntegral::a2s(1.0);
        metres, Length, Length, Length::metres(1.0);
        amp_hours, Capacity, Capacity, Capacity::amp_hours(1.0);
        share, Share, Share, Share::ratio(1.0);
        degrees, Temperature, Temperature, Temperature::celsius(30.0);
        size, Size, Size, Size::Metric(Area::mm2(1.0));
    }

    fn quantity(&self, at: usize, value: Value) -> Option<Quantity> {
        match value.what {
            What::Quantity(quantity) => Some(quantity),
            What::Parameter(index) => match self.instances[at].bound.get(usize::from(index)) {
                Some(Bound::Quantity(quantity)) => Some(*quantity),
                _ => None,
            },
            _ => None,
        }
    }

    /// The word that a value is, with its place; `None` where it stands for anything.
    pub(super) fn word(&self, at: usize, value: Value) -> Option<(&'a str, Span)> {
        match value.what {
            What::Parameter(index) => match self.instances[at].bound.get(usize::from(index)) {
                Some(Bound::Word(span, _)) => Some((self.slice(*span), *span)),
                _ => None,
            },
            _ => Some((self.slice(value.span), value.span)),
        }
    }

    /// A text without its quotes.
    pub(super) fn text(&self, at: usize, value: Value) -> String {
        match value.what {
            What::Parameter(index) => match self.instances[at].bound.get(usize::from(index)) {
                Some(Bound::Text(text)) => text.clone(),
                _ => String::new(),
            },
            _ => plain(self.slice(value.span)),
        }
    }

    fn opt_volts(&self, traits: &Traits<'_>, key: Key) -> Option<Voltage> {
        traits.find(key).map(|one| self.volts(traits.at, one.value))
    }

    fn opt_amps(&self, traits: &Traits<'_>, key: Key) -> Option<Current> {
        traits.find(key).map(|one| self.amps(traits.at, one.value))
    }

    fn opt_watts(&self, traits: &Traits<'_>, key: Key) -> Option<Power> {
        traits.find(key).map(|one| self.watts(traits.at, one.value))
    }

    fn opt_share(&self, traits: &Traits<'_>, key: Key) -> Option<Share> {
        traits.find(key).map(|one| self.share(traits.at, one.value))
    }

    fn count(&self, traits: &Traits<'_>, word: &'static str) -> u32 {
        match traits.find(Key::Property(word)).map(|one| one.value.what) {
            Some(What::Number(number)) => number,
            _ => 1,
        }
    }

    /// The fixed word of a component, one of `words`; tells of a parameter's word that is none of them.
    pub(super) fn fixed<T: Copy>(
        &mut self,
        traits: &Traits<'_>,
        what: &str,
        table: &[(&'static str, T)],
    ) -> Option<T> {
        let one = traits.find(Key::Word)?;
        let (word, span) = self.word(traits.at, one.value)?;
        let found = table.iter().find(|row| row.0 == word);
        if found.is_none() {
            let words: Vec<&str> = table.iter().map(|row| row.0).collect();
            self.not_a_word(span, word, what, &words);
        }
        found.map(|row| row.1)
    }

    /// Tells of a word from a parameter that does not suit its place.
    pub(super) fn not_a_word(&mut self, span: Span, word: &str, what: &str, words: &[&str]) {
        self.tell(id::WORD, span, "", |problems| {
            let help = match problems.nearest(word, words.iter().copied()) {
                Some(near) => format!("the nearest word is `{near}`"),
                None => format!("a {what} is one of {}", some(words)),
            };
            (format!("`{word}` is no {what}"), format!("stands for a {what} in the kit"), help)
        });
    }

    /// Declares one component.
    pub(super) fn component(
        &mut self,
        at: usize,
        kind: u8,
        part: Option<Span>,
        own: &[Trait],
        statement: &Statement,
        place: Place,
    ) -> Entity {
        let Some(kind_of) = Kind::ALL.get(usize::from(kind)).copied() else { return Entity::Unknown };
        let name = self.slice(place.span);
        let mut faulty = statement.faulty;
        let mut hardware = Vec::new();
        let mut from_part: &[Trait] = &[];
        if let Some(span) = part {
            match self.part(at, span, kind, name) {
                Some((found, part_faulty)) => {
                    faulty |= part_faulty;
                    let files = self.files;
                    let part = &files[found.file].tree.statements[found.statement];
                    if let Node::Part { traits, .. } = &part.node {
                        from_part = traits;
                    }
                    hardware = self.hardware(found);
                }
                None => faulty = true,
            }
        }
        let traits = Traits { own, part: from_part, at };
        let mut missing = Vec::new();
        let body = self.body(kind_of, &traits, &mut missing);
        if !missing.is_empty() && !faulty {
            self.missing(place.span, name, kind_of.word(), &missing);
        }
        if !faulty {
            self.refuse_pairs(&traits, kind_of, place.span, name);
        }
        let component =
            super::ids::ComponentId(u32::try_from(self.design.components.len()).unwrap_or(u32::MAX));
        let first_terminal = TerminalId(u32::try_from(self.design.terminals.len()).unwrap_or(u32::MAX));
        for role in roles(kind_of, &body) {
            self.design.terminals.push(Terminal { component, role });
        }
        let n_terminals = u32::try_from(self.design.terminals.len()).unwrap_or(u32::MAX) - first_terminal.0;
        let full = self.full_name(place.fit, name);
        let label = traits.find(Key::Label).map(|one| self.text(at, one.value));
        self.faulty.push(faulty);
        Entity::Component(self.design.components.push(Component {
            name: full,
            place,
            kind: kind_of,
            label,
            part: part.map(|span| self.slice(span).to_owned()),
            zone: None,
            body,
            first_terminal,
            n_terminals,
            hardware,
        }))
    }

    /// Tells in one finding of all that an element lacks.
    pub(super) fn missing(&mut self, span: Span, name: &str, kind: &str, missing: &[(&str, &str)]) {
        self.tell(id::MISSING, span, name, |_| {
            let what: Vec<&str> = missing.iter().map(|row| row.0).collect();
            let forms: Vec<String> = missing.iter().map(|row| format!("`{}`", row.1)).collect();
            let headline = format!("`{name}` has no {}", what.join(" and no "));
            (headline, format!("a {kind} states it"), format!("add {}", forms.join(" and ")))
        });
    }

    fn refuse_pairs(&mut self, traits: &Traits<'_>, kind: Kind, span: Span, name: &str) {
        if kind != Kind::Charger {
            return;
        }
        let is_ac = |one: &Trait| self.word(traits.at, one.value).is_some_and(|word| word.0 == "ac");
        if !traits.find(Key::Property("from")).is_some_and(is_ac) {
            return;
        }
        for word in ["in", "in-max", "common"] {
            let Some(one) = traits.own.iter().find(|one| one.key == Key::Property(word)) else { continue };
            let place = if one.span.file == span.file { one.span } else { span };
            self.tell(id::WORD, place, name, |_| {
                let help = "take it out, or take out `from ac`";
                (format!("`{word}` belongs to a DC input"), "a charger from AC has none".into(), help.into())
            });
        }
    }

    fn part(&mut self, at: usize, span: Span, kind: u8, subject: &str) -> Option<(At, bool)> {
        let written = self.slice(span);
        let body = &self.bodies[self.instances[at].body];
        let file = body.file;
        let own = body.find(written).map(|statement| At { file, statement });
        let files = self.files;
        let statement_at = |at: At| &files[at.file].tree.statements[at.statement];
        let found = own.or_else(|| self.find_shared(file, written));
        match found.map(|at| (at, statement_at(at))) {
            Some((at, Statement { node: Node::Part { kind: other, .. }, faulty, .. })) => {
                if *other == kind {
                    return Some((at, *faulty));
                }
                let (own, theirs) =
                    (words::KINDS[usize::from(kind)].word, words::KINDS[usize::from(*other)].word);
                self.tell(id::NAME, span, subject, |_| {
                    let help =
                        format!("write `{theirs} {subject} = {written}`, or name a part that is a `{own}`");
                    (
                        format!("`{written}` is a part of the kind `{theirs}`, not `{own}`"),
                        "named as its part".into(),
                        help,
                    )
                });
            }
            Some((_, Statement { class: Class::Unknown, .. })) => {}
            None if files[file].incomplete => {}
            found => {
                let mut names: Vec<&str> = Vec::new();
                let told = self.problems.is_told(id::NAME, span);
                for name in self.bodies[self.instances[at].body]
                    .names()
                    .chain(self.bodies[file].names())
                    .take_while(|_| !told)
                {
                    let at = self.find_shared(file, name);
                    if at.is_some_and(|at| matches!(statement_at(at).node, Node::Part { .. })) {
                        names.push(name);
                    }
                }
                if !told {
                    names.extend(self.shared_names(file));
                }
                self.tell(id::NAME, span, subject, |problems| {
                    let headline = match found {
                        Some(_) => format!("`{written}` is not a part"),
                        None => format!("no part is called `{written}`"),
                    };
                    let help = match problems.nearest(written, names.iter().copied()) {
                        Some(near) => format!("the nearest part is `{near}`"),
                        None if names.is_empty() => "no part is declared or brought in by `use`".into(),
                        None => format!("the parts are {}", some(&names)),
                    };
                    (headline, "named as its part".into(), help)
                });
            }
        }
        None
    }

    /// The hardware in the block of a part.
    fn hardware(&self, part: At) -> Vec<(TerminalRole, Hardware)> {
        use crate::syntax::tree::HardwareWord;
        let statements = &self.files[part.file].tree.statements;
        let end = statements[part.statement].end;
        let mut all = Vec::new();
        for (_, line) in level(statements, part.statement + 1, end) {
            let Node::Terminal { names, hardware } = &line.node else { continue };
            let hardware = match *hardware {
                HardwareWord::Stud { thread, torque } => Hardware::Stud { thread, torque },
                HardwareWord::Screw { least, most, torque, strip } => {
                    Hardware::Screw { least, most, torque, strip }
                }
                HardwareWord::Tab(width) => Hardware::Tab(width),
                HardwareWord::Pin => Hardware::Pin,
            };
            all.extend(names.iter().filter_map(|name| role(self.slice(*name))).map(|role| (role, hardware)));
        }
        all
    }

    /// Holds the terminals of every part's block to what its kind has.
    pub(super) fn check_parts(&mut self) {
        let files = self.files;
        for file in files {
            let mut part: Option<(u8, usize, &str)> = None;
            let mut seen: Vec<&str> = Vec::new();
            for (index, statement) in file.tree.statements.iter().enumerate() {
                match &statement.node {
                    Node::Part { kind, .. } => {
                        part =
                            Some((*kind, statement.end, statement.name.map_or("", |name| self.slice(name))));
                        seen.clear();
                    }
                    Node::Terminal { names, .. } => {
                        let Some((kind, end, name)) = part else { continue };
                        if index < end {
                            for span in names {
                                self.part_terminal(kind, *span, name, &mut seen);
                            }
                        }
                    }
                    _ => {}
                }
            }
        }
    }

    fn part_terminal(&mut self, kind: u8, span: Span, subject: &str, seen: &mut Vec<&'a str>) {
        let written = self.slice(span);
        let table = &words::KINDS[usize::from(kind)];
        let numbered = matches!(role(written), Some(TerminalRole::OutPlusNumber(_)))
            && table.terminals.contains(&"outN+");
        if !table.terminals.contains(&written) && !numbered {
            self.tell(id::NAME, span, subject, |problems| {
                let help = match (
                    table.terminals,
                    nearest_terminal(problems, written, table.terminals.iter().copied()),
                ) {
                    ([], _) => format!("a `{}` is one node and has no terminals", table.word),
                    (_, Some(near)) => format!("the nearest terminal is `{near}`"),
                    (all, None) => format!("a `{}` has {}", table.word, some(all)),
                };
                (
                    format!("a `{}` has no terminal `{written}`", table.word),
                    "not a terminal of it".into(),
                    help,
                )
            });
        } else if seen.contains(&written) {
            self.tell(id::WORD, span, subject, |_| {
                let help = "each terminal has one line of hardware";
                (format!("the terminal `{written}` is given twice"), "the second time".into(), help.into())
            });
        } else {
            seen.push(written);
        }
    }

    fn body(
        &mut self,
        kind: Kind,
        traits: &Traits<'_>,
        missing: &mut Vec<(&'static str, &'static str)>,
    ) -> Body {
        const V: Key = Key::Bare(Dimension::Voltage);
        const A: Key = Key::Bare(Dimension::Current);
        const W: Key = Key::Bare(Dimension::Power);
        let at = traits.at;
        let mut need = |given: bool, what: &'static str, form: &'static str| {
            if !given {
                missing.push((what, form));
            }
        };
        match kind {
            Kind::Battery => {
                let nominal = self.opt_volts(traits, V);
                need(nominal.is_some(), "nominal voltage", "12 V");
                Body::Battery(Battery {
                    nominal: nominal.unwrap_or_default(),
                    capacity: traits
                        .find(Key::Bare(Dimension::Capacity))
                        .map(|one| self.amp_hours(at, one.value)),
                    chemistry: self.fixed(traits, "chemistry", &Chemistry::WORDS),
                    fault: self.opt_amps(traits, Key::Property("fault")),
                    resistance: traits.find(Key::Property("resistance")).map(|one| self.ohms(at, one.value)),
                    full: self.opt_volts(traits, Key::Property("full")),
                    discharge: self.opt_amps(traits, Key::Property("discharge")),
                    charge: self.opt_amps(traits, Key::Property("charge")),
                    cold_cutoff: traits.has("cold-cutoff"),
                })
            }
            Kind::Alternator => {
                let maximum = self.opt_amps(traits, A);
                need(maximum.is_some(), "largest current", "100 A");
                Body::Alternator(Alternator {
                    nominal: self.opt_volts(traits, V),
                    maximum: maximum.unwrap_or_default(),
                    returns: None,
                })
            }
            Kind::Supply => {
                let supply = Supply {
                    nominal: self.opt_volts(traits, V),
                    maximum: self.opt_amps(traits, A),
                    fused: self.opt_amps(traits, Key::Property("fused")),
                    fault: self.opt_amps(traits, Key::Property("fault")),
                };
                let stated = supply.maximum.or(supply.fused).or(supply.fault).is_some();
                need(
                    stated,
                    "largest current, inner fuse or fault current",
                    "20 A`, `fused 20 A` or `fault 1 kA",
                );
                Body::Supply(supply)
            }
            Kind::Solar => {
                let isc = self.opt_amps(traits, Key::Property("isc"));
                need(isc.is_some(), "short-circuit current", "isc 10 A");
                Body::Solar(Solar {
                    voc: self.opt_volts(traits, Key::Property("voc")),
                    isc: isc.unwrap_or_default(),
                    vmp: self.opt_volts(traits, Key::Property("vmp")),
                    imp: self.opt_amps(traits, Key::Property("imp")),
                    strings: self.count(traits, "strings"),
                    series_fuse: self.opt_amps(traits, Key::Property("series-fuse")),
                })
            }
            Kind::Charger => Body::Charger(self.charger(traits, missing)),
            Kind::Inverter => Body::Inverter(Inverter {
                nominal: self.opt_volts(traits, V),
                power: self.opt_watts(traits, W),
                surge: self.opt_watts(traits, Key::Property("surge")),
                efficiency: self.opt_share(traits, Key::Property("efficiency")),
            }),
            Kind::Load => Body::Load(Load {
                nominal: self.opt_volts(traits, V),
                demand: self.demand(traits),
                critical: traits.has("critical"),
                motor: traits.has("motor"),
                stall: self.opt_amps(traits, Key::Property("stall")),
                returns: None,
                case: None,
                standby: traits.has("standby"),
            }),
            Kind::Fuse | Kind::Breaker => {
                let rating = self.opt_amps(traits, A);
                need(rating.is_some(), "rating", "40 A");
                self.device(kind, traits, rating.unwrap_or_default())
            }
            Kind::Switch => Body::Switch(Switch {
                rating: self.opt_amps(traits, A),
                brief: self.opt_amps(traits, Key::Property("brief")),
                open: traits.has("open"),
                remote: traits.has("remote"),
                main: traits.has("main"),
                pair: None,
            }),
            Kind::Plug => Body::Plug(Rated { rating: self.opt_amps(traits, A) }),
            Kind::Cutoff => Body::Cutoff(Rated { rating: self.opt_amps(traits, A) }),
            Kind::Post => Body::Post(Post { rating: self.opt_amps(traits, A), thread: thread(traits).0 }),
            Kind::Bar => {
                let (thread, studs) = thread(traits);
                Body::Bar(Bar { rating: self.opt_amps(traits, A), thread, studs })
            }
            Kind::Meter => Body::Meter(Meter {
                full_scale: self.opt_amps(traits, A),
                drop: self.opt_volts(traits, V),
                counts: Vec::new(),
            }),
            Kind::Chassis => Body::Chassis,
            Kind::Hub => Body::Hub(Hub { power: self.opt_watts(traits, W) }),
        }
    }

    fn demand(&self, traits: &Traits<'_>) -> Option<Demand> {
        let of = |all: &[Trait]| {
            all.iter().find_map(|one| match one.key {
                Key::Bare(Dimension::Power) => Some(Demand::Power(self.watts(traits.at, one.value))),
                Key::Bare(Dimension::Current) => Some(Demand::Current(self.amps(traits.at, one.value))),
                Key::Bare(Dimension::Resistance) => Some(Demand::Resistance(self.ohms(traits.at, one.value))),
                _ => None,
            })
        };
        of(traits.own).or_else(|| of(traits.part))
    }

    fn device(&mut self, kind: Kind, traits: &Traits<'_>, rating: Current) -> Body {
        let at = traits.at;
        let rating_span = traits.find(Key::Bare(Dimension::Current)).map(|one| one.span);
        let rating_span = rating_span.unwrap_or_else(|| Span::new(crate::text::FileId(0), 0, 0));
        let volts = self.opt_volts(traits, Key::Property("volts"));
        let breaks = traits
            .all(Key::Property("breaks"))
            .map(|one| Breaks {
                current: self.amps(at, one.value),
                at: one.second.map(|value| self.volts(at, value)),
            })
            .collect();
        let holder = self.opt_amps(traits, Key::Property("holder"));
        let i2t = traits.find(Key::Property("i2t")).map(|one| self.heat(at, one.value));
        if kind == Kind::Fuse {
            let kind = self.fixed(traits, "fuse type", &FuseType::WORDS);
            return Body::Fuse(Fuse { rating, rating_span, kind, volts, breaks, i2t, holder });
        }
        Body::Breaker(Breaker {
            rating,
            rating_span,
            volts,
            breaks,
            i2t,
            holder,
            polarised: traits.has("polarised"),
            ac_only: traits.has("ac-only"),
            auto_reset: traits.has("auto-reset"),
            pair: None,
        })
    }

    fn charger(&mut self, traits: &Traits<'_>, missing: &mut Vec<(&'static str, &'static str)>) -> Charger {
        let (input, input_current) = self.voltage_current(traits, "in");
        let (output, output_current) = self.voltage_current(traits, "out");
        let feed = match traits.find(Key::Property("from")).and_then(|one| self.word(traits.at, one.value)) {
            Some(("ac", _)) => Feed::Ac,
            Some(("solar", _)) => Feed::Solar,
            _ => Feed::Dc,
        };
        let given = |all: &[Trait], word: &'static str| all.iter().any(|one| one.key == Key::Property(word));
        let from = if given(traits.own, "common") || given(traits.own, "isolated") {
            traits.own
        } else {
            traits.part
        };
        let (common, isolated) = (given(from, "common"), given(from, "isolated"));
        if output_current.is_none() {
            missing.push(("output current", "out 12 V 30 A"));
        }
        if feed != Feed::Ac && !common && !isolated {
            missing.push(("word on its negatives", "isolated` or `common"));
        }
        Charger {
            feed,
            input,
            input_current,
            input_most: self.opt_volts(traits, Key::Property("in-max")),
            output,
            output_current: output_current.unwrap_or_default(),
            common,
            efficiency: self.opt_share(traits, Key::Property("efficiency")),
            cold_cutoff: traits.has("cold-cutoff"),
            needs_enable: traits.has("needs-enable"),
            outputs: u8::try_from(self.count(traits, "outputs")).unwrap_or(1),
        }
    }

    fn voltage_current(&self, traits: &Traits<'_>, word: &'static str) -> (Option<Voltage>, Option<Current>) {
        let Some(one) = traits.find(Key::Property(word)) else { return (None, None) };
        let (mut volts, mut amps) = (None, None);
        for value in [Some(one.value), one.second].into_iter().flatten() {
            match self.quantity(traits.at, value) {
                Some(Quantity::Voltage(voltage)) => volts = Some(voltage),
                Some(Quantity::Current(current)) => amps = Some(current),
                // In a kit that is only looked at the value may be either.
                _ => {
                    (volts, amps) = (volts.or(Some(Voltage::volts(12.0))), amps.or(Some(Current::amps(1.0))))
                }
            }
        }
        (volts, amps)
    }
}

fn thread(traits: &Traits<'_>) -> (Option<f64>, Option<u32>) {
    let Some(one) = traits.find(Key::Thread) else { return (None, None) };
    let thread = match one.value.what {
        What::Thread(thread) => Some(thread),
        _ => None,
    };
    let studs = match one.second.map(|value| value.what) {
        Some(What::Number(number)) => Some(number),
        _ => None,
    };
    (thread, studs)
}

/// The terminals that a component has.
pub(super) fn roles(kind: Kind, body: &Body) -> Vec<TerminalRole> {
    use TerminalRole as T;
    match kind {
        Kind::Battery | Kind::Hub => vec![T::Plus, T::Minus, T::Data],
        Kind::Alternator | Kind::Supply | Kind::Solar | Kind::Load => vec![T::Plus, T::Minus],
        Kind::Inverter => vec![T::Plus, T::Minus, T::Case, T::Data],
        Kind::Fuse | Kind::Breaker | Kind::Cutoff => vec![T::Line, T::Load],
        Kind::Switch | Kind::Plug => vec![T::A, T::B],
        Kind::Post | Kind::Bar | Kind::Chassis => vec![T::Node],
        Kind::Meter => vec![T::Bat, T::Sys, T::Sense, T::Data],
        Kind::Charger => {
            let (feed, outputs) = match body {
                Body::Charger(charger) => (charger.feed, charger.outputs),
                _ => (Feed::Dc, 1),
            };
            let mut roles = if feed == Feed::Ac { Vec::new() } else { vec![T::InPlus, T::InMinus] };
            if outputs > 1 {
                roles.extend((1..=outputs).map(T::OutPlusNumber));
            } else {
                roles.push(T::OutPlus);
            }
            roles.extend([T::OutMinus, T::Enable, T::Data]);
            roles
        }
    }
}

/// The terminal with this spelling.
pub(super) fn role(word: &str) -> Option<TerminalRole> {
    use TerminalRole as T;
    Some(match word {
        "+" => T::Plus,
        "-" => T::Minus,
        "data" => T::Data,
        "in+" => T::InPlus,
        "in-" => T::InMinus,
        "out+" => T::OutPlus,
        "out-" => T::OutMinus,
        "enable" => T::Enable,
        "line" => T::Line,
        "load" => T::Load,
        "a" => T::A,
        "b" => T::B,
        "bat" => T::Bat,
        "sys" => T::Sys,
        "sense" => T::Sense,
        "case" => T::Case,
        _ => {
            let number = word.strip_prefix("out")?.strip_suffix('+')?;
            let number: u8 = number.parse().ok().filter(|_| !number.starts_with(['0', '+']))?;
            T::OutPlusNumber(number)
        }
    })
}

/// The right terminal nearest to a wrong one.
pub(super) fn nearest_terminal<'w>(
    problems: &mut crate::syntax::Problems,
    written: &str,
    terminals: impl IntoIterator<Item = &'w str> + Clone,
) -> Option<&'w str> {
    // Trade words for the poles and sides, and a pole without its side.
    let meant: &[&str] = match written {
        "pos" | "plus" | "positive" | "p" => &["+", "in+"],
        "neg" | "minus" | "negative" | "n" => &["-", "in-"],
        "in" | "input" | "l" | "l1" | "supply" => &["line", "in+", "a"],
        "out" | "output" | "t" | "t1" | "loads" => &["load", "out+", "b"],
        "out+" => &["out1+", "+"],
        "in+" => &["+"],
        "out-" | "in-" => &["-"],
        "+" => &["out+", "line", "a"],
        "-" => &["out-", "load", "b"],
        "battery" | "batt" => &["bat"],
        "system" => &["sys"],
        _ => &[],
    };
    let found = meant.iter().find_map(|one| terminals.clone().into_iter().find(|terminal| terminal == one));
    found.or_else(|| problems.nearest(written, terminals.clone())).or_else(|| {
        let longer = |terminal: &&str| !written.is_empty() && terminal.starts_with(written);
        terminals.into_iter().find(longer)
    })
}
