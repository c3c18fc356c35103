//! Large designs are compared in time that grows as they do.

use std::fmt::Write;
use std::time::{Duration, Instant};

use super::{Judged, compared, sentences};

/// Feeds on one bar, three wires each; `name` makes the names of one.
fn feeds(n: usize, name: impl Fn(usize) -> String) -> String {
    let mut text = String::from(
        "design large \"Large\"\nbattery B lifepo4 12 V 200 Ah fault 5 kA full 14.4 V\n\
         bar plus M8 x 6\nbar minus M8 x 6\nwire A from B.+ to plus 35 mm2 0.1 m\nwire Z from B.- to minus 35 mm2 0.1 m\n",
    );
    for at in 0..n {
        let name = name(at);
        writeln!(
            text,
            "load L{name} 12 V 5 W\nfuse F{name} 5 A blade volts 32 V breaks 6 kA\nswitch S{name} 10 A\n\
             bolt F{name}.line to plus\nwire P{name} from F{name}.load to S{name}.a 1.5 mm2 1 m\n\
             wire Q{name} from S{name}.b to L{name}.+ 1.5 mm2 {at}.5 m\nwire N{name} from L{name}.- to minus 1.5 mm2 1 m"
        )
        .unwrap();
    }
    text
}

/// Longest that a comparison of these may take in the test profile on a busy machine; by rights it is far below a second.
const LONGEST: Duration = Duration::from_secs(60);

fn timed(old: &str, new: &str) -> Vec<String> {
    let (old, new) = (Judged::of(&[("it.loom", old)]), Judged::of(&[("it.loom", new)]));
    let start = Instant::now();
    let told = sentences(&compared(&old, &new));
    let took = start.elapsed();
    println!("compared {} wires in {took:?}", old.design.wires.len());
    assert!(took < LONGEST, "took {took:?}");
    told
}

const N: usize = 3_000;

#[test]
fn one_change_in_many() {
    let old = feeds(N, |at| at.to_string());
    let told = timed(&old, &old.replace("fuse F1234 5 A", "fuse F1234 3 A"));
    assert_eq!(told, ["~ F1234 goes from 5 A to 3 A"]);
}

#[test]
fn every_name_another() {
    let old = feeds(N, |at| at.to_string());
    let told = timed(&old, &feeds(N, |at| format!("x{at}")));
    assert_eq!(told.len(), 6 * N);
    assert!(
        told.iter().all(|one| one.starts_with("= ")),
        "{:?}",
        told.iter().find(|one| !one.starts_with("= "))
    );
}

/// Each name goes on to the next, which stands in the same place: only the lengths are others, and the ends of the row.
#[test]
fn every_name_the_next() {
    let old = feeds(N, |at| at.to_string());
    let told = timed(&old, &feeds(N, |at| (at + 1).to_string()));
    let count = |sign: &str| told.iter().filter(|one| one.starts_with(sign)).count();
    assert_eq!([count("+"), count("-"), count("~"), count("=")], [7, 7, N - 1, 0]);
}

/// Twins by the thousand under other names.
#[test]
fn every_one_alike() {
    let equal = |text: String| {
        let lines = text.lines().map(|line| match line.strip_prefix("wire Q") {
            Some(_) => format!("{} 1.5 mm2 1 m", line.split(" 1.5 mm2").next().unwrap_or("")),
            None => line.to_owned(),
        });
        lines.collect::<Vec<_>>().join("\n")
    };
    let old = equal(feeds(N, |at| at.to_string()));
    let told = timed(&old, &equal(feeds(N, |at| format!("x{at}"))));
    assert_eq!(told.len(), 6 * N);
    assert!(told.iter().all(|one| one.starts_with("= ")));
}
