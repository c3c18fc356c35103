//! Sparse symmetric systems of conductances.

use std::cell::RefCell;

use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{SparseColMat, SymbolicSparseColMatRef, Triplet};
use faer::{Mat, Side};
use rustc_hash::FxHashMap;

/// Most unknowns of a system whose order of elimination is kept.
const MOST_KEPT: usize = 512;
/// Most orders of elimination that one thread keeps.
const MOST_ORDERS: usize = 128;

/// A symmetric matrix in the making: conductances between unknowns, and from unknowns to a fixed potential.
#[derive(Debug, Default)]
pub(super) struct Laplacian {
    /// Conductance from each unknown to all else, siemens.
    diagonal: Vec<f64>,
    between: Vec<(u32, u32, f64)>,
}

impl Laplacian {
    pub(super) fn new(n: usize) -> Self {
        Self { diagonal: vec![0.0; n], between: Vec::new() }
    }

    /// A conductance between two unknowns, or one unknown and what is fixed.
    pub(super) fn add(&mut self, a: Option<u32>, b: Option<u32>, siemens: f64) {
        match (a, b) {
            (Some(a), Some(b)) if a != b => {
                self.diagonal[a as usize] += siemens;
                self.diagonal[b as usize] += siemens;
                self.between.push((a.max(b), a.min(b), -siemens));
            }
            (Some(one), None) | (None, Some(one)) => self.diagonal[one as usize] += siemens,
            _ => {}
        }
    }

    /// Its Cholesky factor; `None` where it is not positive definite.
    pub(super) fn factor(&self, known: Option<&Factor>) -> Option<Factor> {
        let n = self.diagonal.len();
        let own = self.diagonal.iter().enumerate().map(|(at, value)| Triplet::new(at, at, *value));
        let rest = self
            .between
            .iter()
            .map(|(row, column, value)| Triplet::new(*row as usize, *column as usize, *value));
        let triplets: Vec<_> = own.chain(rest).collect();
        let matrix = SparseColMat::<usize, f64>::try_new_from_triplets(n, n, &triplets).ok()?;
        let symbolic = match known {
            Some(known) => known.symbolic.clone(),
            None => order(matrix.symbolic())?,
        };
        let numeric = Llt::try_new_with_symbolic(symbolic.clone(), matrix.as_ref(), Side::Lower).ok()?;
        Some(Factor { symbolic, numeric })
    }
}

thread_local! {
    /// Orders of elimination by where the conductances stand. The modes of a design, and designs that are variants of one
    /// another, mostly have them in the same places; finding an order takes longer than all that follows.
    static ORDERS: RefCell<FxHashMap<Box<[usize]>, SymbolicLlt<usize>>> = RefCell::default();
}

/// The order in which the unknowns are eliminated; it depends on the pattern alone.
fn order(pattern: SymbolicSparseColMatRef<'_, usize>) -> Option<SymbolicLlt<usize>> {
    let find = || SymbolicLlt::try_new(pattern, Side::Lower).ok();
    if MOST_KEPT < pattern.ncols() {
        return find();
    }
    let key = [&[pattern.ncols()][..], pattern.col_ptr(), pattern.row_idx()].concat();
    ORDERS.with_borrow_mut(|orders| {
        if let Some(known) = orders.get(key.as_slice()) {
            return Some(known.clone());
        }
        let found = find()?;
        if MOST_ORDERS <= orders.len() {
            orders.clear();
        }
        orders.insert(key.into(), found.clone());
        Some(found)
    })
}

/// A factored system.
#[derive(Debug)]
pub(super) struct Factor {
    symbolic: SymbolicLlt<usize>,
    numeric: Llt<usize, f64>,
}

impl Factor {
    /// Solves for one right-hand side, in place.
    pub(super) fn solve(&self, side: &mut [f64]) {
        let n = side.len();
        let view = faer::MatMut::from_column_major_slice_mut(side, n, 1);
        self.numeric.solve_in_place(view);
    }

    /// Solves for the columns of a matrix, in place.
    pub(super) fn solve_all(&self, sides: &mut Mat<f64>) {
        self.numeric.solve_in_place(sides.as_mut());
    }
}
