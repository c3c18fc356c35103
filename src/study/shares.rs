//! How batteries in parallel share a current, by nodal analysis of the metal between them.

use super::matrix::Laplacian;

/// A battery between two nodes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Branch {
    /// Node of its positive.
    pub(crate) plus: u32,
    /// Node of its negative.
    pub(crate) minus: u32,
    /// Its own resistance.
    pub(crate) ohms: f64,
}

/// The share of each battery in a current that leaves at `out` and comes back at `back`; `None` where nothing joins them.
///
/// `metal` is resistances in ohms between nodes below `n_nodes`. All batteries are taken at one voltage.
pub(crate) fn shares(
    n_nodes: usize,
    metal: &[(u32, u32, f64)],
    batteries: &[Branch],
    out: u32,
    back: u32,
) -> Option<Vec<f64>> {
    let unknown = |node: u32| match node.cmp(&back) {
        std::cmp::Ordering::Less => Some(node),
        std::cmp::Ordering::Equal => None,
        std::cmp::Ordering::Greater => Some(node - 1),
    };
    let n = n_nodes.checked_sub(1)?;
    let mut matrix = Laplacian::new(n);
    for (a, b, ohms) in metal {
        matrix.add(unknown(*a), unknown(*b), 1.0 / ohms);
    }
    for battery in batteries {
        matrix.add(unknown(battery.plus), unknown(battery.minus), 1.0 / battery.ohms);
    }
    let mut volts = vec![0.0; n];
    *volts.get_mut(unknown(out)? as usize)? -= 1.0;
    matrix.factor(None)?.solve(&mut volts);
    let at = |node: u32| unknown(node).and_then(|node| volts.get(node as usize)).copied().unwrap_or(0.0);
    let given = batteries.iter().map(|battery| (at(battery.minus) - at(battery.plus)) / battery.ohms);
    let shares: Vec<f64> = given.collect();
    shares.iter().all(|share| share.is_finite()).then_some(shares)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ladder_of_four_by_hand() {
        // Four batteries of 10 mohm in a row, links of 1 mohm in the positive and in the negative, both leads at the
        // first. From the far end: 10 + 2 (links) = 12 beside 10: 5.4545; + 2 = 7.4545 beside 10: 4.2708; + 2 = 6.2708
        // beside 10. The first takes 6.2708 / 16.2708 of all, and so on down the row.
        let metal: Vec<(u32, u32, f64)> =
            (0..3).flat_map(|at| [(at, at + 1, 1e-3), (4 + at, 5 + at, 1e-3)]).collect();
        let batteries: Vec<Branch> =
            (0..4).map(|at| Branch { plus: at, minus: 4 + at, ohms: 10e-3 }).collect();
        let found = shares(8, &metal, &batteries, 0, 4).expect("joined");
        let third = 10.0 * 12.0 / 22.0 + 2.0;
        let second = 10.0 * third / (10.0 + third) + 2.0;
        let first = second / (10.0 + second);
        let rest = 1.0 - first;
        let next = rest * third / (10.0 + third);
        let left = rest - next;
        let expected = [first, next, left * 12.0 / 22.0, left * 10.0 / 22.0];
        for (found, expected) in found.iter().zip(expected) {
            assert!((found - expected).abs() < 1e-12, "{found} {expected}");
        }
        // From opposite corners the row is symmetric.
        let found = shares(8, &metal, &batteries, 0, 7).expect("joined");
        assert!((found[0] - found[3]).abs() < 1e-12 && (found[1] - found[2]).abs() < 1e-12);
    }
}
