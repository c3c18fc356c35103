//! A whole book as people read it: every table with its rows, what it sets for rules, and which book said it first.

use std::sync::Arc;

use super::load_tables::Tables;
use super::origin::{Figure, Origin};
use super::tables::{AmpacityTable, EngineSpace, Gate, Steps};
use super::{Book, RuleSetting};
use crate::design::WireColour;
use crate::units::{Current, Size, Temperature, Voltage};

/// A table of a book.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// Its name in books.
    pub name: &'static str,
    /// What it holds, with units.
    pub says: &'static str,
    /// The heads of its columns.
    pub heads: Vec<String>,
    /// Its rows, each with as many cells as there are heads.
    pub rows: Vec<ListedRow>,
    /// Where it is from; `None` where each row says it for itself.
    pub figure: Option<Figure>,
}

impl Listed {
    /// Whether a book has it whole from one that it builds on; then the name of that.
    #[must_use]
    pub fn inherited(&self, book: &Book) -> Option<&str> {
        let mut from = self.figure.iter().chain(self.rows.iter().filter_map(|row| row.figure.as_ref()));
        let first = from.next()?.book.as_str();
        (first != book.name() && from.all(|figure| figure.book == first)).then_some(first)
    }
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct ListedRow {
    /// The cells.
    pub cells: Vec<String>,
    /// Where the row is from, where the table does not say it.
    pub figure: Option<Figure>,
}

impl Book {
    /// The book that it builds on.
    #[must_use]
    pub fn base(&self) -> Option<&Self> {
        self.0.base.as_ref()
    }

    /// The book that first set a rule as it stands here.
    #[must_use]
    pub fn says_rule(&self, id: &str) -> &Self {
        let row = |book: &Self| (book.0.rules.get(id).copied(), book.0.rule_sources.get(id).cloned());
        self.first(&|book| row(book) == row(self))
    }

    fn first(&self, same: &dyn Fn(&Self) -> bool) -> &Self {
        match self.base() {
            Some(base) if same(base) => base.first(same),
            _ => self,
        }
    }

    /// What the book sets for rules, by id, with the source where it names one.
    pub fn settings(&self) -> impl Iterator<Item = (&str, RuleSetting, Option<&str>)> {
        self.0
            .rules
            .iter()
            .map(|(id, setting)| (id.as_ref(), *setting, self.0.rule_sources.get(id).map(AsRef::as_ref)))
    }

    /// Every table.
    #[must_use]
    pub fn tables_listed(&self) -> Vec<Listed> {
        let tables = self.tables();
        let mut all = vec![
            ampacity("ampacity.metric", "size", &tables.metric),
            ampacity("ampacity.awg", "size", &tables.awg),
            ambient(tables),
            steps(
                "bundling",
                "The share of ampacity that is left in a bundle, from so many conductors on.",
                ["conductors", "factor"],
                &tables.bundling,
            ),
            metric(tables),
            copper(tables),
            steps(
                "cold",
                "By how much solar modules exceed their open-circuit voltage, from so cold a day on.",
                ["C", "factor"],
                &tables.cold,
            ),
            steps(
                "ring-holes",
                "The hole of a ring for a metric thread, in mm.",
                ["thread M", "hole"],
                &tables.rings,
            ),
        ];
        all.extend(tables.engine.as_ref().map(engine));
        all.extend([ratings(tables), opening(tables), breaks(tables), withstand(tables), colours(tables)]);
        all
    }
}

fn ampacity(name: &'static str, head: &str, table: &AmpacityTable) -> Listed {
    let classes = table.classes.iter().map(|class| Temperature::celsius(*class).to_string());
    let rows = table.sizes.iter().enumerate().map(|(row, size)| {
        let amps = (0..table.classes.len()).map(|column| table.amps(row, column).to_string());
        plain(std::iter::once(Size::to_string(size)).chain(amps).collect())
    });
    Listed {
        name,
        says: "Amperes for good by size and insulation class: one conductor in free air of 30 C.",
        heads: std::iter::once(head.to_owned()).chain(classes).collect(),
        rows: rows.collect(),
        figure: Some(told(&table.origin)),
    }
}

fn ambient(tables: &Tables) -> Listed {
    let table = &tables.ambient;
    let heads = table.classes.iter().map(|class| Temperature::celsius(*class).to_string());
    let rows = table.rows.iter().map(|row| {
        let mut cells: Vec<String> = row.iter().map(ToString::to_string).collect();
        cells.iter_mut().skip(1).filter(|cell| *cell == "0").for_each(|cell| *cell = "-".into());
        plain(cells)
    });
    Listed {
        name: "ambient",
        says: "The share of ampacity that is left up to so many degrees C around the conductor, by insulation class; other \
               classes T by sqrt((T - ambient) / (T - 30)).",
        heads: std::iter::once("up to C".to_owned()).chain(heads).collect(),
        rows: rows.collect(),
        figure: Some(told(&table.origin)),
    }
}

fn engine(table: &EngineSpace) -> Listed {
    let row = |row: &(f64, f64)| {
        let up_to = Temperature::celsius(table.up_to).to_string();
        plain(vec![Temperature::celsius(row.0).to_string(), row.1.to_string(), up_to])
    };
    Listed {
        name: "engine-space",
        says: "The share of ampacity that is left in any place above 30 C, up to the temperature of engine spaces, from an \
               insulation class on.",
        heads: ["class", "factor", "up to"].map(str::to_owned).to_vec(),
        rows: table.rows.iter().map(row).collect(),
        figure: Some(told(&table.origin)),
    }
}

fn steps(name: &'static str, says: &'static str, heads: [&str; 2], steps: &Steps) -> Listed {
    Listed {
        name,
        says,
        heads: heads.map(str::to_owned).to_vec(),
        rows: steps.rows.iter().map(|row| plain(vec![row.0.to_string(), row.1.to_string()])).collect(),
        figure: Some(told(&steps.origin)),
    }
}

fn metric(tables: &Tables) -> Listed {
    let table = &tables.resistances;
    let heads = ["mm2", "class 2 plain", "class 2 tinned", "class 5 plain", "class 5 tinned"];
    let rows = table
        .areas
        .iter()
        .zip(&table.ohms)
        .map(|(area, ohms)| plain(std::iter::once(area).chain(ohms).map(ToString::to_string).collect()));
    Listed {
        name: "resistance.metric",
        says: "The largest resistance in ohm/km at 20 C by size, class of stranding and coating.",
        heads: heads.map(str::to_owned).to_vec(),
        rows: rows.collect(),
        figure: Some(told(&table.origin)),
    }
}

fn copper(tables: &Tables) -> Listed {
    let copper = &tables.copper;
    let rows = [
        ("resistivity in ohm mm2/km at 20 C", copper.resistivity),
        ("times, for stranding", copper.stranded),
        ("times, for tinning", copper.tinned),
        ("more for each kelvin", copper.per_kelvin),
    ];
    Listed {
        name: "resistance.copper",
        says: "What the resistance of AWG and road-vehicle gauges is computed with.",
        heads: ["what", "figure"].map(str::to_owned).to_vec(),
        rows: rows.map(|row| plain(vec![row.0.into(), row.1.to_string()])).to_vec(),
        figure: Some(told(&copper.origin)),
    }
}

fn ratings(tables: &Tables) -> Listed {
    let lists = tables.ratings.iter().flat_map(|(word, ratings)| {
        ratings.lists.iter().map(|(origin, amps)| {
            let amps = amps.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ");
            sourced(vec![(*word).into(), amps], origin)
        })
    });
    Listed {
        name: "ratings",
        says: "Standard ratings in amperes by type of device.",
        heads: ["type", "amperes"].map(str::to_owned).to_vec(),
        rows: lists.collect(),
        figure: None,
    }
}

fn opening(tables: &Tables) -> Listed {
    let parts = tables.opening.iter().flat_map(|(word, parts)| {
        parts.iter().map(|part| {
            let gates = part.gates.iter().map(gate).collect::<Vec<_>>().join("; ");
            let range = format!("{} A to {} A", part.least, part.most);
            sourced(vec![(*word).into(), range, gates], &part.origin)
        })
    });
    Listed {
        name: "opening",
        says: "When a device opens: at this share of its rating, no sooner and no later than so many seconds.",
        heads: ["type", "ratings", "gates"].map(str::to_owned).to_vec(),
        rows: parts.collect(),
        figure: None,
    }
}

fn gate(gate: &Gate) -> String {
    let times = match (gate.fastest_s, gate.slowest_s) {
        (Some(fast), Some(slow)) => format!("{fast} s to {slow} s"),
        (Some(fast), None) => format!("from {fast} s"),
        (None, Some(slow)) => format!("up to {slow} s"),
        (None, None) => "any time".into(),
    };
    format!("{} %: {times}", (gate.multiple * 100.0).round())
}

fn breaks(tables: &Tables) -> Listed {
    let rows = tables.breaks.iter().flat_map(|(word, rows)| {
        rows.iter().map(|row| {
            let volts = Voltage::volts(row.volts).to_string();
            sourced(vec![(*word).into(), volts, Current::amps(row.amps).to_string()], &row.origin)
        })
    });
    Listed {
        name: "breaks",
        says: "What a device that states nothing breaks, by type, up to a voltage.",
        heads: ["type", "up to", "breaks"].map(str::to_owned).to_vec(),
        rows: rows.collect(),
        figure: None,
    }
}

fn withstand(tables: &Tables) -> Listed {
    let rows = tables.withstand.iter().map(|row| {
        sourced(vec![Temperature::celsius(row.class).to_string(), row.k.to_string()], &row.origin)
    });
    Listed {
        name: "withstand",
        says: "The k of k2 S2, the heat that a conductor of S mm2 bears in a fault, in A s^0.5/mm2, by insulation class.",
        heads: ["class", "k"].map(str::to_owned).to_vec(),
        rows: rows.collect(),
        figure: None,
    }
}

fn colours(tables: &Tables) -> Listed {
    let rows = tables.colours.iter().map(|(word, colours)| {
        let words: Vec<String> = colours.allowed.iter().map(colour).collect();
        let words = if words.is_empty() { "any".into() } else { words.join(", ") };
        let tracer = if colours.tracer { ", with any tracer" } else { "" };
        sourced(vec![(*word).into(), format!("{words}{tracer}")], &colours.origin)
    });
    Listed {
        name: "colours",
        says: "The colours that a wire may have by what it carries.",
        heads: ["carries", "colours"].map(str::to_owned).to_vec(),
        rows: rows.collect(),
        figure: None,
    }
}

fn colour(colour: &WireColour) -> String {
    match colour.tracer {
        Some(tracer) => format!("{}/{}", colour.base.word(), tracer.word()),
        None => colour.base.word().into(),
    }
}

fn plain(cells: Vec<String>) -> ListedRow {
    ListedRow { cells, figure: None }
}

fn sourced(cells: Vec<String>, origin: &Origin) -> ListedRow {
    ListedRow { cells, figure: Some(told(origin)) }
}

fn told(origin: &Origin) -> Figure {
    Figure {
        value_text: String::new(),
        source: Arc::clone(&origin.source).to_string(),
        confidence: origin.confidence,
        book: origin.book.to_string(),
        changed_because: None,
    }
}
