//! Rules about the colours of conductors.

pub(super) mod convention;
