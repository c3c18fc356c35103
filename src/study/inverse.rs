//! The inverse of a sparse symmetric system at the places where its factor has entries: on the diagonal and wherever the system
//! has one. It costs about as much as the factor, where solving for each unknown in turn would cost their square.
//!
//! The recurrence goes from the last column of the factor to the first, each from those after it: K. Takahashi, J. Fagan and
//! M.-S. Chin, «Formation of a sparse bus impedance matrix and its application to short circuit study», 8th PICA Conference,
//! 1973 (cited from memory). Of a system of conductances every sum in it is of terms of one sign.

use std::sync::Arc;

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::SparseColMatRef;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::simplicial::SymbolicSimplicialCholesky;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, SymbolicCholesky, SymbolicCholeskyRaw, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::{Par, Side};

/// Where the factor has entries, and in which order the unknowns are eliminated.
pub(super) type Order = Arc<SymbolicCholesky<usize>>;

/// The order for a matrix of which the lower half is given.
pub(super) fn order(pattern: faer::sparse::SymbolicSparseColMatRef<'_, usize>) -> Option<Order> {
    let column_by_column = CholeskySymbolicParams {
        supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SIMPLICIAL,
        ..CholeskySymbolicParams::default()
    };
    factorize_symbolic_cholesky(pattern, Side::Lower, SymmetricOrdering::Amd, column_by_column)
        .ok()
        .map(Arc::new)
}

/// The inverse, as far as it is known.
#[derive(Debug)]
pub(super) struct Inverse {
    order: Order,
    /// Column by column as in the factor: the diagonal first, then the rows below it.
    values: Vec<f64>,
}

impl Inverse {
    /// Of a matrix of which the lower half is given; `None` where it is not positive definite.
    pub(super) fn of(matrix: SparseColMatRef<'_, usize, f64>, order: Order) -> Option<Self> {
        let mut factor = vec![0.0; order.len_val()];
        let scratch = order.factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default());
        let mut buffer = MemBuffer::try_new(scratch).ok()?;
        let stack = MemStack::new(&mut buffer);
        order
            .factorize_numeric_llt(
                &mut factor,
                matrix,
                Side::Lower,
                Default::default(),
                Par::Seq,
                stack,
                Default::default(),
            )
            .ok()?;
        let values = selected(simplicial(&order)?, &factor);
        Some(Self { order, values })
    }

    /// The entry at two unknowns that the matrix joins, or twice the same; 0 where it is not known.
    pub(super) fn at(&self, a: u32, b: u32) -> f64 {
        let place = |unknown: u32| match self.order.perm() {
            Some(order) => order.arrays().1[unknown as usize],
            None => unknown as usize,
        };
        let (a, b) = (place(a), place(b));
        let (column, row) = (a.min(b), a.max(b));
        let Some(shape) = simplicial(&self.order) else { return 0.0 };
        let first = shape.col_ptr()[column];
        let rows = &shape.row_idx()[first..shape.col_ptr()[column + 1]];
        rows.binary_search(&row).map_or(0.0, |at| self.values[first + at])
    }
}

fn simplicial(order: &SymbolicCholesky<usize>) -> Option<&SymbolicSimplicialCholesky<usize>> {
    match order.raw() {
        SymbolicCholeskyRaw::Simplicial(shape) => Some(shape),
        SymbolicCholeskyRaw::Supernodal(_) => None,
    }
}

/// The inverse of `L Lᵀ` at the places of `L`. With `l = L / diagonal`, for the rows `i` below the diagonal of column `j`
/// `X[i,j] = -Σ l[k,j] X[k,i]`, and `X[j,j] = 1 / L[j,j]² - Σ l[k,j] X[k,j]`, both over the rows `k` below the diagonal.
fn selected(shape: &SymbolicSimplicialCholesky<usize>, factor: &[f64]) -> Vec<f64> {
    let (starts, rows) = (shape.col_ptr(), shape.row_idx());
    let n = shape.ncols();
    let mut inverse = vec![0.0; factor.len()];
    let (mut scaled, mut sum) = (vec![0.0; n], vec![0.0; n]);
    for column in (0..n).rev() {
        let (first, end) = (starts[column], starts[column + 1]);
        let diagonal = factor[first];
        for at in first + 1..end {
            scaled[rows[at]] = factor[at] / diagonal;
            sum[rows[at]] = 0.0;
        }
        for k in rows[first + 1..end].iter().copied() {
            let mut own = inverse[starts[k]] * scaled[k];
            for at in starts[k] + 1..starts[k + 1] {
                // Rows that the column has not: the one term is 0, and the other sum is not read.
                own += inverse[at] * scaled[rows[at]];
                sum[rows[at]] += inverse[at] * scaled[k];
            }
            sum[k] += own;
        }
        let mut on_diagonal = 1.0 / (diagonal * diagonal);
        for at in first + 1..end {
            inverse[at] = -sum[rows[at]];
            on_diagonal -= scaled[rows[at]] * inverse[at];
        }
        inverse[first] = on_diagonal;
        rows[first + 1..end].iter().for_each(|row| scaled[*row] = 0.0);
    }
    inverse
}

#[cfg(test)]
mod tests {
    use super::super::matrix::Laplacian;

    /// Against a solution for each unknown, on nets of all shapes: chains, stars, rings, meshes.
    #[test]
    fn is_what_solving_for_each_unknown_gives() {
        let mut seed = 7_u64;
        let mut random = move |below: u32| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((seed >> 33) % u64::from(below)) as u32
        };
        for round in 0..300 {
            let n = 1 + random(40);
            let n_more = [0, n / 3, 3 * n][round % 3];
            let mut edges = vec![(Some(0), None)];
            edges.extend((1..n).map(|one| (Some(one), Some([one - 1, 0, random(one)][round % 3]))));
            edges.extend((0..n_more).map(|_| (Some(random(n)), Some(random(n)).filter(|one| 0 < *one))));
            let mut matrix = Laplacian::new(n as usize);
            for (a, b) in &edges {
                matrix.add(*a, *b, 10.0_f64.powi(random(9) as i32 - 4));
            }
            let (factor, inverse) = (matrix.factor(None).unwrap(), matrix.inverse().unwrap());
            for a in 0..n {
                let mut column = vec![0.0; n as usize];
                column[a as usize] = 1.0;
                factor.solve(&mut column);
                let joined = edges.iter().filter_map(|(one, other)| match (*one, *other) {
                    (Some(one), Some(other)) if one == a => Some(other),
                    (Some(one), Some(other)) if other == a => Some(one),
                    _ => None,
                });
                for b in joined.chain([a]) {
                    let (is, wanted) = (inverse.at(a, b), column[b as usize]);
                    assert!(
                        (is - wanted).abs() <= 1e-9 * wanted,
                        "{is} for {wanted} at {a}, {b} of {edges:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn of_a_net_without_a_fixed_end_there_is_none() {
        let mut matrix = Laplacian::new(2);
        matrix.add(Some(0), Some(1), 1.0);
        assert!(matrix.inverse().is_none());
        assert!(Laplacian::new(0).inverse().is_some());
    }
}
