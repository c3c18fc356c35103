//! The tables of a book: which there are, and how each is read from its text.

use std::collections::BTreeMap;

use toml::de::{DeTable, DeValue};

use super::ColourRole;
use super::fields::{Reader, Value, plain_number};
use super::origin::Origin;
use super::tables::{
    AmbientTable, AmpacityTable, Breaking, Colours, Copper, EngineSpace, Gate, MetricResistances, Opening,
    Ratings, Steps, Withstand,
};
use super::tables::{colour, gauge};
use crate::design::FuseType;
use crate::units::{Area, Gauge, Size, Temperature};

/// All tables of a book.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tables {
    /// The ambient temperature that the ampacity tables are for.
    pub(super) base: Temperature,
    pub(super) metric: AmpacityTable,
    pub(super) awg: AmpacityTable,
    pub(super) ambient: AmbientTable,
    /// Only where the book has one.
    pub(super) engine: Option<EngineSpace>,
    pub(super) bundling: Steps,
    pub(super) resistances: MetricResistances,
    pub(super) copper: Copper,
    pub(super) cold: Steps,
    pub(super) rings: Steps,
    pub(super) ratings: BTreeMap<&'static str, Ratings>,
    pub(super) withstand: Vec<Withstand>,
    pub(super) opening: BTreeMap<&'static str, Vec<Opening>>,
    pub(super) breaks: BTreeMap<&'static str, Vec<Breaking>>,
    pub(super) colours: BTreeMap<&'static str, Colours>,
}

impl Tables {
    pub(super) fn ratings(&self, kind: Option<FuseType>) -> Option<&Ratings> {
        self.ratings.get(kind.map_or("breaker", FuseType::word))
    }

    pub(super) fn colours(&self, role: ColourRole) -> Option<&Colours> {
        let word = ColourRole::WORDS.iter().find(|row| row.1 == role).map(|row| row.0)?;
        self.colours.get(word)
    }
}

/// Tables as far as they were read.
#[derive(Default)]
pub(super) struct Partial {
    metric: Option<AmpacityTable>,
    awg: Option<AmpacityTable>,
    ambient: Option<AmbientTable>,
    engine: Option<EngineSpace>,
    bundling: Option<Steps>,
    resistances: Option<MetricResistances>,
    copper: Option<Copper>,
    cold: Option<Steps>,
    rings: Option<Steps>,
    ratings: BTreeMap<&'static str, Ratings>,
    withstand: Vec<Withstand>,
    opening: BTreeMap<&'static str, Vec<Opening>>,
    breaks: BTreeMap<&'static str, Vec<Breaking>>,
    colours: BTreeMap<&'static str, Colours>,
}

/// The sections of a book that are tables.
pub(super) const SECTIONS: &[&str] = &[
    "ampacity",
    "ambient",
    "engine-space",
    "bundling",
    "resistance",
    "cold",
    "ring-holes",
    "ratings",
    "withstand",
    "opening",
    "breaks",
    "colours",
];

/// The ambient temperature that published ampacity tables and factors are for, in degrees Celsius.
const BASE: f64 = 30.0;

impl Partial {
    /// Every table of another book, to be replaced one by one.
    pub(super) fn based_on(tables: &Tables) -> Self {
        let tables = tables.clone();
        Self {
            metric: Some(tables.metric),
            awg: Some(tables.awg),
            ambient: Some(tables.ambient),
            engine: tables.engine,
            bundling: Some(tables.bundling),
            resistances: Some(tables.resistances),
            copper: Some(tables.copper),
            cold: Some(tables.cold),
            rings: Some(tables.rings),
            ratings: tables.ratings,
            withstand: tables.withstand,
            opening: tables.opening,
            breaks: tables.breaks,
            colours: tables.colours,
        }
    }

    /// Reads one of [`SECTIONS`].
    pub(super) fn read(&mut self, reader: &mut Reader<'_>, section: &str, value: &Value<'_>) {
        match section {
            "ambient" => self.ambient = read_ambient(reader, value).or(self.ambient.take()),
            "engine-space" => self.engine = read_engine(reader, value).or(self.engine.take()),
            "bundling" => self.bundling = read_steps(reader, value, section).or(self.bundling.take()),
            "cold" => self.cold = read_steps(reader, value, section).or(self.cold.take()),
            "ring-holes" => self.rings = read_steps(reader, value, section).or(self.rings.take()),
            "withstand" => self.withstand = read_withstand(reader, value),
            _ => {
                let Some(table) = reader.table(value, section) else { return };
                for (key, value) in table {
                    self.part(reader, section, key, value);
                }
            }
        }
    }

    fn part(
        &mut self,
        reader: &mut Reader<'_>,
        section: &str,
        key: &toml::Spanned<std::borrow::Cow<'_, str>>,
        value: &Value<'_>,
    ) {
        let word = key.get_ref().as_ref();
        let known: Vec<&'static str> = match section {
            "ampacity" => vec!["metric", "awg"],
            "resistance" => vec!["metric", "copper"],
            "colours" => ColourRole::WORDS.iter().map(|row| row.0).collect(),
            _ => FuseType::WORDS.iter().map(|row| row.0).chain(["breaker"]).collect(),
        };
        let Some(&word) = known.iter().find(|known| **known == word) else {
            reader.unknown(key.span(), "table", word, &known);
            return;
        };
        match (section, word) {
            ("ampacity", "metric") => {
                self.metric = read_ampacity(reader, value, false).or(self.metric.take())
            }
            ("ampacity", _) => self.awg = read_ampacity(reader, value, true).or(self.awg.take()),
            ("resistance", "metric") => {
                self.resistances = read_metric(reader, value).or(self.resistances.take())
            }
            ("resistance", _) => self.copper = read_copper(reader, value).or(self.copper.take()),
            ("colours", _) => self.colours.extend(read_colours(reader, value).map(|colours| (word, colours))),
            ("opening", _) => _ = self.opening.insert(word, read_opening(reader, value)),
            ("breaks", _) => _ = self.breaks.insert(word, read_breaks(reader, value)),
            _ => _ = self.ratings.insert(word, read_ratings(reader, value)),
        }
    }

    /// All tables, or the names of those that are missing.
    pub(super) fn finish(self) -> Result<Tables, Vec<&'static str>> {
        let missing = self.missing();
        let tables = (|| {
            Some(Tables {
                base: Temperature::celsius(BASE),
                metric: self.metric?,
                awg: self.awg?,
                ambient: self.ambient?,
                engine: self.engine,
                bundling: self.bundling?,
                resistances: self.resistances?,
                copper: self.copper?,
                cold: self.cold?,
                rings: self.rings?,
                ratings: self.ratings,
                withstand: self.withstand,
                opening: self.opening,
                breaks: self.breaks,
                colours: self.colours,
            })
        })();
        tables.filter(|_| missing.is_empty()).ok_or(missing)
    }

    fn missing(&self) -> Vec<&'static str> {
        let all = [
            ("ampacity.metric", self.metric.is_none()),
            ("ampacity.awg", self.awg.is_none()),
            ("ambient", self.ambient.is_none()),
            ("bundling", self.bundling.is_none()),
            ("resistance.metric", self.resistances.is_none()),
            ("resistance.copper", self.copper.is_none()),
            ("cold", self.cold.is_none()),
            ("ring-holes", self.rings.is_none()),
            ("ratings", self.ratings.is_empty()),
            ("withstand", self.withstand.is_empty()),
            ("opening", self.opening.is_empty()),
            ("colours", self.colours.is_empty()),
        ];
        all.iter().filter(|row| row.1).map(|row| row.0).collect()
    }
}

fn read_ampacity(reader: &mut Reader<'_>, value: &Value<'_>, by_gauge: bool) -> Option<AmpacityTable> {
    let (origin, table) = reader.fields(value, "ampacity", &["classes", "rows"])?;
    let classes = reader.numbers(table.get("classes")?, "classes");
    let mut rows = reader.rows(
        table.get("rows")?,
        classes.len() + 1,
        if by_gauge { gauge_number } else { plain_number },
    );
    let size = |first: f64| if by_gauge { Size::Awg(gauge(first)) } else { Size::Metric(Area::mm2(first)) };
    let area = |row: &Vec<f64>| row.first().map_or(0.0, |first| size(*first).area().as_mm2());
    rows.sort_by(|a, b| area(a).total_cmp(&area(b)));
    let falls = |pair: &[f64]| pair[1] < pair[0];
    if classes.is_empty() || rows.is_empty() || classes.windows(2).any(falls) {
        reader.problem(
            value.span(),
            "the classes do not ascend, or the table is empty",
            "list the lowest class first",
        );
        return None;
    }
    let sizes: Vec<Size> = rows.iter().filter_map(|row| row.first()).map(|first| size(*first)).collect();
    let areas = sizes.iter().map(|size| size.area().as_mm2()).collect();
    let amps = rows.into_iter().flat_map(|row| row.into_iter().skip(1)).collect();
    Some(AmpacityTable { origin, classes, areas, sizes, amps })
}

fn gauge_number(value: &DeValue<'_>) -> Option<f64> {
    value.as_str().and_then(Gauge::parse).map(|gauge| f64::from(gauge.0))
}

fn read_ambient(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<AmbientTable> {
    let (origin, table) = reader.fields(value, "ambient", &["classes", "rows"])?;
    let classes = reader.numbers(table.get("classes")?, "classes");
    let mut rows = reader.rows(table.get("rows")?, classes.len() + 1, plain_number);
    rows.sort_by(|a, b| a.first().unwrap_or(&0.0).total_cmp(b.first().unwrap_or(&0.0)));
    Some(AmbientTable { origin, classes, rows })
}

fn read_engine(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<EngineSpace> {
    let (origin, table) = reader.fields(value, "engine-space", &["up-to", "rows"])?;
    let up_to = reader.number(table.get("up-to")?, "up-to")?;
    Some(EngineSpace { origin, up_to, rows: pairs(reader, table)? })
}

fn read_steps(reader: &mut Reader<'_>, value: &Value<'_>, name: &str) -> Option<Steps> {
    let (origin, table) = reader.fields(value, name, &["rows"])?;
    Some(Steps { origin, rows: pairs(reader, table)? })
}

/// Rows of two figures, ascending.
fn pairs(reader: &mut Reader<'_>, table: &DeTable<'_>) -> Option<Vec<(f64, f64)>> {
    let rows = reader.rows(table.get("rows")?, 2, plain_number);
    let mut rows: Vec<_> = rows.iter().filter_map(|row| Some((*row.first()?, *row.get(1)?))).collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(rows)
}

fn read_metric(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<MetricResistances> {
    let (origin, table) = reader.fields(value, "resistance.metric", &["columns", "rows"])?;
    reader.list(table.get("columns")?, "columns");
    let mut rows: Vec<(f64, [f64; 4])> = reader
        .rows(table.get("rows")?, 5, plain_number)
        .into_iter()
        .filter_map(|row| Some((*row.first()?, row.get(1..5)?.try_into().ok()?)))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (areas, ohms) = rows.into_iter().unzip();
    Some(MetricResistances { origin, areas, ohms })
}

fn read_copper(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Copper> {
    let keys = ["resistivity", "stranded", "tinned", "per-kelvin"];
    let (origin, table) = reader.fields(value, "resistance.copper", &keys)?;
    let mut number = |key: &str| reader.number(table.get(key)?, key);
    Some(Copper {
        origin,
        resistivity: number("resistivity")?,
        stranded: number("stranded")?,
        tinned: number("tinned")?,
        per_kelvin: number("per-kelvin")?,
    })
}

fn read_ratings(reader: &mut Reader<'_>, value: &Value<'_>) -> Ratings {
    let mut lists: Vec<(Origin, Vec<f64>)> = Vec::new();
    for list in reader.list(value, "ratings") {
        let Some((origin, table)) = reader.fields(list, "ratings", &["amps"]) else { continue };
        lists.extend(table.get("amps").map(|amps| (origin, reader.numbers(amps, "amps"))));
    }
    Ratings::new(lists)
}

fn read_withstand(reader: &mut Reader<'_>, value: &Value<'_>) -> Vec<Withstand> {
    let mut rows = Vec::new();
    for row in reader.list(value, "withstand") {
        let Some((origin, table)) = reader.fields(row, "withstand", &["class", "k"]) else { continue };
        let mut number = |key: &str| reader.number(table.get(key)?, key);
        if let (Some(class), Some(k)) = (number("class"), number("k")) {
            rows.push(Withstand { origin, class, k });
        }
    }
    rows.sort_by(|a, b| a.class.total_cmp(&b.class));
    rows
}

fn read_opening(reader: &mut Reader<'_>, value: &Value<'_>) -> Vec<Opening> {
    let mut all = Vec::new();
    for part in reader.list(value, "opening") {
        let Some((origin, table)) = reader.fields(part, "opening", &["ratings", "rows"]) else { continue };
        let (Some(range), Some(rows)) = (table.get("ratings"), table.get("rows")) else { continue };
        let [least, most] = reader.numbers(range, "ratings")[..] else {
            reader.problem(
                range.span(),
                "`ratings` has not two figures",
                "give the least and the largest rating",
            );
            continue;
        };
        let some = |seconds: f64| (0.0 < seconds).then_some(seconds);
        let gates = reader.rows(rows, 3, plain_number).into_iter().filter_map(|row| match row[..] {
            [percent, fastest, slowest] => {
                Some(Gate { multiple: percent / 100.0, fastest_s: some(fastest), slowest_s: some(slowest) })
            }
            _ => None,
        });
        let gates = gates.collect();
        all.push(Opening { origin, least, most, gates });
    }
    all
}

fn read_breaks(reader: &mut Reader<'_>, value: &Value<'_>) -> Vec<Breaking> {
    let mut rows = Vec::new();
    for row in reader.list(value, "breaks") {
        let Some((origin, table)) = reader.fields(row, "breaks", &["amps", "volts"]) else { continue };
        let mut number = |key: &str| reader.number(table.get(key)?, key);
        if let (Some(amps), Some(volts)) = (number("amps"), number("volts")) {
            rows.push(Breaking { origin, amps, volts });
        }
    }
    rows.sort_by(|a, b| a.volts.total_cmp(&b.volts));
    rows
}

fn read_colours(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Colours> {
    let (origin, table) = reader.fields(value, "colours", &["allowed", "tracer"])?;
    let tracer = reader.flag(table.get("tracer")?, "tracer")?;
    let mut allowed = Vec::new();
    for word in reader.list(table.get("allowed")?, "allowed") {
        let Some(text) = reader.text(word, "allowed") else { continue };
        match colour(text) {
            Some(colour) => allowed.push(colour),
            None => {
                let words = crate::design::Colour::WORDS.map(|row| row.0);
                reader.unknown(word.span(), "colour", text, &words);
            }
        }
    }
    Some(Colours { origin, allowed, tracer })
}
