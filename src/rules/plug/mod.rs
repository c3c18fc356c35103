//! Rules whose id begins with `plug`.

pub(super) mod exposed;
