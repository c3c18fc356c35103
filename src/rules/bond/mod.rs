//! Rules whose id begins with `bond`.

pub(super) mod extra;
pub(super) mod undersize;
