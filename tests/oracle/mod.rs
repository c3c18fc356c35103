//! The shipped book against published figures, row by row. Each test counts what it compared, so that a loss shows.

mod ampacity;
mod covered;
mod derating;
mod drop;
mod faults;
mod figures;
mod hand;
mod judged;
mod limits;
mod ratings;
mod resistance;
mod sizes;
mod table;

use ohmward::book::{Book, Conductor};
use ohmward::units::{Area, Gauge, Size, Temperature};

fn book() -> Book {
    Book::shipped("common-practice").expect("the default book reads")
}

/// A single conductor in free air at 30 °C.
fn free(size: Size, insulation: f64) -> Conductor {
    Conductor {
        size,
        insulation: celsius(insulation),
        ambient: celsius(30.0),
        bundled: 1,
        count: 1,
        aluminium_clad: false,
    }
}

fn awg(text: &str) -> Size {
    Size::Awg(Gauge::parse(text).expect("a gauge"))
}

fn mm2(area: f64) -> Size {
    Size::Metric(Area::mm2(area))
}

fn celsius(value: f64) -> Temperature {
    Temperature::celsius(value)
}
