//! What acts in a mode: batteries, loads, and outputs that hold a voltage up to a current.

use crate::book::{Book, ShareLimit};
use crate::circuit::Circuit;
use crate::design::{
    Body, Charger, Component, ComponentId, Demand, Feed, Id, Kind, Mode, ModeState, SettingValue, TerminalId,
    TerminalRole,
};
use crate::units::{Current, Power, Resistance, Voltage};

/// A battery: a voltage behind its resistance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Which battery.
    pub component: ComponentId,
    /// Its positive.
    pub plus: TerminalId,
    /// Its negative.
    pub minus: TerminalId,
    /// The voltage behind its resistance.
    pub voltage: Voltage,
    /// Its resistance.
    pub resistance: Resistance,
}

/// What takes current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taker {
    /// Which load, inverter or hub.
    pub component: ComponentId,
    /// Its positive.
    pub plus: TerminalId,
    /// Its negative.
    pub minus: TerminalId,
    /// What it takes.
    pub demand: Demand,
    /// Nominal voltage, to begin the search at.
    pub nominal: Voltage,
}

/// What gives current up to a limit until a voltage is reached: an alternator, a supply, solar, a charger's output.
#[derive(Debug, Clone, PartialEq)]
pub struct Giver {
    /// Which component.
    pub component: ComponentId,
    /// Its positives; several for a charger with several outputs.
    pub plus: Vec<TerminalId>,
    /// Its negative.
    pub minus: TerminalId,
    /// The voltage that it holds.
    pub set: Voltage,
    /// The most that it gives, all outputs together; `None` without limit.
    pub most: Option<Current>,
    /// What it draws from.
    pub input: Option<Input>,
}

/// A charger's input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    /// Its positive.
    pub plus: TerminalId,
    /// Its negative.
    pub minus: TerminalId,
    /// The most that it draws, where stated or where its array gives no more.
    pub most: Option<Current>,
    /// The array gives no more than that; the charger could draw more.
    pub from_array: bool,
    /// Power given over power taken.
    pub efficiency: f64,
    /// Nominal voltage, to begin the search at.
    pub nominal: Voltage,
}

/// All that acts in one mode.
#[derive(Debug, Clone, Default)]
pub struct Elements {
    /// Batteries.
    pub cells: Vec<Cell>,
    /// Loads, inverters and hubs that are on.
    pub takers: Vec<Taker>,
    /// Alternators, supplies, solar and chargers that are on.
    pub givers: Vec<Giver>,
    /// Negatives of all sources, on or off, in the order of the design: the first on an island is its zero.
    pub negatives: Vec<TerminalId>,
    /// Components whose link is open, by number.
    pub open: Vec<bool>,
}

/// What each component is set to in a mode.
struct States<'d> {
    /// By number of component; `None` where the mode does not mention it.
    set: Vec<Option<ModeState>>,
    /// No mode is written: all is on.
    everything: bool,
    circuit: &'d Circuit<'d>,
}

impl States<'_> {
    fn of(&self, id: ComponentId) -> Option<ModeState> {
        self.set[id.index()]
    }

    /// On in this mode, and with what figure in place of the rated one.
    fn on(&self, id: ComponentId) -> Option<Option<ModeState>> {
        match self.of(id) {
            None if self.everything => Some(None),
            None | Some(ModeState::Off | ModeState::Open) => None,
            Some(ModeState::On | ModeState::Closed) => Some(None),
            given => Some(given),
        }
    }

    fn is_open(&self, id: ComponentId, component: &Component) -> bool {
        match (&component.body, self.of(id)) {
            (_, Some(ModeState::Open | ModeState::Off)) => true,
            (_, Some(_)) => false,
            // Without a mode a switch that rests open has what it feeds on.
            (Body::Switch(switch), None) => switch.open && !self.everything,
            _ => false,
        }
    }
}

impl Elements {
    /// What acts in a mode; without one, everything is on.
    pub(crate) fn of(circuit: &Circuit<'_>, mode: Option<&Mode>) -> Self {
        let design = circuit.design;
        let mut set = vec![None; design.components.len()];
        for line in mode.iter().flat_map(|mode| &mode.lines) {
            set[line.component.index()] = Some(line.state);
        }
        let states = States { set, everything: mode.is_none(), circuit };
        let mut all = Self { open: vec![false; design.components.len()], ..Self::default() };
        for (id, component) in design.components.entries() {
            all.open[id.index()] = states.is_open(id, component);
            all.negatives.extend(negative(circuit, component));
            all.add(&states, id, component);
        }
        all
    }

    fn add(&mut self, states: &States<'_>, id: ComponentId, component: &Component) {
        let circuit = states.circuit;
        let (design, book) = (circuit.design, circuit.book);
        let terminal = |role| component.terminal(design, role);
        let poles = || Some((terminal(TerminalRole::Plus)?, terminal(TerminalRole::Minus)?));
        match &component.body {
            Body::Battery(battery) => {
                let Some((plus, minus)) = poles() else { return };
                let voltage = match states.of(id) {
                    Some(ModeState::Voltage(voltage)) => voltage,
                    _ => battery.nominal,
                };
                let Some(resistance) = cell_resistance(book, battery) else { return };
                self.cells.push(Cell { component: id, plus, minus, voltage, resistance });
            }
            // A starter turns for seconds: it is on only where a mode says so.
            Body::Load(_) if states.everything && circuit.is_starter(id) => {}
            Body::Load(_) | Body::Inverter(_) | Body::Hub(_) => {
                let (Some((plus, minus)), Some(state)) = (poles(), states.on(id)) else { return };
                let nominal = nominal_of(circuit, id, plus);
                if let (Some(demand), Some(nominal)) = (demand(book, &component.body, state), nominal) {
                    self.takers.push(Taker { component: id, plus, minus, demand, nominal });
                }
            }
            Body::Alternator(_) | Body::Supply(_) | Body::Solar(_) => {
                let (Some((plus, minus)), Some(state)) = (poles(), states.on(id)) else { return };
                let Some((set, most)) = plain_giver(&component.body, book, state) else { return };
                self.givers.push(Giver { component: id, plus: vec![plus], minus, set, most, input: None });
            }
            Body::Charger(charger) => {
                if let Some(state) = states.on(id) {
                    self.givers.extend(charger_output(states, id, component, charger, state));
                }
            }
            _ => {}
        }
    }
}

/// A battery's resistance: its own, else from its prospective current at its highest voltage, else the book's.
pub(crate) fn cell_resistance(book: &Book, battery: &crate::design::Battery) -> Option<Resistance> {
    if let Some(resistance) = battery.resistance {
        return Some(resistance);
    }
    let (full, fault) = (book.full_of(battery).unwrap_or(battery.nominal), book.fault_of(battery)?);
    (0.0 < fault.as_amps()).then(|| full / fault)
}

/// What a load, inverter or hub takes; the mode's figure stands in for the rated one.
fn demand(book: &Book, body: &Body, state: Option<ModeState>) -> Option<Demand> {
    let given = match state {
        Some(ModeState::Power(power)) => Some(Demand::Power(power)),
        Some(ModeState::Current(current)) => Some(Demand::Current(current)),
        Some(ModeState::Resistance(resistance)) => Some(Demand::Resistance(resistance)),
        _ => None,
    };
    match body {
        Body::Load(load) => given.or(load.demand),
        Body::Hub(hub) => given.or(hub.power.map(Demand::Power)),
        Body::Inverter(inverter) => {
            let efficiency =
                inverter.efficiency.unwrap_or(book.share(ShareLimit::InverterEfficiency)).as_ratio();
            match given.or(inverter.power.map(Demand::Power))? {
                Demand::Power(power) => Some(Demand::Power(power / efficiency)),
                other => Some(other),
            }
        }
        _ => None,
    }
}

/// The nominal voltage at a component: its own, else its network's.
fn nominal_of(circuit: &Circuit<'_>, id: ComponentId, plus: TerminalId) -> Option<Voltage> {
    let own = match &circuit.design.components[id].body {
        Body::Load(load) => load.nominal,
        Body::Inverter(inverter) => inverter.nominal,
        _ => None,
    };
    own.or_else(|| {
        let part = circuit.part[circuit.metal.node(plus) as usize];
        circuit.sources_on(part).find_map(|source| source.nominal)
    })
    .or(Some(Voltage::volts(12.0)))
}

/// What an alternator, a supply or solar holds, and the most that it gives.
fn plain_giver(body: &Body, book: &Book, state: Option<ModeState>) -> Option<(Voltage, Option<Current>)> {
    let given = match state {
        Some(ModeState::Voltage(voltage)) => Some(voltage),
        _ => None,
    };
    let most = |rated: Option<Current>, held: Voltage| match state {
        Some(ModeState::Current(current)) => Some(current),
        Some(ModeState::Power(power)) => Some(power / held),
        _ => rated,
    };
    match body {
        Body::Alternator(alternator) => {
            let held = || Some(alternator.nominal? * book.share(ShareLimit::AlternatorVoltage).as_ratio());
            let held = given.or_else(held)?;
            Some((held, most(Some(alternator.maximum), held)))
        }
        Body::Supply(supply) => {
            let held = given.or(supply.nominal)?;
            Some((held, most(supply.fused.or(supply.maximum), held)))
        }
        Body::Solar(solar) => {
            let imp = solar.imp.unwrap_or(solar.isc) * f64::from(solar.strings);
            let held = given.or(solar.vmp).or(solar.voc)?;
            Some((held, most(Some(imp), held)))
        }
        _ => None,
    }
}

/// A charger's output with its input.
fn charger_output(
    states: &States<'_>,
    id: ComponentId,
    component: &Component,
    charger: &Charger,
    state: Option<ModeState>,
) -> Option<Giver> {
    let circuit = states.circuit;
    let (design, book) = (circuit.design, circuit.book);
    let terminal = |role| component.terminal(design, role);
    if charger.needs_enable && !is_enabled(circuit, component) {
        return None;
    }
    let plus: Vec<TerminalId> = component
        .terminals(design)
        .filter(|row| matches!(row.1, TerminalRole::OutPlus | TerminalRole::OutPlusNumber(_)))
        .map(|row| row.0)
        .collect();
    let minus = terminal(TerminalRole::OutMinus)?;
    let setting = |word: &str| {
        let mine = design.settings.iter().filter(|row| row.component == id && row.word == word);
        mine.map(|row| &row.value).next_back()
    };
    let set = match (state, setting("absorption")) {
        (Some(ModeState::Voltage(voltage)), _) => voltage,
        (_, Some(SettingValue::Voltage(voltage))) => *voltage,
        _ => charged(circuit, &plus).or(charger.output)?,
    };
    let mut most = match (state, setting("current")) {
        (Some(ModeState::Current(current)), _) => current,
        (_, Some(SettingValue::Current(current))) => charger.output_current.min(*current),
        _ => charger.output_current,
    };
    if let Some(ModeState::Power(power)) = state {
        most = most.min(power / set);
    }
    let efficiency = |limit| charger.efficiency.unwrap_or(book.share(limit)).as_ratio();
    let input = match charger.feed {
        Feed::Ac => None,
        Feed::Dc => Some(Input {
            plus: terminal(TerminalRole::InPlus)?,
            minus: terminal(TerminalRole::InMinus).or_else(|| terminal(TerminalRole::OutMinus))?,
            most: charger.input_current,
            from_array: false,
            efficiency: efficiency(ShareLimit::ChargerEfficiency),
            nominal: charger.input?,
        }),
        Feed::Solar => {
            let (gives, nominal) = array(states, component)?;
            let from_array = charger.input_current.is_none_or(|most| gives.as_amps() < most.as_amps());
            Some(Input {
                plus: terminal(TerminalRole::InPlus)?,
                minus: terminal(TerminalRole::InMinus).or_else(|| terminal(TerminalRole::OutMinus))?,
                most: if from_array { Some(gives) } else { charger.input_current },
                from_array,
                efficiency: efficiency(ShareLimit::SolarChargerEfficiency),
                nominal,
            })
        }
    };
    Some(Giver { component: id, plus, minus, set, most: Some(most), input })
}

/// Whether a charger's `enable` is joined to anything.
fn is_enabled(circuit: &Circuit<'_>, component: &Component) -> bool {
    component.terminal(circuit.design, TerminalRole::Enable).is_some_and(|enable| {
        let node = circuit.metal.node(enable);
        !circuit.metal.graph.at(node).is_empty() || 1 < circuit.metal.terminals[node as usize].len()
    })
}

/// The highest charging voltage of the battery or string that an output is on, of several the lowest: stated, else the book's.
fn charged(circuit: &Circuit<'_>, plus: &[TerminalId]) -> Option<Voltage> {
    let part = circuit.part[circuit.metal.node(*plus.first()?) as usize];
    let full = |id: &ComponentId| match &circuit.design.components[*id].body {
        Body::Battery(battery) => circuit.book.full_of(battery).or(Some(battery.nominal)),
        _ => None,
    };
    let batteries = circuit.sources_on(part).filter(|source| source.kind == Kind::Battery);
    batteries
        .filter_map(|source| source.members.iter().map(full).sum::<Option<Voltage>>())
        .reduce(Voltage::min)
}

/// The largest current and the voltage of the array at a solar charger's input, in this mode. The current is that at the
/// array's best voltage, so that what the wires between them lose is lost to the charger.
fn array(states: &States<'_>, component: &Component) -> Option<(Current, Voltage)> {
    let circuit = states.circuit;
    let plus = component.terminal(circuit.design, TerminalRole::InPlus)?;
    let part = circuit.part[circuit.metal.node(plus) as usize];
    let arrays = circuit.sources_on(part).filter(|source| source.kind == Kind::Solar);
    let mut current = Current::default();
    let mut voltage = None;
    for source in arrays {
        // Modules in series: their power at the voltage of all together.
        let (mut power, mut own) = (Power::default(), Voltage::default());
        for id in &source.members {
            let (Some(state), body) = (states.on(*id), &circuit.design.components[*id].body) else {
                continue;
            };
            if let Some((held, Some(most))) = plain_giver(body, circuit.book, state) {
                power = power + held * most;
                own = own + held;
            }
        }
        if 0.0 < own.as_volts() {
            current = current + power / own;
            voltage = voltage.or(Some(own));
        }
    }
    Some((current, voltage?))
}

/// A source's negative.
fn negative(circuit: &Circuit<'_>, component: &Component) -> Option<TerminalId> {
    let role = match component.kind {
        Kind::Battery | Kind::Alternator | Kind::Supply | Kind::Solar => TerminalRole::Minus,
        Kind::Charger => TerminalRole::OutMinus,
        _ => return None,
    };
    component.terminal(circuit.design, role)
}
