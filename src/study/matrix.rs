//! Sparse symmetric systems of conductances.

use std::cell::RefCell;
use std::thread::LocalKey;

use faer::Side;
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{SparseColMat, SymbolicSparseColMatRef, Triplet};
use rustc_hash::FxHashMap;

use super::inverse::{self, Inverse};

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
        let matrix = self.matrix()?;
        let symbolic = match known {
            Some(known) => known.symbolic.clone(),
            None => {
                kept(&ORDERS, matrix.symbolic(), |pattern| SymbolicLlt::try_new(pattern, Side::Lower).ok())?
            }
        };
        let numeric = Llt::try_new_with_symbolic(symbolic.clone(), matrix.as_ref(), Side::Lower).ok()?;
        Some(Factor { symbolic, numeric })
    }

    /// Its inverse, wherever two unknowns are joined; `None` where it is not positive definite.
    pub(super) fn inverse(&self) -> Option<Inverse> {
        let matrix = self.matrix()?;
        let order = kept(&INVERSES, matrix.symbolic(), inverse::order)?;
        Inverse::of(matrix.as_ref(), order)
    }

    /// Its lower half.
    fn matrix(&self) -> Option<SparseColMat<usize, f64>> {
        let n = self.diagonal.len();
        let own = self.diagonal.iter().enumerate().map(|(at, value)| Triplet::new(at, at, *value));
        let rest = self
            .between
            .iter()
            .map(|(row, column, value)| Triplet::new(*row as usize, *column as usize, *value));
        let triplets: Vec<_> = own.chain(rest).collect();
        SparseColMat::try_new_from_triplets(n, n, &triplets).ok()
    }
}

/// Orders of elimination by where the conductances stand.
type Orders<T> = LocalKey<RefCell<FxHashMap<Box<[usize]>, T>>>;

thread_local! {
    /// The modes of a design, and designs that are variants of one another, mostly have conductances in the same places;
    /// finding an order takes longer than all that follows.
    static ORDERS: RefCell<FxHashMap<Box<[usize]>, SymbolicLlt<usize>>> = RefCell::default();
    /// The same for inverses.
    static INVERSES: RefCell<FxHashMap<Box<[usize]>, inverse::Order>> = RefCell::default();
}

/// The order in which the unknowns are eliminated; it depends on the pattern alone.
fn kept<T: Clone>(
    orders: &'static Orders<T>,
    pattern: SymbolicSparseColMatRef<'_, usize>,
    find: impl Fn(SymbolicSparseColMatRef<'_, usize>) -> Option<T>,
) -> Option<T> {
    if MOST_KEPT < pattern.ncols() {
        return find(pattern);
    }
    let key = [&[pattern.ncols()][..], pattern.col_ptr(), pattern.row_idx()].concat();
    orders.with_borrow_mut(|orders| {
        if let Some(known) = orders.get(key.as_slice()) {
            return Some(known.clone());
        }
        let found = find(pattern)?;
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
}
