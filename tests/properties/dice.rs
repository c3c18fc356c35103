//! Choices drawn from a list of numbers, so that a failing case shrinks by shrinking its list.

use proptest::prelude::*;

/// A list of throws; when it is used up every throw is a zero.
#[derive(Debug, Clone)]
pub(super) struct Dice {
    throws: Vec<u16>,
    at: usize,
}

impl Dice {
    /// A number below `sides`.
    pub(super) fn below(&mut self, sides: usize) -> usize {
        let throw = self.throws.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        usize::from(throw) % sides.max(1)
    }

    /// True once in so many throws.
    pub(super) fn once_in(&mut self, sides: usize) -> bool {
        self.below(sides) == sides - 1
    }

    /// One of the items.
    pub(super) fn one_of<'a, T>(&mut self, items: &'a [T]) -> &'a T {
        &items[self.below(items.len())]
    }
}

/// Lists of up to `most` throws.
pub(super) fn dice(most: usize) -> impl Strategy<Value = Dice> {
    prop::collection::vec(any::<u16>(), 1..most).prop_map(|throws| Dice { throws, at: 0 })
}
