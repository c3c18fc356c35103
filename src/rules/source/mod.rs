//! Rules whose id begins with `source`.

pub(super) mod orphaned;
