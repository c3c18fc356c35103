//! The binary: arguments in, exit code out.
#![forbid(unsafe_code)]

mod commands;

fn main() -> std::process::ExitCode {
    commands::run()
}
