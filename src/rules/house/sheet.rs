//! The values of an element's fields.

use std::cell::{OnceCell, RefCell};

use rustc_hash::FxHashMap;

use crate::book::{Device, FieldRow, Row, Value};
use crate::circuit::CutTerm;
use crate::design::{Body, ComponentId};
use crate::rules::Context;
use crate::rules::unstated::Subject;

use super::beyond::Beyond;

/// Nominal voltages of the sources on a part of the metal graph.
#[derive(Debug, Clone, Copy, Default)]
struct Nominal {
    /// The highest of those whose positive is there.
    plus: Option<f64>,
    /// That of those whose negative is there.
    minus: Option<f64>,
    /// Those whose negative is there differ.
    mixed: bool,
}

/// Computes fields, and keeps what serves many elements.
pub(super) struct Sheet<'c> {
    pub(super) cx: Context<'c>,
    beyond: OnceCell<Beyond>,
    nominal: OnceCell<Vec<Nominal>>,
    highest: RefCell<FxHashMap<u32, Option<f64>>>,
    edges: OnceCell<FxHashMap<ComponentId, u32>>,
    banks: RefCell<FxHashMap<ComponentId, Vec<ComponentId>>>,
}

impl<'c> Sheet<'c> {
    pub(super) fn new(cx: &Context<'c>) -> Self {
        Self {
            cx: *cx,
            beyond: OnceCell::new(),
            nominal: OnceCell::new(),
            highest: RefCell::default(),
            edges: OnceCell::new(),
            banks: RefCell::default(),
        }
    }

    /// Adds the fields that a row does not have yet.
    pub(super) fn read(&self, subject: Subject, fields: &[&'static FieldRow], row: &mut Row<'c>) {
        for field in fields {
            if row.get(field.name).is_none() {
                let value = match subject {
                    Subject::Wire(id) => self.of_wire(id, field.field),
                    Subject::Component(id) => self.of_component(id, field.field),
                    Subject::Terminal(_) => Value::Unknown,
                };
                row.0.push((field, value));
            }
        }
    }

    pub(super) fn beyond(&self) -> &Beyond {
        self.beyond.get_or_init(|| Beyond::new(&self.cx))
    }

    /// The edge that runs through a component.
    pub(super) fn edge(&self, id: ComponentId) -> Option<u32> {
        let edges = self.edges.get_or_init(|| {
            let all = self.cx.circuit.metal.edges.iter().enumerate();
            all.filter_map(|(edge, kind)| Some((kind.component()?, edge as u32))).collect()
        });
        edges.get(&id).copied()
    }

    /// The nominal voltage on a part of the metal graph.
    pub(super) fn nominal(&self, part: u32) -> Option<f64> {
        let all = self.nominal.get_or_init(|| {
            let circuit = self.cx.circuit;
            let n_parts = circuit.part.iter().max().map_or(0, |most| *most as usize + 1);
            let mut all = vec![Nominal::default(); n_parts];
            for source in &circuit.sources {
                let Some(volts) = source.nominal.map(crate::units::Voltage::as_volts) else { continue };
                for plus in &source.plus {
                    let row = &mut all[circuit.part[*plus as usize] as usize];
                    row.plus = Some(row.plus.map_or(volts, |before| before.max(volts)));
                }
                let row = &mut all[circuit.part[source.minus as usize] as usize];
                row.mixed |= row.minus.is_some_and(|before| before != volts);
                row.minus = Some(volts);
            }
            all
        });
        let row = all.get(part as usize)?;
        row.plus.or(row.minus.filter(|_| !row.mixed))
    }

    /// The highest voltage that a live part can reach.
    pub(super) fn highest(&self, part: u32) -> Option<f64> {
        let mut known = self.highest.borrow_mut();
        *known.entry(part).or_insert_with(|| self.cx.highest_voltage(part).map(|row| row.0.as_volts()))
    }

    /// The batteries of a battery's bank or string, in the order of statements.
    pub(super) fn bank(&self, id: ComponentId) -> Vec<ComponentId> {
        if let Some(known) = self.banks.borrow().get(&id) {
            return known.clone();
        }
        let mut all: Vec<ComponentId> = self.cx.circuit.together(id).into_iter().collect();
        all.sort_unstable();
        let mut banks = self.banks.borrow_mut();
        for member in &all {
            banks.insert(*member, all.clone());
        }
        all
    }

    /// A term of a cut as a member of a list.
    pub(super) fn term(&self, term: &CutTerm) -> Device<'c> {
        self.device(term.component, crate::circuit::current(term.amount).as_amps())
    }

    pub(super) fn device(&self, id: ComponentId, rating_a: f64) -> Device<'c> {
        let component = &self.cx.design.components[id];
        Device {
            name: &component.name,
            kind: component.kind.word(),
            type_: device_type(&component.body),
            rating_a,
        }
    }
}

/// The type of a device in a word.
pub(super) fn device_type(body: &Body) -> Option<&'static str> {
    match body {
        Body::Fuse(fuse) => fuse.kind.map(crate::design::FuseType::word),
        Body::Breaker(_) => Some("breaker"),
        _ => None,
    }
}
