//! What elements state of themselves, each property as it reads in a sentence. What they say of other elements is in
//! `links`.

use std::borrow::Cow;

use super::spell::{
    amp_hours, amps, bare, celsius, metres, mm2, newton_metres, ohms, percent, quoted, size, volts, watts,
};
use crate::design::{
    Body, Breaks, Charger, Component, DataLead, Demand, Feed, Hardware, Load, Mode, Wire, Zone,
};
use crate::units::{Current, Voltage};

/// How a property reads in a sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// What the element is first of all known by: `F4 goes from 60 A to 80 A`. The label names it where one is missing.
    Main,
    /// `house: fault current goes from 5 kA to 6 kA`.
    Named,
    /// `W3 is now black, not red`.
    Word,
    /// `lights is now critical`; the label is the phrase.
    Flag,
    /// `pump now sits in zone engine-bay, not hold`; the label is the verb.
    Link,
    /// One of several: `tally now counts house`; the label is the verb.
    Member,
    /// `driving now sets booster to on, not to off`; the label is what is set.
    Sets,
}

/// One property.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fact {
    /// The property's word in the language, or near to it.
    pub(super) property: Cow<'static, str>,
    pub(super) form: Form,
    pub(super) label: Cow<'static, str>,
    /// As it is shown.
    pub(super) value: String,
    /// What is compared in place of the value, where that names another element.
    pub(super) same: Option<String>,
}

impl Fact {
    fn new(property: &'static str, form: Form, label: &'static str, value: String) -> Self {
        Self { property: property.into(), form, label: label.into(), value, same: None }
    }

    /// What the element is known by.
    pub(super) fn main(property: &'static str, label: &'static str, value: String) -> Self {
        Self::new(property, Form::Main, label, value)
    }

    /// A figure or text with a label.
    pub(super) fn named(property: &'static str, label: &'static str, value: String) -> Self {
        Self::new(property, Form::Named, label, value)
    }

    fn word(property: &'static str, value: impl Into<String>) -> Self {
        Self::new(property, Form::Word, property, value.into())
    }

    fn flag(property: &'static str, phrase: &'static str) -> Self {
        Self::new(property, Form::Flag, phrase, phrase.into())
    }

    /// What is compared.
    pub(super) fn compared(&self) -> &str {
        self.same.as_deref().unwrap_or(&self.value)
    }

    /// As it stands in the description of an element.
    pub(super) fn described(&self) -> String {
        match self.form {
            Form::Main | Form::Word | Form::Flag => self.value.clone(),
            Form::Named | Form::Link | Form::Member => format!("{} {}", self.label, self.value),
            Form::Sets => format!("{} {}", self.label, self.value),
        }
    }
}

/// Collects the properties of one element; what is not stated is left out.
#[derive(Debug, Default)]
struct Facts(Vec<Fact>);

impl Facts {
    fn main(&mut self, property: &'static str, label: &'static str, value: Option<String>) {
        self.0.extend(value.map(|value| Fact::main(property, label, value)));
    }

    fn named(&mut self, property: &'static str, label: &'static str, value: Option<String>) {
        self.0.extend(value.map(|value| Fact::named(property, label, value)));
    }

    fn word(&mut self, property: &'static str, value: Option<impl Into<String>>) {
        self.0.extend(value.map(|value| Fact::word(property, value)));
    }

    fn flag(&mut self, property: &'static str, phrase: &'static str, is: bool) {
        self.0.extend(is.then(|| Fact::flag(property, phrase)));
    }
}

/// What a component is rated for, its terminals' hardware included.
pub(super) fn ratings(component: &Component) -> Vec<Fact> {
    let mut facts = Facts::default();
    body(&component.body, &mut facts);
    let mut hardware: Vec<_> = component.hardware.iter().collect();
    hardware.sort_by_key(|row| row.0);
    facts.0.extend(hardware.into_iter().map(|(role, hardware)| {
        let label = format!("terminal {}", role.word());
        Fact {
            property: label.clone().into(),
            form: Form::Named,
            label: label.into(),
            value: hardware_text(hardware),
            same: None,
        }
    }));
    facts.0
}

/// What is said of a component beside its ratings.
pub(super) fn remarks(component: &Component) -> Vec<Fact> {
    let mut facts = Facts::default();
    facts.named("part", "part", component.part.clone());
    facts.named("label", "label", component.label.as_deref().map(quoted));
    facts.0
}

fn body(body: &Body, facts: &mut Facts) {
    match body {
        Body::Battery(battery) => {
            facts.main("volts", "nominal voltage", Some(volts(battery.nominal)));
            facts.main("capacity", "capacity", battery.capacity.map(amp_hours));
            facts.word("chemistry", battery.chemistry.map(crate::design::Chemistry::word));
            facts.named("fault", "fault current", battery.fault.map(amps));
            facts.named("resistance", "resistance", battery.resistance.map(ohms));
            facts.named("full", "highest charging voltage", battery.full.map(volts));
            facts.named("discharge", "permitted discharge", battery.discharge.map(amps));
            facts.named("charge", "permitted charge", battery.charge.map(amps));
            facts.flag("cold-cutoff", "marked `cold-cutoff`", battery.cold_cutoff);
        }
        Body::Alternator(alternator) => {
            facts.main("volts", "nominal voltage", alternator.nominal.map(volts));
            facts.main("amps", "largest current", Some(amps(alternator.maximum)));
        }
        Body::Supply(supply) => {
            facts.main("volts", "nominal voltage", supply.nominal.map(volts));
            facts.main("amps", "largest current", supply.maximum.map(amps));
            facts.named("fused", "inner fuse", supply.fused.map(amps));
            facts.named("fault", "fault current", supply.fault.map(amps));
        }
        Body::Solar(solar) => {
            facts.named("voc", "open-circuit voltage", solar.voc.map(volts));
            facts.named("isc", "short-circuit current", Some(amps(solar.isc)));
            facts.named("vmp", "voltage at most power", solar.vmp.map(volts));
            facts.named("imp", "current at most power", solar.imp.map(amps));
            facts.named("strings", "strings in parallel", Some(solar.strings.to_string()));
            facts.named("series-fuse", "largest series fuse", solar.series_fuse.map(amps));
        }
        Body::Charger(one) => charger(one, facts),
        Body::Inverter(inverter) => {
            facts.main("volts", "nominal voltage", inverter.nominal.map(volts));
            facts.main("watts", "power", inverter.power.map(watts));
            facts.named("surge", "surge power", inverter.surge.map(watts));
            facts.named("efficiency", "efficiency", inverter.efficiency.map(percent));
        }
        Body::Load(one) => load(one, facts),
        Body::Fuse(fuse) => {
            facts.main("rating", "rating", Some(amps(fuse.rating)));
            facts.word("type", fuse.kind.map(crate::design::FuseType::word));
            device(fuse.volts, &fuse.breaks, fuse.holder, facts);
        }
        Body::Breaker(breaker) => {
            facts.main("rating", "rating", Some(amps(breaker.rating)));
            device(breaker.volts, &breaker.breaks, breaker.holder, facts);
            facts.flag("polarised", "polarised", breaker.polarised);
            facts.flag("ac-only", "rated for AC alone", breaker.ac_only);
            facts.flag("auto-reset", "one that resets by itself", breaker.auto_reset);
        }
        Body::Switch(switch) => {
            facts.main("rating", "rating", switch.rating.map(amps));
            facts.named("brief", "short-time rating", switch.brief.map(amps));
            facts.flag("open", "open at rest", switch.open);
            facts.flag("remote", "worked by a coil", switch.remote);
            facts.flag("main", "the isolator", switch.main);
        }
        Body::Plug(rated) | Body::Cutoff(rated) => facts.main("rating", "rating", rated.rating.map(amps)),
        Body::Post(post) => {
            facts.named("stud", "stud", post.thread.map(thread));
            facts.main("rating", "rating", post.rating.map(amps));
        }
        Body::Bar(bar) => {
            facts.named("stud", "stud", bar.thread.map(thread));
            facts.named("studs", "number of studs", bar.studs.map(|studs| studs.to_string()));
            facts.main("rating", "rating", bar.rating.map(amps));
        }
        Body::Meter(meter) => {
            facts.main("amps", "full scale", meter.full_scale.map(amps));
            facts.main("drop", "drop at full scale", meter.drop.map(volts));
        }
        Body::Chassis => {}
        Body::Hub(hub) => facts.main("watts", "power", hub.power.map(watts)),
    }
}

fn charger(charger: &Charger, facts: &mut Facts) {
    let from = match charger.feed {
        Feed::Dc => "DC",
        Feed::Ac => "AC",
        Feed::Solar => "solar",
    };
    facts.named("from", "feed", Some(from.into()));
    facts.named("in", "input voltage", charger.input.map(volts));
    facts.named("in-amps", "input current", charger.input_current.map(amps));
    facts.named("in-max", "highest input voltage", charger.input_most.map(volts));
    facts.named("out", "output voltage", charger.output.map(volts));
    facts.named("out-amps", "output current", Some(amps(charger.output_current)));
    let negatives = if charger.common { "common" } else { "isolated" };
    facts.word("negatives", (charger.feed != Feed::Ac).then_some(negatives));
    facts.named("efficiency", "efficiency", charger.efficiency.map(percent));
    facts.flag("cold-cutoff", "marked `cold-cutoff`", charger.cold_cutoff);
    facts.flag("needs-enable", "one that needs its `enable`", charger.needs_enable);
    facts.named("outputs", "outputs", (1 < charger.outputs).then(|| charger.outputs.to_string()));
}

fn load(load: &Load, facts: &mut Facts) {
    facts.main("volts", "nominal voltage", load.nominal.map(volts));
    let demand = load.demand.map(|demand| match demand {
        Demand::Power(power) => watts(power),
        Demand::Current(current) => amps(current),
        Demand::Resistance(resistance) => ohms(resistance),
    });
    facts.main("demand", "what it takes", demand);
    facts.flag("critical", "critical", load.critical);
    facts.flag("motor", "a motor", load.motor);
    facts.named("stall", "stall current", load.stall.map(amps));
    facts.flag("standby", "on standby", load.standby);
}

fn device(rated: Option<Voltage>, breaks: &[Breaks], holder: Option<Current>, facts: &mut Facts) {
    facts.named("volts", "rated voltage", rated.map(volts));
    // In whatever order they are written.
    let mut breaks: Vec<&Breaks> = breaks.iter().collect();
    let key = |one: &Breaks| (one.at.map_or(0.0, Voltage::as_volts), one.current.as_amps());
    breaks.sort_by(|a, b| key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal));
    let breaks: Vec<String> = breaks
        .into_iter()
        .map(|one| match one.at {
            Some(at) => format!("{} at {}", amps(one.current), volts(at)),
            None => amps(one.current),
        })
        .collect();
    facts.named("breaks", "breaking capacity", (!breaks.is_empty()).then(|| breaks.join(", ")));
    facts.named("holder", "rating of the holder", holder.map(amps));
}

/// A thread, `M8`.
fn thread(millimetres: f64) -> String {
    format!("M{}", bare(millimetres))
}

fn hardware_text(hardware: &Hardware) -> String {
    match hardware {
        Hardware::Stud { thread: millimetres, torque } => {
            let torque = torque.map_or_else(String::new, |torque| format!(" {}", newton_metres(torque)));
            format!("stud {}{torque}", thread(*millimetres))
        }
        Hardware::Screw { least, most, torque, strip } => {
            let torque = torque.map_or_else(String::new, |torque| format!(" {}", newton_metres(torque)));
            let strip = strip.map_or_else(String::new, |strip| format!(" strip {}", metres(strip)));
            format!("screw {} to {}{torque}{strip}", mm2(*least), mm2(*most))
        }
        Hardware::Tab(width) => format!("tab {}", bare(*width)),
        Hardware::Pin => "pin".into(),
    }
}

/// What a wire is, whatever it joins. What is on its ends is in the order of `turned`: from its second end.
pub(super) fn wire(wire: &Wire, turned: bool) -> Vec<Fact> {
    let mut facts = Facts::default();
    facts.main("size", "size", Some(size(wire.size)));
    facts.main("length", "length", Some(metres(wire.length)));
    facts.word("colour", wire.colour.map(|colour| colour.to_string()));
    facts.named("insulation", "insulation", wire.insulation.map(celsius));
    facts.flag("sheathed", "sheathed", wire.sheathed);
    facts.named("count", "conductors in parallel", (1 < wire.count).then(|| wire.count.to_string()));
    let ends = wire.ends.map(|(a, b)| if turned { format!("{b} {a}") } else { format!("{a} {b}") });
    facts.named("ends", "ends", ends);
    facts.flag("bond", "a bond", wire.bond);
    facts.flag("cranking", "in a starter's circuit", wire.cranking);
    facts.flag("solid", "solid", wire.solid);
    facts.flag("aluminium-clad", "copper-clad aluminium", wire.aluminium_clad);
    facts.0
}

/// What a data lead is, whatever it joins.
pub(super) fn data(lead: &DataLead) -> Vec<Fact> {
    let mut facts = Facts::default();
    facts.main("length", "length", Some(metres(lead.length)));
    facts.main("size", "size", lead.size.map(size));
    facts.flag("isolated", "isolated", lead.isolated);
    facts.0
}

/// What a zone is.
pub(super) fn zone(zone: &Zone) -> Vec<Fact> {
    vec![Fact::main("ambient", "ambient temperature", celsius(zone.ambient))]
}

/// What a mode is, whatever it sets.
pub(super) fn mode(mode: &Mode) -> Vec<Fact> {
    let mut facts = Facts::default();
    facts.named("title", "title", mode.title.as_deref().map(quoted));
    facts.0
}
