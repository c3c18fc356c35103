//! Rules whose id begins with `cutoff`.

pub(super) mod misused;
