//! A whole fleet through the binary: the files on the disk, what is shared between designs read as it is shared, one document.

#[path = "../fleet/generate.rs"]
mod generate;
#[path = "../fleet/planted.rs"]
mod planted;
#[path = "../fleet/told.rs"]
mod told;

use std::path::Path;
use std::process::{Command, Stdio};

use criterion::{Criterion, Throughput};

use generate::Fleet;

fn judged(folder: &Path) -> Vec<u8> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmward"));
    command
        .current_dir(folder)
        .args(["check", "--as", "json", "--today", generate::TODAY])
        .stdin(Stdio::null());
    command.output().expect("the binary runs").stdout
}

/// Generated fleets by size, one design in fifty with a fault. Each is held to its planted faults before it is measured.
pub fn by_size(criterion: &mut Criterion) {
    for n_designs in [1_000, 10_000] {
        let fleet = Fleet { seed: 7, n_designs, one_faulty_in: 50 };
        let folder = tempfile::tempdir().expect("a folder of its own");
        let expected = fleet.write(folder.path()).expect("the fleet is written");
        assert!(10 <= fleet.kinds().len(), "too few kinds of faults");
        let (files, found) = told::told(&judged(folder.path()));
        assert_eq!(files.len(), n_designs);
        told::exactly(&found, &expected);
        let mut group =
            criterion.benchmark_group(format!("fleet of {n_designs} designs of 60 to 200 elements"));
        group.throughput(Throughput::Elements(n_designs as u64));
        group.sample_size(10);
        group.bench_function("the command, all cores", |bencher| bencher.iter(|| judged(folder.path())));
        group.finish();
    }
}
