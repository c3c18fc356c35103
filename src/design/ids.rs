//! Small typed indices, and a vector that only they index.

use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// A typed index.
pub trait Id: Copy {
    /// From a position.
    fn from_index(index: usize) -> Self;
    /// The position.
    fn index(self) -> usize;
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(pub u32);

        impl Id for $name {
            fn from_index(index: usize) -> Self { Self(u32::try_from(index).unwrap_or(u32::MAX)) }
            fn index(self) -> usize { self.0 as usize }
        }
    )*};
}

ids! {
    /// A component.
    ComponentId;
    /// A wire.
    WireId;
    /// A data lead.
    DataId;
    /// A terminal of a component; a post, bar or chassis has one.
    TerminalId;
    /// A zone.
    ZoneId;
    /// A fitted kit.
    FitId;
    /// A mode.
    ModeId;
}

/// A vector indexed by one kind of id.
#[derive(Debug, Clone, PartialEq)]
pub struct Table<I, T> {
    rows: Vec<T>,
    id: PhantomData<I>,
}

impl<I, T> Default for Table<I, T> {
    fn default() -> Self {
        Self { rows: Vec::new(), id: PhantomData }
    }
}

impl<I: Id, T> Table<I, T> {
    /// Adds a row.
    pub fn push(&mut self, row: T) -> I {
        self.rows.push(row);
        I::from_index(self.rows.len() - 1)
    }

    /// Rows in order.
    pub fn iter(&self) -> std::slice::Iter<'_, T> {
        self.rows.iter()
    }

    /// Rows in order, to be changed.
    pub(super) fn iter_mut(&mut self) -> std::slice::IterMut<'_, T> {
        self.rows.iter_mut()
    }

    /// Rows with their ids, in order.
    pub fn entries(&self) -> impl DoubleEndedIterator<Item = (I, &T)> + ExactSizeIterator {
        self.rows.iter().enumerate().map(|(index, row)| (I::from_index(index), row))
    }

    /// Every id, in order.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = I> + use<I, T> {
        (0..self.rows.len()).map(I::from_index)
    }

    /// How many rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

impl<I: Id, T> Index<I> for Table<I, T> {
    type Output = T;
    fn index(&self, id: I) -> &T {
        &self.rows[id.index()]
    }
}

impl<I: Id, T> IndexMut<I> for Table<I, T> {
    fn index_mut(&mut self, id: I) -> &mut T {
        &mut self.rows[id.index()]
    }
}
