//! What a conductor may carry for good: the table's figure, then each factor, told one by one on demand.

use super::Book;
use super::limits::{Limit, ShareLimit};
use super::origin::{Confidence, Origin};
use super::tables::{AmpacityTable, Place, place};
use crate::units::{Area, Current, Share, Size, Temperature};

/// A conductor and where it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductor {
    /// Its size.
    pub size: Size,
    /// Its insulation class.
    pub insulation: Temperature,
    /// The temperature around it, the worst of its zones.
    pub ambient: Temperature,
    /// How many conductors its bundle has, itself included; 1 without a bundle.
    pub bundled: u32,
    /// How many equal conductors lie in parallel.
    pub count: u32,
    /// Copper-clad aluminium.
    pub aluminium_clad: bool,
}

/// How a factor for ambient temperature came about.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Ambient {
    /// As hot as the insulation bears, or hotter.
    AtClass,
    /// Published for the class.
    Published,
    /// The square-root rule.
    Computed,
    /// Held to the factor published for a neighbouring class.
    Neighbour(f64),
    /// The one factor that the book has for engine spaces.
    EngineSpace,
    /// Held to the book's largest.
    Most,
}

/// One computation, from which both the number and its explanation are read.
struct Working {
    place: Place,
    class: f64,
    figure: f64,
    below_class: f64,
    clad: f64,
    ambient: (f64, Ambient),
    bundle: f64,
    count: f64,
}

impl Working {
    fn total(&self) -> Current {
        let factors = self.below_class * self.clad * self.ambient.0 * self.bundle * self.count;
        Current::amps(self.figure * factors)
    }
}

impl Book {
    /// What a conductor may carry for good, all of `count` together. 0 where the place is as hot as its insulation bears.
    #[must_use]
    pub fn ampacity(&self, conductor: &Conductor) -> Current {
        self.working(conductor).total()
    }

    /// The figures whose product is [`Book::ampacity`], each with what it is: the table's first, then the factors.
    #[must_use]
    pub fn ampacity_steps(&self, conductor: &Conductor) -> Vec<(f64, String)> {
        let work = self.working(conductor);
        let table = self.table(conductor.size);
        let mut steps = vec![(work.figure, figure_text(table, conductor.size, &work))];
        if work.below_class < 1.0 {
            let text = format!(
                "insulation {}, below the table's lowest class {}: square-root rule",
                conductor.insulation,
                Temperature::celsius(work.class)
            );
            steps.push((work.below_class, text));
        }
        if conductor.aluminium_clad {
            let limit = Limit::Share(ShareLimit::AluminiumCladAmpacity);
            let source = self.entry(limit).map(|entry| entry.origin.cited()).unwrap_or_default();
            steps.push((work.clad, format!("copper-clad aluminium ({source})")));
        }
        if (work.ambient.0 - 1.0).abs() > f64::EPSILON {
            steps.push((work.ambient.0, self.ambient_text(conductor, work.ambient.1)));
        }
        if work.bundle < 1.0 {
            let source = self.tables().bundling.origin.cited();
            steps.push((work.bundle, format!("bundle of {} conductors ({source})", conductor.bundled)));
        }
        if 1.0 < work.count {
            steps.push((work.count, format!("{} conductors in parallel", conductor.count)));
        }
        steps
    }

    /// Whether any of the figures behind [`Book::ampacity`] is from memory.
    #[must_use]
    pub fn ampacity_from_memory(&self, conductor: &Conductor) -> bool {
        let (work, tables) = (self.working(conductor), self.tables());
        let remembered = |origin: &Origin| origin.confidence == Confidence::Memory;
        let clad = Limit::Share(ShareLimit::AluminiumCladAmpacity);
        remembered(&self.table(conductor.size).origin)
            || (work.bundle < 1.0 && remembered(&tables.bundling.origin))
            || (conductor.aluminium_clad && self.entry(clad).is_some_and(|entry| remembered(&entry.origin)))
            || match work.ambient.1 {
                Ambient::EngineSpace => {
                    tables.engine.as_ref().is_some_and(|engine| remembered(&engine.origin))
                }
                Ambient::Published | Ambient::Neighbour(_) => remembered(&tables.ambient.origin),
                Ambient::AtClass | Ambient::Computed | Ambient::Most => false,
            }
    }

    /// The share of ampacity that an ambient temperature leaves to an insulation class.
    #[must_use]
    pub fn ambient_factor(&self, insulation: Temperature, ambient: Temperature) -> Share {
        Share::ratio(self.ambient(insulation.as_celsius(), ambient.as_celsius()).0)
    }

    fn table(&self, size: Size) -> &AmpacityTable {
        match size {
            Size::Metric(_) => &self.tables().metric,
            Size::Awg(_) | Size::Sae(_) => &self.tables().awg,
        }
    }

    fn working(&self, conductor: &Conductor) -> Working {
        let table = self.table(conductor.size);
        let insulation = conductor.insulation.as_celsius();
        let column = table.classes.partition_point(|class| *class <= insulation).saturating_sub(1);
        let class = table.classes.get(column).copied().unwrap_or(0.0);
        let base = self.tables().base.as_celsius();
        let below_class =
            if insulation < class { ((insulation - base).max(0.0) / (class - base)).sqrt() } else { 1.0 };
        let place = place(&table.areas, conductor.size.area().as_mm2());
        let clad = if conductor.aluminium_clad {
            self.share(ShareLimit::AluminiumCladAmpacity).as_ratio()
        } else {
            1.0
        };
        Working {
            place,
            class,
            figure: table.at(place, column),
            below_class,
            clad,
            ambient: self.ambient(insulation, conductor.ambient.as_celsius()),
            bundle: self.tables().bundling.from(f64::from(conductor.bundled)).unwrap_or(1.0),
            count: f64::from(conductor.count.max(1)),
        }
    }

    /// In a place warmer than the tables' base the engine-space factor, where the book has one, and never more than it
    /// in a hotter one; else what the temperature by itself leaves.
    fn ambient(&self, class: f64, ambient: f64) -> (f64, Ambient) {
        let base = self.tables().base.as_celsius();
        let plain = self.by_temperature(class, ambient);
        let engine = self.tables().engine.as_ref().filter(|_| base < ambient && plain.1 != Ambient::AtClass);
        match engine.map(|engine| (engine, engine.factor(class, plain.0))) {
            Some((engine, factor)) if ambient <= engine.up_to || factor < plain.0 => {
                (factor, Ambient::EngineSpace)
            }
            _ => plain,
        }
    }

    /// Published for the class, else by the square-root rule, but then not past what the classes beside it have
    /// published: a better insulation never bears less.
    fn by_temperature(&self, class: f64, ambient: f64) -> (f64, Ambient) {
        let base = self.tables().base.as_celsius();
        if class <= ambient || class <= base {
            return (0.0, Ambient::AtClass);
        }
        let table = &self.tables().ambient;
        let most = self.share(ShareLimit::AmbientMost).as_ratio();
        let computed = ((class - ambient) / (class - base)).sqrt();
        let above = table.classes.partition_point(|known| *known < class);
        let (factor, how) = match (table.classes.get(above), table.published(above, ambient)) {
            (Some(known), Some(published)) if *known <= class => (published, Ambient::Published),
            (Some(known), Some(published)) if class < *known && published < computed => {
                (published, Ambient::Neighbour(*known))
            }
            _ => (computed, Ambient::Computed),
        };
        let below = above
            .checked_sub(1)
            .and_then(|at| Some((*table.classes.get(at)?, table.published(at, ambient)?)));
        let (factor, how) = match below {
            Some((known, published)) if factor < published => (published, Ambient::Neighbour(known)),
            _ => (factor, how),
        };
        if most < factor { (most, Ambient::Most) } else { (factor, how) }
    }

    fn ambient_text(&self, conductor: &Conductor, how: Ambient) -> String {
        let (ambient, class) = (conductor.ambient, conductor.insulation);
        let source = self.tables().ambient.origin.cited();
        match how {
            Ambient::AtClass => format!("ambient {ambient}, as hot as {class} insulation bears"),
            Ambient::Published => format!("ambient {ambient} with {class} insulation ({source})"),
            Ambient::Computed => {
                let base = self.tables().base;
                format!("ambient {ambient} with {class} insulation: square-root rule from {base}")
            }
            Ambient::Neighbour(known) => {
                let known = Temperature::celsius(known);
                format!("ambient {ambient} with {class} insulation: held to the factor of {known} ({source})")
            }
            Ambient::EngineSpace => {
                let engine = self.tables().engine.as_ref();
                let up_to = Temperature::celsius(engine.map_or(0.0, |engine| engine.up_to));
                let source = engine.map(|engine| engine.origin.cited()).unwrap_or_default();
                format!(
                    "engine space: ambient {ambient} with {class} insulation takes the book's one factor for places \
                     above {} up to {up_to} ({source})",
                    self.tables().base
                )
            }
            Ambient::Most => format!("ambient {ambient}: held to the book's `ambient.most`"),
        }
    }
}

fn figure_text(table: &AmpacityTable, size: Size, work: &Working) -> String {
    let class = Temperature::celsius(work.class);
    let source = table.origin.cited();
    let name = |row: usize| table.sizes.get(row).map(ToString::to_string).unwrap_or_default();
    let size = match size {
        Size::Sae(_) => format!("{size}, {}", Area::mm2(size.area().as_mm2())),
        other => other.to_string(),
    };
    match work.place {
        Place::Row(_) => format!("{size} with {class} insulation ({source})"),
        Place::Between(row, _) => {
            format!(
                "{size} with {class} insulation, interpolated between {} and {} ({source})",
                name(row),
                name(row + 1)
            )
        }
        Place::Below(_) => {
            format!(
                "{size} with {class} insulation, below the table: {} in proportion to area ({source})",
                name(0)
            )
        }
        Place::Above => {
            let last = name(table.areas.len().saturating_sub(1));
            format!("{size} with {class} insulation, above the table: the last row, {last} ({source})")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Gauge;

    fn book() -> Book {
        Book::shipped("common-practice").unwrap()
    }

    fn metric(mm2: f64) -> Conductor {
        Conductor {
            size: Size::Metric(Area::mm2(mm2)),
            insulation: Temperature::celsius(105.0),
            ambient: Temperature::celsius(30.0),
            bundled: 1,
            count: 1,
            aluminium_clad: false,
        }
    }

    #[test]
    fn steps_multiply_to_the_ampacity() {
        let book = book();
        for mm2 in [0.14, 0.75, 5.0, 35.0, 200.0] {
            for insulation in [20.0, 50.0, 60.0, 72.0, 90.0, 105.0, 250.0] {
                for ambient in [-20.0, 30.0, 45.5, 60.0, 120.0] {
                    let conductor = Conductor {
                        insulation: Temperature::celsius(insulation),
                        ambient: Temperature::celsius(ambient),
                        bundled: 5,
                        count: 2,
                        aluminium_clad: true,
                        ..metric(mm2)
                    };
                    let total = book.ampacity(&conductor).as_amps();
                    let product: f64 = book.ampacity_steps(&conductor).iter().map(|step| step.0).product();
                    assert!(
                        (total - product).abs() < 1e-9 * total.max(1.0),
                        "{conductor:?}: {total} {product}"
                    );
                }
            }
        }
    }

    #[test]
    fn better_insulation_and_more_copper_never_carry_less() {
        let book = book();
        for ambient in 0..120 {
            for mm2 in [1.0, 16.0, 35.0, 100.0] {
                let amps = |class: u32| {
                    let insulation = Temperature::celsius(f64::from(class));
                    let ambient = Temperature::celsius(f64::from(ambient) + 0.5);
                    book.ampacity(&Conductor { insulation, ambient, ..metric(mm2) }).as_amps()
                };
                for class in 20..250 {
                    assert!(amps(class) <= amps(class + 1) + 1e-9, "{class} C at {ambient}.5 C, {mm2} mm2");
                }
            }
        }
        let sized = |tenths: u32| book.ampacity(&metric(f64::from(tenths) / 10.0)).as_amps();
        assert!((1..2000).all(|tenths| sized(tenths) <= sized(tenths + 1)));
    }

    #[test]
    fn says_how_it_read_the_table() {
        let book = book();
        let first = |conductor: Conductor| book.ampacity_steps(&conductor).remove(0).1;
        assert!(first(metric(8.0)).contains("interpolated between 6 mm2 and 10 mm2"));
        assert!(first(metric(0.5)).contains("below the table: 0.75 mm2 in proportion to area"));
        assert!(first(metric(185.0)).contains("above the table: the last row, 150 mm2"));
        let sae = Conductor { size: Size::Sae(Gauge(6)), ..metric(1.0) };
        assert!(first(sae).contains("interpolated between 8 AWG and 6 AWG"), "{}", first(sae));
    }
}
