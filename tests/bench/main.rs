//! Measurements: reading, judging and the whole check by size, and a fleet of sample-sized designs.
//! Run with `cargo bench`; the inputs are generated and checked to be right first.

mod fleet;
mod generate;
mod study;

use std::hint::black_box;

use criterion::{BatchSize, Criterion, Throughput};
use ohmward::check::{Options, check};
use ohmward::design::{Date, LoadOptions, load};
use ohmward::findings::Severity;
use ohmward::text::MemoryFiles;
use rayon::prelude::*;

/// As the binary has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn options() -> Options {
    Options::on(Date::from_days(20_000))
}

fn files(text: &str) -> MemoryFiles {
    MemoryFiles::default().with("generated.loom", text)
}

fn sizes(criterion: &mut Criterion) {
    for n_wires in [30, 100, 1_000, 10_000, 100_000] {
        let text = generate::design(n_wires);
        let files = files(&text);
        let judgement = check("generated.loom", &files, &options());
        // A panel that is fed twice is told by `protection.slow`; all else is right.
        let wrong = judgement
            .findings
            .iter()
            .find(|finding| Severity::Warning <= finding.severity && finding.rule != "protection.slow");
        assert!(wrong.is_none(), "{wrong:?}");
        let mut group = criterion.benchmark_group(format!("{n_wires} wires"));
        group.throughput(Throughput::Elements(n_wires as u64));
        if 10_000 <= n_wires {
            group.sample_size(10);
        }
        group.bench_function("read and resolve", |bencher| {
            bencher.iter(|| black_box(load("generated.loom", &files, &LoadOptions::default())));
        });
        group.bench_function("whole check", |bencher| {
            bencher.iter(|| black_box(check("generated.loom", &files, &options())));
        });
        group.bench_function("whole check without the rules of the study", |bencher| {
            let options = Options { without_study: true, ..options() };
            bencher.iter(|| black_box(check("generated.loom", &files, &options)));
        });
        group.bench_function("whole check with the evidence", |bencher| {
            let options = Options { explain: true, ..options() };
            bencher.iter(|| black_box(check("generated.loom", &files, &options)));
        });
        group.bench_function("whole check with six house rules", |bencher| {
            let files = files.clone().with("house.toml", include_str!("../../samples/house/house.toml"));
            let options = Options { book: Some("house.toml".into()), ..options() };
            bencher.iter(|| black_box(check("generated.loom", &files, &options)));
        });
        group.finish();
    }
}

fn fleet(criterion: &mut Criterion) {
    let all: Vec<MemoryFiles> = (0..1_000).map(|at| files(&generate::design(60 + at % 60))).collect();
    let mut group = criterion.benchmark_group("fleet");
    group.throughput(Throughput::Elements(1_000));
    group.sample_size(10);
    group.bench_function("1,000 designs on all cores", |bencher| {
        bencher.iter_batched(
            || (),
            |()| {
                let found: usize = all
                    .par_iter()
                    .map(|files| check("generated.loom", files, &options()).findings.len())
                    .sum();
                black_box(found)
            },
            BatchSize::SmallInput,
        );
    });
    group.finish();
}

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    study::modes_and_faults(&mut criterion);
    study::against_a_simulator(&mut criterion);
    sizes(&mut criterion);
    fleet(&mut criterion);
    fleet::by_size(&mut criterion);
    criterion.final_summary();
}
