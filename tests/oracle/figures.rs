//! Every figure of every shipped book says where it is from, and every published table keeps how its rows are known.

use ohmward::book::{Book, Confidence, Limit};

use super::table::rows;

#[test]
fn every_figure_has_a_source_and_a_confidence() {
    for name in Book::shipped_names() {
        let book = Book::shipped(name).expect("a book that reads");
        let figures = book.figures();
        assert!(Limit::all().count() < figures.len(), "{name} lists its limits and its tables");
        for (key, figure) in figures {
            assert!(2 < figure.source.len(), "{name}: {key} has no source");
            assert!(!figure.value_text.is_empty(), "{name}: {key} has no value");
            assert!(figure.changed_because.is_none());
            assert_ne!(figure.confidence, Confidence::Design, "{name}: {key}");
            let common = figure.source.starts_with("common practice, no source");
            assert_eq!(
                common,
                figure.confidence == Confidence::CommonPractice,
                "{name}: {key}, {}",
                figure.source
            );
        }
    }
}

/// How many rows of each table are checked, computed and from memory.
#[test]
fn published_tables_keep_their_confidence() {
    let tables = [
        ("ampacity_marine_us", [131, 0, 97]),
        ("ampacity_nec", [84, 0, 14]),
        ("ampacity_small_craft_iso", [2, 0, 98]),
        ("awg", [0, 28, 0]),
        ("battery_fault_current", [18, 0, 24]),
        ("colours", [12, 0, 26]),
        ("fuse_operating_time", [4, 0, 37]),
        ("fuse_types", [12, 0, 4]),
        ("metric_conductor_resistance", [72, 0, 0]),
        ("protection_distance", [17, 0, 10]),
        ("protection_rating", [13, 0, 6]),
        ("solar", [5, 1, 18]),
        ("terminals", [94, 6, 20]),
        ("voltage_drop", [23, 1, 11]),
        ("withstand", [15, 9, 6]),
        ("worked_examples", [70, 6, 0]),
    ];
    let mut total = 0;
    for (name, expected) in tables {
        let rows = rows(name);
        let count = |word: &str| rows.iter().filter(|row| row.text("confidence") == word).count();
        assert_eq!(["checked", "computed", "memory"].map(count), expected, "{name}");
        assert_eq!(rows.len(), expected.iter().sum::<usize>(), "{name}");
        total += rows.len();
    }
    assert_eq!(total, 994);
}
