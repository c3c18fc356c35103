//! Rules whose id begins with `battery`.

pub(super) mod mixed;
pub(super) mod tap;
