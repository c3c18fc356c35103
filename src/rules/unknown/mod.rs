//! What could not be judged for want of a figure.

pub(super) mod rating;
