//! Rules whose id begins with `mode`.

pub(super) mod unsolved;
