//! Standard ratings and opening times by type of device, and what conductors withstand.

use ohmward::design::FuseType;
use ohmward::units::Current;

use super::table::{id, kind, rows};
use super::{book, celsius};

/// The types of the published lists that make up each of ours.
const TYPES: &[(FuseType, &[&str])] = &[
    (FuseType::Blade, &["blade_f", "blade_c", "blade_e"]),
    (FuseType::BoltIn, &["bolt_sf30", "bolt_sf51"]),
    (FuseType::Strip, &["anl_style"]),
    (FuseType::ClassT, &["class_t_dc"]),
    (FuseType::TerminalBlock, &["terminal_block"]),
    (FuseType::Cylindrical, &["gpv_10x38"]),
];

#[test]
fn fuse_ratings_are_the_union_of_the_published_lists() {
    let book = book();
    let table = rows("fuse_types");
    let mut compared = 0;
    for (kind, ids) in TYPES {
        let listed = table.iter().filter(|row| ids.contains(&row.text("type_id")));
        let mut amps: Vec<f64> = listed
            .flat_map(|row| row.text("preferred_ratings_a").split(';'))
            .map(|text| text.parse().expect("a rating"))
            .collect();
        amps.sort_by(f64::total_cmp);
        amps.dedup();
        let ours: Vec<f64> = book.ratings(Some(*kind)).iter().map(|rating| rating.as_amps()).collect();
        assert_eq!(ours, amps, "{}", kind.word());
        compared += ours.len();
    }
    assert_eq!(compared, 18 + 18 + 21 + 27 + 15 + 14);
}

/// The thermal breakers' list, and NEC 240.6(A) up to 400 A.
#[test]
fn breaker_ratings() {
    let thermal = rows("fuse_types");
    let thermal = thermal.iter().find(|row| row.text("type_id") == "thermal_breaker").expect("the breakers");
    let nec = id("protection_rating", "nec_std_sizes");
    let mut amps: Vec<f64> =
        thermal.text("preferred_ratings_a").split(';').map(|text| text.parse().expect("a rating")).collect();
    amps.extend(
        nec.text("other_limit")
            .split(' ')
            .filter_map(|text| text.parse::<f64>().ok())
            .filter(|amps| *amps <= 400.0),
    );
    amps.sort_by(f64::total_cmp);
    amps.dedup();
    let ours: Vec<f64> = book().ratings(None).iter().map(|rating| rating.as_amps()).collect();
    assert_eq!(ours, amps);
    assert_eq!(ours.len(), 25);
}

/// The longest times of the published gates, at a rating that only that type has.
#[test]
fn gates_are_those_of_the_published_tables() {
    let book = book();
    let ours = [
        ("blade_c", FuseType::Blade, 10.0),
        ("blade_e", FuseType::Blade, 80.0),
        ("bolt_sf30", FuseType::BoltIn, 50.0),
        ("bolt_sf51", FuseType::BoltIn, 400.0),
        ("gpv_10x38", FuseType::Cylindrical, 20.0),
    ];
    let mut compared = 0;
    for row in rows("fuse_operating_time") {
        let Some((_, kind, rating)) = ours.iter().find(|ours| ours.0 == row.text("type_id")) else {
            continue;
        };
        let gates = book.gates(Some(*kind), Current::amps(*rating));
        let multiple = row.number("percent_of_rating") / 100.0;
        let gate = gates.iter().find(|gate| (gate.multiple - multiple).abs() < 1e-9).expect("the gate");
        assert_eq!(gate.slowest_s, row.text("t_max_s").parse().ok());
        assert_eq!(gate.fastest_s, row.text("t_min_s").parse().ok());
        compared += 1;
    }
    assert_eq!(compared, 6 + 5 + 5 + 5 + 2);
}

/// UL 248-1 Table 4, by range of ratings.
#[test]
fn class_t_gates_by_rating() {
    let book = book();
    let mut compared = 0;
    for row in rows("fuse_operating_time").iter().filter(|row| row.text("type_id") == "class_t_dc") {
        let range = row.text("rating_range_a").split(" to ").map(|end| end.parse::<f64>().expect("a rating"));
        for rating in range {
            let gates = book.gates(Some(FuseType::ClassT), Current::amps(rating));
            let multiple = row.number("percent_of_rating") / 100.0;
            let gate = gates.iter().find(|gate| (gate.multiple - multiple).abs() < 1e-9).expect("the gate");
            assert_eq!(gate.slowest_s, Some(row.number("t_max_s")), "{rating} A");
            compared += 1;
        }
    }
    assert_eq!(compared, 16);
}

/// Where two types share a rating, ours opens no sooner than the slower of both at any multiple.
#[test]
fn shared_ratings_take_the_slower_type() {
    let book = book();
    let cases = [
        (FuseType::Blade, ["blade_c", "blade_e"], 30.0),
        (FuseType::BoltIn, ["bolt_sf30", "bolt_sf51"], 125.0),
    ];
    let table = rows("fuse_operating_time");
    for (kind, ids, rating) in cases {
        let ours = book.gates(Some(kind), Current::amps(rating));
        for percent in (150..=900).step_by(10) {
            let multiple = f64::from(percent) / 100.0;
            let latest =
                ours.iter().rev().find(|gate| gate.multiple <= multiple).and_then(|gate| gate.slowest_s);
            for id in ids {
                let published = table
                    .iter()
                    .filter(|row| {
                        row.text("type_id") == id && row.number("percent_of_rating") <= f64::from(percent)
                    })
                    .filter_map(|row| row.text("t_max_s").parse::<f64>().ok())
                    .fold(f64::INFINITY, f64::min);
                assert!(
                    published.is_infinite() || latest.is_some_and(|ours| published <= ours),
                    "{id} at {percent} %"
                );
            }
        }
    }
}

/// IEC 60364-4-43 Table 43A, and the formula of IEC 60364-5-54 Annex A for classes without a published k.
#[test]
fn withstand_is_the_lowest_published_for_the_class() {
    let book = book();
    let k = |class: f64| book.withstand_k(celsius(class));
    let mut compared = 0;
    for row in kind("withstand", "k").into_iter().chain(kind("withstand", "k_computed")) {
        if row.text("use").contains("separate")
            || row.text("use").contains("above 300")
            || row.text("insulation").contains("separate")
        {
            continue;
        }
        let start = row.number("theta_start_c");
        if 60.0 <= start {
            assert!(k(start) <= row.number("value") + 0.25, "{start} C");
            compared += 1;
        }
    }
    assert_eq!(compared, 11);
    // A class between two takes the lower of both.
    assert_eq!((k(100.0), k(110.0), k(300.0)), (87.4, 87.4, 123.3));
}

/// `t = (kS/I)²` for 70 °C PVC.
#[test]
fn published_withstand_times() {
    let k = book().withstand_k(celsius(70.0));
    let examples = kind("worked_examples", "short_circuit_withstand");
    assert_eq!(examples.len(), 2);
    for row in examples {
        let input = |name| row.input(name).parse::<f64>().expect("a number");
        let seconds = (k * input("area_mm2") / input("I_A")).powi(2);
        row.agrees(seconds, row.number("recomputed"), 1e-3);
    }
}
