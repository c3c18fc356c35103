//! The steady state of one mode: which outputs hold their voltage, which give all they can, and what flows.
//!
//! Nodal analysis. Terminals that closed links and held voltages tie to each other are one unknown with known offsets,
//! so that what remains is a symmetric matrix of conductances. Loads of constant power and the inputs of chargers are
//! Norton equivalents around the last voltages; where that does not settle, full Newton steps with damping follow.

use std::cmp::Ordering;

use petgraph::unionfind::UnionFind;
use rustc_hash::FxHashMap;

use crate::design::{Demand, Id, TerminalId};

use super::elements::{Elements, Giver, Input};
use super::matrix::{Factor, Laplacian};
use super::network::{Network, Path};

/// What an output does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Regime {
    /// It gives nothing: what it is on has a higher voltage, or its own feed is dead.
    Idle,
    /// It holds its voltage.
    Holds,
    /// It gives its largest current.
    Gives,
    /// It gives what its largest input current allows.
    InputBound,
}

/// Why a mode, or a part of it, has no figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trouble {
    /// No voltage is stable: the source cannot feed this load through what lies between.
    Collapse(usize),
    /// No voltage is stable at the input of this giver.
    Starved(usize),
    /// This output would have to give more than it can, and no battery gives the rest.
    Overloaded(usize),
    /// This output would have to draw more than its input's limit, and no battery gives the rest.
    Drained(usize),
    /// The regimes of outputs do not settle, this one last.
    Unsettled(usize),
}

/// The solved mode.
#[derive(Debug, Clone)]
pub struct Solution {
    /// Volts by terminal, against the first source's negative of its island; `None` on an island without a source.
    pub volts: Vec<Option<f64>>,
    /// Island by terminal.
    pub island: Vec<u32>,
    /// Amperes of each branch, from its first terminal to its second.
    pub branch: Vec<f64>,
    /// Amperes of each link, from its first terminal to its second; 0 where it is open.
    pub link: Vec<f64>,
    /// Amperes out of each battery's positive.
    pub cell: Vec<f64>,
    /// Amperes into each taker's positive.
    pub taker: Vec<f64>,
    /// Amperes out of each giver's positives, by output.
    pub giver: Vec<Vec<f64>>,
    /// Givers that can give nothing: no battery and no source of its own is behind their feed.
    pub dead: Vec<bool>,
    /// Of a giver that holds a voltage together with others, the one whose current it follows.
    pub leader: Vec<Option<usize>>,
    /// Which of a giver's outputs conduct; those that do are one node unless it is idle.
    pub conducts: Vec<Vec<bool>>,
    /// Amperes into each giver's input.
    pub input: Vec<f64>,
    /// What each giver does.
    pub regime: Vec<Regime>,
    /// Takers that are on and on no island with a source.
    pub unfed: Vec<usize>,
    /// Givers that are on and whose input is on no island with a source.
    pub starved: Vec<usize>,
}

/// Rounds of regimes before only the worst output changes, and before the search ends.
const ROUNDS_TOGETHER: usize = 12;
const ROUNDS: usize = 200;
/// Steps of the first, cheap iteration, and of the damped one.
const STEPS: usize = 40;
const DAMPED_STEPS: usize = 60;
/// Chargers in a row at most that the steps are made more for.
const MOST_ROW: usize = 500;
/// Relative change of voltages at which a solution stands.
const SETTLED: f64 = 1e-12;
/// The same where rounding lets it come no closer.
const NEAR: f64 = 1e-9;
/// Below this share of its nominal voltage a load of constant power is taken as collapsed.
const COLLAPSED: f64 = 0.25;
/// Slack of an output that alone holds its voltage: it may be asked for exactly its largest current.
const OVERLOAD: f64 = 1e-6;
/// A current that rounding makes: voltages settle to 1e-12, and a joint may have 0.1 mohm.
const LEAST_AMPS: f64 = 1e-6;
/// What is drawn for more than a limit allows, over that limit.
const BEYOND: f64 = 1.001;
/// Slack of a regime's own limits, relative.
const SLACK: f64 = 1e-9;
/// What is within this share of the largest counts as large as it, so that rounding decides nothing.
const ALIKE: f64 = 1e-6;
/// How often an output begins to hold because its company does; then it gives what it gave.
const MOST_JOINS: u8 = 3;
/// How often an output goes from its voltage to its largest current: with loads of constant power that current may fit a
/// voltage above its own, where at its own it is asked for too much; then it holds, and is judged at the end.
const MOST_FLIPS: u8 = 6;
/// Resistance of a joint at most: outputs that only joints lie between hold one voltage.
const JOINT_OHMS: f64 = 1e-6;

/// Solves one mode: volts and amperes of everything that acts in it.
///
/// # Errors
/// What keeps the mode from having a solution.
pub fn solve(network: &Network, elements: &Elements) -> Result<Solution, Trouble> {
    let mut search = Search::new(network, elements);
    for round in 0..ROUNDS {
        let layout = search.layout();
        let state = match search.settle(&layout) {
            Ok(state) => state,
            // The regimes are a guess so far: inputs that have a limit draw no more than that.
            Err(trouble) if !search.ease() => return Err(trouble),
            Err(_) => continue,
        };
        let changes = search.changes(&layout, &state);
        if changes.is_empty() {
            return search.finish(&layout, &state);
        }
        let worst = changes.iter().fold(0.0, |most: f64, change| most.max(change.by));
        let least = if round < ROUNDS_TOGETHER { 0.0 } else { worst * (1.0 - ALIKE) };
        search.apply(changes.into_iter().filter(|change| least <= change.by).collect());
    }
    Err(Trouble::Unsettled(search.last))
}

struct Search<'n> {
    network: &'n Network,
    elements: &'n Elements,
    regime: Vec<Regime>,
    /// Which of a giver's outputs conduct.
    conducts: Vec<Vec<bool>>,
    /// Nothing gives energy to its feed: it gives nothing for good.
    dead: Vec<bool>,
    /// It held alone and was asked for more than it can: another that could hold goes first.
    spent: Vec<bool>,
    /// It held alone and others pushed current into it: it goes last.
    pushed: Vec<bool>,
    /// Outputs that would hold one voltage together, by number; `None` for one that has no companion.
    company: Vec<Option<u32>>,
    /// How often it held and then gave all that it can.
    flips: Vec<u8>,
    /// It was made to draw no more than its input's limit, when voltages fell over what it drew.
    eased: Vec<bool>,
    /// Others follow its current.
    leads: Vec<bool>,
    /// How often it began to hold because its company did.
    joins: Vec<u8>,
    /// Of one that holds in company, whose current it follows.
    leader: Vec<Option<usize>>,
    last: usize,
    n: usize,
}

/// A change of regime, and by how much the present one is violated.
struct Change {
    giver: usize,
    to: Regime,
    output: Option<(usize, bool)>,
    by: f64,
}

/// Terminals tied to unknowns.
struct Layout {
    /// Cluster of each terminal and its offset to the cluster's own potential.
    cluster: Vec<(u32, f64)>,
    /// Island of each cluster.
    island: Vec<u32>,
    /// Whether an island has a source.
    fed: Vec<bool>,
    /// Unknown of each cluster; `None` for the one that is the island's zero, and for islands without a source.
    unknown: Vec<Option<u32>>,
    /// Potential of each island's zero cluster, such that its first source's negative is at 0.
    zero: Vec<f64>,
    n_unknowns: usize,
}

/// Voltages and the currents that depend on them.
struct State {
    volts: Vec<f64>,
    /// Amperes out of each giver, all outputs together, where its regime sets it.
    given: Vec<f64>,
    /// Amperes into each giver's input.
    drawn: Vec<f64>,
    taken: Vec<f64>,
    /// By how much a leader's own current changes for each ampere of it that its followers give in proportion.
    shift: Vec<f64>,
    /// The voltages are a guess: what holding outputs give cannot be told from them.
    fresh: bool,
}

impl<'n> Search<'n> {
    fn new(network: &'n Network, elements: &'n Elements) -> Self {
        let n_givers = elements.givers.len();
        // A battery's voltage tells what an output beside it will do; without one it holds.
        let dead = dead(network, elements);
        let regime = elements.givers.iter().zip(&dead).map(|(giver, dead)| match giver.most {
            _ if *dead => Regime::Idle,
            // What its input allows is less than what it could give.
            Some(most)
                if giver.input.is_some_and(|input| {
                    let allowed = input.most.map(|amps| (input.nominal * amps).as_watts() * input.efficiency);
                    allowed.is_some_and(|allowed| allowed < (giver.set * most).as_watts())
                }) =>
            {
                Regime::InputBound
            }
            Some(_) => Regime::Gives,
            None => Regime::Holds,
        });
        Self {
            network,
            elements,
            regime: regime.collect(),
            conducts: elements.givers.iter().map(|giver| vec![true; giver.plus.len()]).collect(),
            spent: vec![false; n_givers],
            pushed: vec![false; n_givers],
            company: company(network, elements),
            flips: vec![0; n_givers],
            eased: vec![false; n_givers],
            leads: vec![false; n_givers],
            joins: vec![0; n_givers],
            leader: vec![None; n_givers],
            dead,
            last: 0,
            n: network.n_terminals,
        }
    }

    /// Which terminals are one unknown, and which islands there are. Makes outputs hold where nothing else does.
    fn layout(&mut self) -> Layout {
        loop {
            self.lead();
            let mut ties = Ties::new(self.n);
            for link in self.closed_links() {
                ties.join(at(link.a), at(link.b), 0.0);
            }
            for (at_giver, (giver, regime, conducts)) in self.givers().enumerate() {
                let holds = regime == Regime::Holds && self.leader[at_giver].is_none();
                let mut first = None;
                for (plus, _) in giver.plus.iter().zip(conducts).filter(|row| *row.1) {
                    if holds {
                        ties.join(at(giver.minus), at(*plus), giver.set.as_volts());
                    } else if regime != Regime::Idle {
                        ties.join(*first.get_or_insert(at(*plus)), at(*plus), 0.0);
                    }
                }
            }
            let cluster: Vec<(u32, f64)> = (0..self.n).map(|node| ties.find(node)).collect();
            let mut islands = Ties::new(self.n);
            let mut join = |a: TerminalId, b: TerminalId| {
                islands.join(cluster[at(a)].0 as usize, cluster[at(b)].0 as usize, 0.0);
            };
            self.network.branches.iter().for_each(|branch| join(branch.a, branch.b));
            self.elements.cells.iter().for_each(|cell| join(cell.plus, cell.minus));
            for taker in &self.elements.takers {
                if matches!(taker.demand, Demand::Resistance(_)) {
                    join(taker.plus, taker.minus);
                }
            }
            let island: Vec<u32> = (0..self.n).map(|node| islands.find(cluster[node].0 as usize).0).collect();
            let floating = self.floating(&island);
            if floating.is_empty() {
                return self.number(cluster, island);
            }
            for giver in floating {
                self.regime[giver] = Regime::Holds;
            }
        }
    }

    /// Of the outputs that hold in one company, the largest leads and the others follow it.
    fn lead(&mut self) {
        self.leader.fill(None);
        self.leads.fill(false);
        if self.company.iter().all(Option::is_none) {
            return;
        }
        let most = |at_giver: usize| self.elements.givers[at_giver].most.map_or(0.0, |most| most.as_amps());
        let holds = |at_giver: &usize| self.regime[*at_giver] == Regime::Holds;
        let mut first: FxHashMap<u32, usize> = FxHashMap::default();
        for at_giver in (0..self.regime.len()).filter(holds) {
            if let Some(own) = self.company[at_giver] {
                let best = first.entry(own).or_insert(at_giver);
                if most(*best) < most(at_giver) {
                    *best = at_giver;
                }
            }
        }
        for at_giver in (0..self.regime.len()).filter(holds) {
            let best = self.company[at_giver].and_then(|own| first.get(&own).copied());
            self.leader[at_giver] = best.filter(|best| *best != at_giver);
            if let Some(leader) = self.leader[at_giver] {
                self.leads[leader] = true;
            }
        }
    }

    /// Whether an output is a fixed voltage to the rest.
    fn is_tied(&self, at_giver: usize) -> bool {
        self.regime[at_giver] == Regime::Holds && self.leader[at_giver].is_none()
    }

    /// What a follower gives for each ampere of its leader.
    fn ratio(&self, at_giver: usize, leader: usize) -> f64 {
        let most = |at_giver: usize| self.elements.givers[at_giver].most.map_or(0.0, |most| most.as_amps());
        most(at_giver) / most(leader)
    }

    /// Outputs whose positive and negative lie on islands that nothing holds together: of those between the same two, the
    /// ones with the highest voltage have to hold it, and of equal ones the largest.
    fn floating(&self, island: &[u32]) -> Vec<usize> {
        let held = |giver: &Giver| giver.plus.iter().any(|plus| island[at(*plus)] == island[at(giver.minus)]);
        let rank = |number: usize| {
            let giver = &self.elements.givers[number];
            let most = giver.most.map_or(f64::INFINITY, |most| most.as_amps());
            (!self.pushed[number], !self.spent[number], giver.set.as_volts(), most)
        };
        let mut first: FxHashMap<(u32, u32), Vec<usize>> = FxHashMap::default();
        for (number, giver) in self.elements.givers.iter().enumerate() {
            if self.regime[number] == Regime::Holds || held(giver) || self.dead[number] {
                continue;
            }
            let Some(plus) = giver.plus.first() else { continue };
            let best = first.entry((island[at(*plus)], island[at(giver.minus)])).or_default();
            match best.first().map(|best| rank(*best).partial_cmp(&rank(number))) {
                None | Some(Some(Ordering::Less)) => *best = vec![number],
                Some(Some(Ordering::Equal)) => best.push(number),
                Some(_) => {}
            }
        }
        let mut all: Vec<usize> = first.into_values().flatten().collect();
        all.sort_unstable();
        all
    }

    fn number(&self, cluster: Vec<(u32, f64)>, island: Vec<u32>) -> Layout {
        const NONE: u32 = u32::MAX;
        let mut zero_at = vec![NONE; self.n];
        let mut zero = vec![0.0; self.n];
        let mut fed = vec![false; self.n];
        let mut alive = vec![false; self.n];
        for cell in &self.elements.cells {
            alive[island[at(cell.minus)] as usize] = true;
        }
        for (giver, regime, _) in self.givers() {
            let own = island[at(giver.minus)];
            if regime != Regime::Idle && giver.plus.iter().any(|plus| island[at(*plus)] == own) {
                alive[own as usize] = true;
            }
        }
        for minus in &self.elements.negatives {
            let own = island[at(*minus)] as usize;
            if alive[own] && zero_at[own] == NONE {
                let (root, offset) = cluster[at(*minus)];
                zero_at[own] = root;
                zero[own] = -offset;
                fed[own] = true;
            }
        }
        let mut unknown = vec![None; self.n];
        let mut n_unknowns = 0;
        for node in 0..self.n {
            let own = island[node] as usize;
            if cluster[node].0 as usize == node && fed[own] && zero_at[own] != node as u32 {
                unknown[node] = Some(n_unknowns);
                n_unknowns += 1;
            }
        }
        Layout { cluster, island, fed, unknown, zero, n_unknowns: n_unknowns as usize }
    }

    fn closed_links(&self) -> impl Iterator<Item = &'n super::network::Link> {
        let open = &self.elements.open;
        self.network.links.iter().filter(move |link| !open[link.component.index()])
    }

    fn givers(&self) -> impl Iterator<Item = (&'n Giver, Regime, &[bool])> {
        let rest = self.regime.iter().zip(&self.conducts);
        self.elements
            .givers
            .iter()
            .zip(rest)
            .map(|(giver, (regime, conducts))| (giver, *regime, conducts.as_slice()))
    }

    /// Voltages at which all currents balance under the present regimes.
    fn settle(&mut self, layout: &Layout) -> Result<State, Trouble> {
        let mut state = self.start(layout);
        let mut around = state.volts.clone();
        self.guess(layout, &mut around);
        let linear = Linear::new(self, layout);
        // The conductance of a load of constant power is negative; where it spoils the matrix, it stays outside.
        let tangent = linear.factor(self, layout, &around, true, None);
        let with = tangent.is_some();
        let Some(factor) = tangent.or_else(|| linear.factor(self, layout, &around, false, None)) else {
            return Err(Trouble::Unsettled(self.last));
        };
        self.shifts(layout, &factor, &mut state);
        state.volts.clone_from(&around);
        // What an output gives tells its input a step later, and so on along a row of them.
        let held = self.elements.givers.iter().enumerate();
        let held = held.filter(|(at_giver, giver)| giver.input.is_some() && self.is_tied(*at_giver)).count();
        let steps = STEPS + 2 * held.min(MOST_ROW);
        for step in 0..steps {
            let next = linear.step(self, layout, &factor, &around, with, &mut state);
            let moved = change(&state.volts, &next);
            state.volts = next;
            if !moved.is_finite() {
                break;
            }
            state.fresh = false;
            if moved <= SETTLED || (step + 1 == steps && moved <= NEAR) {
                self.currents(layout, &mut state);
                return self.checked(layout, state);
            }
        }
        self.damped(layout, &linear, with.then_some(factor), around)
    }

    /// Full Newton steps, each shortened until the currents balance better than before.
    fn damped(
        &mut self,
        layout: &Layout,
        linear: &Linear,
        mut known: Option<Factor>,
        start: Vec<f64>,
    ) -> Result<State, Trouble> {
        let mut state = self.start(layout);
        state.volts = start;
        for _ in 0..DAMPED_STEPS {
            let around = state.volts.clone();
            let Some(factor) = linear.factor(self, layout, &around, true, known.as_ref()) else {
                return Err(self.collapse(layout, &state));
            };
            self.shifts(layout, &factor, &mut state);
            let target = linear.step(self, layout, &factor, &around, true, &mut state);
            known = Some(factor);
            state.fresh = false;
            let mut share = 1.0;
            let before = linear.unbalance(self, layout, &mut state);
            loop {
                let trial: Vec<f64> =
                    around.iter().zip(&target).map(|(from, to)| from + share * (to - from)).collect();
                let moved = change(&around, &trial);
                state.volts = trial;
                let after = linear.unbalance(self, layout, &mut state);
                if share == 1.0 && moved <= SETTLED * 10.0 {
                    return self.checked(layout, state);
                }
                if after.is_finite() && (after < before || before == 0.0) {
                    break;
                }
                share /= 2.0;
                if share < 1e-6 {
                    state.volts = around;
                    // No better point on the way: either this is the best there is, or there is none.
                    return if before <= self.scale() * 1e-9 {
                        self.checked(layout, state)
                    } else {
                        Err(self.collapse(layout, &state))
                    };
                }
            }
        }
        Err(self.collapse(layout, &state))
    }

    /// The size of currents in this mode, to compare what is left over with.
    fn scale(&self) -> f64 {
        let cells = self.elements.cells.iter().map(|cell| (cell.voltage / cell.resistance).as_amps());
        cells.fold(1.0, f64::max)
    }

    fn checked(&self, layout: &Layout, state: State) -> Result<State, Trouble> {
        let collapsed = self.shares(layout, &state).any(|(share, draws, _)| draws && share <= COLLAPSED);
        if collapsed { Err(self.collapse(layout, &state)) } else { Ok(state) }
    }

    /// Voltage over nominal voltage of each load and each input, whether it draws a current that its voltage decides, and
    /// which it is.
    fn shares(&self, layout: &Layout, state: &State) -> impl Iterator<Item = (f64, bool, Trouble)> {
        let takers = self.elements.takers.iter().enumerate();
        let takers = takers.filter(|(_, taker)| layout.across(taker.plus, taker.minus));
        let takers = takers.map(|(at_taker, taker)| {
            let share = state.across(taker.plus, taker.minus) / taker.nominal.as_volts().max(1e-9);
            let draws = matches!(taker.demand, Demand::Power(_)) && state.taken[at_taker] != 0.0;
            (share, draws, Trouble::Collapse(at_taker))
        });
        let inputs = self.elements.givers.iter().enumerate().filter_map(|(at_giver, giver)| {
            let input = giver.input.filter(|input| layout.across(input.plus, input.minus))?;
            let share = state.across(input.plus, input.minus) / input.nominal.as_volts().max(1e-9);
            let draws = LEAST_AMPS < state.drawn[at_giver];
            draws.then_some((share, true, Trouble::Starved(at_giver)))
        });
        takers.chain(inputs).collect::<Vec<_>>().into_iter()
    }

    /// The load or input whose voltage is lowest against its nominal one.
    fn collapse(&self, layout: &Layout, state: &State) -> Trouble {
        let lowest = self.shares(layout, state).min_by(|a, b| a.0.total_cmp(&b.0));
        lowest.map_or(Trouble::Unsettled(self.last), |row| row.2)
    }

    fn start(&self, layout: &Layout) -> State {
        let givers = self.elements.givers.len();
        State {
            volts: vec![0.0; self.n],
            given: vec![0.0; givers],
            drawn: vec![0.0; givers],
            taken: vec![0.0; self.elements.takers.len()],
            shift: vec![0.0; givers],
            fresh: true,
        }
        .on(layout)
    }

    /// Nominal voltages at what takes current, to begin with.
    fn guess(&self, layout: &Layout, volts: &mut [f64]) {
        for taker in &self.elements.takers {
            if layout.across(taker.plus, taker.minus) {
                volts[at(taker.plus)] = volts[at(taker.minus)] + taker.nominal.as_volts();
            }
        }
        for giver in &self.elements.givers {
            if let Some(input) = &giver.input {
                volts[at(input.plus)] = volts[at(input.minus)] + input.nominal.as_volts();
            }
            for plus in &giver.plus {
                volts[at(*plus)] = volts[at(giver.minus)] + giver.set.as_volts();
            }
        }
    }

    /// Which outputs violate their regimes.
    fn changes(&mut self, layout: &Layout, state: &State) -> Vec<Change> {
        let mut changes = Vec::new();
        let outputs = self.outputs(layout, state);
        let anchors = self.anchors(layout);
        let pushing = self.pushing(layout, state);
        for (at_giver, giver) in self.elements.givers.iter().enumerate() {
            let regime = self.regime[at_giver];
            let starved = giver.input.as_ref().is_some_and(|input| !layout.across(input.plus, input.minus));
            let away = !giver.plus.iter().any(|plus| layout.across(*plus, giver.minus));
            if starved || away {
                if regime != Regime::Idle {
                    self.dead[at_giver] = true;
                    changes.push(Change {
                        giver: at_giver,
                        to: Regime::Idle,
                        output: None,
                        by: f64::INFINITY,
                    });
                }
                continue;
            }
            if regime == Regime::Gives && self.joins[at_giver] < MOST_JOINS && self.is_accompanied(at_giver) {
                // One of its company holds the voltage, and so it does too.
                changes.push(Change { giver: at_giver, to: Regime::Holds, output: None, by: f64::INFINITY });
                self.joins[at_giver] += 1;
                continue;
            }
            let island = layout.island[at(giver.minus)] as usize;
            let alone = regime == Regime::Holds && anchors[island] < 2;
            if alone && pushing[island] && outputs[at_giver].iter().sum::<f64>() < -LEAST_AMPS {
                // Those that push into it beyond their own voltage give way first.
                continue;
            }
            if let Some(change) = self.change_of(at_giver, giver, (layout, state), &outputs[at_giver], alone)
            {
                changes.push(change);
            }
        }
        changes
    }

    /// Islands on which an output gives current at more than its own voltage.
    fn pushing(&self, layout: &Layout, state: &State) -> Vec<bool> {
        let mut pushing = vec![false; self.n];
        for (giver, regime, _) in self.givers() {
            let gives = matches!(regime, Regime::Gives | Regime::InputBound);
            let set = giver.set.as_volts() * (1.0 + SLACK);
            let above = |plus: &TerminalId| set < state.across(*plus, giver.minus);
            if gives && giver.plus.iter().any(|plus| layout.across(*plus, giver.minus) && above(plus)) {
                pushing[layout.island[at(giver.minus)] as usize] = true;
            }
        }
        pushing
    }

    /// Whether another of its company holds the voltage.
    fn is_accompanied(&self, at_giver: usize) -> bool {
        let Some(own) = self.company[at_giver] else { return false };
        let mut members = self.company.iter().zip(&self.regime);
        members.any(|(company, regime)| *company == Some(own) && *regime == Regime::Holds)
    }

    /// How many batteries and holding outputs keep up the voltage of each island.
    fn anchors(&self, layout: &Layout) -> Vec<u32> {
        let mut anchors = vec![0; self.n];
        let holding = self.givers().filter(|row| row.1 == Regime::Holds).map(|row| row.0.minus);
        for minus in self.elements.cells.iter().map(|cell| cell.minus).chain(holding) {
            anchors[layout.island[at(minus)] as usize] += 1;
        }
        anchors
    }

    /// What violates an output's regime; one that holds alone has to go on, whatever it gives.
    fn change_of(
        &self,
        at_giver: usize,
        giver: &Giver,
        (layout, state): (&Layout, &State),
        outputs: &[f64],
        alone: bool,
    ) -> Option<Change> {
        let regime = self.regime[at_giver];
        let set = giver.set.as_volts();
        let conducts = &self.conducts[at_giver];
        let held = |plus: &TerminalId| state.across(*plus, giver.minus);
        let voltage = giver
            .plus
            .iter()
            .zip(conducts)
            .filter(|row| *row.1)
            .map(|row| held(row.0))
            .reduce(f64::max)
            .unwrap_or(0.0);
        let given: f64 = outputs.iter().sum();
        let change = |to, by: f64| Some(Change { giver: at_giver, to, output: None, by });
        let over = |value: f64, most: f64| value - most > SLACK * most.abs().max(1e-3);
        let too_much = |amps: f64, most: f64| amps - most > (SLACK * most).max(LEAST_AMPS);
        // A blocked output that lies lower would conduct; a conducting one that takes would block.
        if 1 < giver.plus.len() && regime != Regime::Idle {
            for (number, plus) in giver.plus.iter().enumerate() {
                if conducts[number]
                    && outputs[number] < -LEAST_AMPS
                    && conducts.iter().filter(|one| **one).count() > 1
                {
                    let output = Some((number, false));
                    return Some(Change { giver: at_giver, to: regime, output, by: -outputs[number] });
                }
                if !conducts[number] && layout.across(*plus, giver.minus) && over(voltage, held(plus)) {
                    let output = Some((number, true));
                    return Some(Change { giver: at_giver, to: regime, output, by: voltage - held(plus) });
                }
            }
        }
        let most = giver.most.map_or(f64::INFINITY, |most| most.as_amps());
        let input_most =
            giver.input.and_then(|input| input.most).map_or(f64::INFINITY, |most| most.as_amps());
        if regime == Regime::Idle {
            let lowest = giver.plus.iter().map(held).reduce(f64::min).unwrap_or(0.0);
            return if over(set, lowest) { change(Regime::Holds, set - lowest) } else { None };
        }
        if regime != Regime::Holds && over(voltage, set) {
            return change(Regime::Holds, voltage - set);
        }
        if given < -LEAST_AMPS {
            return change(Regime::Idle, -given);
        }
        let drawn = giver.input.map_or(0.0, |input| {
            let across = state.across(input.plus, input.minus);
            if 0.0 < across { voltage * given / (input.efficiency * across) } else { 0.0 }
        });
        if alone && self.spent[at_giver] || regime == Regime::Holds && MOST_FLIPS < self.flips[at_giver] {
            return None;
        }
        if regime != Regime::Gives && too_much(given, most) {
            return change(Regime::Gives, given - most);
        }
        if regime != Regime::InputBound && too_much(drawn, input_most) {
            return change(Regime::InputBound, drawn - input_most);
        }
        None
    }

    /// Lets outputs give no more than the limits of their inputs allow; whether that changed any.
    fn ease(&mut self) -> bool {
        let mut eased = false;
        for (at_giver, giver) in self.elements.givers.iter().enumerate() {
            let limited = giver.input.is_some_and(|input| input.most.is_some());
            if limited
                && !self.eased[at_giver]
                && matches!(self.regime[at_giver], Regime::Gives | Regime::Holds)
            {
                self.regime[at_giver] = Regime::InputBound;
                self.eased[at_giver] = true;
                eased = true;
            }
        }
        eased
    }

    /// Makes changes together, so that their order does not matter.
    fn apply(&mut self, changes: Vec<Change>) {
        let is_pushed =
            |change: &Change| self.regime[change.giver] == Regime::Holds && change.to == Regime::Idle;
        if changes.iter().any(|change| is_pushed(change) && !self.pushed[change.giver]) {
            // What was asked for too much beside it may be asked for less now.
            self.spent.fill(false);
        }
        for change in changes {
            self.last = change.giver;
            let from = std::mem::replace(&mut self.regime[change.giver], change.to);
            self.flips[change.giver] += u8::from(from == Regime::Holds && change.to == Regime::Gives);
            self.spent[change.giver] |=
                from == Regime::Holds && matches!(change.to, Regime::Gives | Regime::InputBound);
            self.pushed[change.giver] |= from == Regime::Holds && change.to == Regime::Idle;
            if let Some((output, conducts)) = change.output {
                self.conducts[change.giver][output] = conducts;
            }
        }
    }

    /// Amperes out of each output, by the balance at its terminal.
    fn outputs(&self, layout: &Layout, state: &State) -> Vec<Vec<f64>> {
        let leaving = self.leaving(layout, state);
        self.elements
            .givers
            .iter()
            .enumerate()
            .map(|(at_giver, giver)| match self.regime[at_giver] {
                Regime::Idle => vec![0.0; giver.plus.len()],
                _ if giver.plus.len() == 1 && !self.is_tied(at_giver) => {
                    vec![state.given[at_giver]]
                }
                _ => {
                    let one = |(plus, conducts): (&TerminalId, &bool)| {
                        if *conducts { leaving[at(*plus)] } else { 0.0 }
                    };
                    giver.plus.iter().zip(&self.conducts[at_giver]).map(one).collect()
                }
            })
            .collect()
    }

    /// Amperes that leave each terminal by branches, batteries and loads.
    fn leaving(&self, layout: &Layout, state: &State) -> Vec<f64> {
        let mut leaving = vec![0.0; self.n];
        let mut flow = |a: TerminalId, b: TerminalId, amps: f64| {
            leaving[at(a)] += amps;
            leaving[at(b)] -= amps;
        };
        for branch in &self.network.branches {
            if layout.is_fed(branch.a) {
                flow(branch.a, branch.b, state.across(branch.a, branch.b) / branch.resistance.as_ohms());
            }
        }
        for cell in &self.elements.cells {
            let emf = cell.voltage.as_volts();
            flow(
                cell.minus,
                cell.plus,
                (emf - state.across(cell.plus, cell.minus)) / cell.resistance.as_ohms(),
            );
        }
        for (taker, amps) in self.elements.takers.iter().zip(&state.taken) {
            flow(taker.plus, taker.minus, *amps);
        }
        for (giver, amps) in self.elements.givers.iter().zip(&state.drawn) {
            if let Some(input) = &giver.input {
                flow(input.plus, input.minus, *amps);
            }
        }
        leaving
    }

    fn finish(&self, layout: &Layout, state: &State) -> Result<Solution, Trouble> {
        let giver = self.outputs(layout, state);
        // What holds alone is judged here; the one that is asked for most beyond what it can stands for all.
        let over = |at_giver: usize| {
            let one = &self.elements.givers[at_giver];
            let most = one.most.map_or(f64::INFINITY, |most| most.as_amps());
            let given = (giver[at_giver].iter().sum::<f64>() / most, Trouble::Overloaded(at_giver));
            let input = one.input.and_then(|input| input.most).map_or(f64::INFINITY, |most| most.as_amps());
            let drawn = one.input.map_or(0.0, |input| {
                let out = one.plus.first().map_or(0.0, |plus| state.across(*plus, one.minus));
                let across = state.across(input.plus, input.minus).max(input.nominal.as_volts() * COLLAPSED);
                out * giver[at_giver].iter().sum::<f64>() / (input.efficiency * across)
            });
            let drawn = (drawn / input, Trouble::Drained(at_giver));
            if given.0 < drawn.0 { drawn } else { given }
        };
        // What gives all that it can and is pulled below nothing cannot feed what is there.
        let sunk = |at_giver: &usize| {
            let one = &self.elements.givers[*at_giver];
            let gives = matches!(self.regime[*at_giver], Regime::Gives | Regime::InputBound);
            let plus = one.plus.first().filter(|plus| layout.across(**plus, one.minus));
            gives && plus.is_some_and(|plus| state.across(*plus, one.minus) <= 0.0)
        };
        if let Some(sunk) = (0..giver.len()).find(sunk) {
            return Err(Trouble::Overloaded(sunk));
        }
        let holding = (0..giver.len()).filter(|at_giver| self.regime[*at_giver] == Regime::Holds);
        let worst = holding.map(over).max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((_, trouble)) = worst.filter(|worst| 1.0 + OVERLOAD < worst.0) {
            return Err(trouble);
        }
        let mut leaving = self.leaving(layout, state);
        for (one, amps) in self.elements.givers.iter().zip(&giver) {
            for (plus, amps) in one.plus.iter().zip(amps) {
                leaving[at(*plus)] -= amps;
                leaving[at(one.minus)] += amps;
            }
        }
        // Of the two terminals of a link, the one that only it joins to others tells the current best.
        let open = |link: &super::network::Link| self.elements.open[link.component.index()];
        let link = self.network.links.iter().map(|link| if open(link) { 0.0 } else { -leaving[at(link.a)] });
        let volts =
            (0..self.n).map(|node| layout.fed[layout.island[node] as usize].then_some(state.volts[node]));
        let branch = self.network.branches.iter().map(|branch| {
            if layout.is_fed(branch.a) {
                state.across(branch.a, branch.b) / branch.resistance.as_ohms()
            } else {
                0.0
            }
        });
        let cell = self.elements.cells.iter().map(|cell| {
            (cell.voltage.as_volts() - state.across(cell.plus, cell.minus)) / cell.resistance.as_ohms()
        });
        let takers = self.elements.takers.iter().enumerate();
        let unfed = takers.filter(|(_, taker)| !layout.across(taker.plus, taker.minus)).map(|row| row.0);
        let givers = self.elements.givers.iter().enumerate();
        let starved = givers.filter(|(_, giver)| {
            giver.input.as_ref().is_some_and(|input| !layout.across(input.plus, input.minus))
        });
        Ok(Solution {
            volts: volts.collect(),
            island: layout.island.clone(),
            branch: branch.collect(),
            link: link.collect(),
            cell: cell.collect(),
            taker: state.taken.clone(),
            input: state.drawn.clone(),
            dead: self.dead.clone(),
            leader: self.leader.clone(),
            conducts: self.conducts.clone(),
            giver,
            regime: self.regime.clone(),
            unfed: unfed.collect(),
            starved: starved.map(|row| row.0).collect(),
        })
    }
}

/// The part of a mode that does not change between steps.
struct Linear {
    /// Right-hand side of fixed currents, by unknown.
    fixed: Vec<f64>,
    conductances: Vec<(Option<u32>, Option<u32>, f64)>,
}

impl Linear {
    fn new(search: &Search<'_>, layout: &Layout) -> Self {
        let mut linear = Self { fixed: vec![0.0; layout.n_unknowns], conductances: Vec::new() };
        for branch in &search.network.branches {
            linear.conductance(layout, branch.a, branch.b, 1.0 / branch.resistance.as_ohms());
        }
        for cell in &search.elements.cells {
            let siemens = 1.0 / cell.resistance.as_ohms();
            linear.conductance(layout, cell.plus, cell.minus, siemens);
            inject(layout, &mut linear.fixed, cell.plus, cell.minus, cell.voltage.as_volts() * siemens);
        }
        for taker in &search.elements.takers {
            if let Demand::Resistance(resistance) = taker.demand {
                linear.conductance(layout, taker.plus, taker.minus, 1.0 / resistance.as_ohms());
            }
        }
        linear
    }

    /// A conductance between two terminals, with what their offsets drive through it.
    fn conductance(&mut self, layout: &Layout, a: TerminalId, b: TerminalId, siemens: f64) {
        let (from, to) = (layout.cluster[at(a)], layout.cluster[at(b)]);
        if from.0 == to.0 || !layout.is_fed(a) {
            return;
        }
        let known = |(root, offset): (u32, f64)| {
            let unknown = layout.unknown[root as usize];
            let zero =
                if unknown.is_none() { layout.zero[layout.island[root as usize] as usize] } else { 0.0 };
            (unknown, offset + zero)
        };
        let ((a, fixed_a), (b, fixed_b)) = (known(from), known(to));
        self.conductances.push((a, b, siemens));
        let driven = siemens * (fixed_a - fixed_b);
        if let Some(a) = a {
            self.fixed[a as usize] -= driven;
        }
        if let Some(b) = b {
            self.fixed[b as usize] += driven;
        }
    }

    fn factor(
        &self,
        search: &Search<'_>,
        layout: &Layout,
        around: &[f64],
        with: bool,
        known: Option<&Factor>,
    ) -> Option<Factor> {
        let mut matrix = Laplacian::new(layout.n_unknowns);
        for (a, b, siemens) in &self.conductances {
            matrix.add(*a, *b, *siemens);
        }
        if with {
            // The pattern is that of all loads, so that a known one fits again.
            search.slopes(layout, around, |a, b, slope| {
                let unknown = |node: TerminalId| layout.unknown[layout.cluster[at(node)].0 as usize];
                matrix.add(unknown(a), unknown(b), -slope);
            });
        }
        matrix.factor(known)
    }

    /// The voltages at which currents balance when what is not linear follows its tangent around given voltages.
    fn step(
        &self,
        search: &Search<'_>,
        layout: &Layout,
        factor: &Factor,
        around: &[f64],
        with: bool,
        state: &mut State,
    ) -> Vec<f64> {
        let mut side = self.fixed.clone();
        search.currents(layout, state);
        search.inject(layout, state, &mut side);
        if with {
            // The tangent's own part moves to the right-hand side at the present voltages.
            search.slopes(layout, around, |a, b, slope| {
                let across = state.volts[at(a)] - state.volts[at(b)];
                let (a_root, b_root) = (layout.cluster[at(a)], layout.cluster[at(b)]);
                let fixed = layout.fixed(a_root) - layout.fixed(b_root);
                // Matrix holds -slope between the unknowns; the rest of -slope * across stays here.
                add(layout, &mut side, a, -slope * (across - fixed));
                add(layout, &mut side, b, slope * (across - fixed));
            });
        }
        if !side.is_empty() {
            factor.solve(&mut side);
        }
        layout.volts(&side)
    }

    /// The largest current that is left over at any unknown.
    fn unbalance(&self, search: &Search<'_>, layout: &Layout, state: &mut State) -> f64 {
        let mut side = self.fixed.clone();
        search.currents(layout, state);
        search.inject(layout, state, &mut side);
        let potential = |one: Option<u32>, volts: &[f64]| one.map_or(0.0, |one| volts[one as usize]);
        let unknowns = layout.unknowns(&state.volts);
        for (a, b, siemens) in &self.conductances {
            let amps = siemens * (potential(*a, &unknowns) - potential(*b, &unknowns));
            if let Some(a) = a {
                side[*a as usize] -= amps;
            }
            if let Some(b) = b {
                side[*b as usize] += amps;
            }
        }
        side.iter()
            .fold(0.0, |most, one| if one.is_finite() { f64::max(most, one.abs()) } else { f64::INFINITY })
    }
}

impl Search<'_> {
    /// The slope of current over voltage of what is not linear, between two terminals; the same pairs at every call.
    fn slopes(&self, layout: &Layout, volts: &[f64], mut each: impl FnMut(TerminalId, TerminalId, f64)) {
        let across = |a: TerminalId, b: TerminalId| volts[at(a)] - volts[at(b)];
        for taker in &self.elements.takers {
            if let (Demand::Power(power), true) = (taker.demand, layout.across(taker.plus, taker.minus)) {
                let volts = across(taker.plus, taker.minus).max(taker.nominal.as_volts() * COLLAPSED);
                each(taker.plus, taker.minus, power.as_watts() / (volts * volts));
            }
        }
        for (giver, regime, _) in self.givers() {
            if let Some(input) = giver.input.filter(|input| layout.across(input.plus, input.minus)) {
                let nominal = input.nominal.as_volts();
                let volts = across(input.plus, input.minus).max(nominal * COLLAPSED);
                let power = match regime {
                    Regime::Idle | Regime::InputBound => 0.0,
                    Regime::Holds => 0.0,
                    Regime::Gives => giver.most.map_or(0.0, |most| (giver.set * most).as_watts()),
                };
                let drawn = power / input.efficiency / volts;
                let slope = if input.capped(drawn) < drawn { 0.0 } else { drawn / volts };
                each(input.plus, input.minus, slope);
            }
        }
    }

    /// Currents of what is not linear, at the present voltages.
    fn currents(&self, layout: &Layout, state: &mut State) {
        for (at_taker, taker) in self.elements.takers.iter().enumerate() {
            let across = state.across(taker.plus, taker.minus);
            state.taken[at_taker] = if layout.across(taker.plus, taker.minus) {
                match taker.demand {
                    Demand::Power(power) => {
                        power.as_watts() / across.max(taker.nominal.as_volts() * COLLAPSED)
                    }
                    Demand::Current(current) => current.as_amps(),
                    Demand::Resistance(resistance) => across / resistance.as_ohms(),
                }
            } else {
                0.0
            };
        }
        for (at_giver, giver) in self.elements.givers.iter().enumerate() {
            let regime = self.regime[at_giver];
            let conducts = giver.plus.iter().zip(&self.conducts[at_giver]).find(|row| *row.1);
            let Some((plus, _)) = conducts.filter(|row| layout.across(*row.0, giver.minus)) else {
                (state.given[at_giver], state.drawn[at_giver]) = (0.0, 0.0);
                continue;
            };
            let out = state.across(*plus, giver.minus);
            let out_floor = out.max(giver.set.as_volts() * COLLAPSED);
            let fed = giver.input.filter(|input| layout.across(input.plus, input.minus));
            let input_volts = fed.map_or(0.0, |input| {
                state.across(input.plus, input.minus).max(input.nominal.as_volts() * COLLAPSED)
            });
            if giver.input.is_some() && fed.is_none() {
                (state.given[at_giver], state.drawn[at_giver]) = (0.0, 0.0);
                continue;
            }
            let given = match regime {
                Regime::Idle => 0.0,
                Regime::Gives => giver.most.map_or(0.0, |most| most.as_amps()),
                Regime::InputBound => fed
                    .and_then(|input| Some(input.efficiency * input_volts * input.most?.as_amps()))
                    .map_or(0.0, |power| power / out_floor),
                // Found afterwards, by the balance of its terminals.
                Regime::Holds => state.given[at_giver],
            };
            state.given[at_giver] = given;
            state.drawn[at_giver] = match (fed, regime) {
                (None, _) | (_, Regime::Idle) => 0.0,
                (Some(input), Regime::InputBound) => input.most.map_or(0.0, |most| most.as_amps()),
                (Some(input), _) => input.capped(out * given / (input.efficiency * input_volts)),
            };
        }
        // What an output that holds its voltage gives follows from all else that meets at its terminals.
        for at_giver in 0..self.elements.givers.len() {
            if self.is_tied(at_giver) && !state.fresh {
                self.held(layout, state, at_giver);
            }
        }
        for at_giver in 0..self.elements.givers.len() {
            if let Some(leader) = self.leader[at_giver].filter(|_| !state.fresh) {
                state.given[at_giver] = self.ratio(at_giver, leader) * state.given[leader];
                self.drawn_for(layout, state, at_giver);
            }
        }
    }

    /// What a holding output gives, and draws for it.
    fn held(&self, layout: &Layout, state: &mut State, at_giver: usize) {
        let giver = &self.elements.givers[at_giver];
        let leads = self.leads[at_giver];
        if giver.input.is_none() && !leads {
            return;
        }
        let found = self.given_at(layout, state, at_giver);
        // Followers gave in proportion to the last current: the one at which leader and followers agree.
        let (before, shift) = (state.given[at_giver], state.shift[at_giver]);
        state.given[at_giver] = if leads { (found - shift * before) / (1.0 - shift) } else { found };
        self.drawn_for(layout, state, at_giver);
    }

    /// What leaves the outputs of a giver.
    fn given_at(&self, layout: &Layout, state: &State, at_giver: usize) -> f64 {
        let outputs = self.elements.givers[at_giver].plus.iter().zip(&self.conducts[at_giver]);
        outputs.filter(|row| *row.1).map(|(plus, _)| self.leaving_at(layout, state, *plus)).sum()
    }

    /// What a giver draws for what it gives at its voltage.
    fn drawn_for(&self, layout: &Layout, state: &mut State, at_giver: usize) {
        let giver = &self.elements.givers[at_giver];
        let Some(input) = giver.input.filter(|input| layout.across(input.plus, input.minus)) else { return };
        let out = match self.leader[at_giver] {
            None => giver.set.as_volts(),
            Some(_) => giver.plus.first().map_or(0.0, |plus| state.across(*plus, giver.minus)),
        };
        let across = state.across(input.plus, input.minus).max(input.nominal.as_volts() * COLLAPSED);
        // No input draws more than it can, so that a guess at regimes makes no voltage collapse; what is asked for beyond
        // is judged by what is given.
        let most = giver.most.map_or(f64::INFINITY, |most| most.as_amps() * BEYOND);
        let drawn = out * state.given[at_giver].min(most) / (input.efficiency * across);
        state.drawn[at_giver] = input.capped(drawn).max(0.0);
    }

    /// How leaders' own currents answer to what their followers give.
    fn shifts(&self, layout: &Layout, factor: &Factor, state: &mut State) {
        for leader in (0..self.leads.len()).filter(|at_giver| self.leads[*at_giver]) {
            if layout.n_unknowns == 0 {
                continue;
            }
            let mut side = vec![0.0; layout.n_unknowns];
            for (at_giver, giver) in self.elements.givers.iter().enumerate() {
                if let (true, Some(plus)) = (self.leader[at_giver] == Some(leader), giver.plus.first()) {
                    inject(layout, &mut side, *plus, giver.minus, self.ratio(at_giver, leader));
                }
            }
            factor.solve(&mut side);
            // Voltages of the answer alone: what is fixed does not move.
            let moved = State { volts: layout.moved(&side), ..self.start(layout) };
            state.shift[leader] = self.given_at(layout, &moved, leader).min(0.0);
        }
    }

    /// Amperes that leave one terminal by branches and loads.
    fn leaving_at(&self, layout: &Layout, state: &State, node: TerminalId) -> f64 {
        let mut sum = 0.0;
        for branch in self.network.at(node) {
            let branch = &self.network.branches[*branch as usize];
            if layout.is_fed(branch.a) {
                let amps = state.across(branch.a, branch.b) / branch.resistance.as_ohms();
                sum += if branch.a == node { amps } else { -amps };
            }
        }
        sum
    }

    /// Adds the currents of what is not linear to a right-hand side.
    fn inject(&self, layout: &Layout, state: &State, side: &mut [f64]) {
        for (taker, amps) in self.elements.takers.iter().zip(&state.taken) {
            if !matches!(taker.demand, Demand::Resistance(_)) {
                inject(layout, side, taker.minus, taker.plus, *amps);
            }
        }
        for (at_giver, giver) in self.elements.givers.iter().enumerate() {
            if !self.is_tied(at_giver) {
                let conducting = giver.plus.iter().zip(&self.conducts[at_giver]).find(|row| *row.1);
                if let Some((plus, _)) = conducting {
                    inject(layout, side, *plus, giver.minus, state.given[at_giver]);
                }
            }
            if let Some(input) = &giver.input {
                inject(layout, side, input.minus, input.plus, state.drawn[at_giver]);
            }
        }
    }
}

impl Input {
    /// What it draws at most where so much would be needed.
    fn capped(&self, drawn: f64) -> f64 {
        self.most.map_or(drawn, |most| drawn.min(most.as_amps() * BEYOND))
    }
}

/// A current into one terminal and out of another.
fn inject(layout: &Layout, side: &mut [f64], into: TerminalId, out_of: TerminalId, amps: f64) {
    add(layout, side, into, amps);
    add(layout, side, out_of, -amps);
}

fn add(layout: &Layout, side: &mut [f64], node: TerminalId, amps: f64) {
    if let Some(unknown) = layout.unknown[layout.cluster[at(node)].0 as usize] {
        side[unknown as usize] += amps;
    }
}

impl Layout {
    fn is_fed(&self, node: TerminalId) -> bool {
        self.fed[self.island[at(node)] as usize]
    }

    /// Whether two terminals lie on one island that has a source.
    fn across(&self, a: TerminalId, b: TerminalId) -> bool {
        self.is_fed(a) && self.island[at(a)] == self.island[at(b)]
    }

    /// What is known of a terminal's potential without its unknown.
    fn fixed(&self, (root, offset): (u32, f64)) -> f64 {
        match self.unknown[root as usize] {
            Some(_) => offset,
            None => offset + self.zero[self.island[root as usize] as usize],
        }
    }

    fn volts(&self, unknowns: &[f64]) -> Vec<f64> {
        let volt = |row: &(u32, f64)| {
            self.fixed(*row) + self.unknown[row.0 as usize].map_or(0.0, |one| unknowns[one as usize])
        };
        self.cluster.iter().map(volt).collect()
    }

    /// The change of each terminal for a change of the unknowns.
    fn moved(&self, unknowns: &[f64]) -> Vec<f64> {
        let one = |row: &(u32, f64)| self.unknown[row.0 as usize].map_or(0.0, |one| unknowns[one as usize]);
        self.cluster.iter().map(one).collect()
    }

    fn unknowns(&self, volts: &[f64]) -> Vec<f64> {
        let mut unknowns = vec![0.0; self.n_unknowns];
        for (root, unknown) in self.unknown.iter().enumerate() {
            if let Some(unknown) = unknown {
                unknowns[*unknown as usize] = volts[root] - self.cluster[root].1;
            }
        }
        unknowns
    }
}

impl State {
    fn on(mut self, layout: &Layout) -> Self {
        self.volts = layout.volts(&vec![0.0; layout.n_unknowns]);
        self
    }

    fn across(&self, a: TerminalId, b: TerminalId) -> f64 {
        self.volts[at(a)] - self.volts[at(b)]
    }
}

/// The largest change of a voltage, relative to the largest voltage.
fn change(before: &[f64], after: &[f64]) -> f64 {
    let scale = after.iter().fold(1.0, |most: f64, one| most.max(one.abs()));
    let moved = before.iter().zip(after).map(|(a, b)| (a - b).abs());
    moved.fold(0.0, |most, one| if one.is_finite() { f64::max(most, one) } else { f64::INFINITY }) / scale
}

/// Givers that nothing gives energy to, whatever the regimes: chargers whose input no battery, no source of its own and no
/// charger with such an input reaches. What feed only one another are among them.
fn dead(network: &Network, elements: &Elements) -> Vec<bool> {
    if elements.givers.iter().all(|giver| giver.input.is_none()) {
        return vec![false; elements.givers.len()];
    }
    let mut joined: UnionFind<usize> = UnionFind::new(network.n_terminals);
    let links = network.links.iter().filter(|link| !elements.open[link.component.index()]);
    let links = links.map(|link| (link.a, link.b));
    let branches = network.branches.iter().map(|branch| (branch.a, branch.b));
    let cells = elements.cells.iter().map(|cell| (cell.plus, cell.minus));
    let resists = elements.takers.iter().filter(|taker| matches!(taker.demand, Demand::Resistance(_)));
    let resists = resists.map(|taker| (taker.plus, taker.minus));
    for (a, b) in links.chain(branches).chain(cells).chain(resists) {
        joined.union(at(a), at(b));
    }
    let mut alive = vec![false; network.n_terminals];
    for cell in &elements.cells {
        alive[joined.find_mut(at(cell.plus))] = true;
    }
    let mut dead = vec![true; elements.givers.len()];
    let mut waiting: Vec<usize> = (0..dead.len()).collect();
    loop {
        let before = waiting.len();
        waiting.retain(|at_giver| {
            let giver = &elements.givers[*at_giver];
            let fed = giver.input.is_none_or(|input| {
                let plus = joined.find_mut(at(input.plus));
                plus == joined.find_mut(at(input.minus)) && alive[plus]
            });
            if fed {
                dead[*at_giver] = false;
                let mut lives = alive[joined.find_mut(at(giver.minus))];
                for plus in &giver.plus {
                    lives |= alive[joined.find_mut(at(*plus))];
                    joined.union(at(giver.minus), at(*plus));
                }
                let root = joined.find_mut(at(giver.minus));
                alive[root] |= lives || !giver.plus.is_empty();
            }
            !fed
        });
        if waiting.len() == before {
            return dead;
        }
    }
}

/// Outputs set to one voltage that only joints and closed devices lie between, in the positive and in the negative.
fn company(network: &Network, elements: &Elements) -> Vec<Option<u32>> {
    let mut company = vec![None; elements.givers.len()];
    let mut sets: Vec<u64> = elements.givers.iter().map(|giver| giver.set.as_volts().to_bits()).collect();
    sets.sort_unstable();
    if sets.windows(2).all(|pair| pair[0] != pair[1]) {
        return company;
    }
    let mut joined: UnionFind<usize> = UnionFind::new(network.n_terminals);
    for link in network.links.iter().filter(|link| !elements.open[link.component.index()]) {
        joined.union(at(link.a), at(link.b));
    }
    let is_joint = |path| matches!(path, Path::Joint(_) | Path::Returns(_));
    for branch in &network.branches {
        if is_joint(branch.path) || branch.resistance.as_ohms() <= JOINT_OHMS {
            joined.union(at(branch.a), at(branch.b));
        }
    }
    let mut number: FxHashMap<(usize, usize, u64), Vec<usize>> = FxHashMap::default();
    for (at_giver, giver) in elements.givers.iter().enumerate() {
        let most = giver.most.is_some_and(|most| 0.0 < most.as_amps());
        if let ([plus], true) = (giver.plus.as_slice(), most) {
            let key = (
                joined.find_mut(at(*plus)),
                joined.find_mut(at(giver.minus)),
                giver.set.as_volts().to_bits(),
            );
            number.entry(key).or_default().push(at_giver);
        }
    }
    for together in number.into_values().filter(|together| 1 < together.len()) {
        together.iter().for_each(|at_giver| company[*at_giver] = Some(together[0] as u32));
    }
    company
}

/// The place of a terminal in tables.
fn at(terminal: TerminalId) -> usize {
    terminal.index()
}

/// Union-find with offsets.
struct Ties {
    parent: Vec<u32>,
    /// Potential over the parent.
    offset: Vec<f64>,
}

impl Ties {
    fn new(n: usize) -> Self {
        Self { parent: (0..n as u32).collect(), offset: vec![0.0; n] }
    }

    /// The root of a node, and the node's potential over it.
    fn find(&mut self, node: usize) -> (u32, f64) {
        let mut root = node;
        let mut over = 0.0;
        while self.parent[root] as usize != root {
            over += self.offset[root];
            root = self.parent[root] as usize;
        }
        let (mut here, mut rest) = (node, over);
        while self.parent[here] as usize != root && here != root {
            let (parent, offset) = (self.parent[here] as usize, self.offset[here]);
            self.parent[here] = root as u32;
            self.offset[here] = rest;
            rest -= offset;
            here = parent;
        }
        (root as u32, over)
    }

    /// Ties `b` to lie `volts` over `a`; a tie that closes a circle is left out.
    fn join(&mut self, a: usize, b: usize, volts: f64) {
        let ((root_a, over_a), (root_b, over_b)) = (self.find(a), self.find(b));
        if root_a != root_b {
            self.parent[root_b as usize] = root_a;
            self.offset[root_b as usize] = over_a + volts - over_b;
        }
    }
}
