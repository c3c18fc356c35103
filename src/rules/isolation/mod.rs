//! Rules whose id begins with `isolation`.

pub(super) mod live;
pub(super) mod lost;

use std::collections::BTreeMap;

use crate::circuit::EdgeKind;
use crate::design::{Body, ComponentId};

use super::Context;
use super::context::Handles;

/// Main switches as they are worked: by handle, the first main switch of each with the edges of all its poles.
fn mains(cx: &Context<'_>) -> Vec<(ComponentId, Vec<u32>)> {
    let is_main = |id: ComponentId| match &cx.design.components[id].body {
        Body::Switch(switch) => switch.main,
        _ => false,
    };
    if !cx.design.components.ids().any(is_main) {
        return Vec::new();
    }
    let handles = Handles::of(cx.design);
    let mut by_root: BTreeMap<ComponentId, (Option<ComponentId>, Vec<u32>)> = BTreeMap::new();
    for id in cx.design.components.ids().filter(|id| is_main(*id)) {
        by_root.entry(handles.root(id)).or_default().0.get_or_insert(id);
    }
    for (edge, kind) in cx.circuit.metal.edges.iter().enumerate() {
        let (EdgeKind::Switch(id) | EdgeKind::Device(id)) = kind else { continue };
        if let Some(row) = by_root.get_mut(&handles.root(*id)) {
            row.1.push(edge as u32);
        }
    }
    let rows = by_root.into_values().filter(|row| !row.1.is_empty());
    rows.filter_map(|(main, poles)| Some((main?, poles))).collect()
}

/// Whether a component must stay fed with the main switch off.
fn is_standby(cx: &Context<'_>, id: ComponentId) -> bool {
    matches!(&cx.design.components[id].body, Body::Load(load) if load.standby)
}
