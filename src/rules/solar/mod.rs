//! Rules whose id begins with `solar`, and which arrays feed which charger.

pub(super) mod cold;
pub(super) mod strings;

use rustc_hash::FxHashMap;

use crate::circuit::Source;
use crate::design::{Body, ComponentId, Kind, Solar};
use crate::units::Power;

use super::Context;

/// The arrays (single or in series) on each charger's input.
pub(in crate::rules) type Arrays<'c> = FxHashMap<ComponentId, Vec<&'c Source>>;

/// Which arrays feed which charger: those on both poles of its input, all switches closed.
pub(in crate::rules) fn arrays<'c>(cx: &Context<'c>) -> Arrays<'c> {
    let circuit = cx.circuit;
    let parallel = parallel(cx);
    let mut arrays = Arrays::default();
    if parallel.is_empty() {
        return arrays;
    }
    let part = |terminal| circuit.part[circuit.metal.node(terminal) as usize];
    for port in circuit.ports.iter().filter(|port| !port.source) {
        if cx.design.components[port.component].kind == Kind::Charger
            && let Some(on) =
                port.plus.first().and_then(|plus| parallel.get(&(part(*plus), part(port.minus))))
        {
            arrays.insert(port.component, on.clone());
        }
    }
    arrays
}

/// The arrays on each pair of poles, in order.
fn parallel<'c>(cx: &Context<'c>) -> FxHashMap<(u32, u32), Vec<&'c Source>> {
    let circuit = cx.circuit;
    let mut parallel: FxHashMap<(u32, u32), Vec<&Source>> = FxHashMap::default();
    for source in circuit.sources.iter().filter(|source| source.kind == Kind::Solar && !source.tap) {
        for key in circuit.poles(source) {
            parallel.entry(key).or_default().push(source);
        }
    }
    parallel
}

/// The modules of one statement.
fn solar<'c>(cx: &Context<'c>, id: ComponentId) -> Option<&'c Solar> {
    match &cx.design.components[id].body {
        Body::Solar(solar) => Some(solar),
        _ => None,
    }
}

/// The largest power of the modules of one statement.
pub(in crate::rules) fn power_of(cx: &Context<'_>, id: ComponentId) -> Option<Power> {
    let solar = solar(cx, id)?;
    Some(solar.vmp? * solar.imp? * f64::from(solar.strings))
}

/// The largest power of some arrays together; `None` where one does not state it.
pub(in crate::rules) fn power(cx: &Context<'_>, arrays: &[&Source]) -> Option<Power> {
    arrays.iter().flat_map(|source| &source.members).map(|id| power_of(cx, *id)).sum()
}
