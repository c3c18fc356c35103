//! A book's figures by name, for messages and for the listing.

use std::sync::Arc;

use super::limits::Limit;
use super::origin::{Cell, Confidence, Figure, Origin};
use super::tables::{Colours, Opening, Steps};
use super::{Book, quantity};
use crate::design::FuseType;
use crate::units::{Area, Current, Size, Temperature, Voltage};

/// Where the factor of a class without published ones is from.
const SQUARE_ROOT_RULE: &str =
    "heat balance; within 0.01 of the engine-space factors of 33 CFR 183.425 Table 5 note 1 up to 125 C";

impl Book {
    /// A limit or a table by its name.
    #[must_use]
    pub fn figure(&self, name: &str) -> Option<Figure> {
        let limit = Limit::all().find(|limit| limit.name() == name);
        match limit {
            Some(limit) => self.limit_figure(limit),
            None => self.frequent_figure(name).or_else(|| {
                let all = self.table_figures();
                all.into_iter().find(|row| row.0 == name).map(|row| row.1)
            }),
        }
    }

    /// The figure of a table that findings cite in numbers, without listing all tables.
    fn frequent_figure(&self, name: &str) -> Option<Figure> {
        let tables = self.tables();
        match name.split_once('.') {
            Some(("colours", role)) => {
                tables.colours.iter().find(|row| *row.0 == role).map(|row| colours_figure(row.1))
            }
            _ => (name == "ring-holes").then(|| steps_figure(&tables.rings)),
        }
    }

    /// The gates of a fuse type (`None`: of breakers) for a rating, as a figure.
    #[must_use]
    pub fn gates_figure(&self, kind: Option<FuseType>, rating: Current) -> Option<Figure> {
        let parts = self.tables().opening.get(kind.map_or("breaker", FuseType::word))?;
        let amps = rating.as_amps();
        parts.iter().find(|part| part.least <= amps && amps <= part.most).map(opening_figure)
    }

    /// A limit.
    #[must_use]
    pub fn limit_figure(&self, limit: Limit) -> Option<Figure> {
        let entry = self.entry(limit)?;
        Some(Figure {
            value_text: quantity::write(&entry.value),
            changed_because: entry.because.clone(),
            ..told(&entry.origin, String::new())
        })
    }

    /// Every limit, then every table, with its name.
    #[must_use]
    pub fn figures(&self) -> Vec<(String, Figure)> {
        let limits =
            Limit::all().filter_map(|limit| Some((limit.name().into_owned(), self.limit_figure(limit)?)));
        limits.chain(self.table_figures()).collect()
    }

    fn table_figures(&self) -> Vec<(String, Figure)> {
        let tables = self.tables();
        let mut all = Vec::new();
        for (name, table) in [("ampacity.metric", &tables.metric), ("ampacity.awg", &tables.awg)] {
            let text = format!(
                "{} sizes, {}; insulation {}",
                table.areas.len(),
                range(table.sizes.iter().map(Size::to_string)),
                range(table.classes.iter().map(|class| Temperature::celsius(*class).to_string()))
            );
            all.push((name.into(), told(&table.origin, text)));
        }
        let text = tables.ambient.classes.iter().map(|class| Temperature::celsius(*class).to_string());
        all.push(("ambient".into(), told(&tables.ambient.origin, format!("published for {}", list(text)))));
        let rule = Origin {
            source: SQUARE_ROOT_RULE.into(),
            confidence: Confidence::Computed,
            book: Arc::clone(&tables.ambient.origin.book),
        };
        let text =
            format!("sqrt((T - ambient) / (T - {})) for every other class T", tables.base.as_celsius());
        all.push(("ambient.other-classes".into(), told(&rule, text)));
        if let Some(engine) = &tables.engine {
            let factors = engine.rows.iter().map(|row| format!("{}: {}", Temperature::celsius(row.0), row.1));
            let text = format!(
                "above {} up to {}; insulation {}",
                tables.base,
                Temperature::celsius(engine.up_to),
                list(factors)
            );
            all.push(("engine-space".into(), told(&engine.origin, text)));
        }
        for (name, steps) in
            [("bundling", &tables.bundling), ("cold", &tables.cold), ("ring-holes", &tables.rings)]
        {
            all.push((name.into(), steps_figure(steps)));
        }
        let areas = range(tables.resistances.areas.iter().map(|area| format!("{area} mm2")));
        let text =
            format!("{} sizes, {areas}; class 2 and 5, plain and tinned", tables.resistances.areas.len());
        all.push(("resistance.metric".into(), told(&tables.resistances.origin, text)));
        let copper = &tables.copper;
        let text = format!(
            "{} ohm mm2/km, stranded × {}, tinned × {}, {} per kelvin",
            copper.resistivity, copper.stranded, copper.tinned, copper.per_kelvin
        );
        all.push(("resistance.copper".into(), told(&copper.origin, text)));
        for (word, ratings) in &tables.ratings {
            for (origin, amps) in &ratings.lists {
                let text = list(amps.iter().map(|amps| Current::amps(*amps).to_string()));
                all.push((format!("ratings.{word}"), told(origin, text)));
            }
        }
        for row in &tables.withstand {
            let name = format!("withstand.{}", row.class);
            all.push((name, told(&row.origin, format!("k = {} A s^0.5/mm2", row.k))));
        }
        for (word, parts) in &tables.opening {
            for part in parts {
                all.push((format!("opening.{word}"), opening_figure(part)));
            }
        }
        for (word, rows) in &tables.breaks {
            for row in rows {
                let text = format!("{} at {}", Current::amps(row.amps), Voltage::volts(row.volts));
                all.push((format!("breaks.{word}"), told(&row.origin, text)));
            }
        }
        for (word, colours) in &tables.colours {
            all.push((format!("colours.{word}"), colours_figure(colours)));
        }
        all
    }
}

fn steps_figure(steps: &Steps) -> Figure {
    told(&steps.origin, list(steps.rows.iter().map(|row| format!("{}: {}", row.0, row.1))))
}

fn opening_figure(part: &Opening) -> Figure {
    let gates = part.gates.iter().map(|gate| {
        let slowest = gate.slowest_s.map_or("no limit".into(), |seconds| format!("{seconds} s"));
        format!("{} %: {slowest}", (gate.multiple * 100.0).round())
    });
    told(&part.origin, format!("{} A to {} A: {}", part.least, part.most, list(gates)))
}

fn colours_figure(colours: &Colours) -> Figure {
    let words = colours.allowed.iter().map(ToString::to_string);
    let text = if colours.allowed.is_empty() { "any".into() } else { list(words) };
    told(&colours.origin, if colours.tracer { format!("{text}, with any tracer") } else { text })
}

impl Book {
    /// Every figure inside the tables, in the order of [`Book::figures`].
    #[must_use]
    pub fn cells(&self) -> Vec<Cell> {
        let tables = self.tables();
        let mut all = Cells(Vec::new());
        let celsius = |value: f64| Temperature::celsius(value).to_string();
        for (name, table) in [("ampacity.metric", &tables.metric), ("ampacity.awg", &tables.awg)] {
            for (row, size) in table.sizes.iter().enumerate() {
                for (column, class) in table.classes.iter().enumerate() {
                    all.add(&table.origin, name, size, celsius(*class), table.amps(row, column));
                }
            }
        }
        for row in &tables.ambient.rows {
            for (class, factor) in tables.ambient.classes.iter().zip(row.iter().skip(1)) {
                let end = celsius(row.first().copied().unwrap_or_default());
                all.add(&tables.ambient.origin, "ambient", end, celsius(*class), factor);
            }
        }
        if let Some(engine) = &tables.engine {
            all.add(&engine.origin, "engine-space", "up to", "", celsius(engine.up_to));
            for row in &engine.rows {
                all.add(&engine.origin, "engine-space", celsius(row.0), "", row.1);
            }
        }
        for (name, steps) in
            [("bundling", &tables.bundling), ("cold", &tables.cold), ("ring-holes", &tables.rings)]
        {
            steps.rows.iter().for_each(|row| all.add(&steps.origin, name, row.0, "", row.1));
        }
        const COLUMNS: [&str; 4] = ["class 2 plain", "class 2 tinned", "class 5 plain", "class 5 tinned"];
        for (area, ohms) in tables.resistances.areas.iter().zip(&tables.resistances.ohms) {
            for (column, ohms) in COLUMNS.iter().zip(ohms) {
                all.add(&tables.resistances.origin, "resistance.metric", Area::mm2(*area), column, ohms);
            }
        }
        let copper = &tables.copper;
        for (row, value) in [
            ("resistivity", copper.resistivity),
            ("stranded", copper.stranded),
            ("tinned", copper.tinned),
            ("per-kelvin", copper.per_kelvin),
        ] {
            all.add(&copper.origin, "resistance.copper", row, "", value);
        }
        for (word, ratings) in &tables.ratings {
            for (origin, amps) in &ratings.lists {
                amps.iter().for_each(|amps| all.add(origin, &format!("ratings.{word}"), "", "", amps));
            }
        }
        for row in &tables.withstand {
            all.add(&row.origin, &format!("withstand.{}", row.class), "", "", row.k);
        }
        for (word, parts) in &tables.opening {
            for part in parts {
                for gate in &part.gates {
                    let name = format!("opening.{word}");
                    let percent = (gate.multiple * 100.0).round();
                    let row = format!("{} A to {} A at {percent} %", part.least, part.most);
                    for (column, seconds) in [("fastest", gate.fastest_s), ("slowest", gate.slowest_s)] {
                        let value = seconds.map_or("none".into(), |seconds| seconds.to_string());
                        all.add(&part.origin, &name, &row, column, value);
                    }
                }
            }
        }
        for (word, rows) in &tables.breaks {
            for row in rows {
                let at = Voltage::volts(row.volts).to_string();
                all.add(&row.origin, &format!("breaks.{word}"), at, "", row.amps);
            }
        }
        for (word, colours) in &tables.colours {
            let name = format!("colours.{word}");
            colours.allowed.iter().for_each(|row| all.add(&colours.origin, &name, "", "", row));
            all.add(&colours.origin, &name, "tracer", "", colours.tracer);
        }
        all.0
    }
}

/// Cells as they are gathered.
struct Cells(Vec<Cell>);

impl Cells {
    fn add(
        &mut self,
        origin: &Origin,
        table: &str,
        row: impl ToString,
        column: impl ToString,
        value: impl ToString,
    ) {
        self.0.push(Cell {
            table: table.into(),
            row: row.to_string(),
            column: column.to_string(),
            value: value.to_string(),
            source: origin.source.to_string(),
            confidence: origin.confidence,
            book: origin.book.to_string(),
        });
    }
}

fn told(origin: &Origin, value_text: String) -> Figure {
    Figure {
        value_text,
        source: origin.source.to_string(),
        confidence: origin.confidence,
        book: origin.book.to_string(),
        changed_because: None,
    }
}

fn list(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

/// The first and the last of some words.
fn range(mut words: impl Iterator<Item = String>) -> String {
    match (words.next(), words.last()) {
        (Some(first), Some(last)) => format!("{first} to {last}"),
        (Some(only), None) => only,
        _ => String::new(),
    }
}
