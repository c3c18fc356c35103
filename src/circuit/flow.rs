//! Amounts of current as whole microamperes, and maximum flow with the minimum cut nearest the sink.

use petgraph::algo::dinics;
use petgraph::graph::DiGraph;

use crate::check::Flow;
use crate::units::Current;

/// A capacity in microamperes; whole numbers, so that sums and comparisons are exact.
pub(crate) type Micro = u64;

/// Stands for "without limit". Every finite sum of a design stays far below.
pub(crate) const UNLIMITED: Micro = 1 << 61;

/// A current as a capacity.
pub(crate) fn micro(current: Current) -> Micro {
    let micro = (current.as_amps() * 1e6).round();
    if micro <= 0.0 {
        0
    } else if UNLIMITED as f64 <= micro {
        UNLIMITED
    } else {
        micro as Micro
    }
}

/// A finite capacity as a current.
pub(crate) fn current(micro: Micro) -> Current {
    Current::amps(micro as f64 / 1e6)
}

/// Sum that stops at [`UNLIMITED`].
pub(crate) fn plus(a: Micro, b: Micro) -> Micro {
    a.saturating_add(b).min(UNLIMITED)
}

/// As told to users.
pub(crate) fn flow(micro: Micro) -> Flow {
    match micro {
        0 => Flow::None,
        UNLIMITED.. => Flow::Unlimited,
        finite => Flow::Limited(current(finite)),
    }
}

/// A sum from which terms can be taken out again, unlimited ones included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Sum {
    n_unlimited: u32,
    finite: Micro,
}

impl Sum {
    pub(crate) fn add(&mut self, term: Micro) {
        if UNLIMITED <= term {
            self.n_unlimited += 1;
        } else {
            self.finite = self.finite.saturating_add(term);
        }
    }

    pub(crate) fn add_all(&mut self, other: Self) {
        self.n_unlimited += other.n_unlimited;
        self.finite = self.finite.saturating_add(other.finite);
    }

    /// The sum without a term that it has.
    pub(crate) fn without(self, term: Micro) -> Self {
        if UNLIMITED <= term {
            Self { n_unlimited: self.n_unlimited.saturating_sub(1), ..self }
        } else {
            Self { finite: self.finite.saturating_sub(term), ..self }
        }
    }

    pub(crate) fn without_all(self, other: Self) -> Self {
        Self {
            n_unlimited: self.n_unlimited.saturating_sub(other.n_unlimited),
            finite: self.finite.saturating_sub(other.finite),
        }
    }

    pub(crate) fn total(self) -> Micro {
        if 0 < self.n_unlimited { UNLIMITED } else { self.finite.min(UNLIMITED) }
    }
}

/// One arc of a flow network, with a label for its place in a cut.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Arc<L> {
    pub(crate) from: u32,
    pub(crate) to: u32,
    pub(crate) capacity: Micro,
    pub(crate) label: L,
}

/// The maximum flow from `source` to `sink`, at most [`UNLIMITED`].
pub(crate) fn maximum<L>(n_nodes: usize, arcs: &[Arc<L>], source: u32, sink: u32) -> Micro {
    solve(n_nodes, arcs, source, sink).0
}

/// The maximum flow, and the labels of the minimum cut nearest the sink; no cut where the flow is unlimited.
pub(crate) fn minimum_cut<L: Copy>(
    n_nodes: usize,
    arcs: &[Arc<L>],
    source: u32,
    sink: u32,
) -> (Micro, Vec<L>) {
    let (value, flows) = solve(n_nodes, arcs, source, sink);
    if UNLIMITED <= value {
        return (value, Vec::new());
    }
    // Nodes from which the sink can still be reached with residual capacity: their border is the nearest cut.
    let mut entering: Vec<Vec<u32>> = vec![Vec::new(); n_nodes];
    for (at, arc) in arcs.iter().enumerate() {
        if flows[at] < arc.capacity {
            entering[arc.to as usize].push(arc.from);
        }
        if 0 < flows[at] {
            entering[arc.from as usize].push(arc.to);
        }
    }
    let mut near = vec![false; n_nodes];
    near[sink as usize] = true;
    let mut stack = vec![sink];
    while let Some(node) = stack.pop() {
        for from in &entering[node as usize] {
            if !std::mem::replace(&mut near[*from as usize], true) {
                stack.push(*from);
            }
        }
    }
    let cut = arcs
        .iter()
        .filter(|arc| 0 < arc.capacity && !near[arc.from as usize] && near[arc.to as usize])
        .map(|arc| arc.label)
        .collect();
    (value, cut)
}

/// Runs petgraph's maximum flow behind a last arc of unlimited capacity, so that no sum overflows.
fn solve<L>(n_nodes: usize, arcs: &[Arc<L>], source: u32, sink: u32) -> (Micro, Vec<Micro>) {
    if source == sink {
        return (UNLIMITED, vec![0; arcs.len()]);
    }
    let mut graph: DiGraph<(), Micro, u32> = DiGraph::with_capacity(n_nodes + 1, arcs.len() + 1);
    let nodes: Vec<_> = (0..=n_nodes).map(|_| graph.add_node(())).collect();
    for arc in arcs {
        graph.add_edge(nodes[arc.from as usize], nodes[arc.to as usize], arc.capacity);
    }
    graph.add_edge(nodes[sink as usize], nodes[n_nodes], UNLIMITED);
    let (value, flows) = dinics(&graph, nodes[source as usize], nodes[n_nodes]);
    (value, flows)
}
