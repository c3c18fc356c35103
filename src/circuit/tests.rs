//! The decompositions against one plain maximum flow on the whole graph.

use proptest::prelude::*;

use super::arrival::{Arrival, Capacity, Feed, Term};
use super::circulation::around;
use super::flow::{Arc, Micro, UNLIMITED, maximum};
use super::graph::{Multigraph, NONE};

#[derive(Debug, Clone)]
struct Network {
    n_nodes: usize,
    ends: Vec<(u32, u32)>,
    capacity: Vec<Capacity>,
    feeds: Vec<Feed>,
}

fn capacity() -> impl Strategy<Value = Capacity> {
    prop_oneof![
        4 => Just(Capacity::METAL),
        3 => (1_u64..9).prop_map(|rating| Capacity { forth: rating, back: rating }),
        1 => Just(Capacity { forth: UNLIMITED, back: 0 }),
    ]
}

fn network() -> impl Strategy<Value = Network> {
    (2_usize..12).prop_flat_map(|n_nodes| {
        let node = 0..n_nodes as u32;
        let edge = (node.clone(), node.clone(), capacity());
        let feed = (node, prop_oneof![3 => 1_u64..9, 1 => Just(UNLIMITED)]);
        (prop::collection::vec(edge, 1..20), prop::collection::vec(feed, 0..4)).prop_map(
            move |(edges, feeds)| Network {
                n_nodes,
                ends: edges.iter().map(|edge| (edge.0, edge.1)).collect(),
                capacity: edges.iter().map(|edge| edge.2).collect(),
                feeds: feeds.iter().map(|feed| Feed { node: feed.0, limit: feed.1 }).collect(),
            },
        )
    })
}

/// Every edge but those left out, as arcs.
fn arcs(network: &Network, without: &[u32]) -> Vec<Arc<()>> {
    let mut arcs = Vec::new();
    for (edge, (a, b)) in network.ends.iter().enumerate() {
        if a == b || without.contains(&(edge as u32)) {
            continue;
        }
        let capacity = network.capacity[edge];
        for (from, to, capacity) in [(*a, *b, capacity.forth), (*b, *a, capacity.back)] {
            if 0 < capacity {
                arcs.push(Arc { from, to, capacity, label: () });
            }
        }
    }
    arcs
}

/// What arrives at a node from all feeds but some, without some edges.
fn plain_arrival(network: &Network, node: u32, without: &[u32], no_feeds: &[u32]) -> Micro {
    let mut arcs = arcs(network, without);
    let source = network.n_nodes as u32;
    for (number, feed) in network.feeds.iter().enumerate() {
        if !no_feeds.contains(&(number as u32)) {
            arcs.push(Arc { from: source, to: feed.node, capacity: feed.limit, label: () });
        }
    }
    maximum(network.n_nodes + 1, &arcs, source, node)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn arrival_is_the_plain_maximum_flow(network in network()) {
        let graph = Multigraph::new(network.n_nodes, network.ends.clone());
        let arrival = Arrival::new(graph, network.capacity.clone(), network.feeds.clone());
        for node in 0..network.n_nodes as u32 {
            prop_assert_eq!(arrival.at(node), plain_arrival(&network, node, &[], &[]), "node {}", node);
        }
        for (edge, (a, b)) in network.ends.iter().enumerate() {
            let edge = edge as u32;
            let (at_a, at_b) = arrival.ends(edge);
            prop_assert_eq!(at_a, plain_arrival(&network, *a, &[edge], &[]), "edge {} at {}", edge, a);
            prop_assert_eq!(at_b, plain_arrival(&network, *b, &[edge], &[]), "edge {} at {}", edge, b);
        }
    }

    #[test]
    fn a_cut_adds_up_to_the_flow_and_stops_it(network in network()) {
        let graph = Multigraph::new(network.n_nodes, network.ends.clone());
        let arrival = Arrival::new(graph, network.capacity.clone(), network.feeds.clone());
        for (edge, (a, b)) in network.ends.iter().enumerate() {
            let edge = edge as u32;
            let ends = arrival.ends(edge);
            for (node, value) in [(*a, ends.0), (*b, ends.1)] {
                if UNLIMITED <= value || a == b {
                    continue;
                }
                let cut = arrival.cut(edge, node);
                let (mut sum, mut edges, mut feeds) = (0, vec![edge], Vec::new());
                for term in cut {
                    match term {
                        Term::Edge(edge) => {
                            sum += network.capacity[edge as usize].forth;
                            edges.push(edge);
                        }
                        Term::Feed(feed) => {
                            sum += network.feeds[feed as usize].limit;
                            feeds.push(feed);
                        }
                    }
                }
                prop_assert_eq!(sum, value, "edge {} at {}", edge, node);
                prop_assert_eq!(plain_arrival(&network, node, &edges, &feeds), 0);
            }
        }
    }

    #[test]
    fn circulation_is_the_plain_maximum_flow(network in network()) {
        let rest = around(network.n_nodes, &network.ends, &network.capacity);
        for (edge, (a, b)) in network.ends.iter().enumerate() {
            if a == b {
                continue;
            }
            let arcs = arcs(&network, &[edge as u32]);
            prop_assert_eq!(rest[edge].forth, maximum(network.n_nodes, &arcs, *a, *b), "edge {} forth", edge);
            prop_assert_eq!(rest[edge].back, maximum(network.n_nodes, &arcs, *b, *a), "edge {} back", edge);
        }
    }

    #[test]
    fn blocks_agree_with_taking_edges_away(network in network()) {
        let graph = Multigraph::new(network.n_nodes, network.ends.clone());
        let blocks = graph.blocks(|_| true);
        for (edge, (a, b)) in network.ends.iter().enumerate() {
            let edge = edge as u32;
            if a == b {
                prop_assert_eq!(blocks.of_edge[edge as usize], NONE);
                continue;
            }
            let part = graph.components(|other| other != edge);
            prop_assert_eq!(blocks.is_bridge(edge), part[*a as usize] != part[*b as usize]);
        }
    }
}
