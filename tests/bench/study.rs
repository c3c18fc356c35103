//! Measurements of the study: one mode, the faults of all terminals, and a general-purpose simulator on the same circuit.

use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};

use criterion::{Criterion, Throughput};
use ohmward::book::Book;
use ohmward::check::{DEFAULT_BOOK, Wired};
use ohmward::design::{Design, LoadOptions, load};
use ohmward::study::{netlist, solve};
use ohmward::text::MemoryFiles;

use super::generate;

fn resolved(n_wires: usize) -> Design {
    let files = MemoryFiles::default().with("generated.loom", generate::design(n_wires));
    load("generated.loom", &files, &LoadOptions::default()).design.expect("the design is right")
}

fn book() -> Book {
    Book::shipped(DEFAULT_BOOK).expect("it ships")
}

/// One mode and the faults of all terminals, of a circuit that is at hand.
pub fn modes_and_faults(criterion: &mut Criterion) {
    let book = book();
    for n_wires in [100, 1_000, 10_000, 100_000] {
        let design = resolved(n_wires);
        let wired = Wired::new(&design, &book);
        let study = wired.study(None, None);
        let mode = &study.modes[0];
        let (sum, size) = mode.balance(&study.network).expect("the mode has a solution");
        assert!(sum.abs() <= 1e-9 * size, "{sum} W of {size} W are left over");
        let mut group = criterion.benchmark_group(format!("study of {n_wires} wires"));
        group.throughput(Throughput::Elements(n_wires as u64));
        if 10_000 <= n_wires {
            group.sample_size(10);
        }
        group.bench_function("one mode", |bencher| {
            bencher.iter(|| black_box(solve(&study.network, &mode.elements)));
        });
        group.bench_function("circuit to solved mode and meters", |bencher| {
            bencher.iter(|| black_box(wired.study(None, None)));
        });
        group.bench_function("faults at all terminals", |bencher| {
            bencher.iter(|| black_box(wired.faults()));
        });
        group.finish();
    }
}

/// The same 1,000 wires by ngspice, where it is installed: its whole run, against the whole run of the study as a command
/// and against the solving alone.
#[expect(clippy::print_stdout, reason = "who measures wants to know that a part was left out")]
pub fn against_a_simulator(criterion: &mut Criterion) {
    let ngspice = || {
        let mut command = Command::new("ngspice");
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        command
    };
    if !ngspice().arg("--version").status().is_ok_and(|status| status.success()) {
        println!("ngspice is not installed: not compared");
        return;
    }
    let (design, book) = (resolved(1_000), book());
    let wired = Wired::new(&design, &book);
    let study = wired.study(None, None);
    let mode = &study.modes[0];
    let folder = tempfile::tempdir().expect("a folder");
    let circuit = folder.path().join("generated.cir");
    std::fs::write(&circuit, netlist(&design, &study, mode).expect("the mode has a solution"))
        .expect("written");
    let text = folder.path().join("generated.loom");
    std::fs::write(&text, generate::design(1_000)).expect("written");
    let mut group = criterion.benchmark_group("1,000 wires against a simulator");
    group.sample_size(20);
    group.bench_function("ngspice, the whole run", |bencher| {
        bencher.iter(|| {
            assert!(ngspice().arg("-b").arg(&circuit).status().is_ok_and(|status| status.success()))
        });
    });
    group.bench_function("solving alone", |bencher| {
        bencher.iter(|| black_box(solve(&study.network, &mode.elements)));
    });
    group.bench_function("ohmward study, the whole run", |bencher| {
        bencher.iter(|| {
            let mut command = Command::new(Path::new(env!("CARGO_BIN_EXE_ohmward")));
            command.arg("study").arg(&text).args(["--as", "json"]).stdout(Stdio::null());
            assert!(command.status().is_ok_and(|status| status.success()));
        });
    });
    group.finish();
}
