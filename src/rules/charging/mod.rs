//! Rules whose id begins with `charging`, and what charges what.

pub(super) mod cold;
pub(super) mod current;
pub(super) mod lockout;
pub(super) mod voltage;

use rustc_hash::FxHashMap;

use crate::circuit::Source;
use crate::design::{Battery, Body, ComponentId, Kind, Setting, SettingValue};
use crate::units::{Current, Voltage};

use super::Context;

/// Batteries on one pair of poles, in parallel, with all that charges them. Every switch is closed.
pub(in crate::rules) struct Charged<'c> {
    /// Batteries and strings, the lower part of a tapped one by itself.
    pub(in crate::rules) batteries: Vec<&'c Source>,
    /// Chargers with an output on their positive, whose negative comes back from theirs; in order of statements.
    pub(in crate::rules) chargers: Vec<ComponentId>,
    /// Alternators and supplies that are on both poles, in order of statements.
    direct: Vec<ComponentId>,
}

/// What charges what, in order of batteries; those that nothing charges are left out.
pub(in crate::rules) fn charged<'c>(cx: &Context<'c>) -> Vec<Charged<'c>> {
    let circuit = cx.circuit;
    let mut at: FxHashMap<(u32, u32), usize> = FxHashMap::default();
    let mut all: Vec<Charged<'c>> = Vec::new();
    for source in circuit.sources.iter().filter(|source| source.kind == Kind::Battery) {
        for key in circuit.poles(source) {
            let place = *at.entry(key).or_insert_with(|| {
                all.push(Charged { batteries: Vec::new(), chargers: Vec::new(), direct: Vec::new() });
                all.len() - 1
            });
            all[place].batteries.push(source);
        }
    }
    for source in &circuit.sources {
        for key in circuit.poles(source) {
            let Some(group) = at.get(&key).map(|place| &mut all[*place]) else { continue };
            let list = match source.kind {
                Kind::Charger => &mut group.chargers,
                Kind::Alternator | Kind::Supply => &mut group.direct,
                _ => continue,
            };
            if list.last() != Some(&source.component) {
                list.push(source.component);
            }
        }
    }
    for group in &mut all {
        group.chargers.sort_by_key(|id| cx.design.components[*id].place.order);
        group.direct.sort_by_key(|id| cx.design.components[*id].place.order);
    }
    all.retain(|group| !group.chargers.is_empty() || !group.direct.is_empty());
    all
}

impl Charged<'_> {
    /// Every battery, the members of strings one by one.
    fn members(&self) -> impl Iterator<Item = ComponentId> {
        self.batteries.iter().flat_map(|source| source.members.iter().copied())
    }

    /// The batteries by name.
    fn told(&self, cx: &Context<'_>) -> String {
        let members: Vec<ComponentId> = self.members().collect();
        Context::list(&cx.names(members.into_iter()))
    }
}

/// A battery's ratings.
fn battery<'c>(cx: &Context<'c>, id: ComponentId) -> Option<&'c Battery> {
    match &cx.design.components[id].body {
        Body::Battery(battery) => Some(battery),
        _ => None,
    }
}

/// What is to be programmed at commissioning, by component and word; of several the last.
pub(in crate::rules) struct Settings<'c>(FxHashMap<(ComponentId, &'c str), &'c Setting>);

impl<'c> Settings<'c> {
    pub(in crate::rules) fn new(cx: &Context<'c>) -> Self {
        Self(cx.design.settings.iter().map(|row| ((row.component, row.word.as_str()), row)).collect())
    }

    fn voltage(&self, id: ComponentId, word: &'c str) -> Option<(Voltage, &'c Setting)> {
        let setting = *self.0.get(&(id, word))?;
        match setting.value {
            SettingValue::Voltage(voltage) => Some((voltage, setting)),
            _ => None,
        }
    }

    /// What a charger is set to give at most, its rating at most.
    fn output(&self, id: ComponentId, rated: Current) -> (Current, Option<&'c Setting>) {
        match self.0.get(&(id, "current")).map(|row| (&row.value, *row)) {
            Some((SettingValue::Current(set), setting)) if *set < rated => (*set, Some(setting)),
            _ => (rated, None),
        }
    }
}
