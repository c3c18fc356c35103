//! The binary: arguments in, exit code out.
#![forbid(unsafe_code)]

mod commands;

/// Reading and judging allocate much and small; this allocator is faster at it than most systems' own.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    commands::run()
}
