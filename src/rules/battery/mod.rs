//! Rules whose id begins with `battery`.

pub(super) mod discharge;
pub(super) mod mixed;
pub(super) mod parallel;
pub(super) mod takeoff;
pub(super) mod tap;
