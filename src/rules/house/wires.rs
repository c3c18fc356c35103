//! Fields of wires.

use crate::book::{Field, Value};
use crate::check::Flow;
use crate::circuit::conductor;
use crate::design::{Colour, Ending, WireId};
use crate::rules::evidence;

use super::sheet::Sheet;

impl<'c> Sheet<'c> {
    pub(super) fn of_wire(&self, id: WireId, field: Field) -> Value<'c> {
        let (cx, circuit, design) = (&self.cx, self.cx.circuit, self.cx.design);
        let wire = &design.wires[id];
        let node = circuit.wire_nodes(id).0;
        let part = circuit.part[node as usize];
        let number = |value: f64| Value::number(Some(value));
        match field {
            Field::Name => Value::text(Some(&wire.name)),
            Field::Kind => Value::text(Some("wire")),
            Field::AmbientC => number(conductor(design, cx.book, &circuit.bundled, id).ambient.as_celsius()),
            Field::NominalV => Value::number(self.nominal(part)),
            Field::VoltageV => Value::number(self.highest(part).filter(|_| circuit.is_live(node))),
            Field::DemandA => Value::number(self.wire_demand(id)),
            Field::Zones => {
                let names = wire.zones.iter().map(|zone| design.zones[*zone].name.as_str().into());
                Value::Texts(names.collect())
            }
            Field::Size => Value::Text(wire.size.to_string().into()),
            Field::SizeMm2 => number(wire.size.area().as_mm2()),
            Field::LengthM => number(wire.length.as_metres()),
            Field::Colour => Value::text(wire.colour.map(|colour| colour.base.word())),
            Field::Tracer => Value::text(wire.colour.and_then(|colour| colour.tracer).map(Colour::word)),
            Field::InsulationC => {
                Value::number(wire.insulation.or(design.assume.insulation).map(|class| class.as_celsius()))
            }
            Field::Sheathed => Value::Flag(wire.sheathed),
            Field::Count => number(f64::from(wire.count)),
            Field::Bundled => number(f64::from(circuit.bundled.get(&id).copied().unwrap_or(1))),
            Field::Ends => match wire.ends {
                Some((from, to)) => Value::Texts(vec![ending(from).into(), ending(to).into()]),
                None => Value::Unknown,
            },
            Field::Bond => Value::Flag(wire.bond),
            Field::Cranking => Value::Flag(wire.cranking),
            Field::Solid => Value::Flag(wire.solid),
            Field::AluminiumClad => Value::Flag(wire.aluminium_clad),
            Field::From => Value::Text(design.terminal_name(wire.from.terminal).into()),
            Field::To => Value::Text(design.terminal_name(wire.to.terminal).into()),
            Field::EndKinds => {
                let kind = |end: crate::design::TerminalId| {
                    design.components[design.terminals[end].component].kind.word()
                };
                Value::Texts(vec![kind(wire.from.terminal).into(), kind(wire.to.terminal).into()])
            }
            Field::Role => Value::text(Some(circuit.role(id).word())),
            Field::AmpacityA => number(cx.ampacity(id).as_amps()),
            Field::PermittedA => number(cx.permitted(id).as_amps()),
            Field::LetThroughA => number(amps(evidence::let_through(cx, id))),
            Field::CirculationA => Value::number(evidence::circulation(cx, id).map(amps)),
            Field::Margin => Value::number(evidence::margin(cx, id)),
            Field::ResistanceMohm => number(circuit.wire_resistance(id).as_ohms() * 1e3),
            Field::DropV => Value::number(self.drop(id)),
            Field::DropPercent => {
                let share =
                    || Some(self.drop(id)? / self.nominal(part).filter(|volts| 0.0 < *volts)? * 100.0);
                Value::number(share())
            }
            Field::ProtectedBy => {
                let terms = evidence::protected_by(cx, id);
                Value::Devices(terms.iter().map(|term| self.term(term)).collect())
            }
            Field::OnStretch => Value::Flag(!circuit.hits_of_wire(id).is_empty()),
            Field::StretchSource
            | Field::StretchLengthM
            | Field::StretchLimitM
            | Field::StretchFollowed
            | Field::StretchDevicesA => self.stretch(id, field),
            _ => Value::Unknown,
        }
    }

    fn stretch(&self, id: WireId, field: Field) -> Value<'c> {
        let Some((stretch, _)) = evidence::stretch(&self.cx, id) else { return Value::Unknown };
        let number = |value: f64| Value::number(Some(value));
        match field {
            Field::StretchSource => Value::Text(stretch.source.into()),
            Field::StretchLengthM => number(stretch.length.as_metres()),
            Field::StretchLimitM => number(stretch.limit.as_metres()),
            Field::StretchFollowed => Value::Flag(stretch.followed),
            _ => number(stretch.devices.as_amps()),
        }
    }

    /// A wire's share of what the loads beyond it draw.
    fn wire_demand(&self, id: WireId) -> Option<f64> {
        let edge = self.cx.circuit.edge(id)?;
        Some(self.beyond().demand(&self.cx, edge)? * self.cx.circuit.share(id))
    }

    fn drop(&self, id: WireId) -> Option<f64> {
        Some(self.wire_demand(id)? * self.cx.circuit.wire_resistance(id).as_ohms())
    }
}

fn amps(flow: Flow) -> f64 {
    match flow {
        Flow::None => 0.0,
        Flow::Limited(current) => current.as_amps(),
        Flow::Unlimited => f64::INFINITY,
    }
}

fn ending(ending: Ending) -> String {
    match ending {
        Ending::Ring(thread) => format!("ring-M{thread}"),
        Ending::Ferrule => "ferrule".into(),
        Ending::Pin => "pin".into(),
        Ending::Tab(width) => format!("tab-{width}"),
        Ending::Bare => "bare".into(),
    }
}
