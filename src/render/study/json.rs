//! The JSON document of a study, in full precision.

use std::io::{Error, Result, Write};

use serde::ser::{Serialize, SerializeMap, Serializer};

use super::StudyReport;
use crate::render::json::Tool;
use crate::study::{
    DeviceFigures, EffectFigures, FaultFigures, Flow, ModeFigures, OpenedFigures, Opening, Unsolved,
    WireFigures,
};
use crate::units::{Current, Voltage};

/// One JSON document with every figure.
#[derive(Debug, Clone, Copy, Default)]
pub struct StudyJson;

impl StudyJson {
    /// Writes a study.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    pub fn write(&self, report: &StudyReport<'_>, out: &mut dyn Write) -> Result<()> {
        let figures = report.figures;
        let document = Document {
            tool: Tool::default(),
            schema: 1,
            file: report.path,
            design: report.design,
            book: report.book,
            conditions: ConditionsEntry {
                conductors_c: figures.conditions.temperature.as_celsius(),
                contacts: figures.conditions.contacts,
            },
            modes: Named(
                figures.modes.iter().map(|mode| (mode.name.as_str(), ModeEntry::of(mode))).collect(),
            ),
            faults: Named(
                figures.faults.iter().map(|fault| (fault.terminal.as_str(), FaultEntry::of(fault))).collect(),
            ),
            failures: figures.failures.as_ref().map(|failures| {
                Named(failures.opened.iter().map(|one| (one.name.as_str(), FailureEntry::of(one))).collect())
            }),
            unopened: figures.failures.as_ref().map(|failures| failures.unopened.as_slice()),
        };
        let text = serde_json::to_string_pretty(&document).map_err(Error::other)?;
        writeln!(out, "{text}")
    }
}

#[derive(serde::Serialize)]
struct Document<'f> {
    tool: Tool,
    schema: u32,
    file: &'f str,
    design: &'f str,
    book: &'f str,
    conditions: ConditionsEntry,
    modes: Named<'f, ModeEntry<'f>>,
    faults: Named<'f, FaultEntry<'f>>,
    /// What each open return connection does, by its name and mode.
    #[serde(skip_serializing_if = "Option::is_none")]
    failures: Option<Named<'f, FailureEntry<'f>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unopened: Option<&'f [String]>,
}

#[derive(serde::Serialize)]
#[serde(transparent)]
struct FailureEntry<'f>(Named<'f, EffectEntry<'f>>);

impl<'f> FailureEntry<'f> {
    fn of(opened: &'f OpenedFigures) -> Self {
        let effects = opened.effects.iter();
        Self(Named(effects.map(|effect| (effect.mode.as_str(), EffectEntry::of(effect))).collect()))
    }
}

#[derive(serde::Serialize)]
struct EffectEntry<'f> {
    #[serde(skip_serializing_if = "Option::is_none")]
    unsolved: Option<UnsolvedEntry<'f>>,
    overloaded: Named<'f, OverloadEntry>,
    home_by: HomeEntry<'f>,
    stops: &'f [String],
    as_resistance: &'f [String],
    meters: Named<'f, MisreadEntry>,
}

#[derive(serde::Serialize)]
struct OverloadEntry {
    amps: f64,
    ampacity_a: f64,
}

#[derive(serde::Serialize)]
struct HomeEntry<'f> {
    loads: &'f [String],
    conductors: Named<'f, Option<f64>>,
}

#[derive(serde::Serialize)]
struct MisreadEntry {
    reads_a: f64,
    was_a: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    true_a: Option<f64>,
}

impl<'f> EffectEntry<'f> {
    fn of(effect: &'f EffectFigures) -> Self {
        let overloads = effect.overloads.iter().map(|(name, amps, ampacity)| {
            let entry = OverloadEntry { amps: amps_of(*amps), ampacity_a: amps_of(*ampacity) };
            (name.as_str(), entry)
        });
        let by = effect.by.iter().map(|(name, amps)| (name.as_str(), amps.map(amps_of)));
        let meters = effect.meters.iter().map(|meter| {
            let entry = MisreadEntry {
                reads_a: amps_of(meter.reads),
                was_a: amps_of(meter.was),
                true_a: meter.truth.map(amps_of),
            };
            (meter.name.as_str(), entry)
        });
        Self {
            unsolved: effect.unsolved.as_ref().map(UnsolvedEntry::of),
            overloaded: Named(overloads.collect()),
            home_by: HomeEntry { loads: &effect.homes, conductors: Named(by.collect()) },
            stops: &effect.stops,
            as_resistance: &effect.weakened,
            meters: Named(meters.collect()),
        }
    }
}

#[derive(serde::Serialize)]
struct ConditionsEntry {
    conductors_c: f64,
    contacts: bool,
}

/// An object by name, in the order given.
struct Named<'f, T>(Vec<(&'f str, T)>);

impl<T: Serialize> Serialize for Named<'_, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, entry) in &self.0 {
            map.serialize_entry(name, entry)?;
        }
        map.end()
    }
}

#[derive(serde::Serialize)]
struct ModeEntry<'f> {
    #[serde(skip_serializing_if = "Option::is_none")]
    unsolved: Option<UnsolvedEntry<'f>>,
    nodes: Named<'f, f64>,
    wires: Named<'f, WireEntry>,
    meters: Named<'f, MeterEntry>,
    devices: Named<'f, DeviceEntry>,
}

impl<'f> ModeEntry<'f> {
    fn of(mode: &'f ModeFigures) -> Self {
        Self {
            unsolved: mode.unsolved.as_ref().map(UnsolvedEntry::of),
            nodes: Named(mode.nodes.iter().map(|(name, volts)| (name.as_str(), volts_of(*volts))).collect()),
            wires: Named(mode.wires.iter().map(|wire| (wire.name.as_str(), WireEntry::of(wire))).collect()),
            meters: Named(
                mode.meters
                    .iter()
                    .map(|(name, reads)| (name.as_str(), MeterEntry { reads_a: amps_of(*reads) }))
                    .collect(),
            ),
            devices: Named(
                mode.devices.iter().map(|device| (device.name.as_str(), DeviceEntry::of(device))).collect(),
            ),
        }
    }
}

#[derive(serde::Serialize)]
struct UnsolvedEntry<'f> {
    element: Option<&'f str>,
    why: String,
}

impl<'f> UnsolvedEntry<'f> {
    fn of(unsolved: &'f Unsolved) -> Self {
        let (element, why) = super::human::why(unsolved);
        Self { element, why }
    }
}

#[derive(serde::Serialize)]
struct WireEntry {
    amps: Option<f64>,
    drop_v: Option<f64>,
}

impl WireEntry {
    fn of(wire: &WireFigures) -> Self {
        Self { amps: wire.flow.map(|flow| amps_of(flow.0)), drop_v: wire.flow.map(|flow| volts_of(flow.1)) }
    }
}

#[derive(serde::Serialize)]
struct MeterEntry {
    reads_a: f64,
}

#[derive(serde::Serialize)]
#[serde(untagged)]
enum DeviceEntry {
    One(FlowEntry),
    Charger {
        #[serde(rename = "in", skip_serializing_if = "Option::is_none")]
        input: Option<FlowEntry>,
        out: FlowEntry,
        #[serde(skip_serializing_if = "Vec::is_empty")]
        outs: Vec<FlowEntry>,
    },
}

impl DeviceEntry {
    fn of(device: &DeviceFigures) -> Self {
        if device.outputs.is_empty() {
            return Self::One(FlowEntry::of(&device.flow));
        }
        // The outputs one by one only where there are several.
        let outs = device.outputs.iter().filter(|_| 1 < device.outputs.len()).map(FlowEntry::of).collect();
        Self::Charger {
            input: device.input.as_ref().map(FlowEntry::of),
            out: FlowEntry::of(&device.flow),
            outs,
        }
    }
}

#[derive(serde::Serialize)]
struct FlowEntry {
    amps: f64,
    watts: f64,
}

impl FlowEntry {
    fn of(flow: &Flow) -> Self {
        Self { amps: amps_of(flow.current), watts: positive_zero(flow.power.as_watts()) }
    }
}

#[derive(serde::Serialize)]
struct FaultEntry<'f> {
    largest_a: Option<f64>,
    smallest_a: Option<f64>,
    /// Null for a device that need not open; without one of which no time is known.
    opens_s: Named<'f, Option<f64>>,
}

impl<'f> FaultEntry<'f> {
    fn of(fault: &'f FaultFigures) -> Self {
        let opens = fault.opens.iter().filter_map(|(name, opening)| match opening {
            Opening::Within(time) => Some((name.as_str(), Some(time.as_seconds()))),
            Opening::Never => Some((name.as_str(), None)),
            Opening::Unknown => None,
        });
        Self {
            largest_a: fault.largest.map(amps_of),
            smallest_a: fault.smallest.map(amps_of),
            opens_s: Named(opens.collect()),
        }
    }
}

fn amps_of(current: Current) -> f64 {
    positive_zero(current.as_amps())
}

fn volts_of(voltage: Voltage) -> f64 {
    positive_zero(voltage.as_volts())
}

/// No `-0.0` in the document.
fn positive_zero(value: f64) -> f64 {
    if value == 0.0 { 0.0 } else { value }
}
