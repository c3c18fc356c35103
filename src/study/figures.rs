//! The figures of a study by name, in the order of the design's statements: plain data for whoever writes them down.

use rustc_hash::FxHashMap;

use crate::circuit::Circuit;
use crate::design::{Body, Component, ComponentId, Id, Kind, TerminalId, TerminalRole, WireId};
use crate::units::{Current, Power, Share, Voltage};

use super::drop::Drops;
use super::elements::Giver;
use super::failures::{Effect, Failures, Opened};
use super::fault::Faults;
use super::network::{Conditions, Path};
use super::opening::{Guards, Opening, opens};
use super::solve::{Regime, Solution, Trouble};
use super::steady::{ModeStudy, Study};

/// All figures of a study.
#[derive(Debug, Clone)]
pub struct Figures {
    /// Under which conditions the modes were solved.
    pub conditions: Conditions,
    /// The modes, in the order of the design.
    pub modes: Vec<ModeFigures>,
    /// What a fault draws at each live terminal.
    pub faults: Vec<FaultFigures>,
    /// What each open return connection does, where that was asked for.
    pub failures: Option<FailureFigures>,
}

/// What each open return connection does.
#[derive(Debug, Clone, Default)]
pub struct FailureFigures {
    /// Each connection, in the order of statements.
    pub opened: Vec<OpenedFigures>,
    /// Those that were not opened in each mode, as all together would take too long.
    pub unopened: Vec<String>,
}

/// One return connection open.
#[derive(Debug, Clone)]
pub struct OpenedFigures {
    /// What opens: a wire or device by name, else in words.
    pub name: String,
    /// What follows, by mode; modes in which nothing follows are left out.
    pub effects: Vec<EffectFigures>,
}

/// What one open connection does in one mode.
#[derive(Debug, Clone, PartialEq)]
pub struct EffectFigures {
    /// The mode's name.
    pub mode: String,
    /// Why there are no figures.
    pub unsolved: Option<Unsolved>,
    /// Wires and data leads that now carry more than they may: name, what they carry, what they may.
    pub overloads: Vec<(String, Current, Current)>,
    /// Loads and charger inputs whose current comes home by a bond or a data lead.
    pub homes: Vec<String>,
    /// Those bonds and data leads, with what they carry where that is known.
    pub by: Vec<(String, Option<Current>)>,
    /// Loads and chargers that stop.
    pub stops: Vec<String>,
    /// Loads taken as resistances.
    pub weakened: Vec<String>,
    /// Meters that read otherwise than before.
    pub meters: Vec<MeterFigures>,
}

/// A meter that reads otherwise than before.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterFigures {
    /// Its name.
    pub name: String,
    /// What it reads.
    pub reads: Current,
    /// What it read before.
    pub was: Current,
    /// What flows in what it counts, where it reads that no more.
    pub truth: Option<Current>,
}

impl FailureFigures {
    /// By name.
    pub(crate) fn new(circuit: &Circuit<'_>, study: &Study, failures: &Failures) -> Self {
        let mut taken: FxHashMap<String, u32> = FxHashMap::default();
        let mut own = |opened: Opened| {
            let name = opened_name(circuit, opened);
            let times = taken.entry(name.clone()).or_insert(0);
            *times += 1;
            if *times == 1 { name } else { format!("{name} ({times})") }
        };
        let opened = failures.opened.iter().map(|failure| OpenedFigures {
            name: own(failure.opened),
            effects: failure.effects.iter().filter_map(|effect| effect_of(circuit, study, effect)).collect(),
        });
        let opened = opened.collect();
        let unopened = failures.unopened.iter().map(|one| opened_name(circuit, *one)).collect();
        Self { opened, unopened }
    }
}

/// What opens, in words.
pub(crate) fn opened_name(circuit: &Circuit<'_>, opened: Opened) -> String {
    let design = circuit.design;
    match opened {
        Opened::Wire(id) => design.wires[id].name.clone(),
        Opened::Conductor(id) => format!("one conductor of {}", design.wires[id].name),
        Opened::Joint(at) => {
            let joint = &design.joints[at];
            let name = |terminal| design.terminal_name(terminal);
            format!("the bolt of {} to {}", name(joint.a.terminal), name(joint.b.terminal))
        }
        Opened::Returns(id) => format!("the mounting of {}", circuit.name(id)),
        Opened::Link(id) => circuit.name(id).to_owned(),
    }
}

/// What a resistance of the network is called.
pub(crate) fn path_name(circuit: &Circuit<'_>, path: Path) -> String {
    let design = circuit.design;
    match path {
        Path::Wire(id) => design.wires[id].name.clone(),
        Path::Data(id) => design.data[id].name.clone(),
        Path::Joint(at) => opened_name(circuit, Opened::Joint(at)),
        Path::Returns(id) => opened_name(circuit, Opened::Returns(id)),
        Path::Shunt(id) | Path::Contact(id) => circuit.name(id).to_owned(),
    }
}

fn effect_of(circuit: &Circuit<'_>, study: &Study, effect: &Effect) -> Option<EffectFigures> {
    let mode = study.modes.get(effect.mode)?;
    let names = |ids: &[ComponentId]| ids.iter().map(|id| circuit.name(*id).to_owned()).collect();
    let overloads = effect.overloads.iter();
    let meters = effect.meters.iter().map(|meter| MeterFigures {
        name: circuit.name(meter.meter).to_owned(),
        reads: meter.reads,
        was: meter.was,
        truth: meter.truth,
    });
    Some(EffectFigures {
        mode: mode.name.clone(),
        unsolved: effect.trouble.map(|trouble| unsolved(circuit, mode, trouble)),
        overloads: overloads.map(|one| (path_name(circuit, one.path), one.current, one.ampacity)).collect(),
        homes: names(&effect.homes),
        by: effect.by.iter().map(|(path, amps)| (path_name(circuit, *path), *amps)).collect(),
        stops: names(&effect.stops),
        weakened: names(&effect.weakened),
        meters: meters.collect(),
    })
}

/// One mode.
#[derive(Debug, Clone)]
pub struct ModeFigures {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: Option<String>,
    /// Why it has no solution; then there are no other figures.
    pub unsolved: Option<Unsolved>,
    /// Voltage of each terminal on an island with a source, against the island's zero.
    pub nodes: Vec<(String, Voltage)>,
    /// Wires.
    pub wires: Vec<WireFigures>,
    /// What each meter reads.
    pub meters: Vec<(String, Current)>,
    /// Everything with two poles.
    pub devices: Vec<DeviceFigures>,
}

/// Why a mode has no solution.
#[derive(Debug, Clone, PartialEq)]
pub enum Unsolved {
    /// No voltage is stable with this load, or at this charger's input.
    Collapse(String),
    /// This output would have to give more than it can, the current where that is known.
    Overloaded(String, Option<Current>),
    /// What outputs do does not settle; the last one to change, if any.
    Unsettled(Option<String>),
}

/// One wire.
#[derive(Debug, Clone, PartialEq)]
pub struct WireFigures {
    /// Its name.
    pub name: String,
    /// From its first end to its second; `None` for a wire that is set aside as a fault.
    pub flow: Option<(Current, Voltage)>,
    /// What it may carry, all its conductors together.
    pub ampacity: Current,
}

/// What passes two poles.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flow {
    /// Into the first pole.
    pub current: Current,
    /// Taken.
    pub power: Power,
    /// Between the poles, where both are on one island with a source.
    pub voltage: Option<Voltage>,
}

/// What a device is to the readers of figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// A battery.
    Battery,
    /// An alternator, a supply, solar or a charger.
    Giver,
    /// A load, an inverter or a hub.
    Taker,
    /// A fuse, breaker, switch, plug or cutoff.
    Passes,
    /// A meter.
    Meter,
}

/// What an element does in a mode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Does {
    /// It is off, or open.
    Nothing,
    /// It is on, or closed.
    On,
    /// It is on, and no source reaches it.
    Unfed,
    /// It cannot be reckoned with: a figure that it needs is not stated.
    Unstated,
    /// An output has nothing to give to: what it is on lies above this voltage of its own.
    Idle(Voltage),
    /// An output holds its voltage.
    Holds(Voltage),
    /// An output gives its largest current.
    Gives(Current),
    /// An output gives what the largest current of its input allows.
    InputBound(Current),
    /// An output gives what all the current of its array allows.
    ArrayBound(Current),
}

/// One element with two poles, or a charger.
#[derive(Debug, Clone, PartialEq)]
pub struct DeviceFigures {
    /// Its name.
    pub name: String,
    /// Its group.
    pub group: Group,
    /// What it does.
    pub does: Does,
    /// Its poles; of a charger its output, all outputs together.
    pub flow: Flow,
    /// A charger's input, where it has one.
    pub input: Option<Flow>,
    /// Each output of a charger, in order; empty for all else.
    pub outputs: Vec<Flow>,
    /// What it is rated for.
    pub rating: Option<Current>,
    /// A battery's voltage behind its resistance.
    pub behind: Option<Voltage>,
    /// What is lost between a load and the source of its network, and its share of the nominal voltage.
    pub drop: Option<(Voltage, Share)>,
}

/// What a bolted fault draws at one terminal.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultFigures {
    /// The terminal.
    pub terminal: String,
    /// The most.
    pub largest: Option<Current>,
    /// The least; `None` where only limited sources reach.
    pub smallest: Option<Current>,
    /// Each device that the smallest passes, the nearest first, and when it opens at that.
    pub opens: Vec<(String, Opening)>,
}

impl Figures {
    /// The figures of a circuit's study, and of what faults draw.
    pub(crate) fn new(circuit: &Circuit<'_>, study: &Study, drawn: &Faults) -> Self {
        let order = Order::of(circuit);
        let modes = study.modes.iter().map(|mode| of_mode(circuit, study, mode, &order)).collect();
        let design = circuit.design;
        let guards = Guards::new(circuit);
        let mut faults = Vec::new();
        for id in order.terminals.iter().copied() {
            let (largest, smallest) = (drawn.largest[id.index()], drawn.smallest[id.index()]);
            if largest.is_some() || smallest.is_some() {
                let passed = guards.passed(circuit, drawn, id).into_iter();
                let opens = passed.map(|(device, current)| {
                    let component = &design.components[device];
                    (component.name.clone(), opens(circuit.book, &component.body, current))
                });
                let opens = opens.collect();
                faults.push(FaultFigures { terminal: design.terminal_name(id), largest, smallest, opens });
            }
        }
        Self { conditions: study.conditions, modes, faults, failures: None }
    }
}

/// What a design has, in the order of its statements.
struct Order {
    components: Vec<ComponentId>,
    wires: Vec<WireId>,
    terminals: Vec<TerminalId>,
}

impl Order {
    fn of(circuit: &Circuit<'_>) -> Self {
        let design = circuit.design;
        let mut components: Vec<ComponentId> = design.components.ids().collect();
        components.sort_by_key(|id| design.components[*id].place.order);
        let mut wires: Vec<WireId> = design.wires.ids().collect();
        wires.sort_by_key(|id| design.wires[*id].place.order);
        let terminals = components.iter().flat_map(|id| design.components[*id].terminals(design));
        let terminals = terminals.map(|row| row.0).collect();
        Self { components, wires, terminals }
    }
}

fn of_mode(circuit: &Circuit<'_>, study: &Study, mode: &ModeStudy, order: &Order) -> ModeFigures {
    let design = circuit.design;
    let title = mode.mode.and_then(|id| design.modes[id].title.clone());
    let mut figures = ModeFigures {
        name: mode.name.clone(),
        title,
        unsolved: None,
        nodes: Vec::new(),
        wires: Vec::new(),
        meters: Vec::new(),
        devices: Vec::new(),
    };
    let solution = match &mode.solution {
        Ok(solution) => solution,
        Err(trouble) => {
            figures.unsolved = Some(unsolved(circuit, mode, *trouble));
            return figures;
        }
    };
    for id in &order.terminals {
        if let Some(volts) = solution.volts[id.index()] {
            figures.nodes.push((design.terminal_name(*id), Voltage::volts(volts)));
        }
    }
    for id in &order.wires {
        let flow = study.network.wire(*id).map(|branch| {
            let amps = solution.branch[branch];
            (Current::amps(amps), Voltage::volts(amps * study.network.branches[branch].resistance.as_ohms()))
        });
        let ampacity = circuit.ampacity[id.index()];
        figures.wires.push(WireFigures { name: design.wires[*id].name.clone(), flow, ampacity });
    }
    let reads: FxHashMap<ComponentId, f64> = mode.meters.iter().copied().collect();
    let acting = Acting::of(circuit, study, mode, solution);
    for id in &order.components {
        let component = &design.components[*id];
        if let Some(amps) = reads.get(id) {
            figures.meters.push((component.name.clone(), Current::amps(*amps)));
        }
        figures.devices.extend(device(circuit, mode, &acting, *id, component));
    }
    figures
}

fn unsolved(circuit: &Circuit<'_>, mode: &ModeStudy, trouble: Trouble) -> Unsolved {
    let name = |id: ComponentId| circuit.name(id).to_owned();
    let elements = &mode.elements;
    match trouble {
        Trouble::Collapse(at) => match elements.takers.get(at) {
            Some(taker) => Unsolved::Collapse(name(taker.component)),
            None => Unsolved::Unsettled(None),
        },
        Trouble::Starved(at) => match elements.givers.get(at) {
            Some(giver) => Unsolved::Collapse(name(giver.component)),
            None => Unsolved::Unsettled(None),
        },
        Trouble::Overloaded(at) => match elements.givers.get(at) {
            Some(giver) => Unsolved::Overloaded(name(giver.component), giver.most),
            None => Unsolved::Unsettled(None),
        },
        Trouble::Drained(at) => match elements.givers.get(at) {
            Some(giver) => Unsolved::Overloaded(name(giver.component), None),
            None => Unsolved::Unsettled(None),
        },
        Trouble::Unsettled(at) => {
            Unsolved::Unsettled(elements.givers.get(at).map(|giver| name(giver.component)))
        }
    }
}

/// Where each component stands among what acts, and the currents through links and shunts.
struct Acting<'s> {
    solution: &'s Solution,
    cell: FxHashMap<ComponentId, usize>,
    taker: FxHashMap<ComponentId, usize>,
    giver: FxHashMap<ComponentId, usize>,
    /// Amperes from a component's first terminal to its second.
    through: FxHashMap<ComponentId, f64>,
    drops: Option<Drops<'s>>,
}

impl<'s> Acting<'s> {
    fn of(circuit: &'s Circuit<'s>, study: &'s Study, mode: &'s ModeStudy, solution: &'s Solution) -> Self {
        let elements = &mode.elements;
        let links =
            study.network.links.iter().zip(&solution.link).map(|(link, amps)| (link.component, *amps));
        let branches = study.network.branches.iter().zip(&solution.branch);
        let shunts = branches.filter_map(|(branch, amps)| match branch.path {
            Path::Shunt(id) => Some((id, *amps)),
            _ => None,
        });
        Self {
            solution,
            cell: elements.cells.iter().enumerate().map(|(at, cell)| (cell.component, at)).collect(),
            taker: elements.takers.iter().enumerate().map(|(at, taker)| (taker.component, at)).collect(),
            giver: elements.givers.iter().enumerate().map(|(at, giver)| (giver.component, at)).collect(),
            through: links.chain(shunts).collect(),
            drops: Drops::of(circuit, &study.network, mode),
        }
    }
}

/// A flow of so many amperes into the first of two poles.
fn flow(mode: &ModeStudy, plus: TerminalId, minus: TerminalId, amps: f64) -> Flow {
    let across = mode.across(plus, minus);
    Flow {
        current: Current::amps(amps),
        power: Power::watts(across.unwrap_or(0.0) * amps),
        voltage: across.map(Voltage::volts),
    }
}

fn device(
    circuit: &Circuit<'_>,
    mode: &ModeStudy,
    acting: &Acting<'_>,
    id: ComponentId,
    component: &Component,
) -> Option<DeviceFigures> {
    let design = circuit.design;
    let mut poles = component.terminals(design).map(|row| row.0);
    let group = match component.kind {
        Kind::Battery => Group::Battery,
        Kind::Alternator | Kind::Supply | Kind::Solar | Kind::Charger => Group::Giver,
        Kind::Load | Kind::Inverter | Kind::Hub => Group::Taker,
        Kind::Fuse | Kind::Breaker | Kind::Switch | Kind::Plug | Kind::Cutoff => Group::Passes,
        Kind::Meter => Group::Meter,
        Kind::Post | Kind::Bar | Kind::Chassis => return None,
    };
    let mut figures = DeviceFigures {
        name: component.name.clone(),
        group,
        does: Does::Nothing,
        flow: Flow::default(),
        input: None,
        outputs: Vec::new(),
        rating: None,
        behind: None,
        drop: None,
    };
    let solution = acting.solution;
    match &component.body {
        Body::Charger(_) => {
            charger(mode, acting, id, component, circuit, &mut figures);
            return Some(figures);
        }
        Body::Fuse(fuse) => figures.rating = Some(fuse.rating),
        Body::Breaker(breaker) => figures.rating = Some(breaker.rating),
        Body::Switch(switch) => figures.rating = switch.rating,
        Body::Plug(plug) => figures.rating = plug.rating,
        Body::Cutoff(cutoff) => figures.rating = cutoff.rating,
        Body::Meter(meter) => figures.rating = meter.full_scale,
        Body::Battery(battery) => figures.rating = battery.discharge,
        _ => {}
    }
    let plus = poles.next()?;
    let minus = poles.next()?;
    let amps = match group {
        Group::Battery => match acting.cell.get(&id) {
            Some(at) => {
                figures.does = Does::On;
                figures.behind = mode.elements.cells.get(*at).map(|cell| cell.voltage);
                -solution.cell[*at]
            }
            None => {
                figures.does = Does::Unstated;
                0.0
            }
        },
        Group::Taker => match acting.taker.get(&id) {
            Some(at) if solution.unfed.contains(at) => {
                figures.does = Does::Unfed;
                0.0
            }
            Some(at) => {
                figures.does = Does::On;
                let drop = acting.drops.as_ref().and_then(|drops| drops.of_taker(*at));
                figures.drop = drop.map(|drop| (drop.lost, drop.share()));
                solution.taker[*at]
            }
            None => 0.0,
        },
        Group::Giver => match acting.giver.get(&id) {
            Some(at) => {
                figures.does = does(&mode.elements.givers[*at], solution, *at);
                -solution.giver[*at].iter().sum::<f64>()
            }
            None => 0.0,
        },
        Group::Passes | Group::Meter => {
            if !mode.elements.open[id.index()] {
                figures.does = Does::On;
            }
            acting.through.get(&id).copied().unwrap_or(0.0)
        }
    };
    figures.flow = flow(mode, plus, minus, amps);
    Some(figures)
}

fn charger(
    mode: &ModeStudy,
    acting: &Acting<'_>,
    id: ComponentId,
    component: &Component,
    circuit: &Circuit<'_>,
    figures: &mut DeviceFigures,
) {
    let design = circuit.design;
    let solution = acting.solution;
    let terminal = |role| component.terminal(design, role);
    let at = acting.giver.get(&id).copied();
    let out_minus = terminal(TerminalRole::OutMinus).or_else(|| terminal(TerminalRole::InMinus));
    let in_minus = terminal(TerminalRole::InMinus).or(out_minus);
    if let (Some(plus), Some(minus)) = (terminal(TerminalRole::InPlus), in_minus) {
        figures.input = Some(flow(mode, plus, minus, at.map_or(0.0, |at| solution.input[at])));
    }
    let outs = component
        .terminals(design)
        .filter(|row| matches!(row.1, TerminalRole::OutPlus | TerminalRole::OutPlusNumber(_)));
    for (number, (plus, _)) in outs.enumerate() {
        let Some(minus) = out_minus else { continue };
        let given = at.and_then(|at| solution.giver[at].get(number)).copied().unwrap_or(0.0);
        figures.outputs.push(flow(mode, plus, minus, -given));
    }
    let together = |read: fn(&Flow) -> f64| figures.outputs.iter().map(read).sum::<f64>();
    let highest = figures.outputs.iter().filter_map(|one| one.voltage).reduce(Voltage::max);
    figures.flow = Flow {
        current: Current::amps(together(|one| one.current.as_amps())),
        power: Power::watts(together(|one| one.power.as_watts())),
        voltage: highest,
    };
    if let Some(at) = at {
        figures.does = does(&mode.elements.givers[at], solution, at);
        figures.rating = mode.elements.givers[at].most;
    }
}

/// What an output does.
fn does(giver: &Giver, solution: &Solution, at: usize) -> Does {
    if solution.starved.contains(&at) {
        return Does::Unfed;
    }
    match solution.regime[at] {
        Regime::Idle => Does::Idle(giver.set),
        Regime::Holds => Does::Holds(giver.set),
        Regime::Gives => giver.most.map_or(Does::On, Does::Gives),
        Regime::InputBound => match giver.input.and_then(|input| Some((input.from_array, input.most?))) {
            Some((true, most)) => Does::ArrayBound(most),
            Some((false, most)) => Does::InputBound(most),
            None => Does::On,
        },
    }
}
