//! The tables of a book as arrays that are quick to look up, each with its origin.

use super::origin::Origin;
use crate::design::{Coating, Colour, Strand, WireColour};
use crate::units::{Current, Gauge, Resistance, SLACK, Size, Temperature};

/// Where a value falls among the ascending keys of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Place {
    /// Exactly on a row.
    Row(usize),
    /// After this row by this part of the way to the next.
    Between(usize, f64),
    /// Below the first row; the ratio to it.
    Below(f64),
    /// Above the last row.
    Above,
}

pub(super) fn place(keys: &[f64], value: f64) -> Place {
    let next = keys.partition_point(|key| *key < value * (1.0 - SLACK));
    let before = next.checked_sub(1).and_then(|at| keys.get(at).map(|key| (at, *key)));
    match (before, keys.get(next)) {
        (_, Some(key)) if *key <= value * (1.0 + SLACK) => Place::Row(next),
        (Some((at, low)), Some(high)) => Place::Between(at, (value - low) / (high - low)),
        (None, Some(first)) => Place::Below(value / first),
        (_, None) => Place::Above,
    }
}

/// Ampacity by size and insulation class, single conductors in free air at the base temperature.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AmpacityTable {
    pub(super) origin: Origin,
    /// Ascending insulation classes in degrees Celsius.
    pub(super) classes: Vec<f64>,
    /// Ascending areas in square millimetres.
    pub(super) areas: Vec<f64>,
    /// How each row's size is written.
    pub(super) sizes: Vec<Size>,
    /// Amperes, row after row.
    pub(super) amps: Vec<f64>,
}

impl AmpacityTable {
    pub(super) fn amps(&self, row: usize, column: usize) -> f64 {
        self.amps.get(row * self.classes.len() + column).copied().unwrap_or(0.0)
    }

    /// The figure of a column at a place: interpolated by area, in proportion below, the last row above.
    pub(super) fn at(&self, place: Place, column: usize) -> f64 {
        match place {
            Place::Row(row) => self.amps(row, column),
            Place::Between(row, part) => {
                let low = self.amps(row, column);
                low + (self.amps(row + 1, column) - low) * part
            }
            Place::Below(ratio) => self.amps(0, column) * ratio,
            Place::Above => self.amps(self.areas.len().saturating_sub(1), column),
        }
    }
}

/// Factors for ambient temperature that are published for some classes, in bands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AmbientTable {
    pub(super) origin: Origin,
    /// Ascending insulation classes.
    pub(super) classes: Vec<f64>,
    /// Ascending upper ends of the bands, each with the factor of each class; 0 where none is published.
    pub(super) rows: Vec<Vec<f64>>,
}

impl AmbientTable {
    /// The published factor of a class at an ambient temperature.
    pub(super) fn published(&self, column: usize, ambient: f64) -> Option<f64> {
        let row = self.rows.iter().find(|row| row.first().is_some_and(|end| ambient <= end + SLACK))?;
        row.get(column + 1).copied().filter(|factor| 0.0 < *factor)
    }
}

/// The factor that a place warmer than the tables' base takes by class, up to the temperature of engine spaces.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct EngineSpace {
    pub(super) origin: Origin,
    /// The ambient temperature up to which the factors hold.
    pub(super) up_to: f64,
    /// Ascending insulation classes with their factors.
    pub(super) rows: Vec<(f64, f64)>,
}

impl EngineSpace {
    /// The factor of the highest class that is not above this one; the lowest one's as the most for classes below.
    pub(super) fn factor(&self, class: f64, plain: f64) -> f64 {
        match self.rows.iter().rev().find(|row| row.0 <= class + SLACK) {
            Some(row) => row.1,
            None => self.rows.first().map_or(plain, |row| row.1.min(plain)),
        }
    }
}

/// Steps of a figure: each row's value holds from its first cell on.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Steps {
    pub(super) origin: Origin,
    /// Ascending first cells with their figures.
    pub(super) rows: Vec<(f64, f64)>,
}

impl Steps {
    /// The figure of the last row whose first cell is at most `value`.
    pub(super) fn from(&self, value: f64) -> Option<f64> {
        self.rows.iter().rev().find(|row| row.0 <= value + SLACK).map(|row| row.1)
    }
}

/// Resistance of metric conductors at 20 °C by area: class 2 plain, class 2 tinned, class 5 plain, class 5 tinned.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MetricResistances {
    pub(super) origin: Origin,
    pub(super) areas: Vec<f64>,
    /// Ohms per kilometre.
    pub(super) ohms: Vec<[f64; 4]>,
}

/// What the resistance of other conductors is computed with.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Copper {
    pub(super) origin: Origin,
    /// Ohm square millimetres per kilometre at 20 °C.
    pub(super) resistivity: f64,
    /// Factor of stranding.
    pub(super) stranded: f64,
    /// Factor of tinning.
    pub(super) tinned: f64,
    /// Rise of resistance per kelvin, of that at 20 °C.
    pub(super) per_kelvin: f64,
}

impl Copper {
    pub(super) fn gauge(&self, area: f64, coating: Coating) -> f64 {
        let tinned = match coating {
            Coating::Plain => 1.0,
            Coating::Tinned => self.tinned,
        };
        self.resistivity / area * self.stranded * tinned
    }

    pub(super) fn warmed(&self, ohms_per_km: f64, temperature: Temperature) -> Resistance {
        let factor = 1.0 + self.per_kelvin * (temperature.as_celsius() - 20.0);
        Resistance::ohms(ohms_per_km / 1e3 * factor.max(0.0))
    }
}

impl MetricResistances {
    /// Ohms per kilometre at 20 °C; between rows, and past the ends, the rows' resistivity is carried over.
    pub(super) fn at(&self, area: f64, strand: Strand, coating: Coating) -> f64 {
        let column = match (strand, coating) {
            (Strand::Class2, Coating::Plain) => 0,
            (Strand::Class2, Coating::Tinned) => 1,
            (Strand::Class5, Coating::Plain) => 2,
            (Strand::Class5, Coating::Tinned) => 3,
        };
        let ohms = |row: usize| self.ohms.get(row).map_or(0.0, |row| row[column]);
        let resistivity = |row: usize| ohms(row) * self.areas.get(row).copied().unwrap_or(0.0);
        match place(&self.areas, area) {
            Place::Row(row) => ohms(row),
            Place::Between(row, part) => {
                let low = resistivity(row);
                (low + (resistivity(row + 1) - low) * part) / area
            }
            Place::Below(_) => resistivity(0) / area,
            Place::Above => resistivity(self.areas.len().saturating_sub(1)) / area,
        }
    }
}

/// Standard ratings of one kind of device.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Ratings {
    /// Each published list with its origin.
    pub(super) lists: Vec<(Origin, Vec<f64>)>,
    /// All of them together, ascending, each once.
    pub(super) all: Vec<Current>,
}

impl Ratings {
    pub(super) fn new(lists: Vec<(Origin, Vec<f64>)>) -> Self {
        let mut amps: Vec<f64> = lists.iter().flat_map(|list| list.1.iter().copied()).collect();
        amps.sort_by(f64::total_cmp);
        amps.dedup();
        Self { lists, all: amps.into_iter().map(Current::amps).collect() }
    }
}

/// Colours that a wire may have for what it carries.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Colours {
    pub(super) origin: Origin,
    /// Allowed colours; none where any will do.
    pub(super) allowed: Vec<WireColour>,
    /// Whether a tracer of any colour may be added.
    pub(super) tracer: bool,
}

impl Colours {
    pub(super) fn allow(&self, colour: WireColour) -> bool {
        let plain = WireColour { base: colour.base, tracer: None };
        self.allowed.is_empty()
            || self.allowed.contains(&colour)
            || (self.tracer && self.allowed.contains(&plain))
    }
}

/// A colour with its tracer, as `green/yellow`.
pub(super) fn colour(text: &str) -> Option<WireColour> {
    let one = |word: &str| Colour::WORDS.iter().find(|row| row.0 == word).map(|row| row.1);
    match text.split_once('/') {
        Some((base, tracer)) => Some(WireColour { base: one(base)?, tracer: Some(one(tracer)?) }),
        None => Some(WireColour { base: one(text)?, tracer: None }),
    }
}

/// What a conductor bears of energy in a fault, by insulation class: `k` of `k²S²`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Withstand {
    pub(super) origin: Origin,
    pub(super) class: f64,
    pub(super) k: f64,
}

/// A gate: at this share of its rating a device opens at the latest after this time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gate {
    /// Multiple of the rating.
    pub multiple: f64,
    /// Shortest time in seconds, where the standard has one.
    pub fastest_s: Option<f64>,
    /// Longest time in seconds, where the standard has one.
    pub slowest_s: Option<f64>,
}

/// The gates of one type of device for a range of ratings.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Opening {
    pub(super) origin: Origin,
    pub(super) least: f64,
    pub(super) most: f64,
    pub(super) gates: Vec<Gate>,
}

/// What a type of device breaks at a voltage.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Breaking {
    pub(super) origin: Origin,
    pub(super) amps: f64,
    pub(super) volts: f64,
}

/// A gauge's number as a figure of a table, and back.
pub(super) fn gauge(figure: f64) -> Gauge {
    #[expect(clippy::cast_possible_truncation, reason = "gauges run from -3 to 40")]
    Gauge(figure as i8)
}
