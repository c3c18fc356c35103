//! Fields of components.

use crate::book::{Field, Value};
use crate::design::{Battery, Body, Breaks, Charger, Chemistry, ComponentId, Demand, Feed};
use crate::units::{Current, Voltage};

use super::sheet::{Sheet, device_type};

/// Ambient temperature of a design that states none, in degrees Celsius.
const AMBIENT: f64 = 30.0;

impl<'c> Sheet<'c> {
    pub(super) fn of_component(&self, id: ComponentId, field: Field) -> Value<'c> {
        let (cx, design) = (&self.cx, self.cx.design);
        let component = &design.components[id];
        match field {
            Field::Name => Value::text(Some(&component.name)),
            Field::Kind => Value::text(Some(component.kind.word())),
            Field::Label => Value::text(component.label.as_deref()),
            Field::Part => Value::text(component.part.as_deref()),
            Field::Zone => Value::text(component.zone.map(|zone| design.zones[zone].name.as_str())),
            Field::AmbientC => {
                let zone = component.zone.map(|zone| design.zones[zone].ambient);
                Value::number(Some(zone.or(design.assume.ambient).map_or(AMBIENT, |one| one.as_celsius())))
            }
            Field::NominalV => {
                Value::number(declared_nominal(&component.body).or_else(|| self.network_nominal(id)))
            }
            Field::VoltageV => Value::number(self.network_highest(id)),
            Field::DemandA => Value::number(self.component_demand(id)),
            Field::LoadedPercent => {
                let share = || Some(self.component_demand(id)? / rating(&component.body)?.as_amps() * 100.0);
                Value::number(share().filter(|share| share.is_finite()))
            }
            Field::ProtectsA => {
                Value::number(self.edge(id).and_then(|edge| self.beyond().protects(cx, edge)))
            }
            Field::RatingA => amps(rating(&component.body)),
            Field::Type => Value::text(device_type(&component.body)),
            Field::FaultA => amps(cx.fault(id)),
            Field::Bank => {
                let names = self.bank(id).into_iter().map(|member| cx.name(member).into());
                Value::Texts(names.collect())
            }
            Field::BankSize => Value::number(Some(self.bank(id).len() as f64)),
            Field::BankCapacityAh => {
                let of = |member: ComponentId| match &design.components[member].body {
                    Body::Battery(battery) => battery.capacity.map(|capacity| capacity.as_amp_hours()),
                    _ => Some(0.0),
                };
                Value::number(self.bank(id).into_iter().map(of).sum())
            }
            Field::Devices => self.nearest(id),
            Field::Counts => match &component.body {
                Body::Meter(meter) => {
                    Value::Texts(meter.counts.iter().map(|member| cx.name(*member).into()).collect())
                }
                _ => Value::Unknown,
            },
            field => of_body(&component.body, field, cx.book),
        }
    }

    /// The devices that are reached from a battery's positive without passing another.
    fn nearest(&self, id: ComponentId) -> Value<'c> {
        let beyond = self.beyond();
        let Some(source) = self.cx.circuit.source_of(id) else { return Value::Devices(Vec::new()) };
        let mut sections: Vec<u32> = source.plus.iter().map(|plus| beyond.section[*plus as usize]).collect();
        sections.dedup();
        let mut ids: Vec<ComponentId> =
            sections.iter().flat_map(|section| &beyond.devices[*section as usize]).copied().collect();
        ids.sort_unstable();
        ids.dedup();
        let rated =
            |id: ComponentId| rating(&self.cx.design.components[id].body).map_or(0.0, Current::as_amps);
        Value::Devices(ids.into_iter().map(|id| self.device(id, rated(id))).collect())
    }

    fn component_demand(&self, id: ComponentId) -> Option<f64> {
        match self.edge(id) {
            Some(edge) => self.beyond().demand(&self.cx, edge),
            None => self.cx.circuit.demand_of(id).map(Current::as_amps),
        }
    }

    /// The parts of the metal graph that a component's terminals are in.
    fn parts(&self, id: ComponentId) -> impl Iterator<Item = (u32, bool)> {
        let circuit = self.cx.circuit;
        self.cx.design.components[id].terminals(self.cx.design).map(move |(terminal, _)| {
            let node = circuit.metal.node(terminal);
            (circuit.part[node as usize], circuit.is_live(node))
        })
    }

    fn network_nominal(&self, id: ComponentId) -> Option<f64> {
        let live = self.parts(id).filter(|part| part.1).find_map(|part| self.nominal(part.0));
        live.or_else(|| self.parts(id).find_map(|part| self.nominal(part.0)))
    }

    fn network_highest(&self, id: ComponentId) -> Option<f64> {
        self.parts(id).filter(|part| part.1).filter_map(|part| self.highest(part.0)).reduce(f64::max)
    }
}

fn amps<'c>(current: Option<Current>) -> Value<'c> {
    Value::number(current.map(Current::as_amps))
}

fn volts<'c>(voltage: Option<Voltage>) -> Value<'c> {
    Value::number(voltage.map(Voltage::as_volts))
}

fn declared_nominal(body: &Body) -> Option<f64> {
    let nominal = match body {
        Body::Battery(battery) => Some(battery.nominal),
        Body::Alternator(alternator) => alternator.nominal,
        Body::Supply(supply) => supply.nominal,
        Body::Inverter(inverter) => inverter.nominal,
        Body::Load(load) => load.nominal,
        Body::Charger(charger) => charger.output,
        _ => None,
    };
    nominal.map(Voltage::as_volts)
}

fn rating(body: &Body) -> Option<Current> {
    match body {
        Body::Fuse(fuse) => Some(fuse.rating),
        Body::Breaker(breaker) => Some(breaker.rating),
        Body::Switch(switch) => switch.rating,
        Body::Plug(rated) | Body::Cutoff(rated) => rated.rating,
        Body::Post(post) => post.rating,
        Body::Bar(bar) => bar.rating,
        _ => None,
    }
}

fn least(breaks: &[Breaks]) -> Option<Current> {
    breaks.iter().map(|one| one.current).reduce(Current::min)
}

fn of_body<'c>(body: &'c Body, field: Field, book: &crate::book::Book) -> Value<'c> {
    match (body, field) {
        (Body::Battery(battery), field) => of_battery(battery, field, book),
        (Body::Charger(charger), field) => of_charger(charger, field),
        (Body::Fuse(fuse), Field::RatedV) => volts(fuse.volts),
        (Body::Fuse(fuse), Field::BreaksA) => amps(least(&fuse.breaks)),
        (Body::Fuse(fuse), Field::HolderA) => amps(fuse.holder),
        (Body::Breaker(breaker), Field::RatedV) => volts(breaker.volts),
        (Body::Breaker(breaker), Field::BreaksA) => amps(least(&breaker.breaks)),
        (Body::Breaker(breaker), Field::HolderA) => amps(breaker.holder),
        (Body::Breaker(breaker), Field::Polarised) => Value::Flag(breaker.polarised),
        (Body::Breaker(breaker), Field::AcOnly) => Value::Flag(breaker.ac_only),
        (Body::Breaker(breaker), Field::AutoReset) => Value::Flag(breaker.auto_reset),
        (Body::Breaker(breaker), Field::Paired) => Value::Flag(breaker.pair.is_some()),
        (Body::Switch(switch), Field::Paired) => Value::Flag(switch.pair.is_some()),
        (Body::Switch(switch), Field::BriefA) => amps(switch.brief),
        (Body::Switch(switch), Field::Open) => Value::Flag(switch.open),
        (Body::Switch(switch), Field::Remote) => Value::Flag(switch.remote),
        (Body::Switch(switch), Field::Main) => Value::Flag(switch.main),
        (Body::Post(post), Field::ThreadMm) => Value::number(post.thread),
        (Body::Bar(bar), Field::ThreadMm) => Value::number(bar.thread),
        (Body::Bar(bar), Field::Studs) => Value::number(bar.studs.map(f64::from)),
        (Body::Meter(meter), Field::FullScaleA) => amps(meter.full_scale),
        (Body::Alternator(alternator), Field::MaximumA) => amps(Some(alternator.maximum)),
        (Body::Supply(supply), Field::MaximumA) => amps(supply.maximum),
        (Body::Supply(supply), Field::FusedA) => amps(supply.fused),
        (Body::Solar(solar), Field::VocV) => volts(solar.voc),
        (Body::Solar(solar), Field::IscA) => amps(Some(solar.isc)),
        (Body::Solar(solar), Field::VmpV) => volts(solar.vmp),
        (Body::Solar(solar), Field::ImpA) => amps(solar.imp),
        (Body::Solar(solar), Field::Strings) => Value::number(Some(f64::from(solar.strings))),
        (Body::Solar(solar), Field::SeriesFuseA) => amps(solar.series_fuse),
        (Body::Inverter(inverter), Field::PowerW) => Value::number(inverter.power.map(|one| one.as_watts())),
        (Body::Inverter(inverter), Field::SurgeW) => Value::number(inverter.surge.map(|one| one.as_watts())),
        (Body::Inverter(inverter), Field::EfficiencyPercent) => {
            Value::number(inverter.efficiency.map(|one| one.as_percent()))
        }
        (Body::Load(load), Field::PowerW) => match load.demand {
            Some(Demand::Power(power)) => Value::number(Some(power.as_watts())),
            _ => Value::Unknown,
        },
        (Body::Load(load), Field::Critical) => Value::Flag(load.critical),
        (Body::Load(load), Field::Motor) => Value::Flag(load.motor),
        (Body::Load(load), Field::Standby) => Value::Flag(load.standby),
        (Body::Load(load), Field::StallA) => amps(load.stall),
        (Body::Hub(hub), Field::PowerW) => Value::number(hub.power.map(|one| one.as_watts())),
        _ => Value::Unknown,
    }
}

fn of_battery<'c>(battery: &Battery, field: Field, book: &crate::book::Book) -> Value<'c> {
    match field {
        Field::CapacityAh => Value::number(battery.capacity.map(|one| one.as_amp_hours())),
        Field::Chemistry => Value::text(battery.chemistry.map(Chemistry::word)),
        Field::Lithium => battery.chemistry.map_or(Value::Unknown, |one| Value::Flag(one.is_lithium())),
        Field::FullV => volts(book.full_of(battery)),
        Field::DischargeA => amps(battery.discharge),
        Field::ChargeA => amps(battery.charge),
        Field::ColdCutoff => Value::Flag(battery.cold_cutoff),
        _ => Value::Unknown,
    }
}

fn of_charger<'c>(charger: &Charger, field: Field) -> Value<'c> {
    match field {
        Field::Feed => Value::text(Some(match charger.feed {
            Feed::Dc => "dc",
            Feed::Ac => "ac",
            Feed::Solar => "solar",
        })),
        Field::InputV => volts(charger.input),
        Field::InputA => amps(charger.input_current),
        Field::OutputV => volts(charger.output),
        Field::OutputA => amps(Some(charger.output_current)),
        Field::Outputs => Value::number(Some(f64::from(charger.outputs))),
        Field::Common => Value::Flag(charger.common),
        Field::NeedsEnable => Value::Flag(charger.needs_enable),
        Field::ColdCutoff => Value::Flag(charger.cold_cutoff),
        Field::EfficiencyPercent => Value::number(charger.efficiency.map(|one| one.as_percent())),
        _ => Value::Unknown,
    }
}
